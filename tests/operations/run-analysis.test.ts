import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { catalogue } from '../../src/analyses/catalogue.js';
import type { Queue } from '../../src/jobs/queue.js';
import { answerParts } from '../../src/operations/answer-parts.js';
import { type AnalysisTask, performAnalysis } from '../../src/operations/perform-analysis.js';
import { AnalysisDesk, type RunRequest } from '../../src/operations/run-analysis.js';
import { type DemoStore, openDemo } from '../support/demo.js';

let demo: DemoStore;
let runs: number;
let desk: AnalysisDesk;

/** a queue that works in this thread, and counts */
const direct = (): Queue => ({
  async run(task, onProgress, signal) {
    runs++;
    const answer = await performAnalysis({ shelf: demo.shelf, catalogue }, task as AnalysisTask, onProgress);
    if (signal.aborted) throw signal.reason;
    return answerParts(answer);
  },
  waiting: () => 0,
  close: async () => {},
});

beforeEach(async () => {
  demo = await openDemo();
  runs = 0;
  desk = new AnalysisDesk({ store: demo.store, shelf: demo.shelf, queue: direct(), catalogue });
}, 60_000);
afterEach(() => demo.close());

const ask = (inputs: Record<string, unknown>, process = 'nearest-neighbour'): RunRequest => ({
  site: 'tarn-ledge',
  process,
  inputs,
  request: JSON.stringify({ inputs }),
  signal: new AbortController().signal,
});

const ended = async (id: string) => {
  for (;;) {
    const job = await desk.job('tarn-ledge', id);
    if (job.status !== 'accepted' && job.status !== 'running') return job;
    await new Promise((done) => setTimeout(done, 20));
  }
};

describe('the desk', () => {
  test('an equal question on the same data is answered from what is known, another one is not', async () => {
    const first = await desk.runNow(ask({ artefact_class: 'nail', simulations: 9 }));
    const again = await desk.runNow(ask({ simulations: 9, artefact_class: 'nail' }));
    expect(runs).toBe(1);
    expect(again.parts).toBe(first.parts);
    await desk.runNow(ask({ artefact_class: 'nail', simulations: 9, seed: 1 }));
    expect(runs).toBe(2);
  });

  test('a run without keep leaves no job; with keep it leaves one whose result reads back', async () => {
    expect((await desk.runNow(ask({ artefact_class: 'leather', simulations: 0 }))).job).toBeNull();
    const { job, parts } = await desk.runNow(ask({ artefact_class: 'leather', simulations: 0, keep: true }));
    expect(job).toMatchObject({ status: 'successful', process: 'nearest-neighbour', version: 1 });
    const { parts: kept } = await desk.result('tarn-ledge', job?.id ?? '');
    expect([...kept.keys()].sort()).toEqual([...parts.keys()].sort());
  });

  test('bad inputs are refused before anything is queued', async () => {
    await expect(desk.runLater(ask({ artefact_class: 'nail', simulations: -1 }))).rejects.toMatchObject({
      code: 'bad-parameter',
    });
    await expect(desk.runLater(ask({}, 'no-such'))).rejects.toMatchObject({ code: 'no-such-process' });
    await expect(desk.runLater(ask({ version: 7 }))).rejects.toMatchObject({ code: 'no-such-version' });
    expect(await desk.jobs('tarn-ledge')).toEqual([]);
  });

  test('a refusal of the analysis ends the job as failed with its sentence', async () => {
    const job = await desk.runLater(ask({ edge: 'donnelly', simulations: 0 }));
    expect(await ended(job.id)).toMatchObject({ status: 'failed' });
    await expect(desk.result('tarn-ledge', job.id)).rejects.toMatchObject({ code: 'cannot-answer' });
  });

  test('the newest thirty results are kept, older ones go with their layers', async () => {
    const ids: string[] = [];
    for (let i = 0; i < 32; i++) {
      const { job } = await desk.runNow(ask({ artefact_class: 'leather', simulations: 0, keep: true }));
      ids.push(job?.id ?? '');
      await new Promise((done) => setTimeout(done, 2));
    }
    const listed = (await desk.jobs('tarn-ledge')).map((job) => job.id);
    expect(listed).toHaveLength(30);
    expect(listed).not.toContain(ids[0]);
    expect(listed).toContain(ids[31]);
    expect(await demo.store.readResult(ids[0], 'answer.json')).toBeNull();
  });

  test('jobs that a stopped service left half done are failed by name at the next start', async () => {
    const { job } = await desk.runNow(ask({ artefact_class: 'leather', simulations: 0, keep: true }));
    await demo.store.saveJob({ ...job!, id: 'halfdone', status: 'running', finishedAt: null });
    await desk.closeInterrupted();
    expect(await desk.job('tarn-ledge', 'halfdone')).toMatchObject({ status: 'failed' });
    await expect(desk.result('tarn-ledge', 'halfdone')).rejects.toMatchObject({ code: 'interrupted' });
  });

  test('echo gives its inputs back, stops in its pause, and fetches nothing', async () => {
    const { parts } = await desk.runNow(ask({ text: 'ahoy', number: 3 }, 'echo'));
    expect(JSON.parse(new TextDecoder().decode(parts.get('echo.json')))).toEqual({ text: 'ahoy', number: 3 });
    const job = await desk.runLater(ask({ text: 'ahoy', pause_s: 30 }, 'echo'));
    const before = performance.now();
    expect(await desk.dismiss('tarn-ledge', job.id)).toMatchObject({ status: 'dismissed' });
    expect(performance.now() - before).toBeLessThan(1000);
    await expect(desk.runNow(ask({ text: { href: 'http://127.0.0.1/secret' } }, 'echo'))).rejects.toThrow(
      /references are not fetched/,
    );
  });
});
