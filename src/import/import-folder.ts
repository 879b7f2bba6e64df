import { type RecordFile, type RecordTable, recordFiles } from '../domain/records/records.js';
import type { Site } from '../domain/site.js';
import { Problem } from '../problems.js';
import type { Store } from '../storage/store.js';
import { type AcceptedAdjustment, adjustmentFileName, checkReadings, readAdjustment } from './accepted-adjustment.js';
import { type AcceptedPoints, adjustingReceiver } from './adjusted-tables.js';
import { type Complaint, Complaints, complaintSentence } from './complaints.js';
import { FolderReader } from './folder-reader.js';
import { defaultLimits, type ImportLimits } from './limits.js';
import { type ImportProgress, ReceivedFiles } from './received.js';
import { dryReceiver, type Receiver } from './receiver.js';
import { isPlainName, readSiteFile, siteFileName } from './site-file.js';
import { diskFolder, type FolderEntry, type SiteFolder } from './site-folder.js';

/** What came of checking or importing a site folder. */
export interface ImportReport {
  /** id of the site; null when site.json could not be read */
  readonly site: string | null;
  /** the data version made, or found to hold the same files; null after a check, and when the import was refused */
  readonly version: number | null;
  /** whether the folder can be imported as it is (rows set aside apart) */
  readonly accepted: boolean;
  /** rows taken, file by file */
  readonly rows: readonly { readonly file: string; readonly rows: number }[];
  readonly complaints: { readonly first: readonly Complaint[]; readonly total: number };
  readonly setAside: readonly { readonly file: string; readonly rows: number }[];
  /** what an accepted adjustment changed; null when there was none */
  readonly adjustment: AcceptedPoints | null;
  /** entries of the folder that are none of ours */
  readonly notRead: readonly string[];
}

/** How a folder is read. */
export interface FolderOptions {
  readonly limits?: ImportLimits;
  readonly progress?: ImportProgress;
}

const asFolder = (folder: string | SiteFolder): SiteFolder =>
  typeof folder === 'string' ? diskFolder(folder) : folder;

/**
 * Reads a site folder and says what is wrong with it; nothing is kept.
 * @throws Problem bad-folder when there is no such folder
 */
export async function checkFolder(folder: string | SiteFolder, options: FolderOptions = {}): Promise<ImportReport> {
  const opened = await openFolder(asFolder(folder), options);
  if (!opened.site) return report(opened, { rows: [], setAside: new Map(), version: null, adjusted: null });
  const { rows, adjusted } = await readAll(opened, { site: opened.site, receiver: dryReceiver(), setAside: null });
  return report(opened, { rows, setAside: new Map(), version: null, adjusted });
}

/**
 * Imports a site folder as a new data version, all or nothing. The same files again give the version they gave before.
 * @param given.setAside  keep the good rows, and the bad ones apart by file and row; what is wrong with a whole file still refuses
 * @returns the report; `version` is null when the folder was refused, and then nothing of it is in the store
 * @throws Problem bad-folder when there is no such folder; store-unavailable when the store cannot be written
 */
export async function importFolder(
  store: Pick<Store, 'beginImport' | 'versions' | 'files'>,
  folder: string | SiteFolder,
  given: FolderOptions & { readonly setAside: boolean },
): Promise<ImportReport> {
  const opened = await openFolder(asFolder(folder), given);
  const { site, siteBytes, received, complaints } = opened;
  if (!site || !siteBytes) return report(opened, { rows: [], setAside: new Map(), version: null, adjusted: null });
  const transaction = await store.beginImport(site.id, site.name);
  const aside = new Map<string, number>();
  try {
    received.keepIn(transaction);
    received.keepWhole(siteFileName, siteBytes);
    const setAside: Receiver['setAside'] = (row) => {
      aside.set(row.file, (aside.get(row.file) ?? 0) + 1);
      transaction.setAside(row);
    };
    const { rows, adjusted, accepted } = await readAll(opened, {
      site,
      receiver: {
        keys: (table) => transaction.keys(table),
        table: (name, fields) => transaction.table(name, fields),
        setAside,
      },
      setAside: given.setAside ? setAside : null,
    });
    if (accepted) await checkReadings(store, accepted, { site: site.id, hashes: received.hashes, complaints });
    if (complaints.refusing > 0 || (complaints.total > 0 && !given.setAside)) {
      transaction.rollback();
      return report(opened, { rows, setAside: new Map(), version: null, adjusted: null });
    }
    const { version } = transaction.commit(received.contentHash(aside.size > 0 ? 'rows set aside\n' : ''));
    return report(opened, { rows, setAside: aside, version, adjusted });
  } catch (error) {
    transaction.rollback();
    throw error;
  }
}

/** The refusal of a report with complaints, as a Problem. */
export function refusalOf({ complaints }: ImportReport): Problem {
  const more = complaints.total > 1 ? ` (and ${complaints.total - 1} more)` : '';
  const first = complaints.first[0];
  return new Problem('bad-folder', `${first ? complaintSentence(first) : 'the folder cannot be imported'}${more}`, {
    complaints: complaints.first,
    total: complaints.total,
  });
}

/** A folder whose site.json has been read. */
interface OpenedFolder {
  readonly entries: readonly FolderEntry[];
  readonly received: ReceivedFiles;
  readonly complaints: Complaints;
  readonly limits: ImportLimits;
  readonly site: Site | null;
  readonly siteBytes: Uint8Array | null;
  readonly notRead: string[];
}

async function openFolder(folder: SiteFolder, options: FolderOptions): Promise<OpenedFolder> {
  const complaints = new Complaints();
  const limits = options.limits ?? defaultLimits;
  const received = new ReceivedFiles(folder, complaints, options.progress ?? (() => {}));
  const entries = await folder.entries();
  const notRead: string[] = [];
  const opened = { entries, received, complaints, limits, notRead };
  const entry = entries.find(({ name }) => name === siteFileName);
  if (!entry) complaints.addFile(siteFileName, 'is missing; every site folder begins with it');
  if (!entry || !isReadable(entry, complaints)) return { ...opened, site: null, siteBytes: null };
  const siteBytes = await received.whole(siteFileName, limits.siteFileBytes);
  return { ...opened, siteBytes, site: siteBytes && readSiteFile(siteBytes, complaints) };
}

function isReadable({ name, kind }: FolderEntry, complaints: Complaints): boolean {
  if (kind === 'link')
    complaints.addFile(name, 'is a link; links are not followed, put the file itself into the folder');
  else if (kind === 'other') complaints.addFile(name, 'is no file');
  return kind === 'file';
}

/** What was read of a folder, and the adjustment that was put in. */
interface ReadFolder {
  readonly rows: { file: string; rows: number }[];
  readonly accepted: AcceptedAdjustment | null;
  readonly adjusted: AcceptedPoints | null;
}

/** Reads all records, with the positions of an accepted adjustment where the folder holds one. */
async function readAll(
  opened: OpenedFolder,
  given: { site: Site; receiver: Receiver; setAside: Receiver['setAside'] | null },
): Promise<ReadFolder> {
  const { entries, received, complaints, limits } = opened;
  const entry = entries.find(({ name }) => name === adjustmentFileName);
  const bytes =
    entry && isReadable(entry, complaints) ? await received.whole(adjustmentFileName, limits.adjustmentBytes) : null;
  const accepted = bytes && readAdjustment(bytes, given.site.id, complaints);
  if (!accepted) return { rows: await readRecords(opened, given), accepted: null, adjusted: null };
  const adjusting = adjustingReceiver(given.receiver, accepted, { site: given.site, complaints });
  const rows = await readRecords(opened, { ...given, receiver: adjusting.receiver });
  return { rows, accepted, adjusted: adjusting.finish() };
}

/** Sorts the entries of a folder into those that are ours, and reads them. → rows by file */
async function readRecords(
  { entries, received, complaints, limits, notRead }: OpenedFolder,
  given: { site: Site; receiver: Receiver; setAside: Receiver['setAside'] | null },
): Promise<{ file: string; rows: number }[]> {
  const { site } = given;
  const files = new Set<string>();
  const workbooks: string[] = [];
  const bathymetry = site.bathymetry?.file ?? null;
  const ours = new Set(recordFiles.map(({ file }) => file));
  for (const entry of entries) {
    const { name } = entry;
    const isWorkbook = /\.xlsx$/i.test(name) && !name.startsWith('~$');
    if (name === siteFileName || name === adjustmentFileName) continue;
    if (!isPlainName(name) || !(ours.has(name) || isWorkbook || name === bathymetry)) {
      notRead.push(entry.kind === 'other' ? `${name}/` : name);
      if (/^bathymetry\.(tiff?|xyz|csv)$/i.test(name))
        complaints.addFile(
          name,
          'is not named in site.json (bathymetry); state its vertical datum, sign, uncertainty and licence there',
        );
    } else if (isReadable(entry, complaints)) {
      if (isWorkbook) workbooks.push(name);
      else files.add(name);
    }
  }
  if (bathymetry !== null && !files.has(bathymetry))
    complaints.addFile(bathymetry, 'is named in site.json (bathymetry), but is not in the folder');
  const reader = new FolderReader({ ...given, received, complaints, limits });
  const sheets = await reader.openWorkbooks(workbooks, notRead);
  requireMinimum((file) => files.has(file.file) || sheets.has(sheetName(file)), complaints);
  for (const record of recordFiles) {
    const sheet = sheets.get(sheetName(record));
    if (files.has(record.file) && sheet && record.format === 'csv')
      complaints.addFile(record.file, `is here twice, as a file and as a sheet of ${workbooks.join(', ')}`);
    else if (files.has(record.file)) await reader.readFile(record);
    else if (sheet && record.format === 'csv') await reader.readSheet(record, sheet);
  }
  if (site.bathymetry && files.has(site.bathymetry.file)) await reader.readBathymetry(site.bathymetry);
  return reader.end();
}

const sheetName = ({ file }: RecordFile): string => file.replace(/\.\w+$/, '');

const isTableOf = (name: string) => (file: RecordFile) => file.tables.some((table: RecordTable) => table.name === name);

function requireMinimum(has: (file: RecordFile) => boolean, complaints: Complaints): void {
  for (const name of ['finds', 'excavated-areas']) {
    const files = recordFiles.filter(isTableOf(name));
    if (!files.some(has))
      complaints.addFile(
        files.map(({ file }) => file).join(' or '),
        'is missing; a site needs its finds and the areas they were looked for in',
      );
  }
}

export { complaintSentence } from './complaints.js';
export { memoryFolder, type SiteFolder } from './site-folder.js';

function report(
  { site, complaints, notRead }: OpenedFolder,
  given: {
    readonly rows: ImportReport['rows'];
    readonly setAside: ReadonlyMap<string, number>;
    readonly version: number | null;
    readonly adjusted: AcceptedPoints | null;
  },
): ImportReport {
  return {
    site: site?.id ?? null,
    version: given.version,
    accepted: given.version !== null || complaints.total === 0,
    rows: given.rows,
    complaints: { first: complaints.first, total: complaints.total },
    setAside: [...given.setAside].map(([file, rows]) => ({ file, rows })),
    adjustment: given.adjusted,
    notRead,
  };
}
