import { expect, test } from 'vitest';
import { classLegend, type MapStyleRequest, mapStyle, type TileLayer } from '../../src/figures/map-style.js';
import { classColours } from '../../src/figures/palette.js';

const base = 'http://127.0.0.1:8080/sites/tarn-ledge';
const layer = (id: string, geometryType: TileLayer['geometryType'], more: Partial<TileLayer> = {}): TileLayer => ({
  id,
  title: id,
  geometryType,
  source: { tiles: `${base}/xyz/${id}/{z}/{x}/{y}.mvt` },
  maxZoom: 22,
  ...more,
});
const site: MapStyleRequest = {
  name: 'Tarn Ledge brig',
  layers: [
    layer('finds', 'point', { classProperty: 'artefact_class' }),
    layer('hull-lines', 'line'),
    layer('excavated-areas', 'polygon', { seasonProperty: 'season' }),
    layer('result-7-features', 'polygon', { source: { tileJson: `${base}/tilejson/result-7-features.json` } }),
    layer('grid-squares', 'polygon', { bounds: [-28.2, 45, -28.1, 45.1] }),
  ],
  classes: [
    { title: 'shot', classes: ['lead shot', 'lead shot'] },
    { title: 'iron', classes: ['nail', 'lead shot'] },
  ],
  seasons: ['2021', '2022'],
};

test('sources are absolute, start at zoom 0 and end where the tiles end', () => {
  const { sources } = mapStyle(site);
  expect(Object.keys(sources).sort()).toEqual(site.layers.map((l) => l.id).sort());
  for (const source of Object.values(sources)) {
    expect(source).toMatchObject({ type: 'vector', minzoom: 0, maxzoom: 22 });
    expect(source.tiles?.[0] ?? source.url).toMatch(/^http:\/\/127\.0\.0\.1:8080\/sites\/tarn-ledge\//);
  }
  expect(sources['finds'].tiles).toEqual([`${base}/xyz/finds/{z}/{x}/{y}.mvt`]);
  expect(sources['grid-squares'].bounds).toEqual([-28.2, 45, -28.1, 45.1]);
});

test('nothing but tiles is fetched and no layer starts above its source', () => {
  const style = mapStyle(site);
  expect(style).not.toHaveProperty('glyphs');
  expect(style).not.toHaveProperty('sprite');
  expect(new Set(style.layers.map((l) => l.id)).size).toBe(style.layers.length);
  for (const drawn of style.layers) {
    expect(['background', 'fill', 'line', 'circle']).toContain(drawn.type);
    expect(drawn.layout ?? {}).not.toHaveProperty('text-field');
    if (drawn.source !== undefined) {
      expect(drawn.minzoom ?? 0).toBeLessThanOrEqual(style.sources[drawn.source].maxzoom);
      expect(drawn['source-layer']).toBe(drawn.source);
      expect(drawn.metadata?.['wreckfield:collection']).toBe(drawn.source);
    }
  }
});

test('paper lies below, then ground, hull, results and finds, whatever order they came in', () => {
  const order = (request: MapStyleRequest) => [...new Set(mapStyle(request).layers.map((l) => l.source ?? l.id))];
  const expected = ['paper', 'excavated-areas', 'grid-squares', 'result-7-features', 'hull-lines', 'finds'];
  expect(order(site)).toEqual(expected);
  expect(order({ ...site, layers: [...site.layers].reverse() })).toEqual(expected);
});

test('a class has one colour, the first that names it, others are quiet', () => {
  const finds = mapStyle(site).layers.find((l) => l.id === 'finds');
  const colour = finds?.paint['circle-color'] as unknown[];
  expect(colour.slice(0, 6)).toEqual([
    'match',
    ['get', 'artefact_class'],
    ['lead shot'],
    classColours[0],
    ['nail'],
    classColours[1],
  ]);
  expect(colour).toHaveLength(7);
  expect(classColours).not.toContain(colour[6]);
});

test('never more than eight colours, in the legend as on the map', () => {
  const many = Array.from({ length: 17 }, (_, k) => ({ title: `class ${k}`, classes: [`c${k}`] }));
  const style = mapStyle({ ...site, classes: many });
  expect(style.layers.find((l) => l.id === 'finds')?.paint['circle-color']).toHaveLength(2 + 2 * 8 + 1);
  expect(classLegend(many)).toHaveLength(8);
  expect(classLegend(many)[1]).toEqual({ title: 'class 1', colour: classColours[1] });
});

test('each season has its own line pattern, and one not named is still drawn', () => {
  const edges = mapStyle(site).layers.filter((l) => l.source === 'excavated-areas' && l.type === 'line');
  expect(edges).toHaveLength(3);
  expect(new Set(edges.map((e) => JSON.stringify(e.paint['line-dasharray'] ?? 'solid'))).size).toBe(3);
  expect(edges.map((e) => JSON.stringify(e.filter)).join()).toContain('"2022"');
  expect(new Set(edges.map((e) => JSON.stringify(e.paint['line-color']))).size).toBe(1);
});

test('planned ground does not look dug', () => {
  const fill = mapStyle(site).layers.find((l) => l.id === 'excavated-areas');
  expect(JSON.stringify(fill?.paint['fill-opacity'])).toContain('["planned","opened","abandoned"],0,');
});

test('one collection alone, without classes or seasons, is a style too', () => {
  const style = mapStyle({ name: 'levels', layers: [layer('levels', 'point')] });
  expect(style.layers.map((l) => l.id)).toEqual(['paper', 'levels']);
  expect(JSON.parse(JSON.stringify(style))).toEqual(style);
});
