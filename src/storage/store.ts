import type { FeatureTable } from '../domain/feature-table.js';
import type { Field } from '../domain/fields.js';
import type { KeyIndex } from '../domain/records/key-index.js';

/** A numbered, immutable state of a site's records. */
export interface Version {
  readonly site: string;
  readonly version: number;
  /** SHA-256 over the received files: the same folder twice is one version */
  readonly contentHash: string;
  /** ISO 8601, UTC: when it was accepted */
  readonly acceptedAt: string;
  readonly tables: readonly { readonly name: string; readonly rows: number }[];
  /** rows set aside (by --set-aside), by file */
  readonly setAside: readonly { readonly file: string; readonly rows: number }[];
}

/** One row set aside: where it stood, why, and its text as received. */
export interface SetAsideRow {
  readonly file: string;
  readonly row: number;
  readonly reason: string;
  readonly text: string;
}

/**
 * An import under way: one transaction. Nothing is visible before `commit` returns; after it, everything is.
 */
export interface ImportTransaction {
  /** Opens a table; chunks are appended in file order and may be dropped by the caller at once. */
  table(name: string, fields: readonly Field[]): { append(chunk: FeatureTable): void };
  /** Keeps a file as received, byte by byte. */
  file(path: string, bytes: Uint8Array): void;
  /** The same for a file of any size, piece by piece; the pieces may be reused by the caller at once. */
  openFile(path: string): { append(bytes: Uint8Array): void };
  /**
   * Every key a table's records ever had on this site: a record's feature id is its number in here + 1, so it keeps
   * its id from version to version. Keys added while importing are kept by `commit`.
   */
  keys(table: string): KeyIndex;
  setAside(row: SetAsideRow): void;
  /** @returns the version made, or the existing one when the same content was accepted before */
  commit(contentHash: string): Version;
  rollback(): void;
}

export type JobStatus = 'accepted' | 'running' | 'successful' | 'failed' | 'dismissed';

export interface JobRecord {
  readonly id: string;
  readonly site: string;
  readonly process: string;
  readonly status: JobStatus;
  /** 0 to 100 */
  readonly progress: number;
  readonly message: string;
  /** JSON of the request as checked: inputs after defaults, outputs, response */
  readonly request: string;
  /** data version and level the answer is made from */
  readonly version: number;
  readonly createdAt: string;
  readonly startedAt: string | null;
  readonly finishedAt: string | null;
  /** JSON of the Problem, when failed */
  readonly problem: string | null;
  /** pinned results are not dropped when newer ones come */
  readonly pinned: boolean;
}

/** Where records, versions, jobs and answers live. Every adapter gives equal records. All answers are synchronous or promises alike. */
export interface Store {
  sites(): Promise<readonly { id: string; title: string }[]>;
  /** oldest first */
  versions(site: string): Promise<readonly Version[]>;
  /** the records of one file or table as received and checked; null when the version has no such table */
  readTable(site: string, version: number, name: string): Promise<FeatureTable | null>;
  readFile(site: string, version: number, path: string): Promise<Uint8Array | null>;
  files(site: string, version: number): Promise<readonly { path: string; size: number; sha256: string }[]>;
  setAsideRows(site: string, version: number): Promise<readonly SetAsideRow[]>;
  beginImport(site: string, title: string): Promise<ImportTransaction>;
  /** a number that rises whenever any site gets a version: cheap to ask, so that a running service sees imports by others */
  pulse(): Promise<number>;

  saveJob(job: JobRecord): Promise<void>;
  job(site: string, id: string): Promise<JobRecord | null>;
  /** newest first */
  jobs(site: string): Promise<readonly JobRecord[]>;
  deleteJob(site: string, id: string): Promise<void>;
  /** an answer's parts by name ('answer.json', 'features', 'coverage', …) */
  saveResult(job: string, parts: ReadonlyMap<string, Uint8Array>): Promise<void>;
  readResult(job: string, part: string): Promise<Uint8Array | null>;
  close(): Promise<void>;
}
