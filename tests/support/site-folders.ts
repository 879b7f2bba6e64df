import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { memoryFolder, type SiteFolder } from '../../src/import/import-folder.js';
import { newFolderFiles } from '../../src/import/new-folder.js';

const fixtures = join(import.meta.dirname, '..', 'fixtures');
const encoder = new TextEncoder();

/** Names of the fixtures of a kind, without their ending. */
export const fixtureNames = (kind: 'finds' | 'areas'): string[] =>
  readdirSync(join(fixtures, kind)).map((name) => name.replace(/\.\w+$/, ''));

/** A fixture's bytes. */
export const fixture = (kind: 'finds' | 'areas', name: string): Uint8Array =>
  readFileSync(join(fixtures, kind, `${name}.${kind === 'finds' ? 'csv' : 'geojson'}`));

/** The new folder's site.json with members replaced. */
export const siteWith = (changes: Record<string, unknown>): string =>
  JSON.stringify({ ...JSON.parse(newFolderFiles().get('site.json') ?? '{}'), ...changes });

const minimum = ['site.json', 'excavated-squares.csv', 'finds.csv'];

/** The smallest folder that can be imported, with files replaced, added or (null) taken away. */
export function folderWith(changes: Readonly<Record<string, string | Uint8Array | null>>): SiteFolder {
  const files = new Map<string, Uint8Array>();
  const example = newFolderFiles();
  for (const name of minimum) files.set(name, encoder.encode(example.get(name)));
  for (const [name, content] of Object.entries(changes)) {
    if (content === null) files.delete(name);
    else files.set(name, typeof content === 'string' ? encoder.encode(content) : content);
  }
  return memoryFolder(files);
}
