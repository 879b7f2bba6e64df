import Sqlite, { type Database } from 'better-sqlite3';
import { Problem } from '../../problems.js';
import { checkLayout, migrate } from './schema.js';

/** How a store file is opened. */
export interface SqliteOptions {
  /** how long to wait for another process that is writing, milliseconds */
  readonly busyTimeoutMs?: number;
  /** called before every statement; what it throws fails that statement: tests make disks full with it */
  readonly beforeStatement?: (sql: string) => void;
}

const defaultBusyTimeoutMs = 15_000;

/**
 * Opens a connection that can write.
 * @throws Problem store-unavailable when the file cannot be opened or is no store of ours
 */
export function openWriter(file: string, options: SqliteOptions): Database {
  return reported(file, () => {
    const database = new Sqlite(file, {
      timeout: options.busyTimeoutMs ?? defaultBusyTimeoutMs,
      ...(options.beforeStatement ? { verbose: (sql: unknown) => options.beforeStatement?.(String(sql)) } : {}),
    });
    try {
      database.pragma('page_size = 16384');
      database.pragma('journal_mode = wal');
      // acknowledged means present: the log is flushed to the disk before a commit returns
      database.pragma('synchronous = full');
      // pages are written once and read whole: a large cache of them would only hold memory
      database.pragma('cache_size = -4000');
      database.pragma('foreign_keys = on');
      migrate(database);
    } catch (error) {
      database.close();
      throw error;
    }
    return database;
  });
}

/** Opens a connection that only reads. @throws Problem store-unavailable when there is no such store */
export function openReader(file: string, options: SqliteOptions): Database {
  return reported(file, () => {
    const database = new Sqlite(file, {
      readonly: true,
      fileMustExist: true,
      timeout: options.busyTimeoutMs ?? defaultBusyTimeoutMs,
    });
    checkLayout(database.pragma('user_version', { simple: true }) as number);
    return database;
  });
}

const outsideCauses: readonly (readonly [RegExp, string])[] = [
  [/^SQLITE_FULL/, 'the disk is full'],
  [/^SQLITE_BUSY|^SQLITE_LOCKED/, 'another process has been writing for too long; try again'],
  [/^SQLITE_IOERR/, 'the disk reports an error'],
  [/^SQLITE_CANTOPEN/, 'the file cannot be opened'],
  [/^SQLITE_READONLY/, 'the file may not be written'],
  [/^SQLITE_NOTADB|^SQLITE_CORRUPT/, 'the file is no store of wreckfield or is damaged; restore a backup'],
];

/** Runs work on the store; what the disk or another process is to blame for becomes a Problem, everything else stays a bug. */
export function reported<T>(file: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    const code = error instanceof Sqlite.SqliteError ? error.code : '';
    const cause = outsideCauses.find(([pattern]) => pattern.test(code));
    if (!cause) throw error;
    throw new Problem('store-unavailable', `the store cannot be used: ${cause[1]}`, { file, code });
  }
}
