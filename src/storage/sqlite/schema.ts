import type { Database } from 'better-sqlite3';
import { Problem } from '../../problems.js';

/**
 * The steps from an empty file to the newest layout; a file's `user_version` says how many it has been through.
 * Steps are only ever added: a file of an older wreckfield walks forward, none walks back.
 */
const migrations: readonly string[] = [
  `
  create table site (id text primary key, title text not null) without rowid;

  -- bytes by their SHA-256: what two versions share is kept once
  create table blob (id integer primary key, hash blob not null unique, bytes blob not null);

  create table version (
    id integer primary key autoincrement,
    site text not null references site (id),
    number integer not null,
    content_hash text not null,
    accepted_at text not null,
    unique (site, number),
    unique (site, content_hash)
  );

  create table record_table (
    id integer primary key,
    version integer not null references version (id),
    name text not null,
    fields text not null,
    geometry text,
    rows integer not null,
    unique (version, name)
  );

  -- one page = one column of at most 65,536 rows
  create table page (
    record_table integer not null references record_table (id),
    chunk integer not null,
    part text not null,
    blob integer not null references blob (id),
    primary key (record_table, chunk, part)
  ) without rowid;

  create table chunk (
    record_table integer not null references record_table (id),
    chunk integer not null,
    rows integer not null,
    primary key (record_table, chunk)
  ) without rowid;

  create table file (
    id integer primary key,
    version integer not null references version (id),
    path text not null,
    size integer not null,
    sha256 text not null,
    unique (version, path)
  );
  create table file_part (
    file integer not null references file (id),
    position integer not null,
    blob integer not null references blob (id),
    primary key (file, position)
  ) without rowid;

  create table set_aside (
    version integer not null references version (id),
    file text not null,
    row integer not null,
    reason text not null,
    text text not null
  );
  create index set_aside_by_version on set_aside (version);

  -- the keys of a table's records in the order of their feature ids
  create table feature_keys (
    site text not null references site (id),
    table_name text not null,
    chunk integer not null,
    keys integer not null,
    blob integer not null references blob (id),
    primary key (site, table_name, chunk)
  ) without rowid;

  create table job (
    id text primary key,
    site text not null,
    process text not null,
    status text not null,
    progress real not null,
    message text not null,
    request text not null,
    version integer not null,
    created_at text not null,
    started_at text,
    finished_at text,
    problem text,
    pinned integer not null
  );
  create index job_by_site on job (site, created_at);
  create table result_part (
    job text not null,
    name text not null,
    bytes blob not null,
    primary key (job, name)
  );
  `,
];

/**
 * Brings a file to the newest layout, in one transaction.
 * @throws Problem store-unavailable when the file was made by a newer wreckfield, or is no store of ours
 */
export function migrate(database: Database): void {
  const reached = () => database.pragma('user_version', { simple: true }) as number;
  if (reached() === migrations.length) return;
  database.exec('begin immediate');
  try {
    // asked again inside the transaction: another process may have gone the same way meanwhile
    const from = reached();
    checkLayout(from);
    for (const step of migrations.slice(from)) database.exec(step);
    database.pragma(`user_version = ${migrations.length}`);
    database.exec('commit');
  } catch (error) {
    if (database.inTransaction) database.exec('rollback');
    throw error;
  }
}

/** @throws Problem store-unavailable when a reader meets a layout it does not know */
export function checkLayout(reached: number): void {
  if (reached > migrations.length) {
    throw new Problem(
      'store-unavailable',
      `the store has layout ${reached}, this wreckfield knows layouts up to ${migrations.length}; start the newer version that made it`,
    );
  }
}
