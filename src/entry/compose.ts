import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { catalogue } from '../analyses/catalogue.js';
import type { Queue } from '../jobs/queue.js';
import { openThreadQueue } from '../jobs/threads.js';
import { AnalysisDesk } from '../operations/run-analysis.js';
import type { Service } from '../operations/service.js';
import { siteService } from '../operations/site-service.js';
import { SurveyShelf } from '../operations/survey-shelf.js';
import { writeGeoPackage } from '../storage/sqlite/geopackage/writer.js';
import { openSqliteStore } from '../storage/sqlite/store.js';
import type { Store } from '../storage/store.js';
import type { Config } from './config.js';
import type { WorkerSetup } from './run-jobs.js';
import { readSurface } from './surfaces.js';

/** A service put together: the only place that names adapters. */
export interface Composed {
  readonly port: Service;
  readonly store: Store;
  readonly staticFolder: string | null;
  close(): Promise<void>;
}

/** Where the embedded store is kept. */
export const storeFile = (config: Pick<Config, 'dataDir'>): string => join(config.dataDir, 'wreckfield.sqlite');

/** A built file of this package, also when the source runs directly. */
function built(path: string): string {
  const beside = fileURLToPath(new URL(path, import.meta.url));
  return existsSync(beside) ? beside : fileURLToPath(new URL(join('../../dist/entry/', path), import.meta.url));
}

/** The stored sites as they are published, for commands that read only: nothing runs, and no job record is touched. */
export function publishedService(store: Store): Service {
  const queue: Queue = {
    run: () => Promise.reject(new Error('this command runs no analyses')),
    waiting: () => 0,
    close: async () => {},
  };
  const shelf = new SurveyShelf(store, readSurface);
  const desk = new AnalysisDesk({ store, shelf, queue, catalogue });
  return siteService({ store, shelf, queue, desk, catalogue, writeGeoPackage });
}

/** Imports by other processes show after this many milliseconds at the latest. */
const pulseMs = 1000;

/** Opens store and queue and puts the service on top of them. */
export async function compose(config: Config): Promise<Composed> {
  const file = storeFile(config);
  const store = openSqliteStore(file);
  const queue = openThreadQueue({
    workerFile: built('./run-jobs.js'),
    threads: config.workers,
    workerData: { storeFile: file } satisfies WorkerSetup,
    mostWaiting: 64,
  });
  const shelf = new SurveyShelf(store, readSurface);
  await shelf.refresh();
  const desk = new AnalysisDesk({ store, shelf, queue, catalogue });
  await desk.closeInterrupted();
  const timer = setInterval(() => {
    shelf.refresh().catch((error: unknown) => process.stderr.write(`the store does not answer: ${String(error)}\n`));
  }, pulseMs);
  timer.unref();
  const staticFolder = built('../http/pages/static');
  return {
    port: siteService({ store, shelf, queue, desk, catalogue, writeGeoPackage }),
    store,
    staticFolder: existsSync(staticFolder) ? staticFolder : null,
    async close() {
      clearInterval(timer);
      await queue.close();
      await store.close();
    },
  };
}
