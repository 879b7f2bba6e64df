import type { Route } from '../exchange.js';
import type { Format } from '../negotiate.js';
import { getSites } from '../ogc/landing.js';
import { getHealth, getMetrics, getProblem, getReadiness, getStatic } from '../ogc/service-state.js';

const get = { method: 'get', query: [] } as const;
const documents: readonly Format[] = ['json', 'html'];

/** Addresses of the service as a whole. */
export const serviceRoutes: readonly Route[] = [
  {
    ...get,
    path: '/',
    handler: getSites,
    formats: documents,
    operationId: 'getRoot',
    summary: 'All sites',
    tag: 'Service',
    schema: 'sites',
  },
  {
    ...get,
    path: '/sites',
    handler: getSites,
    formats: documents,
    operationId: 'getSites',
    summary: 'All sites',
    tag: 'Service',
    schema: 'sites',
  },
  {
    ...get,
    path: '/healthz',
    handler: getHealth,
    formats: ['json'],
    operationId: 'getHealth',
    summary: 'Live',
    tag: 'Service',
  },
  {
    ...get,
    path: '/readyz',
    handler: getReadiness,
    formats: ['json'],
    operationId: 'getReadiness',
    summary: 'Ready',
    tag: 'Service',
  },
  {
    ...get,
    path: '/metrics',
    handler: getMetrics,
    formats: ['text'],
    operationId: 'getMetrics',
    summary: 'Counters',
    tag: 'Service',
  },
  {
    ...get,
    path: '/problems/{code}',
    handler: getProblem,
    formats: ['json'],
    operationId: 'getProblem',
    summary: 'What a refusal means',
    tag: 'Service',
  },
  {
    ...get,
    path: '/static/{file}',
    handler: getStatic,
    formats: ['file'],
    operationId: 'getStatic',
    summary: 'Files of the pages',
    tag: 'Service',
  },
];
