import { createHash, type Hash } from 'node:crypto';
import type { Database, Statement } from 'better-sqlite3';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import { KeyIndex } from '../../domain/records/key-index.js';
import type { ImportTransaction, SetAsideRow, Version } from '../store.js';
import { chunkPages } from './assemble.js';
import { reported } from './connection.js';
import { columnPage, readTexts } from './pages.js';
import { readVersion } from './read.js';

const filePartBytes = 1 << 20;
const keysPerPage = 65_536;

/** What one import works on. */
interface ImportRequest {
  readonly database: Database;
  readonly file: string;
  readonly site: string;
  readonly title: string;
  /** called once, after commit or rollback: the next writer's turn */
  readonly finished: () => void;
}

/** One import into the SQLite file: one transaction on a connection of its own, so that no job's progress is caught in it. */
export class SqliteImport implements ImportTransaction {
  readonly #request: ImportRequest;
  readonly #version: number | bigint;
  readonly #tables = new Map<string, { id: number | bigint; chunks: number; rows: number; geometry: string | null }>();
  readonly #keys = new Map<string, { index: KeyIndex; stored: number }>();
  readonly #files = new Set<string>();
  readonly #openFiles: FilePieces[] = [];
  readonly #statements = new Map<string, Statement>();
  #open = true;

  constructor(request: ImportRequest) {
    this.#request = request;
    const { database, site, title } = request;
    this.#version = this.#guarded(() => {
      database.exec('begin immediate');
      this.#run('insert into site (id, title) values (?, ?) on conflict (id) do update set title = excluded.title', [
        site,
        title,
      ]);
      // the content hash is known at the end only; until then a mark no hash can equal stands there
      return this.#run(
        `insert into version (site, number, content_hash, accepted_at)
         values (?, 1 + (select coalesce(max(number), 0) from version where site = ?), 'under way', '')`,
        [site, site],
      );
    });
  }

  table(name: string, fields: readonly Field[]): { append(chunk: FeatureTable): void } {
    this.#guarded(() => {
      const id = this.#run(
        'insert into record_table (version, name, fields, geometry, rows) values (?, ?, ?, null, 0)',
        [this.#version, name, JSON.stringify(fields)],
      );
      this.#tables.set(name, { id, chunks: 0, rows: 0, geometry: null });
    });
    return { append: (chunk) => this.#guarded(() => this.#append(name, chunk)) };
  }

  #append(name: string, chunk: FeatureTable): void {
    const table = this.#tables.get(name);
    if (!table) throw new Error(`table ${name} was not opened`);
    table.geometry = chunk.geometry?.type ?? null;
    if (chunk.length === 0) return;
    this.#run('insert into chunk (record_table, chunk, rows) values (?, ?, ?)', [table.id, table.chunks, chunk.length]);
    for (const [part, bytes] of chunkPages(chunk)) {
      this.#run('insert into page (record_table, chunk, part, blob) values (?, ?, ?, ?)', [
        table.id,
        table.chunks,
        part,
        this.#blob(bytes),
      ]);
    }
    table.chunks += 1;
    table.rows += chunk.length;
  }

  file(path: string, bytes: Uint8Array): void {
    this.openFile(path).append(bytes);
  }

  openFile(path: string): { append(bytes: Uint8Array): void } {
    if (this.#files.has(path)) throw new Error(`file ${path} was opened twice`);
    this.#files.add(path);
    const pieces = this.#guarded(() => {
      const id = this.#run("insert into file (version, path, size, sha256) values (?, ?, 0, '')", [
        this.#version,
        path,
      ]);
      return new FilePieces((position, bytes) => {
        this.#run('insert into file_part (file, position, blob) values (?, ?, ?)', [id, position, this.#blob(bytes)]);
      }, id);
    });
    this.#openFiles.push(pieces);
    return { append: (bytes) => this.#guarded(() => pieces.append(bytes)) };
  }

  keys(table: string): KeyIndex {
    const known = this.#keys.get(table);
    if (known) return known.index;
    const index = this.#guarded(() => this.#readKeys(table));
    this.#keys.set(table, { index, stored: index.length });
    return index;
  }

  #readKeys(table: string): KeyIndex {
    const index = new KeyIndex();
    const chunks = this.#statement(
      `select k.keys as keys, b.bytes as bytes from feature_keys k join blob b on b.id = k.blob
       where k.site = ? and k.table_name = ? order by k.chunk`,
    ).iterate(this.#request.site, table) as IterableIterator<{ keys: number; bytes: Uint8Array }>;
    for (const { keys, bytes: page } of chunks) {
      const { bytes, lengths } = readTexts(page, keys);
      let at = 0;
      for (let i = 0; i < keys; i++) index.add(bytes, at, (at += lengths[i]));
    }
    return index;
  }

  #writeKeys(table: string, { index, stored }: { index: KeyIndex; stored: number }): void {
    if (index.length === stored) return;
    // the last page may have been half full: it is written anew
    for (let chunk = Math.floor(stored / keysPerPage); chunk * keysPerPage < index.length; chunk++) {
      const to = Math.min((chunk + 1) * keysPerPage, index.length);
      const page = columnPage({ kind: 'text', ...index.slice(chunk * keysPerPage, to) });
      this.#run(
        `insert into feature_keys (site, table_name, chunk, keys, blob) values (?, ?, ?, ?, ?)
         on conflict do update set keys = excluded.keys, blob = excluded.blob`,
        [this.#request.site, table, chunk, to - chunk * keysPerPage, this.#blob(page)],
      );
    }
  }

  setAside(row: SetAsideRow): void {
    this.#guarded(() =>
      this.#run('insert into set_aside (version, file, row, reason, text) values (?, ?, ?, ?, ?)', [
        this.#version,
        row.file,
        row.row,
        row.reason,
        row.text,
      ]),
    );
  }

  commit(contentHash: string): Version {
    const { database, site } = this.#request;
    const version = this.#guarded(() => {
      const before = this.#statement('select id from version where site = ? and content_hash = ?').get(
        site,
        contentHash,
      ) as { id: number } | undefined;
      if (before) {
        database.exec('rollback');
        return readVersion(database, before.id);
      }
      for (const pieces of this.#openFiles) {
        const { size, sha256 } = pieces.finish();
        this.#run('update file set size = ?, sha256 = ? where id = ?', [size, sha256, pieces.id]);
      }
      for (const { id, rows, geometry } of this.#tables.values())
        this.#run('update record_table set rows = ?, geometry = ? where id = ?', [rows, geometry, id]);
      for (const [table, keys] of this.#keys) this.#writeKeys(table, keys);
      this.#run('update version set content_hash = ?, accepted_at = ? where id = ?', [
        contentHash,
        new Date().toISOString(),
        this.#version,
      ]);
      const made = readVersion(database, this.#version);
      database.exec('commit');
      return made;
    });
    this.#finish();
    return version;
  }

  rollback(): void {
    this.#finish();
  }

  /** Closes the connection, which takes back whatever was not committed, even when the disk refuses every statement. */
  #finish(): void {
    if (!this.#open) return;
    this.#open = false;
    this.#request.database.close();
    this.#request.finished();
  }

  #guarded<T>(work: () => T): T {
    if (!this.#open) throw new Error('this import has ended');
    try {
      return reported(this.#request.file, work);
    } catch (error) {
      this.#finish();
      throw error;
    }
  }

  #statement(sql: string): Statement {
    let statement = this.#statements.get(sql);
    if (!statement) {
      statement = this.#request.database.prepare(sql);
      this.#statements.set(sql, statement);
    }
    return statement;
  }

  #run(sql: string, values: readonly unknown[]): number | bigint {
    return this.#statement(sql).run(...values).lastInsertRowid;
  }

  /** Number of the blob with these bytes, which are stored when no version has them yet. */
  #blob(bytes: Uint8Array): number | bigint {
    const hash = createHash('sha256').update(bytes).digest();
    const found = this.#statement('select id from blob where hash = ?').get(hash) as { id: number } | undefined;
    return found ? found.id : this.#run('insert into blob (hash, bytes) values (?, ?)', [hash, bytes]);
  }
}

/** Collects a file's bytes into pieces of 1 MiB. */
class FilePieces {
  readonly id: number | bigint;
  readonly #keep: (position: number, bytes: Uint8Array) => void;
  readonly #hash: Hash = createHash('sha256');
  #piece = new Uint8Array(0);
  #filled = 0;
  #position = 0;
  #size = 0;

  constructor(keep: (position: number, bytes: Uint8Array) => void, id: number | bigint) {
    this.#keep = keep;
    this.id = id;
  }

  append(bytes: Uint8Array): void {
    this.#hash.update(bytes);
    this.#size += bytes.length;
    for (let at = 0; at < bytes.length; ) {
      if (this.#piece.length < filePartBytes) this.#grow(this.#filled + bytes.length - at);
      const taken = Math.min(this.#piece.length - this.#filled, bytes.length - at);
      this.#piece.set(bytes.subarray(at, at + taken), this.#filled);
      this.#filled += taken;
      at += taken;
      if (this.#filled === filePartBytes) this.#flush();
    }
  }

  #grow(wanted: number): void {
    if (wanted <= this.#piece.length) return;
    const grown = new Uint8Array(Math.min(filePartBytes, Math.max(wanted, 2 * this.#piece.length)));
    grown.set(this.#piece.subarray(0, this.#filled));
    this.#piece = grown;
  }

  #flush(): void {
    if (this.#filled === 0) return;
    this.#keep(this.#position++, this.#piece.subarray(0, this.#filled));
    this.#filled = 0;
  }

  finish(): { size: number; sha256: string } {
    this.#flush();
    return { size: this.#size, sha256: this.#hash.digest('hex') };
  }
}
