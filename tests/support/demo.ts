import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { catalogue } from '../../src/analyses/catalogue.js';
import type { RunAnswer } from '../../src/analyses/execute.js';
import { readSurface } from '../../src/entry/surfaces.js';
import { performAnalysis } from '../../src/operations/perform-analysis.js';
import { importSiteFolder } from '../../src/operations/site-folder.js';
import { SurveyShelf } from '../../src/operations/survey-shelf.js';
import { openSqliteStore } from '../../src/storage/sqlite/store.js';
import type { Store } from '../../src/storage/store.js';

export const demoFolder = resolve(import.meta.dirname, '../../data-demo');

/** What was planted in the demo site, as its generator wrote it down. */
export const truth = JSON.parse(readFileSync(join(demoFolder, 'truth.json'), 'utf8'));

/** The demo site in a store of its own. */
export interface DemoStore {
  readonly store: Store;
  readonly shelf: SurveyShelf;
  run(process: string, inputs?: Record<string, unknown>): Promise<RunAnswer>;
  close(): Promise<void>;
}

export async function openDemo(): Promise<DemoStore> {
  const folder = mkdtempSync(join(tmpdir(), 'wreckfield-demo-'));
  const store = openSqliteStore(join(folder, 'store.sqlite'));
  const report = await importSiteFolder(store, demoFolder, { setAside: false });
  if (report.version === null) throw new Error(`the demo has complaints: ${JSON.stringify(report.complaints.first)}`);
  const shelf = new SurveyShelf(store, readSurface);
  return {
    store,
    shelf,
    run: (process, inputs = {}) =>
      performAnalysis({ shelf, catalogue }, { site: 'tarn-ledge', version: 1, process, inputs }, () => {}),
    async close() {
      await store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
