import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { inCrs } from './fake-records.js';
import { json, linkOf, type Served, serve, storageCrs } from './fake-service.js';

// Requirements of OGC API – Features, Part 3, classes queryables, filter and features-filter

let at: Served;
beforeAll(async () => {
  at = await serve();
});
afterAll(() => at.close());

// biome-ignore lint/suspicious/noExplicitAny: documents are looked at as clients see them
type Any = any;
const spec = 'http://www.opengis.net/spec';
const items = (query: Record<string, string>, collection = 'finds') =>
  json(`${at.site}/collections/${collection}/items?${new URLSearchParams({ limit: '1000', ...query })}`);
const numbers = ({ features }: Any): string[] => features.map((f: Any) => f.properties.find);

test('the classes kept are declared', async () => {
  const { body } = await json(`${at.site}/conformance`);
  for (const name of ['queryables', 'queryables-query-parameters', 'filter', 'features-filter'])
    expect(body.conformsTo).toContain(`${spec}/ogcapi-features-3/1.0/conf/${name}`);
  for (const name of [
    'cql2-text',
    'cql2-json',
    'basic-cql2',
    'advanced-comparison-operators',
    'case-insensitive-comparison',
    'accent-insensitive-comparison',
    'basic-spatial-functions',
    'basic-spatial-functions-plus',
    'spatial-functions',
    'temporal-functions',
    'arithmetic',
    'property-property',
  ]) {
    expect(body.conformsTo).toContain(`${spec}/cql2/1.0/conf/${name}`);
  }
});

describe('queryables', () => {
  test('each collection links its own, typed as a schema', async () => {
    const { body } = await json(`${at.site}/collections`);
    for (const collection of body.collections) {
      const link = linkOf(collection, 'http://www.opengis.net/def/rel/ogc/1.0/queryables');
      expect(link).toMatchObject({
        href: `${at.site}/collections/${collection.id}/queryables`,
        type: 'application/schema+json',
      });
      const { response, body: schema } = await json(link?.href as string, { accept: 'application/schema+json' });
      expect(response.headers.get('content-type')).toBe('application/schema+json');
      expect(schema).toMatchObject({
        $schema: 'https://json-schema.org/draft/2020-12/schema',
        $id: link?.href,
        type: 'object',
        additionalProperties: false,
      });
    }
  });

  test('a position has a format and neither type nor reference, everything else a plain type', async () => {
    for (const [id, format] of [
      ['finds', 'geometry-point'],
      ['hull-lines', 'geometry-linestring'],
      ['grid-squares', 'geometry-polygon'],
    ]) {
      const { body } = await json(`${at.site}/collections/${id}/queryables`);
      const { geometry, ...others } = body.properties;
      expect(geometry).toMatchObject({ format });
      expect(geometry.type).toBeUndefined();
      expect(geometry.$ref).toBeUndefined();
      for (const property of Object.values(others) as Any[])
        expect(['string', 'number', 'integer', 'boolean']).toContain(property.type);
    }
    const { body } = await json(`${at.site}/collections/finds/queryables`);
    expect(body.properties.found_on).toMatchObject({ type: 'string', format: 'date' });
    expect((await json(`${at.site}/collections/documents/queryables`)).body.properties.geometry).toBeUndefined();
  });

  test('every queryable that is not a position can be asked for, by filter and by its own parameter', async () => {
    const { body } = await json(`${at.site}/collections/finds/queryables`);
    for (const name of Object.keys(body.properties)) {
      const { response } = await items({ filter: `"${name}" IS NOT NULL` });
      expect(response.status, name).toBe(200);
      if (name === 'geometry' || name === 'id') continue;
      const words: Record<string, string> = {
        season: 'S1',
        artefact_class: 'jar',
        intrusive: 'true',
        found_on: '2021-07-05',
      };
      expect((await items({ [name]: words[name] ?? '1' })).response.status, name).toBe(200);
    }
  });
});

describe('filter', () => {
  test('text, JSON and the older name of text say the same', async () => {
    const text = await items({ filter: "season = 'S1' AND weight_g >= 12" });
    const named = await items({ filter: "season = 'S1' AND weight_g >= 12", 'filter-lang': 'cql-text' });
    const written = await items({
      'filter-lang': 'cql2-json',
      filter: JSON.stringify({
        op: 'and',
        args: [
          { op: '=', args: [{ property: 'season' }, 'S1'] },
          { op: '>=', args: [{ property: 'weight_g' }, 12] },
        ],
      }),
    });
    expect(text.body.numberMatched).toBeGreaterThan(5);
    for (const feature of text.body.features) expect(feature.properties.season).toBe('S1');
    expect(numbers(named.body)).toEqual(numbers(text.body));
    expect(numbers(written.body)).toEqual(numbers(text.body));
  });

  test('it holds together with all other conditions', async () => {
    const { body } = await items({ filter: 'weight_g = 13', season: 'S2', artefact_class: 'ceramics' });
    expect(body.numberMatched).toBeGreaterThan(0);
    for (const { properties } of body.features) {
      expect(properties).toMatchObject({ weight_g: 13, season: 'S2' });
      expect(['jar', 'pipe']).toContain(properties.artefact_class);
    }
  });

  test('next links keep it, with its language', async () => {
    const { body } = await items({ filter: 'weight_g > 10', 'filter-lang': 'cql2-text', limit: '7' });
    const next = new URL(linkOf(body, 'next')?.href as string);
    expect(next.searchParams.get('filter')).toBe('weight_g > 10');
    expect(next.searchParams.get('filter-lang')).toBe('cql2-text');
  });

  test.each([
    ['http://www.opengis.net/def/crs/OGC/1.3/CRS84', 'crs84'],
    ['http://www.opengis.net/def/crs/EPSG/0/4326', 'epsg4326'],
    ['http://www.opengis.net/def/crs/EPSG/0/3857', 'epsg3857'],
    [storageCrs, 'storage'],
  ] as const)('geometries are read in %s and its axis order', async (uri, crs) => {
    // the first find lies at grid 3, 4
    const [a, b] = inCrs(crs, 3, 4);
    const text = (v: number) => v.toFixed(crs === 'crs84' || crs === 'epsg4326' ? 9 : 4);
    const here = await items({ 'filter-crs': uri, filter: `S_EQUALS(geometry, POINT(${text(a)} ${text(b)}))` });
    expect(numbers(here.body)).toEqual(['F1']);
    const [w, s] = inCrs(crs, 2, 3);
    const [e, n] = inCrs(crs, 6, 9);
    const near = await items({ 'filter-crs': uri, filter: `S_INTERSECTS(geometry, BBOX(${w}, ${s}, ${e}, ${n}))` });
    expect(numbers(near.body)).toContain('F1');
    // the same as the bbox parameter, which also takes the finds without a place
    const box = await items({ bbox: [w, s, e, n].join(','), 'bbox-crs': uri, filter: 'geometry IS NOT NULL' });
    expect(numbers(near.body)).toEqual(numbers(box.body));
  });

  test('a box around half the world, or over the antimeridian, is no trouble', async () => {
    const all = await items({ filter: 'geometry IS NOT NULL' });
    const world = await items({ filter: 'S_INTERSECTS(geometry, BBOX(-180,-90,180,90))' });
    expect(world.body.numberMatched).toBe(all.body.numberMatched);
    const over = await items({ filter: 'S_INTERSECTS(geometry, BBOX(170,-10,-10,80))' });
    expect(over.body.numberMatched).toBe(all.body.numberMatched);
    const outside = await items({ filter: 'S_WITHIN(geometry, BBOX(170,-10,-170,80))' });
    expect(outside.body.numberMatched).toBe(0);
  });

  test('lines and areas are compared with lines and areas', async () => {
    const corner = (x: number, y: number) => inCrs('crs84', x, y).join(' ');
    const square = `POLYGON((${[corner(4, 0), corner(5, 0), corner(5, 1), corner(4, 1), corner(4, 0)].join(',')}))`;
    const ask = async (relation: string) =>
      (await items({ filter: `${relation}(geometry, ${square})` }, 'grid-squares')).body.features.map(
        (f: Any) => f.properties.square,
      );
    expect(await ask('S_EQUALS')).toEqual(['A5']);
    expect(await ask('S_TOUCHES')).toEqual(['A4', 'A6']);
    expect(await ask('S_INTERSECTS')).toEqual(['A4', 'A5', 'A6']);
    expect(await ask('S_OVERLAPS')).toEqual([]);
    const line = `LINESTRING(${corner(0, 5)}, ${corner(6.1, 5)})`;
    const crossed = await items({ filter: `S_CROSSES(geometry, ${line})` }, 'hull-lines');
    expect(crossed.body.numberMatched).toBe(4);
  });

  test.each([
    ["season = 'S1", 'character 10', /never closed/],
    ['season = S1', 'character 10', /no property "S1" \(a text stands between single quotes\); there are /],
    ['colour = 1', 'character 1', /no property "colour"/],
    ['weight_g > ', 'character 12', /the filter ends/],
    ['weight_g > 1 weight_g < 2', 'character 14', /AND, OR or the end/],
    ["weight_g = 'heavy'", 'character 12', /"weight_g" is a number and cannot be compared with a text/],
    ['weight_g', 'character 1', /a number stands where something true or false is wanted/],
    ['S_INTERSECTS(geometry, POINT(1 95))', 'character 24', /outside/],
    ['S_INTERSECTS(geometry, POLYGON((0 0,1 1,0 1)))', 'character 24', /not closed|at least 4/],
    ['buffer(geometry, 3) = 1', 'character 1', /no function/],
    ["A_CONTAINS(find, ('a'))", 'character 1', /no function/],
    ['', '', /empty/],
    ['{"op":"=","args":[1,1]}', 'character 1', /filter-lang=cql2-json/],
  ])('%s is refused, with the place and what to do', async (filter, place, message) => {
    const { response, body } = await items({ filter });
    expect(response.status).toBe(400);
    expect(body.title).toBe('The filter cannot be used');
    expect(body.detail).toMatch(message);
    expect(body.detail).toContain(place);
    expect(body.errors[0].parameter).toBe('filter');
  });

  test.each([
    [{ filter: 'count = 1', 'filter-lang': 'cql3' }, 'filter-lang'],
    [{ 'filter-lang': 'cql2-text' }, 'filter-lang'],
    [{ filter: 'count = 1', 'filter-crs': 'EPSG:4326' }, 'filter-crs'],
    [{ 'filter-crs': 'http://www.opengis.net/def/crs/OGC/1.3/CRS84' }, 'filter-crs'],
  ])('%j is refused', async (query, parameter) => {
    const { response, body } = await items(query as unknown as Record<string, string>);
    expect(response.status).toBe(400);
    expect(body.errors[0].parameter).toBe(parameter);
  });
});

test('tiles and TileJSON take a filter, and TileJSON hands it on', async () => {
  const filter = encodeURIComponent("season = 'S1' AND note LIKE '50%'");
  const { body } = await json(`${at.site}/tilejson/finds.json?filter=${encodeURIComponent("season = 'S1'")}`);
  expect(new URL(body.tiles[0].replaceAll(/[{}]/g, '')).searchParams.get('filter')).toBe("season = 'S1'");
  expect(body.tiles[0]).toContain('/{z}/{x}/{y}.mvt?');
  expect((await fetch(`${at.site}/tilejson/finds.json?filter=${filter}`)).status).toBe(400);
  expect((await fetch(`${at.site}/xyz/finds/0/0/0.mvt?filter=${encodeURIComponent("season = 'S1'")}`)).status).toBe(
    200,
  );
  expect((await fetch(`${at.site}/xyz/finds/0/0/0.mvt?filter=season=`)).status).toBe(400);
  expect(
    (await fetch(`${at.site}/tiles/WebMercatorQuad/0/0/0?filter=${encodeURIComponent('weight_g > 3')}`)).status,
  ).toBe(200);
});
