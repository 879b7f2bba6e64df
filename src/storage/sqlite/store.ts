import { mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import type { Database } from 'better-sqlite3';
import type { ImportTransaction, JobRecord, Store } from '../store.js';
import { openReader, openWriter, reported, type SqliteOptions } from './connection.js';
import { SqliteImport } from './import.js';
import * as read from './read.js';

/**
 * Opens the store kept in one SQLite file, making it when it is not there. Readers see committed versions only; other
 * processes may read and import meanwhile.
 * @param file  path of the file; its folder is made
 * @throws Problem store-unavailable when the file cannot be opened, was made by a newer wreckfield, or is no store
 */
export function openSqliteStore(file: string, options: SqliteOptions = {}): Store {
  mkdirSync(dirname(file), { recursive: true });
  return new SqliteStore(file, openWriter(file, options), () => openWriter(file, options));
}

/**
 * Opens a store for reading only, as a worker does.
 * @throws Problem store-unavailable when there is no store at this path
 */
export function openSqliteReadOnly(file: string, options: SqliteOptions = {}): Store {
  return new SqliteStore(file, openReader(file, options), () => {
    throw new Error('this store was opened for reading only');
  });
}

class SqliteStore implements Store {
  readonly #file: string;
  readonly #database: Database;
  readonly #openImporter: () => Database;
  /** settles when the writer before has finished: a statement must not wait on a lock that its own thread holds */
  #turn: Promise<void> = Promise.resolve();

  constructor(file: string, database: Database, openImporter: () => Database) {
    this.#file = file;
    this.#database = database;
    this.#openImporter = openImporter;
  }

  async #reading<T>(work: (database: Database) => T): Promise<T> {
    return reported(this.#file, () => work(this.#database));
  }

  /** Waits for this process's turn to write. → call it when done */
  async #takeTurn(): Promise<() => void> {
    const before = this.#turn;
    let finished: () => void = () => {};
    this.#turn = new Promise((resolve) => {
      finished = resolve;
    });
    await before;
    return finished;
  }

  async #writing(work: (database: Database) => void): Promise<void> {
    const finished = await this.#takeTurn();
    try {
      reported(this.#file, () => this.#database.transaction(() => work(this.#database)).immediate());
    } finally {
      finished();
    }
  }

  sites() {
    return this.#reading(
      (database) => database.prepare('select id, title from site order by id').all() as { id: string; title: string }[],
    );
  }

  versions(site: string) {
    return this.#reading((database) => read.readVersions(database, site));
  }

  readTable(site: string, version: number, name: string) {
    // one read transaction: all pages come from one state of the file
    return this.#reading((database) => database.transaction(() => read.readTable(database, { site, version, name }))());
  }

  readFile(site: string, version: number, path: string) {
    return this.#reading((database) => read.readFile(database, { site, version, path }));
  }

  files(site: string, version: number) {
    return this.#reading((database) => read.readFiles(database, site, version));
  }

  setAsideRows(site: string, version: number) {
    return this.#reading((database) => read.readSetAside(database, site, version));
  }

  pulse() {
    return this.#reading(
      (database) => database.prepare('select coalesce(max(id), 0) from version').pluck().get() as number,
    );
  }

  async beginImport(site: string, title: string): Promise<ImportTransaction> {
    const finished = await this.#takeTurn();
    let database: Database;
    try {
      database = this.#openImporter();
    } catch (error) {
      finished();
      throw error;
    }
    return new SqliteImport({ database, file: this.#file, site, title, finished });
  }

  saveJob(job: JobRecord) {
    return this.#writing((database) => {
      database
        .prepare(
          `insert into job (id, site, process, status, progress, message, request, version, created_at, started_at,
             finished_at, problem, pinned)
           values (@id, @site, @process, @status, @progress, @message, @request, @version, @createdAt, @startedAt,
             @finishedAt, @problem, @pinned)
           on conflict (id) do update set status = excluded.status, progress = excluded.progress,
             message = excluded.message, request = excluded.request, version = excluded.version,
             started_at = excluded.started_at, finished_at = excluded.finished_at, problem = excluded.problem,
             pinned = excluded.pinned`,
        )
        .run({ ...job, pinned: job.pinned ? 1 : 0 });
    });
  }

  job(site: string, id: string) {
    return this.#reading((database) => read.readJob(database, site, id));
  }

  jobs(site: string) {
    return this.#reading((database) => read.readJobs(database, site));
  }

  deleteJob(site: string, id: string) {
    return this.#writing((database) => {
      const { changes } = database.prepare('delete from job where site = ? and id = ?').run(site, id);
      if (changes > 0) database.prepare('delete from result_part where job = ?').run(id);
    });
  }

  saveResult(job: string, parts: ReadonlyMap<string, Uint8Array>) {
    return this.#writing((database) => {
      database.prepare('delete from result_part where job = ?').run(job);
      const insert = database.prepare('insert into result_part (job, name, bytes) values (?, ?, ?)');
      for (const [name, bytes] of parts) insert.run(job, name, bytes);
    });
  }

  readResult(job: string, part: string) {
    return this.#reading((database) => {
      const row = database.prepare('select bytes from result_part where job = ? and name = ?').get(job, part);
      return row ? (row as { bytes: Uint8Array }).bytes : null;
    });
  }

  async close(): Promise<void> {
    if (this.#database.open) this.#database.close();
  }
}
