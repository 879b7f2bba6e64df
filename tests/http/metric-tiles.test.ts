import { afterAll, beforeAll, expect, test } from 'vitest';
import { inCrs } from './fake-records.js';
import { json, type Served, serve } from './fake-service.js';

// biome-ignore lint/suspicious/noExplicitAny: documents are looked at as clients see them
type Any = any;

let at: Served;
beforeAll(async () => {
  at = await serve();
});
afterAll(() => at.close());

const own = 'SiteMetricQuad';

test('the list of tile matrix sets names both, each with its own document', async () => {
  const { body } = await json(`${at.site}/tileMatrixSets`);
  expect(body.tileMatrixSets.map((set: Any) => set.id)).toEqual(['WebMercatorQuad', own]);
  const { body: document } = await json(body.tileMatrixSets[1].links[0].href);
  expect(document).toMatchObject({
    id: own,
    uri: `${at.site}/tileMatrixSets/${own}`,
    crs: 'http://www.opengis.net/def/crs/EPSG/0/32626',
    orderedAxes: ['E', 'N'],
  });
  const [top] = document.tileMatrices;
  const sideM = top.cellSize * 256;
  expect(Math.log2(sideM) % 1).toBe(0);
  for (const edge of top.pointOfOrigin) expect(Number.isInteger(edge)).toBe(true);
  expect((await fetch(`${at.site}/tileMatrixSets/WorldCRS84Quad`)).status).toBe(404);
});

test('a tileset in it has limits that hold the site, and all tiles inside them answer 200', async () => {
  const { body: document } = await json(`${at.site}/tileMatrixSets/${own}`);
  const [west, north] = document.tileMatrices[0].pointOfOrigin;
  for (const root of [`${at.site}/tiles/${own}`, `${at.site}/collections/finds/tiles/${own}`]) {
    const { body } = await json(root);
    expect(body.tileMatrixSetURI).toBe(`${at.site}/tileMatrixSets/${own}`);
    expect(body.tileMatrixSetLimits).toHaveLength(document.tileMatrices.length);
    const limit = body.tileMatrixSetLimits[5];
    const sideM = document.tileMatrices[5].cellSize * 256;
    const [e, n] = inCrs('storage', 17, 10);
    const [row, column] = [Math.floor((north - n) / sideM), Math.floor((e - west) / sideM)];
    expect(row).toBeGreaterThanOrEqual(limit.minTileRow);
    expect(row).toBeLessThanOrEqual(limit.maxTileRow);
    expect(column).toBeGreaterThanOrEqual(limit.minTileCol);
    expect(column).toBeLessThanOrEqual(limit.maxTileCol);
    for (let r = limit.minTileRow; r <= limit.maxTileRow; r++) {
      for (let c = limit.minTileCol; c <= limit.maxTileCol; c++) {
        const response = await fetch(`${root}/5/${r}/${c}`);
        expect(response.status).toBe(200);
        expect(response.headers.get('content-type')).toBe('application/vnd.mapbox-vector-tile');
      }
    }
    const last = document.tileMatrices.length - 1;
    for (const path of [
      `${last + 1}/0/0`,
      `5/${limit.maxTileRow + 1}/${limit.minTileCol}`,
      '5/2147483647/0',
      '5/0/2147483647',
      '05/0/0',
      '5/a/0',
      '-1/0/0',
    ])
      expect((await fetch(`${root}/${path}`)).status, path).toBe(404);
    expect((await fetch(`${root}/5/${row}/${column}?colour=red`)).status).toBe(400);
  }
});

test('a GeoJSON tile holds the features that touch the tile, whole, and none without a place', async () => {
  const { body: document } = await json(`${at.site}/tileMatrixSets/${own}`);
  const [west, north] = document.tileMatrices[0].pointOfOrigin;
  const z = 5;
  const sideM = document.tileMatrices[z].cellSize * 256;
  const [e, n] = inCrs('storage', 17, 10);
  const [row, column] = [Math.floor((north - n) / sideM), Math.floor((e - west) / sideM)];
  const [left, top] = [west + column * sideM, north - row * sideM];
  const { response, body } = await json(`${at.site}/collections/finds/tiles/${own}/${z}/${row}/${column}?f=json`);
  expect(response.headers.get('content-type')).toBe('application/geo+json');
  expect(response.headers.get('content-crs')).toBe('<http://www.opengis.net/def/crs/OGC/1.3/CRS84>');
  const storage = 'http://www.opengis.net/def/crs/EPSG/0/32626';
  const { body: all } = await json(`${at.site}/collections/finds/items?limit=1000&crs=${storage}`);
  const wanted = all.features
    .filter((f: Any) => f.geometry !== null)
    .filter(({ geometry: { coordinates } }: Any) => {
      const [x, y] = coordinates;
      return x >= left && x <= left + sideM && y <= top && y >= top - sideM;
    })
    .map((f: Any) => f.id);
  expect(wanted.length).toBeGreaterThan(0);
  expect(body.features.map((f: Any) => f.id)).toEqual(wanted);
});

test('GeoJSON is had in Web Mercator tiles too, by f or by its full name in Accept; everything else gets vector tiles', async () => {
  const url = `${at.site}/collections/finds/tiles/WebMercatorQuad/0/0/0`;
  const { body } = await json(`${url}?f=json`);
  const { body: items } = await json(`${at.site}/collections/finds/items?limit=1000`);
  expect(body.features.length).toBe(items.features.filter((f: Any) => f.geometry !== null).length);
  // the second time from the tiles already made: the form still follows what is accepted
  for (let round = 0; round < 2; round++) {
    for (const [accept, type] of [
      ['application/geo+json', 'application/geo+json'],
      ['application/json', 'application/vnd.mapbox-vector-tile'],
      ['*/*', 'application/vnd.mapbox-vector-tile'],
      ['text/html, image/gif, image/jpeg, *; q=.2, */*; q=.2', 'application/vnd.mapbox-vector-tile'],
    ]) {
      const response = await fetch(url, { headers: { accept } });
      await response.arrayBuffer();
      expect([response.status, response.headers.get('content-type')], accept).toEqual([200, type]);
    }
  }
  expect((await fetch(`${at.site}/tiles/WebMercatorQuad/0/0/0?f=json`)).status).toBe(400);
});

test('a GeoJSON tile of more features than it holds is refused with a way out', async () => {
  const select = at.service.select;
  at.service.select = async () => new Uint32Array(20_001).fill(1);
  const { response, body } = await json(`${at.site}/collections/hull-lines/tiles/WebMercatorQuad/0/0/0?f=json`);
  at.service.select = select;
  expect(response.status).toBe(422);
  expect(body.detail).toMatch(/20001 features.*deeper tile matrix, or for vector tiles/);
});
