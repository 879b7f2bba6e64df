import { mkdtempSync, rmSync } from 'node:fs';
import { rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A download as a file of its own. */
export interface DownloadFile {
  readonly path: string;
  readonly size: number;
}

/** Files made on request, the last few kept so that a client can ask for the rest of one; gone when the process ends. */
export class DownloadFiles {
  readonly #most: number;
  #folder: string | null = null;
  #made = 0;
  /** settles when the file before is written: many requests at once must not fill the disk at once */
  #turn: Promise<unknown> = Promise.resolve();
  /** most recently asked for last */
  readonly #held = new Map<string, Promise<DownloadFile>>();

  constructor(most = 6) {
    this.#most = most;
  }

  /**
   * The file of this key, made when it is not there.
   * @param write  writes to a path where nothing is yet
   */
  get(key: string, write: (path: string) => Promise<void>): Promise<DownloadFile> {
    let held = this.#held.get(key);
    this.#held.delete(key);
    held ??= this.#inTurn(() => this.#make(write));
    this.#held.set(key, held);
    // what could not be made is tried again when next asked for
    held.catch(() => this.#held.delete(key));
    while (this.#held.size > this.#most) this.#drop([...this.#held.keys()][0]);
    return held;
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const done = this.#turn.then(work);
    this.#turn = done.catch(() => {});
    return done;
  }

  async #make(write: (path: string) => Promise<void>): Promise<DownloadFile> {
    const path = join(this.#open(), String(++this.#made));
    try {
      await write(path);
      return { path, size: (await stat(path)).size };
    } catch (error) {
      await rm(path, { force: true });
      throw error;
    }
  }

  /** A folder only this user can look into: positions are in these files. */
  #open(): string {
    if (this.#folder === null) {
      const folder = mkdtempSync(join(tmpdir(), 'wreckfield-downloads-'));
      process.once('exit', () => rmSync(folder, { recursive: true, force: true }));
      this.#folder = folder;
    }
    return this.#folder;
  }

  #drop(key: string): void {
    const held = this.#held.get(key);
    this.#held.delete(key);
    // a file still being read stays readable until then; where the system forbids that it goes with the folder
    held?.then(({ path }) => rm(path, { force: true })).catch(() => {});
  }
}
