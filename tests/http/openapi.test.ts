import { Ajv } from 'ajv';
import formats from 'ajv-formats';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openApiTemplate } from '../../src/http/openapi.js';
import { routes } from '../../src/http/routes.js';
import { json, type Served, serve } from './fake-service.js';

// biome-ignore lint/suspicious/noExplicitAny: documents are looked at as clients see them
type Any = any;

let at: Served;
let api: Any;
beforeAll(async () => {
  at = await serve();
  api = (await json(`${at.site}/api`)).body;
});
afterAll(() => at.close());

const template: Any = openApiTemplate([{ id: 'echo' }]);

/** OpenAPI 3.0 schemas say nullable where JSON Schema says null. */
function toJsonSchema(node: Any): Any {
  if (Array.isArray(node)) return node.map(toJsonSchema);
  if (typeof node !== 'object' || node === null) return node;
  const { nullable, ...rest } = node;
  const made = Object.fromEntries(Object.entries(rest).map(([k, v]) => [k, toJsonSchema(v)]));
  return nullable ? { anyOf: [made, { type: 'null' }] } : made;
}

function operations(document: Any): { path: string; method: string; operation: Any }[] {
  return Object.entries(document.paths).flatMap(([path, item]) =>
    Object.entries(item as Any).map(([method, operation]) => ({ path, method, operation })),
  );
}

test.each([
  ['of the site', () => api],
  ['template', () => template],
])('%s: OpenAPI 3.0 in shape: ids once, path parameters declared, every reference resolves', (_, document) => {
  const doc = document();
  expect(doc.openapi).toBe('3.0.3');
  const ids = operations(doc).map(({ operation }) => operation.operationId);
  expect(new Set(ids).size).toBe(ids.length);
  const resolve = (ref: string) =>
    ref
      .slice(2)
      .split('/')
      .reduce((o: Any, k) => o?.[k], doc);
  const walk = (node: Any) => {
    if (Array.isArray(node)) node.forEach(walk);
    else if (typeof node === 'object' && node !== null) {
      if (typeof node.$ref === 'string') expect(resolve(node.$ref), node.$ref).toBeDefined();
      // 3.1 only
      if (Array.isArray(node.type)) throw new Error('a list of types is not OpenAPI 3.0');
      Object.values(node).forEach(walk);
    }
  };
  walk(doc);
  for (const { path, operation } of operations(doc)) {
    const declared = (operation.parameters ?? []).map((p: Any) => (p.$ref ? resolve(p.$ref) : p));
    const inPath = [...path.matchAll(/\{(\w+)\}/g)].map((m) => m[1]);
    expect(declared.filter((p: Any) => p.in === 'path').map((p: Any) => p.name)).toEqual(inPath);
    const names = declared.map((p: Any) => p.name);
    expect(new Set(names).size, path).toBe(names.length);
    expect(Object.keys(operation.responses)).toEqual(expect.arrayContaining(['200', '400', '500']));
  }
});

test('the template holds every address of a site; the site names its collections literally', () => {
  const paths = Object.keys(template.paths);
  for (const route of routes) {
    if (route.path.startsWith('/sites/{siteId}'))
      expect(paths).toContain(route.path.slice('/sites/{siteId}'.length) || '/');
  }
  for (const id of ['finds', 'hull-lines', 'grid-squares', 'deposit-top', 'documents']) {
    for (const suffix of ['', '/items', '/items/{featureId}'])
      expect(api.paths[`/collections/${id}${suffix}`]).toBeDefined();
  }
  expect(api.servers[0].url).toBe(at.site);
  expect(api.paths['/collections/{collectionId}/coverage'].get.parameters[0].schema.enum).toEqual(['deposit-top']);
});

test('tiles: matrix, row and column are parameters, and operation ids end as the standard asks', () => {
  for (const [prefix, kind] of [
    ['', 'dataset'],
    ['/collections/{collectionId}', 'collection'],
  ]) {
    const ids = ['', '/{tileMatrixSetId}', '/{tileMatrixSetId}/{tileMatrix}/{tileRow}/{tileCol}'].map(
      (s) => api.paths[`${prefix}/tiles${s}`].get.operationId,
    );
    for (const [i, end] of ['getTileSetsList', 'getTileSet', 'getTile'].entries())
      expect(ids[i].endsWith(`.${kind}.vector.${end}`)).toBe(true);
  }
});

test('the document of a site is small', () => {
  expect(JSON.stringify(api).length).toBeLessThan(120_000);
});

test('the property parameters of a collection are its own fields, plain types', () => {
  const { parameters } = api.paths['/collections/finds/items'].get;
  for (const [name, type] of [
    ['weight_g', 'number'],
    ['find', 'string'],
    ['intrusive', 'boolean'],
    ['count', 'integer'],
  ]) {
    expect(parameters.find((p: Any) => p.name === name)).toMatchObject({
      in: 'query',
      style: 'form',
      explode: false,
      schema: { type },
    });
  }
  // the name older clients look for switches their own filters on
  expect(api.components.parameters['filter-lang'].schema.enum).toContain('cql-text');
});

test('every answer fits the schema the description promises, and its status and type are described', async () => {
  const ajv = new Ajv({ strict: false });
  // the package is CommonJS: its function is the default of the default
  const addFormats = formats as unknown as typeof formats.default;
  addFormats(ajv);
  const schemas = toJsonSchema(api.components.schemas);
  ajv.addSchema({ $id: 'api', components: { schemas } });
  const check = (path: string, described: string, status: number, body: unknown, type: string) => {
    const operation = api.paths[described].get ?? api.paths[described].post;
    let response = operation.responses[status];
    if (response.$ref)
      response = response.$ref
        .slice(2)
        .split('/')
        .reduce((o: Any, k: string) => o[k], api);
    const media = response.content[type];
    expect(media, `${path} ${status} ${type}`).toBeDefined();
    if (!media.schema.$ref) return;
    const validate = ajv.compile({ $ref: `api${media.schema.$ref}` });
    expect(validate(body), `${path}: ${ajv.errorsText(validate.errors)}`).toBe(true);
  };
  const collection = (id: string) => [`/collections/${id}`, `/collections/${id}/items`].map((p) => [p, p]);
  const wanted = [
    ['', '/'],
    ['/conformance', '/conformance'],
    ['/collections', '/collections'],
    ...['finds', 'hull-lines', 'grid-squares', 'deposit-top', 'documents'].flatMap(collection),
    ['/collections/finds/items?limit=200', '/collections/finds/items'],
    ['/collections/finds/items/1001', '/collections/finds/items/{featureId}'],
    ['/collections/finds/schema', '/collections/{collectionId}/schema'],
    ['/tiles', '/tiles'],
    ['/tiles/WebMercatorQuad', '/tiles/{tileMatrixSetId}'],
    ['/collections/finds/tiles', '/collections/{collectionId}/tiles'],
    ['/collections/finds/tiles/WebMercatorQuad', '/collections/{collectionId}/tiles/{tileMatrixSetId}'],
    ['/tileMatrixSets', '/tileMatrixSets'],
    ['/tileMatrixSets/WebMercatorQuad', '/tileMatrixSets/{tileMatrixSetId}'],
    ['/tilejson/finds.json', '/tilejson/{collectionId}.json'],
    ['/styles', '/styles'],
    ['/styles/sheet', '/styles/{styleId}'],
    ['/processes', '/processes'],
    ['/processes/echo', '/processes/{processId}'],
    ['/jobs', '/jobs'],
    ['/versions', '/versions'],
    ['/versions/1', '/versions/{version}'],
    // refusals are described too
    ['/collections?x=1', '/collections'],
    ['/collections/finds/items?limit=x', '/collections/finds/items'],
    ['/collections/finds/items/1', '/collections/finds/items/{featureId}'],
    ['/processes/none', '/processes/{processId}'],
    ['/tiles/none', '/tiles/{tileMatrixSetId}'],
    ['/xyz/finds/99/0/0.mvt', '/xyz/{collectionId}/{z}/{x}/{y}.mvt'],
  ];
  for (const [path, described] of wanted) {
    const { response, body } = await json(`${at.site}${path}`);
    check(path, described, response.status, body, response.headers.get('content-type') as string);
  }
  const execution = await fetch(`${at.site}/processes/echo/execution`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', prefer: 'respond-async' },
    body: JSON.stringify({ inputs: { text: 'x' } }),
  });
  const status = (await execution.json()) as Any;
  check('execution', '/processes/{processId}/execution', 201, status, 'application/json');
  const job = await json(`${at.site}/jobs/${status.jobID}`);
  check('job', '/jobs/{jobId}', 200, job.body, 'application/json');
});
