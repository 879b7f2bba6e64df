import { fileURLToPath } from 'node:url';
import { importSiteFolder } from '../operations/site-folder.js';
import { Problem } from '../problems.js';
import { openSqliteStore } from '../storage/sqlite/store.js';
import { storeFile } from './compose.js';
import { configFrom } from './config.js';
import { serveUntilStopped } from './serve.js';

/** `npm start`: takes the demo site in (the same folder twice is one version) and serves everything in the store. */
async function start(): Promise<void> {
  const config = configFrom(process.env);
  const demo = fileURLToPath(new URL('../../data-demo', import.meta.url));
  const store = openSqliteStore(storeFile(config));
  try {
    const report = await importSiteFolder(store, demo, { setAside: false });
    if (report.version === null)
      throw new Problem('bad-folder', `the demo site has ${report.complaints.total} complaints`);
    process.stdout.write(`Demo site ${report.site}, data version ${report.version}: everything in it is invented.\n`);
  } finally {
    await store.close();
  }
  await serveUntilStopped(config);
}

try {
  await start();
} catch (error) {
  if (!(error instanceof Problem)) throw error;
  process.stderr.write(`wreckfield: ${error.message}\n`);
  process.exitCode = 1;
}
