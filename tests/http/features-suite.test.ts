import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { findCount, inCrs } from './fake-records.js';
import { json, linkOf, type Served, serve, storageCrs } from './fake-service.js';

// The numbers follow the checks of the OGC executable test suite for Features, Parts 1 and 2.

let at: Served;
beforeAll(async () => {
  at = await serve();
});
afterAll(() => at.close());

const CRS84 = 'http://www.opengis.net/def/crs/OGC/1.3/CRS84';
const openApiType = 'application/vnd.oai.openapi+json;version=3.0';

// biome-ignore lint/suspicious/noExplicitAny: documents are looked at as clients see them
type Any = any;

async function collectionsOf(): Promise<Any[]> {
  return (await json(`${at.site}/collections`)).body.collections;
}

async function walk(url: string): Promise<{ ids: number[]; matched: number; pages: number }> {
  const ids: number[] = [];
  let next: string | undefined = url;
  let matched = -1;
  let pages = 0;
  while (next !== undefined) {
    const { response, body }: Any = await json(next);
    expect(response.status).toBe(200);
    expect(body.numberReturned).toBe(body.features.length);
    if (matched >= 0) expect(body.numberMatched).toBe(matched);
    matched = body.numberMatched;
    ids.push(...body.features.map((f: Any) => f.id));
    next = linkOf(body, 'next')?.href;
    if (next !== undefined) expect(body.features.length).toBeGreaterThan(0);
    pages++;
  }
  return { ids, matched, pages };
}

test('1: the landing page, with and without slash, links description, conformance and data, all absolute', async () => {
  for (const url of [at.site, `${at.site}/`]) {
    const { response, body } = await json(url);
    expect(response.status).toBe(200);
    expect(response.headers.get('content-type')).toBe('application/json');
    const rels = body.links.map((l: Any) => l.rel);
    const REL = 'http://www.opengis.net/def/rel/ogc/1.0';
    for (const rel of [
      'self',
      'alternate',
      'service-desc',
      'service-doc',
      'conformance',
      'data',
      `${REL}/conformance`,
      `${REL}/tilesets-vector`,
      `${REL}/tiling-schemes`,
      `${REL}/processes`,
      `${REL}/job-list`,
      `${REL}/styles`,
    ]) {
      expect(rels).toContain(rel);
    }
    for (const link of body.links) expect(link.href).toMatch(new RegExp(`^${at.root}/`));
    expect(linkOf(body, 'data')?.href).toBe(`${at.site}/collections`);
  }
});

test('2: the description is found by its exact type and is OpenAPI 3.0', async () => {
  const { body: landing } = await json(at.site);
  const link = landing.links.find((l: Any) => l.rel === 'service-desc');
  expect(link.type.replaceAll(' ', '')).toBe(openApiType);
  const { response, body } = await json(link.href, { accept: openApiType });
  expect(response.headers.get('content-type')).toBe(openApiType);
  expect(body.openapi).toBe('3.0.3');
  const doc = landing.links.find((l: Any) => l.rel === 'service-doc');
  expect(doc.type).toBe('text/html');
  const page = await fetch(doc.href);
  expect(page.headers.get('content-type')).toMatch(/^text\/html/);
});

test('3: conformance lists Features core', async () => {
  const { body } = await json(`${at.site}/conformance`);
  expect(body.conformsTo).toContain('http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/core');
  expect(body.conformsTo).toContain('http://www.opengis.net/spec/ogcapi-features-2/1.0/conf/crs');
  expect(new Set(body.conformsTo).size).toBe(body.conformsTo.length);
});

test('4: the list of collections links itself and its other form, and is not empty', async () => {
  const { body } = await json(`${at.site}/collections`);
  expect(linkOf(body, 'self')?.type).toBe('application/json');
  expect(linkOf(body, 'alternate')?.type).toBe('text/html');
  expect(body.collections.map((c: Any) => c.id)).toEqual([
    'finds',
    'hull-lines',
    'grid-squares',
    'deposit-top',
    'documents',
  ]);
});

test('5: a collection equals its entry in the list, word for word, and links its items by type', async () => {
  for (const entry of await collectionsOf()) {
    const { body } = await json(`${at.site}/collections/${entry.id}`);
    expect(body).toEqual(entry);
    const items = body.links.filter((l: Any) => l.rel === 'items').map((l: Any) => l.type);
    expect(items).toEqual(['application/geo+json', 'text/html', 'text/csv']);
    expect(body.itemType).toBe('feature');
    expect(body.crs[0]).toBe(CRS84);
    if (body.extent?.spatial) expect(body.extent.spatial.bbox[0]).toHaveLength(4);
  }
});

test('6: limit, bbox and datetime are declared as the standard writes them', async () => {
  const { body: api } = await json(`${at.site}/api`);
  const resolve = (p: Any) =>
    p.$ref
      ? p.$ref
          .slice(2)
          .split('/')
          .reduce((o: Any, k: string) => o[k], api)
      : p;
  for (const { id } of await collectionsOf()) {
    const parameters = api.paths[`/collections/${id}/items`].get.parameters.map(resolve);
    const find = (name: string) => parameters.find((p: Any) => p.name === name);
    for (const name of ['limit', 'bbox', 'datetime']) {
      expect(find(name)).toMatchObject({ in: 'query', required: false, style: 'form', explode: false });
    }
    expect(find('limit').schema).toMatchObject({ type: 'integer', minimum: 1 });
    expect(find('limit').schema.default).toBeLessThanOrEqual(1000);
    expect(find('limit').schema.maximum).toBeGreaterThanOrEqual(1000);
    expect(find('bbox').schema).toMatchObject({ type: 'array', minItems: 4, maxItems: 6, items: { type: 'number' } });
    expect(find('datetime').schema.type).toBe('string');
  }
  expect(api.components.parameters.limit.name).toBe('limit');
});

describe('7: pages', () => {
  const box = () => {
    const [w, s] = inCrs('crs84', 5, 4);
    const [e, n] = inCrs('crs84', 25, 15);
    return [w, s, e, n].join(',');
  };
  test.each([
    ['everything', () => ''],
    ['a season', () => 'season=S1'],
    ['two seasons', () => 'season=S1&season=S2'],
    ['a class with its children', () => 'artefact_class=ceramics'],
    ['a box', () => `bbox=${box()}`],
    ['a box, a class and a time', () => `bbox=${box()}&artefact_class=jar&datetime=2021-07-05/..`],
    ['a property', () => 'weight_g=12'],
    ['a truth value', () => 'intrusive=true'],
    ['a filter', () => `filter=${encodeURIComponent("weight_g > 11 AND NOT season = 'S1'")}`],
    [
      'a filter in JSON',
      () => `filter-lang=cql2-json&filter=${encodeURIComponent('{"op":"isNull","args":[{"property":"season"}]}')}`,
    ],
    ['a filter and a box', () => `bbox=${box()}&filter=${encodeURIComponent("artefact_class IN ('jar','nail')")}`],
    ['a data version', () => 'version=1&season=S2'],
    ['nothing at all', () => 'find=F999'],
  ])('following next over %s gives every match once', async (_, query) => {
    const limits = [19, 100];
    const whole = await walk(`${at.site}/collections/finds/items?limit=10000&${query()}`);
    expect(whole.pages).toBe(1);
    for (const limit of limits) {
      const { ids, matched, pages } = await walk(`${at.site}/collections/finds/items?limit=${limit}&${query()}`);
      expect(ids.length).toBe(matched);
      expect(new Set(ids).size).toBe(ids.length);
      expect(ids).toEqual(whole.ids);
      expect(pages).toBe(Math.max(1, Math.ceil(matched / limit)));
    }
  });

  test('the answer has links, a time stamp and exact numbers; the next link is typed', async () => {
    const { body, response } = await json(`${at.site}/collections/finds/items`);
    expect(response.headers.get('content-type')).toBe('application/geo+json');
    expect(body.type).toBe('FeatureCollection');
    expect(body.numberMatched).toBe(findCount);
    expect(body.numberReturned).toBe(100);
    expect(Number.isNaN(Date.parse(body.timeStamp))).toBe(false);
    expect(linkOf(body, 'self')?.type).toBe('application/geo+json');
    expect(linkOf(body, 'alternate')?.type).toBe('text/html');
    expect(linkOf(body, 'next')?.type).toBe('application/geo+json');
    expect(response.headers.get('link')).toContain('rel="next"');
  });

  test('offset walks the same order, and cannot stand beside after', async () => {
    const whole = await walk(`${at.site}/collections/finds/items?limit=10000`);
    const { body } = await json(`${at.site}/collections/finds/items?limit=10&offset=25`);
    expect(body.features.map((f: Any) => f.id)).toEqual(whole.ids.slice(25, 35));
    expect((await json(`${at.site}/collections/finds/items?offset=500`)).body.features).toEqual([]);
    expect((await fetch(`${at.site}/collections/finds/items?offset=1&after=1`)).status).toBe(400);
    const followed = await walk(`${at.site}/collections/finds/items?limit=10&offset=25`);
    expect(followed.ids).toEqual(whole.ids.slice(25));
  });

  test('a limit above the maximum is lowered, not refused', async () => {
    const { body } = await json(`${at.site}/collections/finds/items?limit=99999999999999999999`);
    expect(body.numberReturned).toBe(findCount);
  });

  test.each([
    '2021-07-05T00:00:00Z',
    '2021-07-05',
    '2021-07-05T',
    '2021-07-01T00:00:00Z/2021-07-10T23:59:59Z',
    '../2021-07-10T00:00:00Z',
    '/2021-07-10T00:00:00Z',
    '2021-07-10T00:00:00Z/..',
    '2021-07-10T00:00:00+02:00/',
    '2021-07-05T/..',
    '0000-01-01T00:00:00Z/2021-07-10T00:00:00Z',
    '2021-07-10T00:00:00Z/9999-12-31T00:00:00Z',
    '../..',
  ])('datetime=%s is understood', async (datetime) => {
    const { response, body } = await json(
      `${at.site}/collections/finds/items?datetime=${encodeURIComponent(datetime)}`,
    );
    expect(response.status).toBe(200);
    // finds without a date always fit
    expect(body.features.some((f: Any) => f.properties.found_on === null)).toBe(true);
  });

  test('a day takes the finds of that day and those without a date', async () => {
    const { body } = await json(`${at.site}/collections/finds/items?datetime=2021-07-05&limit=1000`);
    expect(new Set(body.features.map((f: Any) => f.properties.found_on))).toEqual(new Set(['2021-07-05', null]));
  });

  test.each(['yesterday', '2021-13-01', '2021-02-30', '2021-07-05T25:00:00Z', '2021-07-05/2021-07-01', 'a/b/c', ''])(
    'datetime=%s is refused',
    async (datetime) => {
      expect((await fetch(`${at.site}/collections/finds/items?datetime=${datetime}`)).status).toBe(400);
    },
  );

  test.each([
    ['the whole world', '-180,-90,180,90', findCount],
    ['beyond the whole world', '-200,-90,200,90', findCount],
    ['over the antimeridian', '177,-90,-177,90', Math.floor(findCount / 9)],
    ['over the antimeridian and the site', '177,-90,-10,90', findCount],
    ['six numbers', '-180,-90,-100,180,90,100', findCount],
    ['elsewhere', '0,0,1,1', Math.floor(findCount / 9)],
  ])('a box of %s', async (_, box, count) => {
    const { response, body } = await json(`${at.site}/collections/finds/items?bbox=${box}`);
    expect(response.status).toBe(200);
    // finds without position fit every box
    expect(body.numberMatched).toBe(count);
  });

  test.each([
    '1,2,3',
    '1,2,3,4,5',
    '1,2,3,x',
    '1,,3,4',
    '0,160,1,170',
    '0,10,1,5',
    '1e999,0,1,1',
    '0x10,0,1,1',
    '',
    '0,0,5,1,1,2',
    'NaN,0,1,1',
  ])('bbox=%s is refused', async (box) => {
    const { response, body } = await json(`${at.site}/collections/finds/items?bbox=${box}`);
    expect(response.status).toBe(400);
    expect(body.errors[0].parameter).toBe('bbox');
  });
});

test('8: geometries lie in the range of CRS84 and inside the extent', async () => {
  for (const { id, extent } of await collectionsOf()) {
    if (!extent) continue;
    const [west, south, east, north] = extent.spatial.bbox[0];
    const { body } = await json(`${at.site}/collections/${id}/items?limit=1000`);
    for (const f of body.features) {
      const flat = f.geometry === null ? [] : f.geometry.coordinates.flat(3);
      for (let i = 0; i < flat.length; i += 2) {
        expect(
          flat[i] >= west - 1e-9 &&
            flat[i] <= east + 1e-9 &&
            flat[i + 1] >= south - 1e-9 &&
            flat[i + 1] <= north + 1e-9,
        ).toBe(true);
      }
    }
  }
});

test.each([
  'limit=unlimited',
  'limit=0',
  'limit=-1',
  'limit=1.5',
  'limit=',
  'limit=1&limit=2',
  'limit=0x10',
  'limit=1e2',
  'unknownQueryParameter0815=1',
  'filter=x=1',
  'f=json&f=html',
  'f=xml',
  'offset=-1',
  'after=x',
  'version=0',
  'version=one',
  'crs=EPSG:4326',
  'bbox-crs=http://www.opengis.net/def/crs/OGC/1.3/CRS84',
  'season=',
  'season=S9',
  'artefact_class=gold',
  'count=1.5',
  'weight_g=heavy',
  'intrusive=maybe',
  'identified_as_of=2021',
  'identified_as_of=2021-02-31',
  '__proto__=1',
  'constructor=1',
])('9: %s is refused with a problem document', async (query) => {
  const { response, body } = await json(`${at.site}/collections/finds/items?${query}`);
  expect(response.status).toBe(400);
  expect(response.headers.get('content-type')).toBe('application/problem+json');
  expect(body).toMatchObject({ status: 400, instance: '/sites/test-ledge/collections/finds/items' });
  expect(body.type).toMatch(new RegExp(`^${at.root}/problems/`));
  expect((await fetch(body.type)).status).toBe(200);
});

test('9: an unknown parameter is refused at every address, and the known ones are named', async () => {
  for (const path of [
    '',
    '/conformance',
    '/collections',
    '/collections/finds',
    '/collections/finds/schema',
    '/tiles',
    '/processes',
    '/jobs',
    '/styles',
    '/versions',
    '/api',
    '/xyz/finds/0/0/0.mvt',
  ]) {
    const { response, body } = await json(`${at.site}${path}?unknown_thing=1`);
    expect(response.status, path).toBe(400);
    expect(body.detail).toContain('known are');
  }
  const { body } = await json(`${at.site}/collections/finds/items?seasn=S1`);
  expect(body.detail).toContain('season');
  // a collection without seasons does not pretend to filter by them
  expect((await fetch(`${at.site}/collections/hull-lines/items?season=S1`)).status).toBe(400);
});

test('10: one feature by its id, with links; anything else is not found', async () => {
  const { body: page } = await json(`${at.site}/collections/finds/items?limit=3`);
  for (const first of page.features) {
    const { response, body } = await json(`${at.site}/collections/finds/items/${first.id}`);
    expect(response.status).toBe(200);
    expect(response.headers.get('content-type')).toBe('application/geo+json');
    const { links, ...feature } = body;
    expect(feature).toEqual(first);
    for (const rel of ['self', 'alternate', 'collection']) expect(linkOf(body, rel)?.type).toBeTruthy();
  }
  for (const id of ['1', '999999', 'F3', '1001.0', '-1', '01001x', '9999999999999999999999', '%00']) {
    const response = await fetch(`${at.site}/collections/finds/items/${id}`);
    expect(response.status, id).toBe(404);
    expect(response.headers.get('content-type')).toBe('application/problem+json');
  }
});

test('every property stands in every feature, null when unknown', async () => {
  const { body } = await json(`${at.site}/collections/finds/items?limit=1000`);
  for (const f of body.features) {
    expect(Object.keys(f.properties)).toEqual([
      'find',
      'season',
      'artefact_class',
      'weight_g',
      'count',
      'intrusive',
      'found_on',
      'notes',
    ]);
  }
});

describe('CRS', () => {
  const known = [3, 4] as const;
  const systems = {
    [CRS84]: 'crs84',
    'http://www.opengis.net/def/crs/EPSG/0/4326': 'epsg4326',
    'http://www.opengis.net/def/crs/EPSG/0/3857': 'epsg3857',
    [storageCrs]: 'storage',
  } as const;

  test('storageCrs and the default are in the list', async () => {
    for (const c of await collectionsOf()) {
      expect(new Set(c.crs)).toEqual(new Set(Object.keys(systems)));
      expect(c.storageCrs).toBe(storageCrs);
    }
  });

  test.each(Object.entries(systems))(
    '%s: coordinates and Content-Crs, items and item, in its own axis order',
    async (uri, crs) => {
      const expected = inCrs(crs, ...known);
      for (const path of ['items?limit=1&', 'items/1001?']) {
        const { response, body } = await json(`${at.site}/collections/finds/${path}crs=${encodeURIComponent(uri)}`);
        expect(response.status).toBe(200);
        expect(response.headers.get('content-crs')).toBe(`<${uri}>`);
        const f = path.startsWith('items?') ? body.features[0] : body;
        expect(f.geometry.coordinates[0]).toBeCloseTo(expected[0], 9);
        expect(f.geometry.coordinates[1]).toBeCloseTo(expected[1], 9);
      }
    },
  );

  test('without crs the header names the default', async () => {
    const { response } = await json(`${at.site}/collections/finds/items`);
    expect(response.headers.get('content-crs')).toBe(`<${CRS84}>`);
  });

  test.each(Object.entries(systems))('%s as bbox-crs finds the same as the default', async (uri, crs) => {
    // a narrow box round one find, so that swapped axes could not give the same answer
    const corner = (name: typeof crs, x: number, y: number) => inCrs(name, x, y);
    const a = corner(crs, 2.99, 3.99);
    const b = corner(crs, 3.01, 4.01);
    const box = [a[0], a[1], b[0], b[1]].join(',');
    const { response, body } = await json(
      `${at.site}/collections/finds/items?limit=1000&bbox=${box}&bbox-crs=${encodeURIComponent(uri)}`,
    );
    expect(response.status).toBe(200);
    const placed = body.features.filter((f: Any) => f.geometry !== null).map((f: Any) => f.id);
    expect(placed).toEqual([1001]);
  });

  test('an unknown system is refused and the offered ones are named', async () => {
    for (const name of ['crs', 'bbox-crs']) {
      const { response, body } = await json(
        `${at.site}/collections/finds/items?bbox=0,0,1,1&${name}=http://www.opengis.net/def/crs/EPSG/0/32633`,
      );
      expect(response.status).toBe(400);
      expect(body.detail).toContain(storageCrs);
    }
  });
});

test('the schema tells types, roles, units and geometry', async () => {
  const { response, body } = await json(`${at.site}/collections/finds/schema`);
  expect(response.headers.get('content-type')).toBe('application/schema+json');
  expect(body.$id).toBe(`${at.site}/collections/finds/schema`);
  expect(body.properties.geometry).toMatchObject({ format: 'geometry-point', 'x-ogc-role': 'primary-geometry' });
  expect(body.properties.geometry.type).toBeUndefined();
  expect(body.properties.weight_g).toMatchObject({ type: 'number', 'x-ogc-unit': 'g', minimum: 0 });
  expect(body.properties.found_on).toMatchObject({ type: 'string', format: 'date', 'x-ogc-role': 'primary-instant' });
  expect(body.properties.id['x-ogc-role']).toBe('id');
  const squares = (await json(`${at.site}/collections/grid-squares/schema`)).body;
  expect(squares.properties.geometry.format).toBe('geometry-polygon');
  const { body: collection } = await json(`${at.site}/collections/finds`);
  const REL = 'http://www.opengis.net/def/rel/ogc/1.0';
  for (const rel of ['describedby', `${REL}/schema`]) {
    expect(linkOf(collection, rel)).toMatchObject({ href: body.$id, type: 'application/schema+json' });
  }
});

test('a surface has a coverage and a footprint; the side files raster readers look for are not found', async () => {
  const { body } = await json(`${at.site}/collections/deposit-top`);
  const link = linkOf(body, 'http://www.opengis.net/def/rel/ogc/1.0/coverage');
  expect(link?.type).toBe('image/tiff; application=geotiff');
  const response = await fetch(link?.href as string);
  expect(response.status).toBe(200);
  expect(response.headers.get('content-type')).toBe('image/tiff; application=geotiff');
  const bytes = Buffer.from(await response.arrayBuffer());
  const tag = response.headers.get('etag') as string;
  for (const [range, status, first, last] of [
    ['bytes=0-3', 206, 0, 3],
    ['bytes=4-', 206, 4, 7],
    ['bytes=-2', 206, 6, 7],
    ['bytes=2-900', 206, 2, 7],
    ['bytes=0-1,3-4', 200, 0, 7],
    ['lines=0-1', 200, 0, 7],
  ] as const) {
    const part = await fetch(link?.href as string, { headers: { range, 'if-range': tag } });
    expect(part.status, range).toBe(status);
    expect(Buffer.from(await part.arrayBuffer())).toEqual(bytes.subarray(first, last + 1));
    if (status === 206) expect(part.headers.get('content-range')).toBe(`bytes ${first}-${last}/8`);
  }
  expect((await fetch(link?.href as string, { headers: { range: 'bytes=8-9' } })).status).toBe(416);
  expect((await fetch(link?.href as string, { headers: { range: 'bytes=0-3', 'if-range': '"old"' } })).status).toBe(
    200,
  );
  for (const suffix of ['.ovr', '.msk', '.aux.xml', '.tif', '.msk.ovr'])
    expect((await fetch(`${link?.href}${suffix}`)).status).toBe(404);
  expect((await fetch(`${at.site}/collections/finds/coverage`)).status).toBe(404);
  expect((await json(`${at.site}/collections/deposit-top/items`)).body.features[0].geometry.type).toBe('Polygon');
});

test('unknown site, collection and data version are not found', async () => {
  for (const path of [
    '/sites/none',
    '/sites/none/collections',
    '/sites/test-ledge/collections/none',
    '/sites/test-ledge/collections/none/items',
    '/sites/test-ledge/collections/finds/items?version=9',
    '/sites/test-ledge/collections/constructor',
    '/nothing',
    '/sites/test-ledge/collections/finds/items/1001/more',
  ]) {
    const response = await fetch(`${at.root}${path}`);
    expect(response.status, path).toBe(404);
    expect(response.headers.get('content-type')).toBe('application/problem+json');
  }
});
