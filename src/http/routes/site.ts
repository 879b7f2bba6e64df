import type { Route } from '../exchange.js';
import type { Format } from '../negotiate.js';
import { getApi } from '../ogc/api.js';
import { getConformance } from '../ogc/conformance.js';
import { getLanding } from '../ogc/landing.js';
import { getVersion, getVersions } from '../ogc/versions.js';

const get = { method: 'get', query: [] } as const;
const documents: readonly Format[] = ['json', 'html'];
const site = '/sites/{siteId}';

/** Addresses of a site as a whole: landing page, description, conformance, data versions. */
export const siteRoutes: readonly Route[] = [
  {
    ...get,
    path: site,
    handler: getLanding,
    formats: documents,
    operationId: 'getLandingPage',
    summary: 'Landing page of the site',
    tag: 'Site',
    schema: 'landingPage',
  },
  {
    ...get,
    path: `${site}/api`,
    handler: getApi,
    formats: ['openapi', 'html'],
    operationId: 'getApi',
    summary: 'This description',
    tag: 'Site',
  },
  {
    ...get,
    path: `${site}/api.html`,
    handler: getApi,
    formats: ['html'],
    operationId: 'getApiPage',
    summary: 'This description for people',
    tag: 'Site',
  },
  {
    ...get,
    path: `${site}/conformance`,
    handler: getConformance,
    formats: documents,
    operationId: 'getConformanceClasses',
    summary: 'Standards kept',
    tag: 'Site',
    schema: 'conformance',
  },
  {
    ...get,
    path: `${site}/versions`,
    handler: getVersions,
    formats: documents,
    operationId: 'getVersions',
    summary: 'Data versions',
    tag: 'Versions',
    schema: 'versions',
  },
  {
    ...get,
    path: `${site}/versions/{version}`,
    handler: getVersion,
    formats: documents,
    operationId: 'getVersion',
    summary: 'One data version',
    tag: 'Versions',
    schema: 'version',
  },
];
