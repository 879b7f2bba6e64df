import type { Route } from '../exchange.js';
import type { Format } from '../negotiate.js';
import {
  deleteJob,
  getFigure,
  getJob,
  getJobs,
  getMethods,
  getOutput,
  getResults,
  getTable,
  jobQuery,
} from '../ogc/jobs.js';
import { getProcess, getProcesses, postExecution } from '../ogc/processes.js';
import { parameters } from '../parameters.js';
import type { Parameter } from '../query.js';

const get = { method: 'get', query: [] } as const;
const documents: readonly Format[] = ['json', 'html'];
const site = '/sites/{siteId}';
const job = '/sites/{siteId}/jobs/{jobId}';
const pickOutputs: Parameter = {
  name: 'outputs',
  description: 'Only these outputs, between commas',
  schema: { type: 'string' },
};
const noJob = { 404: 'No such job, or its result is not ready', 410: 'The job was dismissed' } as const;
const runs = {
  201: 'A job was accepted; Location names it',
  204: 'One output by reference; the Link header names it',
  413: 'The body is too large',
  415: 'The body is not JSON',
  422: 'The question cannot be answered with these data',
  429: 'Too many jobs are waiting',
} as const;

/** Addresses of OGC API – Processes, and what goes into a report. */
export const processesRoutes: readonly Route[] = [
  {
    ...get,
    path: `${site}/processes`,
    handler: getProcesses,
    formats: documents,
    query: [parameters.listLimit],
    operationId: 'getProcesses',
    summary: 'What can be asked',
    tag: 'Processes',
    schema: 'processes',
  },
  {
    ...get,
    path: `${site}/processes/{processId}`,
    handler: getProcess,
    formats: documents,
    operationId: 'getProcessDescription',
    summary: 'One process',
    tag: 'Processes',
    schema: 'process',
    statuses: { 404: 'No such process' },
  },
  {
    method: 'post',
    query: [],
    path: `${site}/processes/{processId}/execution`,
    handler: postExecution,
    formats: ['result'],
    operationId: 'execute',
    summary: 'Run a process',
    tag: 'Processes',
    schema: 'results',
    statuses: runs,
  },
  {
    ...get,
    path: `${site}/jobs`,
    handler: getJobs,
    formats: documents,
    query: jobQuery,
    operationId: 'getJobs',
    summary: 'What has been asked',
    tag: 'Processes',
    schema: 'jobs',
  },
  {
    ...get,
    path: job,
    handler: getJob,
    formats: documents,
    operationId: 'getStatus',
    summary: 'One job',
    tag: 'Processes',
    schema: 'statusInfo',
    statuses: noJob,
  },
  {
    method: 'delete',
    query: [],
    path: job,
    handler: deleteJob,
    formats: ['json'],
    operationId: 'dismiss',
    summary: 'Stop a job or forget it',
    tag: 'Processes',
    schema: 'statusInfo',
    statuses: noJob,
  },
  {
    ...get,
    path: `${job}/results`,
    handler: getResults,
    formats: ['result'],
    query: [pickOutputs],
    operationId: 'getResult',
    summary: 'Results of a job',
    tag: 'Processes',
    schema: 'results',
    statuses: noJob,
  },
  {
    ...get,
    path: `${job}/results/{outputId}`,
    handler: getOutput,
    formats: ['result'],
    operationId: 'getOutput',
    summary: 'One output of a job',
    tag: 'Processes',
    statuses: noJob,
  },
  {
    ...get,
    path: `${job}/figure.svg`,
    handler: getFigure,
    formats: ['svg'],
    operationId: 'getFigure',
    summary: 'Figure',
    tag: 'Processes',
    statuses: noJob,
  },
  {
    ...get,
    path: `${job}/table.csv`,
    handler: getTable,
    formats: ['csv'],
    operationId: 'getTable',
    summary: 'Table',
    tag: 'Processes',
    statuses: noJob,
  },
  {
    ...get,
    path: `${job}/methods.txt`,
    handler: getMethods,
    formats: ['text'],
    operationId: 'getMethods',
    summary: 'Methods paragraph',
    tag: 'Processes',
    statuses: noJob,
  },
];
