import { withAdjustment } from '../import/accepted-adjustment.js';
import { checkFolder, type FolderOptions, type ImportReport, importFolder } from '../import/import-folder.js';
import { diskFolder } from '../import/site-folder.js';
import type { Store } from '../storage/store.js';

export type { ImportReport } from '../import/import-folder.js';
export { complaintSentence } from '../import/import-folder.js';
export { newFolder as makeSiteFolder } from '../import/new-folder.js';

/** Reads a site folder and lists its complaints; nothing is stored. @throws Problem bad-folder when there is no such folder */
export function checkSiteFolder(folder: string, options: FolderOptions = {}): Promise<ImportReport> {
  return checkFolder(folder, options);
}

/**
 * Takes a site folder in as a new data version, all or nothing.
 * @param options.adjustment  a proposal of survey-adjustment to accept with it, as the process wrote it
 * @throws Problem bad-folder, store-unavailable
 */
export function importSiteFolder(
  store: Pick<Store, 'beginImport' | 'versions' | 'files'>,
  folder: string,
  options: FolderOptions & { readonly setAside: boolean; readonly adjustment?: Uint8Array | null },
): Promise<ImportReport> {
  const { adjustment, ...how } = options;
  return importFolder(store, adjustment ? withAdjustment(diskFolder(folder), adjustment) : folder, how);
}
