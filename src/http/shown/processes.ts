import type { AnswerTable } from '../../analyses/contract.js';
import type { Output, Outputs, ProcessDescription } from '../../operations/service.js';
import type { JobRecord } from '../../storage/store.js';
import type { Link, Request } from '../exchange.js';
import { siteUrl } from '../links.js';
import { jobPage, listPage, type ProcessInput, processPage } from '../pages/processes.js';
import { frameOf, page, pageLinks } from './frame.js';

function exampleBody(process: ProcessDescription): Record<string, unknown> {
  return process.example ?? { inputs: {}, response: 'document' };
}

/** The request as it is typed in a terminal. */
export function curl(request: Request, process: ProcessDescription): string {
  const url = siteUrl(request, `/processes/${encodeURIComponent(process.id)}/execution`);
  const body = JSON.stringify(exampleBody(process)).replaceAll("'", "'\\''");
  return `curl -X POST '${url}' -H 'Content-Type: application/json' -d '${body}'`;
}

/** The same on the command line of this program. */
export function commandLine(request: Request, process: ProcessDescription): string {
  return `npx wreckfield run ${process.id} --site ${request.params['siteId']} --json`;
}

function kindInWords(schema: Readonly<Record<string, unknown>>): string {
  const branches = (schema['oneOf'] ?? schema['anyOf']) as readonly Readonly<Record<string, unknown>>[] | undefined;
  if (branches !== undefined) return [...new Set(branches.map(kindInWords))].join(' or ');
  if (Array.isArray(schema['enum'])) return 'one of';
  switch (schema['type']) {
    case 'integer':
      return 'whole number';
    case 'number':
      return 'number';
    case 'boolean':
      return 'true or false';
    case 'array':
      return 'list';
    case 'object':
      return 'object';
    default:
      return 'text';
  }
}

function processInput(name: string, { inputs }: ProcessDescription): ProcessInput {
  const { title, description, schema, minOccurs } = inputs[name];
  const unit = schema['x-ogc-unit'];
  const choices = schema['enum'];
  const standard = schema['default'];
  return {
    name,
    title,
    ...(description === undefined ? {} : { description }),
    kind: kindInWords(schema),
    ...(typeof unit === 'string' && unit !== '1' ? { unit } : {}),
    ...(Array.isArray(choices) ? { choices: choices.map(String) } : {}),
    ...(minOccurs !== 0 && standard === undefined
      ? {}
      : { standard: standard === undefined || standard === null ? 'none' : JSON.stringify(standard) }),
  };
}

const listed = (request: Request) => ({ href: siteUrl(request, '/processes'), title: 'Processes' });

/** Page of all processes. */
export function shownProcesses(
  request: Request,
  of: { processes: readonly ProcessDescription[]; links: readonly Link[] },
): string {
  return listPage({
    frame: frameOf(request, ['json', 'html']),
    title: 'What can be asked of this site',
    entries: of.processes.map((process) => ({
      href: page({ href: siteUrl(request, `/processes/${encodeURIComponent(process.id)}`), title: '' }).href,
      title: process.title,
      note: process.about?.question ?? process.description,
    })),
    links: pageLinks(of.links),
  });
}

/** Page of one process. */
export function shownProcess(request: Request, process: ProcessDescription, links: readonly Link[]): string {
  const common = new Set(process.about?.commonInputs ?? []);
  const names = Object.keys(process.inputs);
  const inputs = (chosen: readonly string[]) => chosen.map((name) => processInput(name, process));
  return processPage({
    frame: frameOf(request, ['json', 'html'], [listed(request)]),
    id: process.id,
    title: process.title,
    version: process.version,
    question: process.about?.question ?? process.description,
    ...(process.about === undefined ? {} : { formula: process.about.formula }),
    inputs: inputs(names.filter((name) => !common.has(name))),
    commonInputs: inputs(names.filter((name) => common.has(name))),
    outputs: Object.entries(process.outputs).map(([name, { title }]) => ({ name, title })),
    cautions: process.about?.cautions ?? [],
    sources: process.about?.sources ?? [],
    curl: curl(request, process),
    commandLine: commandLine(request, process),
    links: pageLinks(links),
  });
}

/** Page of all jobs. */
export function shownJobs(request: Request, of: { jobs: readonly JobRecord[]; links: readonly Link[] }): string {
  return listPage({
    frame: frameOf(request, ['json', 'html']),
    title: 'What has been asked of this site',
    entries: of.jobs.map((job) => ({
      href: page({ href: siteUrl(request, `/jobs/${encodeURIComponent(job.id)}`), title: '' }).href,
      title: `${job.process}, ${job.createdAt.slice(0, 16).replace('T', ' ')}`,
      note: `${job.status}${job.message === '' ? '' : `: ${job.message}`}`,
    })),
    links: pageLinks(of.links),
  });
}

function value(output: Output | undefined): unknown {
  return output !== undefined && 'value' in output ? output.value : null;
}

function texts(record: unknown, name: string): string[] {
  const list = typeof record === 'object' && record !== null ? (record as Record<string, unknown>)[name] : null;
  return Array.isArray(list) ? list.filter((entry) => typeof entry === 'string') : [];
}

function leftOut(provenance: unknown): string[] {
  const { left_out: left } = (provenance ?? {}) as {
    left_out?: { reasons?: readonly { reason: string; count: number }[] };
  };
  return (left?.reasons ?? []).map(({ reason, count }) => `${count}: ${reason}`);
}

/** Page of one job; `outputs` when it has ended well. */
export function shownJob(
  request: Request,
  job: JobRecord,
  of: { process: ProcessDescription | undefined; outputs: Outputs | null; links: readonly Link[] },
): string {
  const { outputs } = of;
  const table = outputs === null ? null : (value(outputs.get('table')) as AnswerTable | null);
  const provenance = outputs === null ? null : value(outputs.get('provenance'));
  const methods = outputs === null ? null : value(outputs.get('methods'));
  const answer =
    outputs === null || typeof methods !== 'string'
      ? undefined
      : {
          figureUrl: outputs.has('figure') ? siteUrl(request, `/jobs/${encodeURIComponent(job.id)}/figure.svg`) : null,
          figureTitle: of.process?.title ?? job.process,
          table:
            table === null
              ? null
              : {
                  columns: table.columns.map(({ title, unit }, i) => ({
                    title,
                    ...(unit === undefined ? {} : { unit }),
                    number: table.rows.some((row) => typeof row[i] === 'number'),
                  })),
                  rows: table.rows,
                },
          leftOut: leftOut(provenance),
          cautions: texts(provenance, 'cautions'),
          methods,
        };
  return jobPage({
    frame: frameOf(request, ['json', 'html'], [{ href: siteUrl(request, '/jobs'), title: 'Jobs' }]),
    id: job.id,
    question: of.process?.about?.question ?? of.process?.title ?? job.process,
    status: job.status,
    progress: job.progress,
    message: job.message,
    facts: [
      { name: 'process', value: job.process },
      { name: 'data version', value: String(job.version) },
      { name: 'asked', value: job.createdAt },
      ...(job.finishedAt === null ? [] : [{ name: 'ended', value: job.finishedAt }]),
    ],
    ...(answer === undefined ? {} : { answer }),
    links: pageLinks(of.links),
  });
}
