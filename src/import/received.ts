import { createHash } from 'node:crypto';
import type { ImportTransaction } from '../storage/store.js';
import { type Complaints, isFileFault } from './complaints.js';
import { sizeInWords } from './limits.js';
import type { SiteFolder } from './site-folder.js';

/** How far an import is. */
export type ImportProgress = (done: { readonly file: string; readonly bytes: number }) => void;

/** The files of a folder on their way in: each is read once, kept as received, and counted into the content hash. */
export class ReceivedFiles {
  readonly #folder: SiteFolder;
  readonly #complaints: Complaints;
  readonly #progress: ImportProgress;
  readonly #hashes = new Map<string, string>();
  #keep: Pick<ImportTransaction, 'openFile'> | null = null;

  constructor(folder: SiteFolder, complaints: Complaints, progress: ImportProgress) {
    this.#folder = folder;
    this.#complaints = complaints;
    this.#progress = progress;
  }

  /** Files read from now on are kept here. */
  keepIn(transaction: Pick<ImportTransaction, 'openFile'>): void {
    this.#keep = transaction;
  }

  /** A file piece by piece; it ends early, with a complaint, when it is larger than allowed. */
  async *pieces(name: string, largest: number): AsyncGenerator<Uint8Array> {
    const hash = createHash('sha256');
    const kept = this.#keep?.openFile(name);
    let size = 0;
    for await (const piece of this.#folder.read(name)) {
      size += piece.length;
      if (size > largest) {
        this.#complaints.addFile(name, `is larger than ${sizeInWords(largest)}, the most that is read`);
        return;
      }
      hash.update(piece);
      kept?.append(piece);
      yield piece;
      this.#progress({ file: name, bytes: size });
    }
    this.#hashes.set(name, hash.digest('hex'));
  }

  /** A whole file; null when it is larger than allowed. */
  async whole(name: string, largest: number): Promise<Uint8Array | null> {
    const before = this.#complaints.total;
    const pieces: Buffer[] = [];
    // copied: a piece is good only until the next one
    try {
      for await (const piece of this.pieces(name, largest)) pieces.push(Buffer.from(piece));
    } catch (error) {
      if (!isFileFault(error)) throw error;
      this.#complaints.addFile(name, error.message);
    }
    return this.#complaints.total === before ? Buffer.concat(pieces) : null;
  }

  /** Keeps a file that was read before there was a place to keep it in. */
  keepWhole(name: string, bytes: Uint8Array): void {
    this.#keep?.openFile(name).append(bytes);
  }

  /** SHA-256 of each file read so far, by name. */
  get hashes(): ReadonlyMap<string, string> {
    return this.#hashes;
  }

  /** SHA-256 over the names and contents of all files read, whatever order they came in. */
  contentHash(remark: string): string {
    const lines = [...this.#hashes].map(([name, hash]) => `${hash}  ${name}\n`).sort();
    return createHash('sha256').update(lines.join('')).update(remark).digest('hex');
  }
}
