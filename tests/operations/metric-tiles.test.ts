import { expect, test } from 'vitest';
import { PublishedCollection } from '../../src/operations/published-collection.js';
import {
  matrixSetDocument,
  readTileAddress,
  tileBox,
  tileLimits,
  webMercatorQuad,
} from '../../src/tiles/matrix-set.js';
import { matrixSetOf, matrixSetsOf, siteMatrixSet, thinBelowZoom } from '../../src/tiles/site-matrix-set.js';
import { smallSite, smallSurvey } from '../support/small-site.js';
import { lawfulTile } from '../tiles/tile-laws.js';

const all = { seasons: null, classes: null, bbox: null, datetime: null, equals: [], filter: null };
const set = siteMatrixSet(smallSite());
if (set === null) throw new Error('the small site has a registered CRS');

test('the root square has a side of 2^k metres on whole metres, and the site with room around it inside', () => {
  expect(Math.log2(set.sideM) % 1).toBe(0);
  expect(set.sideM).toBe(64);
  for (const edge of set.corner) expect(edge % (set.sideM / 4)).toBe(0);
  const survey = smallSurvey({});
  for (const [x, y] of [
    [0, 0],
    [10, 0],
    [10, 8],
    [0, 8],
  ]) {
    const [u, v] = set.project(...survey.frame.toProjected(x, y));
    for (const share of [u, v]) {
      expect(share).toBeGreaterThan(0.25);
      expect(share).toBeLessThan(0.75);
    }
  }
});

test('every tile edge lies on whole metres down to the last level, which is one metre', () => {
  expect(set.maxZoom).toBe(6);
  const deepest = tileBox(set, { z: set.maxZoom, x: 17, y: 40 });
  expect(deepest[2] - deepest[0]).toBe(1);
  for (let z = 0; z <= set.maxZoom; z++) {
    for (const edge of tileBox(set, { z, x: 0, y: 2 ** z - 1 })) expect(Number.isInteger(edge)).toBe(true);
  }
});

test('the document follows the standard: falling scales, one origin, cell size and scale agree', () => {
  const uri = 'http://example.test/sites/small/tileMatrixSets/SiteMetricQuad';
  const document = matrixSetDocument(set, uri);
  expect(document).toMatchObject({ id: 'SiteMetricQuad', uri, orderedAxes: ['E', 'N'], crs: set.crs });
  document.tileMatrices.forEach((matrix, z) => {
    expect(matrix.cellSize).toBe(64 / 256 / 2 ** z);
    expect(matrix.scaleDenominator * 0.00028).toBeCloseTo(matrix.cellSize, 12);
    expect([matrix.matrixWidth, matrix.matrixHeight]).toEqual([2 ** z, 2 ** z]);
    expect(matrix.pointOfOrigin).toEqual(set.corner);
  });
});

test('it does not depend on the records, and a second grid is inside too', () => {
  expect(matrixSetDocument(siteMatrixSet(smallSite()) ?? set)).toEqual(matrixSetDocument(set));
  const site = smallSite();
  const far = { ...site.grids[0], id: 'g2', origin_easting: site.grids[0].origin_easting + 40 };
  const both = siteMatrixSet({ ...site, grids: [site.grids[0], far] });
  expect(both?.sideM).toBe(256);
  expect(matrixSetsOf(site).map(({ id }) => id)).toEqual(['WebMercatorQuad', 'SiteMetricQuad']);
  expect(matrixSetOf(site, 'WorldCRS84Quad')).toBeNull();
  const own = { ...site.grids[0], crs: '+proj=utm +zone=26 +datum=WGS84 +units=m +no_defs' };
  expect(siteMatrixSet({ ...site, grids: [own] })).toBeNull();
});

test('finds are drawn one by one from the level whose unit is as small as that of level 19', () => {
  expect(thinBelowZoom(webMercatorQuad)).toBe(19);
  // 64 m / 4096 = 15.6 mm at level 0, 7.8 mm at level 1
  expect(thinBelowZoom(set)).toBe(1);
});

const places: readonly (readonly [number, number])[] = [
  [1.25, 2.5],
  [9.999, 7.001],
  [4, 4],
];

test('a find in a tile stands where its record says, to half a unit; lines and areas too', () => {
  const survey = smallSurvey({
    finds: places.map(([local_x, local_y], i) => ({
      find: `F${i}`,
      season: 'S1',
      artefact_class: 'jar',
      position_kind: 'point',
      local_x,
      local_y,
    })),
    areas: [{ season: 'S1', progress: 'to_deposit_bottom', ring: [2, 2, 6, 2, 6, 5, 2, 5] }],
  });
  const layer = (id: string) => {
    const entry = survey.collectionEntries().find((e) => e.id === id);
    const table = survey.collection(id);
    if (!entry || !table) throw new Error(id);
    return new PublishedCollection(entry, table, survey.frame);
  };
  const finds = layer('finds');
  const areas = layer('excavated-areas');
  for (let z = 1; z <= set.maxZoom; z++) {
    const unitM = set.sideM / 2 ** z / 4096;
    for (const [i, place] of places.entries()) {
      const [east, north] = survey.frame.toProjected(...place);
      const [u, v] = set.project(east, north);
      const address = { z, x: Math.floor(u * 2 ** z), y: Math.floor(v * 2 ** z) };
      const [drawn] = lawfulTile(finds.tile({ ...address, set }, all, '')).map(({ features }) => features);
      const feature = drawn.find(({ properties }) => properties['find'] === `F${i}`);
      const [px, py] = feature?.parts[0][0] ?? [Number.NaN, Number.NaN];
      const [west, , , top] = tileBox(set, address);
      expect(Math.hypot(west + px * unitM - east, top - py * unitM - north)).toBeLessThanOrEqual(0.71 * unitM);
    }
  }
  const corner = survey.frame.toProjected(2, 2);
  const [u, v] = set.project(...corner);
  const address = { z: 5, x: Math.floor(u * 32), y: Math.floor(v * 32) };
  const [layerOf] = lawfulTile(areas.tile({ ...address, set }, all, ''));
  const [west, , , top] = tileBox(set, address);
  const unitM = set.sideM / 32 / 4096;
  const distances = layerOf.features[0].parts[0].map(([x, y]) =>
    Math.hypot(west + x * unitM - corner[0], top - y * unitM - corner[1]),
  );
  expect(Math.min(...distances)).toBeLessThan(2 * unitM);
});

test('limits hold for boxes that reach beyond the root square, and addresses outside are refused', () => {
  const [west, south, east, north] = tileBox(set, { z: 0, x: 0, y: 0 });
  const limits = tileLimits(set, [west - 500, south + 10, east - 10, north + 500]);
  expect(limits).toHaveLength(7);
  expect(limits[6]).toEqual({ tileMatrix: '6', minTileRow: 0, maxTileRow: 54, minTileCol: 0, maxTileCol: 54 });
  expect(() => readTileAddress(set, { tileMatrix: '7', tileRow: '0', tileCol: '0' })).toThrow(/ask for 0 to 6/);
});
