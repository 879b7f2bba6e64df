import { readdirSync, readFileSync } from 'node:fs';
import { extname, join } from 'node:path';

const types: Readonly<Record<string, string>> = {
  '.js': 'text/javascript; charset=utf-8',
  '.mjs': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.ttf': 'font/ttf',
  '.txt': 'text/plain; charset=utf-8',
  '.json': 'application/json',
  '.pbf': 'application/x-protobuf',
};

interface StaticFile {
  readonly mediaType: string;
  read(): Uint8Array;
}

/** Files shipped with the pages, by name relative to their folder. */
export type StaticFiles = ReadonlyMap<string, StaticFile>;

/**
 * Lists a folder once, at the start. Afterwards a name is only looked up in this list, never joined to a path, so
 * that no trick in an address can reach another file. A folder that is not there gives an empty list.
 */
export function listStaticFiles(folder: string | null): StaticFiles {
  const files = new Map<string, StaticFile>();
  const walk = (below: string) => {
    for (const entry of readdirSync(join(folder as string, below), { withFileTypes: true })) {
      const name = below === '' ? entry.name : `${below}/${entry.name}`;
      const mediaType = types[extname(entry.name)];
      if (entry.isDirectory()) walk(name);
      else if (entry.isFile() && !entry.name.startsWith('.') && mediaType !== undefined) {
        const path = join(folder as string, name);
        let bytes: Uint8Array | null = null;
        files.set(name, { mediaType, read: () => (bytes ??= readFileSync(path)) });
      }
    }
  };
  if (folder === null) return files;
  try {
    walk('');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
  }
  return files;
}
