import type { AnswerTable } from '../../analyses/contract.js';
import type { Delivery, Output, Outputs } from '../../operations/service.js';
import { tableCsv } from '../../operations/table-csv.js';
import { Problem } from '../../problems.js';
import type { JobRecord, JobStatus } from '../../storage/store.js';
import type { Answer, Context, Handler, Link, Request } from '../exchange.js';
import { limits } from '../limits.js';
import { REL, selfLinks, siteUrl } from '../links.js';
import { parseInterval } from '../moments.js';
import { mediaTypeOf } from '../negotiate.js';
import { badParameter, choice, clip, type Parameter, strictNumber, wholeNumber, words } from '../query.js';
import { shownJob, shownJobs } from '../shown/processes.js';
import { deliver, outputBody } from './results.js';

const json = mediaTypeOf('json');
const statuses: readonly JobStatus[] = ['accepted', 'running', 'successful', 'failed', 'dismissed'];

/** Filters of the job list. */
export const jobQuery: readonly Parameter[] = [
  { name: 'type', description: 'Kind of job', schema: { type: 'string', enum: ['process'] }, repeatable: true },
  {
    name: 'processID',
    description: 'Only jobs of this process',
    schema: { type: 'array', items: { type: 'string' } },
    repeatable: true,
  },
  {
    name: 'status',
    description: 'Only jobs in this state; when absent, all but those not yet begun',
    schema: { type: 'array', items: { type: 'string', enum: [...statuses] } },
    repeatable: true,
  },
  { name: 'datetime', description: 'Only jobs created at this moment or in this interval', schema: { type: 'string' } },
  {
    name: 'minDuration',
    description: 'Only jobs that ran at least this long, seconds',
    schema: { type: 'number', minimum: 0 },
  },
  {
    name: 'maxDuration',
    description: 'Only jobs that ran at most this long, seconds',
    schema: { type: 'number', minimum: 0 },
  },
  {
    name: 'limit',
    description: `Most entries given; more than ${limits.listMax} gives ${limits.listMax}`,
    schema: { type: 'integer', minimum: 1, maximum: limits.listMax, default: limits.listDefault },
  },
];

function jobUrl(request: Request, id: string, path = ''): string {
  return siteUrl(request, `/jobs/${encodeURIComponent(id)}${path}`);
}

/** A job as the standard describes it; finished ones link to what goes into a report. */
export function statusInfo(request: Request, job: JobRecord) {
  const links: Link[] = [
    { href: jobUrl(request, job.id), rel: 'self', type: json, title: 'This job' },
    {
      href: jobUrl(request, job.id, '?f=html'),
      rel: 'alternate',
      type: mediaTypeOf('html'),
      title: 'This job for people',
    },
  ];
  if (job.status === 'successful') {
    links.push({ href: jobUrl(request, job.id, '/results'), rel: `${REL}/results`, type: json, title: 'Results' });
    if (job.process !== 'echo') {
      links.push(
        { href: jobUrl(request, job.id, '/figure.svg'), rel: 'related', type: mediaTypeOf('svg'), title: 'Figure' },
        { href: jobUrl(request, job.id, '/table.csv'), rel: 'related', type: mediaTypeOf('csv'), title: 'Table' },
        { href: jobUrl(request, job.id, '/methods.txt'), rel: 'related', type: mediaTypeOf('text'), title: 'Methods' },
      );
    }
  }
  return {
    jobID: job.id,
    processID: job.process,
    type: 'process',
    status: job.status,
    message: job.message,
    progress: job.progress,
    created: job.createdAt,
    ...(job.startedAt === null ? {} : { started: job.startedAt }),
    ...(job.finishedAt === null ? {} : { finished: job.finishedAt }),
    updated: job.finishedAt ?? job.startedAt ?? job.createdAt,
    links,
  };
}

function durationSeconds(job: JobRecord): number | null {
  if (job.startedAt === null) return null;
  return (Date.parse(job.finishedAt ?? new Date().toISOString()) - Date.parse(job.startedAt)) / 1000;
}

function seconds(query: URLSearchParams, name: string): number | null {
  const text = query.get(name);
  if (text === null) return null;
  const value = strictNumber(name, text);
  if (value < 0) throw badParameter(name, `${text} is below 0`);
  return value;
}

/** The jobs a list is asked for. */
function filterJobs(query: URLSearchParams, jobs: readonly JobRecord[]): JobRecord[] {
  choice(query, 'type', ['process']);
  const processes = words(query, 'processID');
  const asked = words(query, 'status').map((status) => {
    if (!statuses.includes(status as JobStatus))
      throw badParameter('status', `"${clip(status)}" is not one of ${statuses.join(', ')}`);
    return status;
  });
  const datetime = query.get('datetime');
  const created = datetime === null ? null : parseInterval('datetime', datetime);
  const min = seconds(query, 'minDuration');
  const max = seconds(query, 'maxDuration');
  const limit = wholeNumber(query, 'limit', { min: 1, max: limits.listMax }) ?? limits.listDefault;
  return jobs
    .filter((job) => {
      if (asked.length > 0 ? !asked.includes(job.status) : job.status === 'accepted') return false;
      if (processes.length > 0 && !processes.includes(job.process)) return false;
      const at = Date.parse(job.createdAt);
      if (created !== null && (at < created.startMs || at > created.endMs)) return false;
      if (min === null && max === null) return true;
      const ran = durationSeconds(job);
      return ran !== null && ran >= (min ?? 0) && ran <= (max ?? Number.POSITIVE_INFINITY);
    })
    .slice(0, limit);
}

/** All jobs of a site, the newest first. */
export const getJobs: Handler = async (request, { service }) => {
  const jobs = filterJobs(request.query, await service.jobs(request.params['siteId']));
  const links = selfLinks(request, ['json', 'html']);
  return {
    body: { jobs: jobs.map((job) => statusInfo(request, job)), links },
    links,
    page: () => shownJobs(request, { jobs, links }),
  };
};

/** One job. */
export const getJob: Handler = async (request, { service }) => {
  const job = await service.job(request.params['siteId'], request.params['jobId']);
  const body = statusInfo(request, job);
  const outputs =
    request.format === 'html' && job.status === 'successful' && job.process !== 'echo'
      ? await service.results(job.site, job.id)
      : null;
  const process = service.processes().find(({ id }) => id === job.process);
  return { body, links: body.links, page: () => shownJob(request, job, { process, outputs, links: body.links }) };
};

/** Stops a job, or forgets a finished one with its results. */
export const deleteJob: Handler = async (request, { service }) => {
  const job = await service.dismiss(request.params['siteId'], request.params['jobId']);
  return { body: statusInfo(request, job) };
};

/** How the results were asked for when the job was made. */
function deliveryOf(job: JobRecord): Delivery {
  const { delivery } = JSON.parse(job.request) as { delivery?: Delivery };
  return delivery ?? { response: 'document', outputs: null };
}

async function outputsOf(request: Request, { service }: Context): Promise<{ job: JobRecord; outputs: Outputs }> {
  const site = request.params['siteId'];
  const job = await service.job(site, request.params['jobId']);
  if (job.status === 'accepted' || job.status === 'running') {
    throw new Problem('result-not-ready', `job ${job.id} is ${job.status} (${job.progress} %); ask again later`);
  }
  if (job.status === 'dismissed')
    throw new Problem('job-dismissed', `job ${job.id} was dismissed; run the process again`);
  return { job, outputs: await service.results(site, job.id) };
}

/** The results in the form asked for at the start; `outputs` may pick some of them. */
export const getResults: Handler = async (request, context): Promise<Answer> => {
  const { job, outputs } = await outputsOf(request, context);
  const asked = deliveryOf(job);
  const picked = request.query.get('outputs');
  const delivery = picked === null ? asked : { ...asked, outputs: pick(picked, outputs) };
  return deliver(request, { outputs, delivery, job: job.id });
};

function pick(text: string, outputs: Outputs): Delivery['outputs'] {
  return text.split(',').map((id) => {
    if (!outputs.has(id))
      throw badParameter('outputs', `there is no output "${clip(id)}"; there are ${[...outputs.keys()].join(', ')}`);
    return { id, transmission: 'value' as const };
  });
}

function output(outputs: Outputs, id: string): Output {
  const found = outputs.get(id);
  if (found === undefined)
    throw new Problem('not-found', `this job has no output "${clip(id)}"; it has ${[...outputs.keys()].join(', ')}`);
  return found;
}

/** One output in its own media type. */
export const getOutput: Handler = async (request, context) => {
  const { outputs } = await outputsOf(request, context);
  const found = output(outputs, request.params['outputId']);
  return { mediaType: found.mediaType, body: outputBody(found) };
};

/** The figure of a job as it is printed. */
export const getFigure: Handler = async (request, context) => {
  const { outputs } = await outputsOf(request, context);
  return { body: outputBody(output(outputs, 'figure')) };
};

/** The methods paragraph of a job, with its sources. */
export const getMethods: Handler = async (request, context) => {
  const { outputs } = await outputsOf(request, context);
  return { body: outputBody(output(outputs, 'methods')) };
};

/** The table of a job for a spreadsheet. */
export const getTable: Handler = async (request, context) => {
  const { job, outputs } = await outputsOf(request, context);
  const found = output(outputs, 'table');
  if (!('value' in found)) throw new Error(`the table of job ${job.id} is no table`);
  return {
    body: tableCsv(found.value as AnswerTable),
    headers: { 'Content-Disposition': `attachment; filename="${job.process}-${job.id.replace(/[^\w-]/g, '')}.csv"` },
  };
};
