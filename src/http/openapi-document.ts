import type { CollectionView, SurveyView } from '../operations/service.js';
import { webMercatorQuad } from '../tiles/matrix-set.js';
import { matrixSetsOf, siteMatrixSetId } from '../tiles/site-matrix-set.js';
import type { Route } from './exchange.js';
import { mediaTypeOf } from './negotiate.js';
import { itemParameters, parameters } from './parameters.js';
import type { Parameter } from './query.js';
import { schemas } from './schemas.js';

type Json = Record<string, unknown>;

const sitePrefix = '/sites/{siteId}';

/** Addresses below a collection that stand literally in a site's description. */
const literalSuffixes = ['', '/items', '/items/{featureId}'] as const;

/** Parameters kept in components, by the names clients look for (`limit` above all). */
const shared: Readonly<Record<string, Parameter>> = {
  limit: parameters.limit,
  offset: parameters.offset,
  after: parameters.after,
  bbox: parameters.bbox,
  'bbox-crs': parameters.bboxCrs,
  crs: parameters.crs,
  datetime: parameters.datetime,
  filter: parameters.filter,
  'filter-lang': parameters.filterLang,
  'filter-crs': parameters.filterCrs,
  season: parameters.season,
  artefact_class: parameters.artefactClass,
  version: parameters.version,
  identified_as_of: parameters.identifiedAsOf,
};

function parameterObject(parameter: Parameter): Json {
  return {
    name: parameter.name,
    in: 'query',
    description: parameter.description,
    required: false,
    schema: parameter.schema,
    style: 'form',
    explode: parameter.repeatable === true,
  };
}

function parameterEntry(parameter: Parameter): Json {
  return shared[parameter.name] === parameter
    ? { $ref: `#/components/parameters/${parameter.name}` }
    : parameterObject(parameter);
}

function pathParameters(path: string, known: Readonly<Record<string, readonly string[]>>): Json[] {
  return [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => ({
    name,
    in: 'path',
    required: true,
    schema: { type: 'string', ...(known[name] === undefined ? {} : { enum: [...known[name]] }) },
  }));
}

function content(route: Route): Json {
  const schema = route.schema === undefined ? {} : { $ref: `#/components/schemas/${route.schema}` };
  const types: Json = {};
  for (const format of route.formats) {
    const binary = ['mvt', 'geotiff', 'geopackage', 'file'].includes(format);
    const text = ['html', 'svg', 'csv', 'text'].includes(format);
    types[mediaTypeOf(format)] = {
      schema: binary ? { type: 'string', format: 'binary' } : text ? { type: 'string' } : schema,
    };
  }
  return types;
}

function formatSchema(route: Route): Json {
  const names = route.formats.map((format) =>
    format === 'openapi' || format === 'schema' || format === 'style' ? 'json' : format,
  );
  return { type: 'string', enum: route.formats.includes('geojson') ? [...names, 'json'] : names };
}

const refusal = (description: string): Json => ({
  description,
  content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/problem' } } },
});

function operation(
  route: Route,
  given: {
    readonly query: readonly Parameter[];
    readonly path: string;
    readonly id: string;
    readonly known: Readonly<Record<string, readonly string[]>>;
  },
): Json {
  const responses: Json = { 200: { description: route.summary, content: content(route) } };
  if (['geotiff', 'geopackage'].includes(route.formats[0]))
    responses[206] = { description: 'The stretch of bytes asked for' };
  if (route.method === 'get') responses[304] = { description: 'Not changed since the ETag given' };
  responses[400] = { $ref: '#/components/responses/refused' };
  if (given.path.includes('{') || given.path.includes('/collections/'))
    responses[404] = { $ref: '#/components/responses/notFound' };
  if (route.formats.length > 1) responses[406] = { $ref: '#/components/responses/notAcceptable' };
  for (const [status, words] of Object.entries(route.statuses ?? {})) {
    responses[status] =
      status === '201'
        ? {
            description: words,
            content: { 'application/json': { schema: { $ref: '#/components/schemas/statusInfo' } } },
          }
        : status === '204'
          ? { description: words }
          : refusal(words);
  }
  responses[500] = { $ref: '#/components/responses/failed' };
  const query = given.query.map(parameterEntry);
  if (route.formats.length > 1) {
    query.push({
      name: 'f',
      in: 'query',
      required: false,
      style: 'form',
      explode: false,
      description: 'Form of the answer, in place of Accept',
      schema: formatSchema(route),
    });
  }
  const all = [...pathParameters(given.path, given.known), ...query];
  return {
    operationId: given.id,
    summary: route.summary,
    tags: [route.tag],
    ...(all.length === 0 ? {} : { parameters: all }),
    ...(route.method === 'post'
      ? {
          requestBody: {
            required: true,
            content: { 'application/json': { schema: { $ref: '#/components/schemas/execute' } } },
          },
        }
      : {}),
    responses,
  };
}

/** Features of one collection: its own properties are parameters, so its path stands literally, as desktops look for it. */
function collectionPaths(
  routes: readonly Route[],
  collection: CollectionView,
  known: Readonly<Record<string, readonly string[]>>,
): Json {
  const paths: Json = {};
  for (const suffix of literalSuffixes) {
    const route = routes.find((r) => r.path === `${sitePrefix}/collections/{collectionId}${suffix}`) as Route;
    const path = `/collections/${collection.id}${suffix}`;
    const query = suffix === '/items' ? itemParameters(collection) : route.query;
    paths[path] = { get: operation(route, { query, path, id: `${collection.id}.${route.operationId}`, known }) };
  }
  return paths;
}

function components(): Json {
  const parameterObjects: Json = {};
  for (const [name, parameter] of Object.entries(shared)) parameterObjects[name] = parameterObject(parameter);
  return {
    parameters: parameterObjects,
    responses: {
      refused: refusal('A parameter is unknown or cannot be used; the sentence says which, and what to do'),
      notFound: refusal('Nothing at this address'),
      notAcceptable: refusal('The form asked for is not offered'),
      failed: refusal('A fault of the service, with a number to report'),
    },
    schemas,
  };
}

function info(title: string, software: string): Json {
  return {
    title,
    version: software.split(' ').at(-1),
    description:
      'Grid, finds, levels and hull of a wreck excavation as features, vector tiles and distribution statistics, by OGC API Features, Tiles and Processes.',
    license: { name: 'Apache-2.0', url: 'https://www.apache.org/licenses/LICENSE-2.0' },
  };
}

/** What a description is made of. */
export interface Described {
  readonly routes: readonly Route[];
  /** the site, to name its collections literally; null = the template every site follows */
  readonly survey: SurveyView | null;
  readonly processes: readonly { readonly id: string }[];
  readonly serverUrl: string;
  /** name and version */
  readonly software: string;
}

/** Values a path parameter may take, as far as they are known. */
function knownParts({ survey, processes }: Described): Record<string, readonly string[]> {
  const known: Record<string, readonly string[]> = {
    tileMatrixSetId:
      survey === null ? [webMercatorQuad.id, siteMatrixSetId] : matrixSetsOf(survey.site).map(({ id }) => id),
    processId: processes.map(({ id }) => id),
  };
  if (survey !== null) known['collectionId'] = [...survey.collections.keys()];
  return known;
}

function templatePaths(of: Described): Record<string, Json> {
  const { survey } = of;
  const known = knownParts(of);
  const surfaces = survey === null ? null : [...survey.collections.values()].filter(({ surface }) => surface);
  const paths: Record<string, Json> = {};
  for (const route of of.routes) {
    if (!route.path.startsWith(sitePrefix)) continue;
    const path = route.path.slice(sitePrefix.length) || '/';
    if (survey !== null && literalSuffixes.some((suffix) => path === `/collections/{collectionId}${suffix}`)) continue;
    let parts = known;
    if (path.endsWith('/coverage') && surfaces !== null) {
      if (surfaces.length === 0) continue;
      parts = { ...known, collectionId: surfaces.map(({ id }) => id) };
    }
    const query = route.propertyParameters === true ? Object.values(shared) : route.query;
    const entry = operation(route, { query, path, id: route.operationId, known: parts });
    paths[path] = { ...paths[path], [route.method]: entry };
  }
  return paths;
}

/** OpenAPI 3.0.3 description of a site's API, made from the table of routes. */
export function openApiDocument(of: Described): Json {
  const { survey } = of;
  const paths = templatePaths(of);
  if (survey !== null) {
    const known = knownParts(of);
    for (const collection of survey.collections.values()) {
      Object.assign(paths, collectionPaths(of.routes, collection, known));
    }
  }
  return {
    openapi: '3.0.3',
    info: info(survey === null ? 'wreckfield' : survey.site.name, of.software),
    servers: [
      survey === null ? { url: of.serverUrl, variables: { siteId: { default: 'tarn-ledge' } } } : { url: of.serverUrl },
    ],
    tags: ['Site', 'Features', 'Tiles', 'Styles', 'Processes', 'Versions', 'Downloads'].map((name) => ({ name })),
    paths,
    components: components(),
  };
}
