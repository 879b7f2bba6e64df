import { checkFolder, type FolderOptions, type ImportReport, importFolder } from '../import/import-folder.js';
import type { Store } from '../storage/store.js';

export type { ImportReport } from '../import/import-folder.js';
export { complaintSentence } from '../import/import-folder.js';
export { newFolder as makeSiteFolder } from '../import/new-folder.js';

/** Reads a site folder and lists its complaints; nothing is stored. @throws Problem bad-folder when there is no such folder */
export function checkSiteFolder(folder: string, options: FolderOptions = {}): Promise<ImportReport> {
  return checkFolder(folder, options);
}

/** Takes a site folder in as a new data version, all or nothing. @throws Problem bad-folder, store-unavailable */
export function importSiteFolder(
  store: Pick<Store, 'beginImport'>,
  folder: string,
  options: FolderOptions & { readonly setAside: boolean },
): Promise<ImportReport> {
  return importFolder(store, folder, options);
}
