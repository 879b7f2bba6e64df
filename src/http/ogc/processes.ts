import type { ProcessDescription } from '../../operations/service.js';
import { Problem } from '../../problems.js';
import type { Answer, Context, Handler, Link, Request } from '../exchange.js';
import { limits } from '../limits.js';
import { REL, selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { clip, wholeNumber } from '../query.js';
import { shownProcess, shownProcesses } from '../shown/processes.js';
import { readExecuteBody } from './execute-body.js';
import { statusInfo } from './jobs.js';
import { deliver } from './results.js';

const json = mediaTypeOf('json');

function processSummary(request: Request, process: ProcessDescription) {
  const href = siteUrl(request, `/processes/${encodeURIComponent(process.id)}`);
  return {
    id: process.id,
    version: process.version,
    title: process.title,
    description: process.description,
    ...(process.keywords === undefined ? {} : { keywords: process.keywords }),
    jobControlOptions: process.jobControlOptions,
    outputTransmission: ['value', 'reference'],
    links: [
      { href, rel: 'self', type: json, title: process.title },
      {
        href: `${href}?f=html`,
        rel: 'alternate',
        type: mediaTypeOf('html'),
        title: `${process.title}: form for people`,
      },
    ],
  };
}

/** The process an address names. @throws Problem no-such-process */
function processOf(request: Request, { service }: Context): ProcessDescription {
  const id = request.params['processId'];
  const found = service.processes().find((process) => process.id === id);
  if (found === undefined)
    throw new Problem('no-such-process', `there is no process "${clip(id)}"; see the list at /processes`);
  return found;
}

/** All processes. */
export const getProcesses: Handler = async (request, { service }) => {
  await service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const limit = wholeNumber(request.query, 'limit', { min: 1, max: limits.listMax }) ?? limits.listDefault;
  const chosen = service.processes().slice(0, limit);
  const processes = chosen.map((process) => processSummary(request, process));
  const links = selfLinks(request, ['json', 'html']);
  return { body: { processes, links }, links, page: () => shownProcesses(request, { processes: chosen, links }) };
};

/** One process: inputs, outputs, an example that can be posted as it stands. */
export const getProcess: Handler = async (request, context) => {
  await context.service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const process = processOf(request, context);
  const summary = processSummary(request, process);
  const execute: Link = {
    href: siteUrl(request, `/processes/${encodeURIComponent(process.id)}/execution`),
    rel: `${REL}/execute`,
    type: json,
    title: `Run ${process.title}`,
  };
  const links = [...summary.links, execute];
  return {
    links,
    page: () => shownProcess(request, process, links),
    body: {
      ...summary,
      inputs: process.inputs,
      outputs: process.outputs,
      ...(process.example === undefined ? {} : { example: process.example }),
      links,
    },
  };
};

/** Preferences a client states, RFC 7240. */
function preferences(header: string | string[] | undefined): ReadonlySet<string> {
  const text = Array.isArray(header) ? header.join(',') : (header ?? '');
  return new Set(
    text
      .split(/[,;]/)
      .map((s) => s.trim().toLowerCase())
      .filter((s) => s !== ''),
  );
}

/** Runs a process: at once, or as a job when the client prefers it or the process can do nothing else. */
export const postExecution: Handler = async (request, context): Promise<Answer> => {
  const { service } = context;
  const site = request.params['siteId'];
  await service.survey(site, { version: null, identifiedAsOf: null });
  const process = processOf(request, context);
  const { inputs, delivery } = readExecuteBody(request.body, process);

  const can = (option: 'sync-execute' | 'async-execute') => process.jobControlOptions.includes(option);
  const prefersAsync = preferences(request.headers['prefer']).has('respond-async');
  const mode = can('async-execute') && (prefersAsync || !can('sync-execute')) ? 'async' : 'sync';
  const execution = await service.execute({
    site,
    process: process.id,
    inputs,
    mode,
    delivery,
    signal: request.signal,
  });
  const applied: Record<string, string> =
    mode === 'async' && prefersAsync ? { 'Preference-Applied': 'respond-async' } : {};

  if (execution.kind === 'job') {
    const location = siteUrl(request, `/jobs/${encodeURIComponent(execution.job.id)}`);
    return {
      status: 201,
      mediaType: json,
      headers: { ...applied, Location: location },
      body: statusInfo(request, execution.job),
    };
  }
  const { job, outputs } = execution;
  const answer = deliver(request, { outputs, delivery, job: job?.id ?? null });
  const monitor: Link[] =
    job === null
      ? []
      : [
          {
            href: siteUrl(request, `/jobs/${encodeURIComponent(job.id)}`),
            rel: 'monitor',
            type: json,
            title: 'The job',
          },
        ];
  return { ...answer, links: [...(answer.links ?? []), ...monitor] };
};
