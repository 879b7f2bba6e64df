import { expect, test } from 'vitest';
import {
  lonLatToUnit,
  matrixSetDocument,
  metricMatrixSet,
  readTileAddress,
  tileBox,
  tileLimits,
  unitCoordinates,
  unitToLonLat,
  webMercatorQuad,
} from '../../src/tiles/matrix-set.js';
import { near } from '../support/near.js';

const siteSet = metricMatrixSet({
  id: 'site-metres',
  title: 'Site metres',
  crs: 'http://www.opengis.net/def/crs/EPSG/0/32633',
  corner: [500_000, 5_000_064],
  sideM: 64,
  maxZoom: 8,
});

test('WebMercatorQuad has the numbers of the registry', () => {
  const document = matrixSetDocument(webMercatorQuad);
  expect(document.tileMatrices.length).toBe(25);
  const [world] = document.tileMatrices;
  // OGC registry of tile matrix sets, WebMercatorQuad, levels 0 and 1
  near(world.scaleDenominator, 559082264.028717, { relative: 1e-12 });
  near(world.cellSize, 156543.033928041, { relative: 1e-12 });
  near(document.tileMatrices[1].scaleDenominator, 279541132.014358, { relative: 1e-12 });
  near(world.pointOfOrigin[0], -20037508.3427892, { absolute: 1e-7 });
  near(world.pointOfOrigin[1], 20037508.3427892, { absolute: 1e-7 });
  expect(document.tileMatrices[24].matrixWidth).toBe(16_777_216);
  expect(document.uri).toBe('http://www.opengis.net/def/tilematrixset/OGC/1.0/WebMercatorQuad');
});

test('known places fall where they should: the middle, the date line, the northern edge', () => {
  expect(lonLatToUnit(0, 0)).toEqual([0.5, 0.5]);
  expect(lonLatToUnit(-180, 0)[0]).toBe(0);
  near(lonLatToUnit(0, 85.0511287798066)[1], 0, { absolute: 1e-14 });
  // EPSG guidance note 7-2, Popular Visualisation Pseudo-Mercator: 24°22'54.433"N 100°20'00.000"W
  const [u, v] = lonLatToUnit(-(100 + 20 / 60), 24 + 22 / 60 + 54.433 / 3600);
  near((u - 0.5) * webMercatorQuad.sideM, -11169055.58, { absolute: 0.01 });
  near((0.5 - v) * webMercatorQuad.sideM, 2800000.0, { absolute: 0.01 });
});

test('places go to the unit square and back', () => {
  for (let lon = -180; lon < 180; lon += 7.3) {
    for (let lat = -85; lat <= 85; lat += 4.1) {
      const [lonBack, latBack] = unitToLonLat(...lonLatToUnit(lon, lat));
      near(lonBack, lon, { absolute: 1e-12 });
      near(latBack, lat, { absolute: 1e-12 });
    }
  }
});

test('the edges of metric tiles lie on the metre grid', () => {
  expect(tileBox(siteSet, { z: 6, x: 0, y: 0 })).toEqual([500_000, 5_000_063, 500_001, 5_000_064]);
  expect(siteSet.project(500_032, 5_000_032)).toEqual([0.5, 0.5]);
  const document = matrixSetDocument(siteSet, 'https://example.org/tileMatrixSets/site-metres');
  near(document.tileMatrices[0].cellSize, 0.25, { relative: 1e-14 });
  near(document.tileMatrices[0].scaleDenominator, 0.25 / 0.00028, { relative: 1e-14 });
  expect(document.uri).toBe('https://example.org/tileMatrixSets/site-metres');
});

test('limits hold the tiles of the box and of the strip around each tile, nothing more', () => {
  const [west, south, east, north] = tileBox(webMercatorQuad, { z: 10, x: 520, y: 380 });
  const inset = (east - west) / 4;
  const limits = tileLimits(webMercatorQuad, [west + inset, south + inset, east - inset, north - inset]);
  expect(limits.length).toBe(25);
  expect(limits[10]).toEqual({ tileMatrix: '10', minTileRow: 380, maxTileRow: 380, minTileCol: 520, maxTileCol: 520 });
  // a box that ends on the edge shows in the neighbour's strip
  const flush = tileLimits(webMercatorQuad, [west, south + inset, east - inset, north - inset]);
  expect(flush[10].minTileCol).toBe(519);
  expect(tileLimits(siteSet, [0, 0, 1, 1])).toEqual([]);
});

test('a place without coordinates stays without', () => {
  expect([...unitCoordinates(webMercatorQuad, Float64Array.of(0, 0, Number.NaN, 3))].slice(0, 3)).toEqual([
    0.5,
    0.5,
    Number.NaN,
  ]);
});

test('tiles that do not exist are refused with the range that does', () => {
  const read = (tileMatrix: string, tileRow: string, tileCol: string) =>
    readTileAddress(webMercatorQuad, { tileMatrix, tileRow, tileCol });
  expect(read('24', '16777215', '0')).toEqual({ z: 24, y: 16_777_215, x: 0 });
  expect(() => read('25', '0', '0')).toThrow(/"25" does not exist in WebMercatorQuad: ask for 0 to 24/);
  expect(() => read('3', '8', '0')).toThrow(/row "8" does not exist at tile matrix 3 .*0 to 7/);
  expect(() => read('3', '0', '8')).toThrow(/column "8"/);
  for (const odd of ['-1', '+1', '1.0', '1e1', '01', '', ' 1', '0x1', 'NaN', '99999999999999999999']) {
    expect(() => read('5', odd, '0')).toThrow(expect.objectContaining({ code: 'no-such-tile' }));
    expect(() => read('5', '0', odd)).toThrow(expect.objectContaining({ code: 'no-such-tile' }));
    expect(() => read(odd, '0', '0')).toThrow(expect.objectContaining({ code: 'no-such-tile' }));
  }
});
