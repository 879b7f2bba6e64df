import { workerData } from 'node:worker_threads';
import { catalogue } from '../analyses/catalogue.js';
import type { ThreadAnswer, ThreadTask } from '../jobs/threads.js';
import { answerParts } from '../operations/answer-parts.js';
import { type AnalysisTask, performAnalysis } from '../operations/perform-analysis.js';
import { SurveyShelf } from '../operations/survey-shelf.js';
import { Problem } from '../problems.js';
import { openSqliteReadOnly } from '../storage/sqlite/store.js';
import { readSurface } from './surfaces.js';

/** What a worker of this process is started with. */
export interface WorkerSetup {
  readonly storeFile: string;
}

const store = openSqliteReadOnly((workerData as WorkerSetup).storeFile);
const shelf = new SurveyShelf(store, readSurface);

/** One analysis on this thread; its surveys stay in memory for the next one. */
export default async function runJob({ task, port }: ThreadTask): Promise<ThreadAnswer> {
  let told = 0;
  const progress = (share: number, doing: string) => {
    // a message for every simulation would cost more than the simulation
    const now = performance.now();
    if (now - told < 100) return;
    told = now;
    port.postMessage([share, doing]);
  };
  try {
    await shelf.refresh();
    const answer = await performAnalysis({ shelf, catalogue }, task as AnalysisTask, progress);
    return { value: answerParts(answer) };
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return { problem: { code: error.code, message: error.message, details: error.details } };
  } finally {
    port.close();
  }
}
