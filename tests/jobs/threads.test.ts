import { fileURLToPath } from 'node:url';
import { openThreadQueue } from '../../src/jobs/threads.js';
import { queueSuite } from './queue.suite.js';

const workerFile = fileURLToPath(new URL('../support/workers/counting.mjs', import.meta.url));

queueSuite('worker threads', () => openThreadQueue({ workerFile, threads: 1, workerData: null, mostWaiting: 2 }));
