import { constants } from 'node:fs';
import { open, readdir, realpath } from 'node:fs/promises';
import { join } from 'node:path';
import { Problem } from '../problems.js';

/** One entry of a site folder. */
export interface FolderEntry {
  readonly name: string;
  readonly kind: 'file' | 'link' | 'other';
}

/** Where a site's files are read from: a folder on disk, or files received over the network. */
export interface SiteFolder {
  entries(): Promise<readonly FolderEntry[]>;
  /** bytes of a file, piece by piece; a piece is good until the next one is asked for */
  read(name: string): AsyncIterable<Uint8Array>;
}

const pieceBytes = 1 << 18;

/**
 * A folder on disk. Links in it are not followed: a file of the folder is a file in the folder.
 * @throws Problem bad-folder (when its entries are asked for) if there is no such folder
 */
export function diskFolder(path: string): SiteFolder {
  return {
    async entries() {
      try {
        const found = await readdir(await realpath(path), { withFileTypes: true });
        return found
          .map((entry): FolderEntry => {
            const kind = entry.isSymbolicLink() ? 'link' : entry.isFile() ? 'file' : 'other';
            return { name: entry.name, kind };
          })
          .sort((a, b) => (a.name < b.name ? -1 : 1));
      } catch (error) {
        if (!(error instanceof Error) || !('code' in error)) throw error;
        throw new Problem('bad-folder', `"${path}" is no folder that can be read (${String(error.code)})`);
      }
    },
    read: (name) => readPieces(join(path, name)),
  };
}

async function* readPieces(path: string): AsyncGenerator<Uint8Array> {
  // between the look at the folder and this the entry may have become a link: the system then refuses to open it
  const file = await open(path, constants.O_RDONLY | (constants.O_NOFOLLOW ?? 0)).catch(
    (error: NodeJS.ErrnoException) => {
      throw new Problem('bad-file', `cannot be opened (${error.code})`);
    },
  );
  try {
    const buffer = new Uint8Array(pieceBytes);
    for (;;) {
      const { bytesRead } = await file.read(buffer, 0, pieceBytes);
      if (bytesRead === 0) return;
      yield buffer.subarray(0, bytesRead);
    }
  } finally {
    await file.close();
  }
}

/** Files already in memory, by name. */
export function memoryFolder(files: ReadonlyMap<string, Uint8Array>): SiteFolder {
  return {
    async entries() {
      return [...files.keys()].sort().map((name): FolderEntry => ({ name, kind: 'file' }));
    },
    async *read(name) {
      const bytes = files.get(name);
      if (!bytes) throw new Error(`no file ${name}`);
      for (let at = 0; at < bytes.length; at += pieceBytes) yield bytes.subarray(at, at + pieceBytes);
    },
  };
}
