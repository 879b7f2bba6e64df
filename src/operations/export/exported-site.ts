import { tableOf } from '../../domain/columns.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Survey } from '../../domain/survey.js';
import { Problem } from '../../problems.js';
import type { SetAsideRow, Store, Version } from '../../storage/store.js';
import type { PublishedCollection, RowConditions } from '../published-collection.js';

/** A site as a download takes it: its collections with the rows that fit the selection, and its surfaces. */
export interface ExportedSite {
  readonly survey: Survey;
  readonly version: Version;
  /** in the order they are listed, kept results left out: a download tells what was recorded */
  readonly layers: readonly ExportedLayer[];
  /** a surface as GeoTIFF; null when there is nothing of it in this selection */
  surface(collection: PublishedCollection): Promise<Uint8Array | null>;
  /** names of the files as received */
  receivedFiles(): Promise<readonly string[]>;
  receivedFile(name: string): Promise<Uint8Array | null>;
  /** rows set aside, as a table */
  setAside(): Promise<FeatureTable>;
  /** what rows and tiles are chosen by, and a name for it: equal names, equal conditions */
  readonly conditions: RowConditions;
  readonly conditionsKey: string;
  /** one sentence on what was chosen; null = everything */
  readonly selectionSentence: string | null;
}

/** One collection of a download. */
export interface ExportedLayer {
  readonly collection: PublishedCollection;
  /** rows that fit the selection, rising */
  readonly rows: Uint32Array;
}

/** A surface, or null where the levels of this selection make none: a download then goes without it. */
export async function surfaceOrNull(make: () => Promise<Uint8Array | null>): Promise<Uint8Array | null> {
  try {
    return await make();
  } catch (error) {
    if (error instanceof Problem && error.code === 'cannot-answer') return null;
    throw error;
  }
}

/** What the store keeps of a data version beside its tables. */
export function receivedIn(
  store: Pick<Store, 'files' | 'readFile' | 'setAsideRows'>,
  { site, version }: Version,
): Pick<ExportedSite, 'receivedFiles' | 'receivedFile' | 'setAside'> {
  return {
    receivedFiles: async () => (await store.files(site, version)).map(({ path }) => path),
    receivedFile: (name) => store.readFile(site, version, name),
    setAside: async () => setAsideTable(await store.setAsideRows(site, version)),
  };
}

function setAsideTable(rows: readonly SetAsideRow[]): FeatureTable {
  return tableOf({
    name: 'set_aside',
    fields: [
      { name: 'file', title: 'File', type: 'text' },
      { name: 'row', title: 'Row in the file', type: 'integer', unit: '1' },
      { name: 'reason', title: 'Reason', type: 'text', distinct: true },
      { name: 'text', title: 'As received', type: 'text', distinct: true },
    ],
    rows: rows.map((row) => ({ ...row })),
    geometry: null,
  });
}

/** Name of a download: site, data version, ending. */
export function downloadName({ survey, version }: Pick<ExportedSite, 'survey' | 'version'>, ending: string): string {
  return `${survey.site.id}-v${version.version}${ending}`;
}
