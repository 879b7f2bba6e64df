import { createHash, randomBytes } from 'node:crypto';
import type { Analysis } from '../analyses/contract.js';
import { analysisOf } from '../analyses/execute.js';
import { checkInputs } from '../analyses/inputs.js';
import type { Queue } from '../jobs/queue.js';
import { Problem } from '../problems.js';
import type { JobRecord, Store } from '../storage/store.js';
import { type AnswerParts, partNames } from './answer-parts.js';
import { checkEcho, echo } from './echo.js';
import { filterOfFinds } from './find-filter.js';
import type { AnalysisTask } from './perform-analysis.js';
import type { SurveyShelf } from './survey-shelf.js';

/** What is asked for: a process, its inputs as sent, and what the caller wants kept with the job. */
export interface RunRequest {
  readonly site: string;
  readonly process: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  /** JSON of inputs and delivery, kept with the job */
  readonly request: string;
  readonly signal: AbortSignal;
}

/** A finished answer's parts, or echo's plain value. */
export type RunParts = AnswerParts;

interface Underway {
  record: JobRecord;
  readonly stop: AbortController;
  done: Promise<void>;
}

const mostCachedBytes = 64 * 1024 * 1024;
const mostKeptJobs = 30;

/**
 * Takes requests for analyses: answers known ones at once, runs the others on the queue, and keeps the record of
 * every job. The answer to the same request on the same data version is the same bytes.
 */
export class AnalysisDesk {
  readonly #room: {
    readonly store: Store;
    readonly shelf: SurveyShelf;
    readonly queue: Queue;
    readonly catalogue: readonly Analysis[];
  };
  readonly #underway = new Map<string, Underway>();
  readonly #answers = new Map<string, AnswerParts>();
  #cachedBytes = 0;

  constructor(room: {
    readonly store: Store;
    readonly shelf: SurveyShelf;
    readonly queue: Queue;
    readonly catalogue: readonly Analysis[];
  }) {
    this.#room = room;
  }

  /** Jobs a stopped service left half done are failed by name, so that nobody waits for them. */
  async closeInterrupted(): Promise<void> {
    for (const { id: site } of await this.#room.store.sites()) {
      for (const job of await this.#room.store.jobs(site)) {
        if (job.status !== 'accepted' && job.status !== 'running') continue;
        const problem = {
          code: 'interrupted',
          message: 'the service stopped while this job was under way; ask again',
          details: {},
        };
        await this.#room.store.saveJob({
          ...job,
          status: 'failed',
          finishedAt: now(),
          message: problem.message,
          problem: JSON.stringify(problem),
        });
      }
    }
  }

  /** Runs now and waits. With `keep` among the inputs the answer also becomes a job with layers. */
  async runNow(request: RunRequest): Promise<{ readonly parts: RunParts; readonly job: JobRecord | null }> {
    const version = await this.#check(request);
    const parts = await this.#perform(request, version, () => {}, request.signal);
    if (request.inputs['keep'] !== true) return { parts, job: null };
    const record = {
      ...newRecord(request, version),
      status: 'successful' as const,
      progress: 100,
      message: 'done',
      startedAt: now(),
      finishedAt: now(),
    };
    await this.#keep(record, parts);
    return { parts, job: record };
  }

  /** Accepts a run and returns its record at once. @throws Problem queue-full, and whatever the inputs are refused for */
  async runLater(request: RunRequest): Promise<JobRecord> {
    const version = await this.#check(request);
    const record = newRecord(request, version);
    await this.#room.store.saveJob(record);
    const stop = new AbortController();
    const underway: Underway = { record, stop, done: Promise.resolve() };
    this.#underway.set(record.id, underway);
    underway.done = this.#work(underway, request, version);
    return record;
  }

  async #work(underway: Underway, request: RunRequest, version: number): Promise<void> {
    const progress = (share: number, doing: string) => {
      underway.record = {
        ...underway.record,
        status: 'running',
        startedAt: underway.record.startedAt ?? now(),
        progress: Math.min(99, Math.floor(share * 100)),
        message: doing,
      };
    };
    const finish = (part: Partial<JobRecord>) => {
      underway.record = { ...underway.record, finishedAt: now(), ...part };
      return underway.record;
    };
    try {
      const parts = await this.#perform(request, version, progress, underway.stop.signal);
      await this.#keep(
        finish({ status: 'successful', progress: 100, message: 'done', startedAt: underway.record.startedAt ?? now() }),
        parts,
      );
    } catch (error) {
      await this.#room.store.saveJob(finish(failure(error, underway.stop.signal)));
    } finally {
      this.#underway.delete(underway.record.id);
      this.#room.shelf.touch();
    }
  }

  async #keep(record: JobRecord, parts: AnswerParts): Promise<void> {
    const { store, shelf } = this.#room;
    await store.saveResult(record.id, parts);
    await store.saveJob(record);
    const finished = (await store.jobs(record.site)).filter(
      (job) => job.status !== 'accepted' && job.status !== 'running',
    );
    const old = finished.filter((job) => !job.pinned).slice(mostKeptJobs);
    for (const job of old) await store.deleteJob(job.site, job.id);
    shelf.touch();
  }

  /** Everything that can be refused before any work, and the data version the answer is made from. */
  async #check(request: RunRequest): Promise<number> {
    if (request.process === 'echo') {
      const { version } = await this.#room.shelf.get(request.site, null);
      checkEcho(request.inputs);
      return version.version;
    }
    const inputs = checkInputs(analysisOf(this.#room.catalogue, request.process), request.inputs);
    const { survey } = await this.#room.shelf.get(request.site, inputs.common.version);
    filterOfFinds(survey, inputs.common);
    return survey.version;
  }

  async #perform(
    request: RunRequest,
    version: number,
    progress: (share: number, doing: string) => void,
    signal: AbortSignal,
  ): Promise<AnswerParts> {
    if (request.process === 'echo') {
      const value = await echo(request.inputs, progress, signal);
      return new Map([['echo.json', new TextEncoder().encode(JSON.stringify(value))]]);
    }
    const { keep: _keep, ...inputs } = request.inputs;
    const task: AnalysisTask = {
      site: request.site,
      version,
      process: request.process,
      inputs: { ...inputs, version },
    };
    const key = createHash('sha256')
      .update(
        JSON.stringify([task.site, version, task.process, Object.entries(inputs).sort(([a], [b]) => (a < b ? -1 : 1))]),
      )
      .digest('hex');
    const known = this.#answers.get(key);
    if (known) return known;
    const parts = (await this.#room.queue.run(task, progress, signal)) as AnswerParts;
    this.#remember(key, parts);
    return parts;
  }

  #remember(key: string, parts: AnswerParts): void {
    const size = sizeOf(parts);
    if (size > mostCachedBytes / 4) return;
    this.#answers.set(key, parts);
    this.#cachedBytes += size;
    for (const [oldest, old] of this.#answers) {
      if (this.#cachedBytes <= mostCachedBytes) break;
      this.#answers.delete(oldest);
      this.#cachedBytes -= sizeOf(old);
    }
  }

  /** newest first */
  async jobs(site: string): Promise<readonly JobRecord[]> {
    await this.#room.shelf.versions(site);
    const records = await this.#room.store.jobs(site);
    return records.map((record) => this.#underway.get(record.id)?.record ?? record);
  }

  /** @throws Problem no-such-job */
  async job(site: string, id: string): Promise<JobRecord> {
    const record = this.#underway.get(id)?.record ?? (await this.#room.store.job(site, id));
    if (!record || record.site !== site) throw noSuchJob(id);
    return record;
  }

  /** @throws Problem no-such-job, result-not-ready, job-dismissed, or the refusal the job ended with */
  async result(site: string, id: string): Promise<{ readonly record: JobRecord; readonly parts: RunParts }> {
    const record = await this.job(site, id);
    if (record.status === 'accepted' || record.status === 'running') {
      throw new Problem('result-not-ready', `job ${id} is ${record.status} (${record.progress} %)`, { job: id });
    }
    if (record.status === 'dismissed') throw new Problem('job-dismissed', `job ${id} was dismissed`, { job: id });
    if (record.status === 'failed') {
      const { code, message, details } = JSON.parse(record.problem ?? '{}');
      if (code === 'internal') throw new Error(message);
      throw new Problem(code, message, details);
    }
    const parts = new Map<string, Uint8Array>();
    for (const name of [...partNames, 'echo.json']) {
      const bytes = await this.#room.store.readResult(id, name);
      if (bytes) parts.set(name, bytes);
    }
    return { record, parts };
  }

  /** Stops a job under way, or drops a finished one with its layers. @throws Problem no-such-job */
  async dismiss(site: string, id: string): Promise<JobRecord> {
    const record = await this.job(site, id);
    const underway = this.#underway.get(id);
    if (underway) {
      underway.stop.abort(new Problem('job-dismissed', `job ${id} was dismissed`, { job: id }));
      await underway.done;
      return this.job(site, id);
    }
    await this.#room.store.deleteJob(site, id);
    this.#room.shelf.touch();
    return { ...record, status: 'dismissed', message: 'dropped with its results' };
  }
}

const sizeOf = (parts: AnswerParts): number => [...parts.values()].reduce((sum, bytes) => sum + bytes.length, 0);
const now = (): string => new Date().toISOString();
const noSuchJob = (id: string) => new Problem('no-such-job', `there is no job "${id}"`, { job: id });

function newRecord(request: RunRequest, version: number): JobRecord {
  return {
    id: randomBytes(6).toString('hex'),
    site: request.site,
    process: request.process,
    status: 'accepted',
    progress: 0,
    message: 'waiting for a worker',
    request: request.request,
    version,
    createdAt: now(),
    startedAt: null,
    finishedAt: null,
    problem: null,
    pinned: false,
  };
}

/** How a run ended that gave no answer: stopped, refused with a sentence, or a fault of ours with an id in the log. */
function failure(error: unknown, signal: AbortSignal): Partial<JobRecord> {
  if (signal.aborted) return { status: 'dismissed', message: 'stopped on request' };
  if (error instanceof Problem) {
    const { code, message, details } = error;
    return { status: 'failed', message, problem: JSON.stringify({ code, message, details }) };
  }
  const id = randomBytes(4).toString('hex');
  process.stderr.write(
    `internal error ${id}: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
  );
  const message = `internal error ${id}`;
  return { status: 'failed', message, problem: JSON.stringify({ code: 'internal', message, details: {} }) };
}
