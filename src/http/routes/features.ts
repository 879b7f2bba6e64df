import type { Route } from '../exchange.js';
import type { Format } from '../negotiate.js';
import { getCollection, getCollections, getSchema } from '../ogc/collections.js';
import { getCoverage } from '../ogc/coverage.js';
import { getItem, getItems, itemQuery } from '../ogc/items.js';
import { getQueryables } from '../ogc/queryables.js';
import { parameters } from '../parameters.js';
import type { Parameter } from '../query.js';

const get = { method: 'get', query: [] } as const;
const documents: readonly Format[] = ['json', 'html'];
const site = '/sites/{siteId}';
const collection = '/sites/{siteId}/collections/{collectionId}';
const state: readonly Parameter[] = [parameters.version, parameters.identifiedAsOf];

/** Addresses of OGC API – Features, and the surfaces. */
export const featuresRoutes: readonly Route[] = [
  {
    ...get,
    path: `${site}/collections`,
    handler: getCollections,
    formats: documents,
    operationId: 'getCollections',
    summary: 'Collections of features',
    tag: 'Features',
    schema: 'collections',
  },
  {
    ...get,
    path: collection,
    handler: getCollection,
    formats: documents,
    operationId: 'getCollection',
    summary: 'One collection',
    tag: 'Features',
    schema: 'collection',
  },
  {
    ...get,
    path: `${collection}/queryables`,
    handler: getQueryables,
    formats: ['schema', 'html'],
    query: state,
    operationId: 'getQueryables',
    summary: 'What a filter of a collection may ask',
    tag: 'Features',
    schema: 'jsonSchema',
  },
  {
    ...get,
    path: `${collection}/schema`,
    handler: getSchema,
    formats: ['schema', 'html'],
    query: state,
    operationId: 'getSchema',
    summary: 'Fields of a collection',
    tag: 'Features',
    schema: 'jsonSchema',
  },
  {
    ...get,
    path: `${collection}/items`,
    handler: getItems,
    formats: ['geojson', 'html', 'csv'],
    propertyParameters: true,
    operationId: 'getItems',
    summary: 'Features of a collection',
    tag: 'Features',
    schema: 'featureCollection',
  },
  {
    ...get,
    path: `${collection}/items/{featureId}`,
    handler: getItem,
    formats: ['geojson', 'html'],
    query: itemQuery,
    operationId: 'getItem',
    summary: 'One feature',
    tag: 'Features',
    schema: 'feature',
  },
  {
    ...get,
    path: `${collection}/coverage`,
    handler: getCoverage,
    formats: ['geotiff'],
    query: [parameters.season, ...state],
    operationId: 'getCoverage',
    summary: 'A surface as GeoTIFF',
    tag: 'Features',
  },
];
