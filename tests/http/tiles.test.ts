import { afterAll, beforeAll, expect, test } from 'vitest';
import { inCrs } from './fake-records.js';
import { json, linkOf, type Served, serve } from './fake-service.js';

// The numbers follow the checks of the OGC executable test suite for Tiles.

let at: Served;
beforeAll(async () => {
  at = await serve();
});
afterAll(() => at.close());

// biome-ignore lint/suspicious/noExplicitAny: documents are looked at as clients see them
type Any = any;
const REL = 'http://www.opengis.net/def/rel/ogc/1.0';
const mvt = 'application/vnd.mapbox-vector-tile';

/** Column and row of the tile over the middle of the site, by the textbook formula. */
function over(z: number): { x: number; y: number } {
  const [lon, lat] = inCrs('crs84', 17, 10);
  const radians = (lat * Math.PI) / 180;
  const n = 2 ** z;
  return {
    x: Math.floor(((lon + 180) / 360) * n),
    y: Math.floor(((1 - Math.log(Math.tan(radians) + 1 / Math.cos(radians)) / Math.PI) / 2) * n),
  };
}

test('1: landing page and collections link their tilesets; hrefs end in /tiles', async () => {
  const { body: landing } = await json(at.site);
  expect(linkOf(landing, `${REL}/tilesets-vector`)?.href).toBe(`${at.site}/tiles`);
  const { body } = await json(`${at.site}/collections`);
  for (const c of body.collections) {
    const link = linkOf(c, `${REL}/tilesets-vector`);
    if (c.id === 'documents') expect(link).toBeUndefined();
    else expect(link?.href).toMatch(/\/tiles$/);
  }
});

test('2: tileset lists name a registered tile matrix set, and after it the site’s own', async () => {
  for (const url of [`${at.site}/tiles`, `${at.site}/collections/finds/tiles`]) {
    const { response, body } = await json(`${url}?f=json`);
    expect(response.status).toBe(200);
    expect(body.tilesets.map((tileset: Any) => tileset.tileMatrixSetURI)).toEqual([
      'http://www.opengis.net/def/tilematrixset/OGC/1.0/WebMercatorQuad',
      `${at.site}/tileMatrixSets/SiteMetricQuad`,
    ]);
    for (const [k, tileset] of body.tilesets.entries()) {
      expect(tileset).toMatchObject({ dataType: 'vector' });
      expect(tileset.links.map((l: Any) => l.rel)).toEqual(['self', `${REL}/tiling-scheme`]);
      expect((await fetch(tileset.links[0].href)).status).toBe(200);
      const scheme = await json(tileset.links[1].href);
      expect(scheme.body.uri).toBe(tileset.tileMatrixSetURI);
      expect(scheme.body.tileMatrices).toHaveLength(k === 0 ? 25 : 9);
    }
  }
});

test('3: a tileset has a template, limits and layers; all tiles inside the limits answer 200', async () => {
  for (const root of [`${at.site}/tiles`, `${at.site}/collections/hull-lines/tiles`]) {
    const { body } = await json(`${root}/WebMercatorQuad`);
    const item = linkOf(body, 'item') as Any;
    expect(item).toMatchObject({ templated: true, type: mvt });
    for (const name of ['{tileMatrix}', '{tileRow}', '{tileCol}']) expect(item.href).toContain(name);
    expect(body.tileMatrixSetLimits).toHaveLength(25);
    const limit = body.tileMatrixSetLimits[19];
    const z = limit.tileMatrix;
    for (let row = limit.minTileRow; row <= limit.maxTileRow; row++) {
      for (let col = limit.minTileCol; col <= limit.maxTileCol; col++) {
        const url = item.href.replace('{tileMatrix}', z).replace('{tileRow}', row).replace('{tileCol}', col);
        const response = await fetch(url);
        expect(response.status).toBe(200);
        expect(response.headers.get('content-type')).toBe(mvt);
      }
    }
    expect((await fetch(`${root}/WebMercatorQuad/19/${limit.maxTileRow + 1}/${limit.minTileCol}`)).status).toBe(404);
  }
  const { body } = await json(`${at.site}/tiles/WebMercatorQuad`);
  expect(body.layers.map((l: Any) => [l.id, l.geometryDimension])).toEqual([
    ['finds', 0],
    ['hull-lines', 1],
    ['grid-squares', 2],
    ['deposit-top', 2],
  ]);
});

test('4: addresses outside the matrix are not found', async () => {
  const { x, y } = over(18);
  for (const path of [
    '18/2147483647/0',
    '18/0/2147483647',
    '25/0/0',
    '-1/0/0',
    '18/a/0',
    '018/0/0',
    '0/0/1',
    '1.0/0/0',
    `18/${y}/%00`,
  ]) {
    expect((await fetch(`${at.site}/tiles/WebMercatorQuad/${path}`)).status, path).toBe(404);
  }
  for (const path of ['25/0/0.mvt', '2/4/0.pbf', '2/0/4.mvt', '1e1/0/0.mvt', '18/0/0.png']) {
    const response = await fetch(`${at.site}/xyz/finds/${path}`);
    expect(response.status, path).toBe(404);
    expect(response.headers.get('access-control-allow-origin')).toBe('*');
  }
  expect((await fetch(`${at.site}/tiles/WorldCRS84Quad/0/0/0`)).status).toBe(404);
  expect((await fetch(`${at.site}/xyz/documents/18/${x}/${y}.mvt`)).status).toBe(404);
  expect((await fetch(`${at.site}/xyz/none/18/${x}/${y}.mvt`)).status).toBe(404);
});

test('a tile answers whatever is accepted, by both names and both address forms, row before column', async () => {
  const { x, y } = over(20);
  const even = x - (x % 2);
  const urls = [
    `${at.site}/xyz/finds/20/${even}/${y}.mvt`,
    `${at.site}/xyz/finds/20/${even}/${y}.pbf`,
    `${at.site}/collections/finds/tiles/WebMercatorQuad/20/${y}/${even}`,
  ];
  const bodies = new Set<string>();
  for (const url of urls) {
    for (const accept of ['', 'text/html', 'application/json', 'image/png', '*/*']) {
      const response = await fetch(url, { headers: { accept } });
      expect(response.status).toBe(200);
      expect(response.headers.get('content-type')).toBe(mvt);
      bodies.add(await response.text());
    }
  }
  expect(bodies.size).toBe(1);
  expect([...bodies][0]).toContain(`[20,${even},${y},["finds"]`);
});

test('an empty tile is 200 with no bytes, anywhere in the world', async () => {
  for (const path of ['20/1/1.mvt', '14/3/7.pbf']) {
    const response = await fetch(`${at.site}/xyz/finds/${path}`);
    expect(response.status).toBe(200);
    expect((await response.arrayBuffer()).byteLength).toBe(0);
    expect(response.headers.get('content-type')).toBe(mvt);
  }
});

test('made once: later requests come from memory with the same headers, tags, packed form and 304', async () => {
  const { x, y } = over(21);
  const url = `${at.site}/xyz/finds/21/${x - (x % 2)}/${y}.mvt?season=S1`;
  const before = at.service.tilesMade;
  const first = await fetch(url, { headers: { 'accept-encoding': 'identity' } });
  const second = await fetch(url, { headers: { 'accept-encoding': 'identity' } });
  const packed = await fetch(url, { headers: { 'accept-encoding': 'br, gzip' } });
  const refused = await fetch(url, { headers: { 'accept-encoding': 'gzip;q=0, identity' } });
  expect(at.service.tilesMade).toBe(before + 1);
  expect(packed.headers.get('content-encoding')).toBe('gzip');
  expect(refused.headers.get('content-encoding')).toBeNull();
  const text = await first.text();
  for (const r of [second, packed, refused]) expect(await r.text()).toBe(text);
  for (const name of ['content-type', 'cache-control', 'etag', 'vary', 'access-control-allow-origin']) {
    expect(second.headers.get(name), name).toBe(first.headers.get(name));
    expect(second.headers.get(name), name).not.toBeNull();
  }
  expect(second.headers.get('access-control-expose-headers')).toContain('ETag');
  const tag = first.headers.get('etag') as string;
  expect(tag).toMatch(/^"[^"]+"$/);
  expect(packed.headers.get('etag')).not.toBe(tag);
  for (const given of [tag, packed.headers.get('etag') as string, `W/${tag}`, `"other", ${tag}`, '*']) {
    const again = await fetch(url, { headers: { 'if-none-match': given } });
    expect(again.status, given).toBe(304);
    expect(again.headers.get('etag')).toBeTruthy();
    expect(again.headers.get('cache-control')).toBe('no-cache');
    expect(await again.text()).toBe('');
  }
  expect((await fetch(url, { headers: { 'if-none-match': '"old"' } })).status).toBe(200);
  const head = await fetch(url, { method: 'HEAD', headers: { 'accept-encoding': 'identity' } });
  expect(head.headers.get('content-length')).toBe(String(text.length));
  expect(await head.text()).toBe('');
});

test('the first answer is packed too, and a 304 works before anything is held', async () => {
  const { x, y } = over(22);
  const url = `${at.site}/xyz/finds/22/${x - (x % 2)}/${y}.mvt`;
  const first = await fetch(url, { headers: { 'accept-encoding': 'gzip' } });
  expect(first.headers.get('content-encoding')).toBe('gzip');
  const tag = first.headers.get('etag') as string;
  at.service.revision = () => 1.5;
  expect((await fetch(url, { headers: { 'if-none-match': tag } })).status).toBe(304);
  at.service.revision = () => at.service.revisionNumber;
});

test('new data empty the memory', async () => {
  const { x, y } = over(19);
  const url = `${at.site}/xyz/finds/19/${x - (x % 2)}/${y}.mvt`;
  const old = await fetch(url);
  at.service.revisionNumber++;
  const fresh = await fetch(url);
  expect(fresh.headers.get('etag')).not.toBe(old.headers.get('etag'));
});

test('the selection reaches the tile and is checked like everywhere', async () => {
  const { x, y } = over(18);
  const even = x - (x % 2);
  const url = `${at.site}/xyz/finds/18/${even}/${y}.mvt`;
  const text = await (await fetch(`${url}?season=S1&season=S2&artefact_class=jar`)).text();
  expect(text).toContain('"seasons":["S1","S2"],"classes":["jar"]');
  expect((await fetch(`${url}?seson=S1`)).status).toBe(400);
  expect((await fetch(`${url}?version=7`)).status).toBe(404);
});

test('TileJSON and style carry absolute addresses, the selection kept, levels 0 to 22', async () => {
  const { body } = await json(`${at.site}/tilejson/finds.json?season=S1`);
  expect(body.tilejson).toBe('3.0.0');
  expect(body.tiles).toEqual([`${at.site}/xyz/finds/{z}/{x}/{y}.mvt?season=S1`]);
  expect([body.minzoom, body.maxzoom]).toEqual([0, 22]);
  expect(body.vector_layers[0].fields.weight_g).toBe('Weight (g)');
  const styles = await json(`${at.site}/styles`);
  expect(styles.body.default).toBe('sheet');
  const style = await fetch(styles.body.styles[0].links[0].href, { headers: { accept: '*/*' } });
  expect(style.headers.get('content-type')).toBe('application/vnd.mapbox.style+json');
  expect(((await style.json()) as Any).sources.finds.tiles[0]).toBe(`${at.site}/xyz/finds/{z}/{x}/{y}.mvt`);
  expect((await fetch(`${at.site}/styles/none`)).status).toBe(404);
  expect((await fetch(`${at.site}/tilejson/none.json`)).status).toBe(404);
});
