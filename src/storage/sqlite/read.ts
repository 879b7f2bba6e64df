import type { Database } from 'better-sqlite3';
import type { FeatureTable, Geometry } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import type { JobRecord, JobStatus, SetAsideRow, Version } from '../store.js';
import { assembleTable, type StoredChunk } from './assemble.js';

interface VersionRow {
  readonly id: number;
  readonly site: string;
  readonly number: number;
  readonly content_hash: string;
  readonly accepted_at: string;
}

function versionOf(database: Database, row: VersionRow): Version {
  const tables = database
    .prepare('select name, rows from record_table where version = ? order by name')
    .all(row.id) as { name: string; rows: number }[];
  const setAside = database
    .prepare('select file, count(*) as rows from set_aside where version = ? group by file order by file')
    .all(row.id) as { file: string; rows: number }[];
  return {
    site: row.site,
    version: row.number,
    contentHash: row.content_hash,
    acceptedAt: row.accepted_at,
    tables,
    setAside,
  };
}

/** One version by its row number. */
export function readVersion(database: Database, id: number | bigint): Version {
  return versionOf(database, database.prepare('select * from version where id = ?').get(id) as VersionRow);
}

/** All versions of a site, oldest first. */
export function readVersions(database: Database, site: string): Version[] {
  const rows = database.prepare('select * from version where site = ? order by number').all(site) as VersionRow[];
  return rows.map((row) => versionOf(database, row));
}

/** A table of a version; null when it has none of that name. */
export function readTable(
  database: Database,
  { site, version, name }: { site: string; version: number; name: string },
): FeatureTable | null {
  const outline = database
    .prepare(
      `select t.id, t.fields, t.geometry, t.rows from record_table t join version v on v.id = t.version
       where v.site = ? and v.number = ? and t.name = ?`,
    )
    .get(site, version, name) as
    | { id: number; fields: string; geometry: Geometry['type'] | null; rows: number }
    | undefined;
  if (!outline) return null;
  const page = database.prepare(
    'select b.bytes from page p join blob b on b.id = p.blob where p.record_table = ? and p.chunk = ? and p.part = ?',
  );
  const stored = database
    .prepare('select chunk, rows from chunk where record_table = ? order by chunk')
    .all(outline.id) as { chunk: number; rows: number }[];
  const chunks = stored.map(({ chunk, rows }): StoredChunk => {
    return {
      rows,
      page(part) {
        const found = page.get(outline.id, chunk, part) as { bytes: Uint8Array } | undefined;
        if (!found)
          throw new Error(`${name} of ${site}, version ${version}: page ${part} of chunk ${chunk} is missing`);
        return found.bytes;
      },
    };
  });
  const fields = JSON.parse(outline.fields) as Field[];
  return assembleTable({ name, rows: outline.rows, fields, geometry: outline.geometry }, chunks);
}

/** The bytes of a file as received; null when the version has none of that name. */
export function readFile(
  database: Database,
  { site, version, path }: { site: string; version: number; path: string },
): Uint8Array | null {
  const file = database
    .prepare(
      `select f.id, f.size from file f join version v on v.id = f.version
       where v.site = ? and v.number = ? and f.path = ?`,
    )
    .get(site, version, path) as { id: number; size: number } | undefined;
  if (!file) return null;
  const parts = database
    .prepare('select b.bytes from file_part p join blob b on b.id = p.blob where p.file = ? order by p.position')
    .iterate(file.id) as IterableIterator<{ bytes: Uint8Array }>;
  const out = new Uint8Array(file.size);
  let at = 0;
  for (const { bytes } of parts) {
    out.set(bytes, at);
    at += bytes.length;
  }
  return out;
}

/** The files of a version by name. */
export function readFiles(database: Database, site: string, version: number) {
  return database
    .prepare(
      `select f.path, f.size, f.sha256 from file f join version v on v.id = f.version
       where v.site = ? and v.number = ? order by f.path`,
    )
    .all(site, version) as { path: string; size: number; sha256: string }[];
}

/** The rows set aside, in the order they were met. */
export function readSetAside(database: Database, site: string, version: number): SetAsideRow[] {
  return database
    .prepare(
      `select s.file, s.row, s.reason, s.text from set_aside s join version v on v.id = s.version
       where v.site = ? and v.number = ? order by s.rowid`,
    )
    .all(site, version) as SetAsideRow[];
}

interface JobRow {
  readonly id: string;
  readonly site: string;
  readonly process: string;
  readonly status: JobStatus;
  readonly progress: number;
  readonly message: string;
  readonly request: string;
  readonly version: number;
  readonly created_at: string;
  readonly started_at: string | null;
  readonly finished_at: string | null;
  readonly problem: string | null;
  readonly pinned: number;
}

const jobOf = (row: JobRow): JobRecord => ({
  id: row.id,
  site: row.site,
  process: row.process,
  status: row.status,
  progress: row.progress,
  message: row.message,
  request: row.request,
  version: row.version,
  createdAt: row.created_at,
  startedAt: row.started_at,
  finishedAt: row.finished_at,
  problem: row.problem,
  pinned: row.pinned === 1,
});

/** One job; null when the site has none of that id. */
export function readJob(database: Database, site: string, id: string): JobRecord | null {
  const row = database.prepare('select * from job where site = ? and id = ?').get(site, id) as JobRow | undefined;
  return row ? jobOf(row) : null;
}

/** The jobs of a site, newest first. */
export function readJobs(database: Database, site: string): JobRecord[] {
  const rows = database.prepare('select * from job where site = ? order by created_at desc, rowid desc').all(site);
  return (rows as JobRow[]).map(jobOf);
}
