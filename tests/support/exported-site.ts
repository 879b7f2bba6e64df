import type { Survey } from '../../src/domain/survey.js';
import type { ExportedSite } from '../../src/operations/export/exported-site.js';
import { receivedIn } from '../../src/operations/export/exported-site.js';
import { PublishedCollection } from '../../src/operations/published-collection.js';
import type { Version } from '../../src/storage/store.js';

/** A survey written by hand, ready to be exported; `files` are what was received. */
export function exportedSite(
  survey: Survey,
  given: { readonly files?: Readonly<Record<string, string>>; readonly seasons?: readonly string[] } = {},
): ExportedSite {
  const files = given.files ?? {};
  const version: Version = {
    site: survey.site.id,
    version: 1,
    contentHash: 'c'.repeat(64),
    acceptedAt: '2026-01-02T03:04:05.678Z',
    tables: [],
    setAside: [],
  };
  const conditions = {
    seasons: given.seasons ? new Set(given.seasons) : null,
    classes: null,
    bbox: null,
    datetime: null,
    equals: [],
    filter: null,
  };
  const layers = survey.collectionEntries().map((entry) => {
    const table = survey.collection(entry.id);
    if (!table) throw new Error(entry.id);
    const { deferred: _deferred, bySeason: _bySeason, ...published } = entry;
    const collection = new PublishedCollection(published, table, survey.frame);
    return { collection, rows: collection.rows(conditions) };
  });
  return {
    survey,
    version,
    layers,
    surface: async () => null,
    ...receivedIn(
      {
        files: async () => Object.keys(files).map((path) => ({ path, size: files[path].length, sha256: '' })),
        readFile: async (_site, _version, path) => (path in files ? new TextEncoder().encode(files[path]) : null),
        setAsideRows: async () => [{ file: 'finds.csv', row: 7, reason: 'no number', text: '=x,y' }],
      },
      version,
    ),
    conditions,
    conditionsKey: JSON.stringify(given.seasons ?? null),
    selectionSentence: given.seasons ? `seasons ${given.seasons.join(', ')}` : null,
  };
}
