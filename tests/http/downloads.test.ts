import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { temporaryFolder } from '../support/temporary-store.js';
import { json, linkOf, type Served, serve } from './fake-service.js';

// biome-ignore lint/suspicious/noExplicitAny: documents are looked at as clients see them
type Any = any;

let at: Served;
beforeAll(async () => {
  at = await serve();
});
afterAll(() => at.close());

/** The service hands out a file of these bytes. */
function givesFile(bytes: Uint8Array): void {
  const path = join(temporaryFolder(), 'file');
  writeFileSync(path, bytes);
  at.service.download = async () => ({
    path,
    size: bytes.length,
    fileName: 'test-ledge-v1.gpkg',
    mediaType: 'application/geopackage+sqlite3',
    tag: 'abc',
  });
}

describe('a file to take away', () => {
  const bytes = Uint8Array.from({ length: 300_000 }, (_, i) => (i * 7) % 251);

  test('comes whole, with name, type, length and a strong tag', async () => {
    givesFile(bytes);
    const response = await fetch(`${at.site}/export.gpkg`, { headers: { 'accept-encoding': 'gzip' } });
    expect(response.status).toBe(200);
    expect(response.headers.get('content-type')).toBe('application/geopackage+sqlite3');
    expect(response.headers.get('content-disposition')).toBe('attachment; filename="test-ledge-v1.gpkg"');
    expect(response.headers.get('content-length')).toBe('300000');
    expect(response.headers.get('content-encoding')).toBeNull();
    expect(response.headers.get('etag')).toBe('"abc"');
    expect(Buffer.compare(Buffer.from(await response.arrayBuffer()), bytes)).toBe(0);
  });

  test.each([
    ['bytes=0-0', 0, 0],
    ['bytes=100-299', 100, 299],
    ['bytes=299990-', 299_990, 299_999],
    ['bytes=-10', 299_990, 299_999],
    ['bytes=299000-400000', 299_000, 299_999],
  ])('a stretch of it: %s', async (range, first, last) => {
    givesFile(bytes);
    const response = await fetch(`${at.site}/export.gpkg`, { headers: { range } });
    expect(response.status).toBe(206);
    expect(response.headers.get('content-range')).toBe(`bytes ${first}-${last}/300000`);
    expect(Buffer.from(await response.arrayBuffer()).equals(bytes.subarray(first, last + 1))).toBe(true);
  });

  test('a stretch beyond the end, HEAD, and a copy that is still the same', async () => {
    givesFile(bytes);
    const outside = await fetch(`${at.site}/export.gpkg`, { headers: { range: 'bytes=300000-' } });
    expect([outside.status, outside.headers.get('content-range')]).toEqual([416, 'bytes */300000']);
    const head = await fetch(`${at.site}/export.gpkg`, { method: 'HEAD' });
    expect([head.status, head.headers.get('content-length')]).toEqual([200, '300000']);
    const same = await fetch(`${at.site}/export.gpkg`, { headers: { 'if-none-match': '"abc"' } });
    expect([same.status, (await same.arrayBuffer()).byteLength]).toEqual([304, 0]);
    const stale = await fetch(`${at.site}/export.gpkg`, { headers: { range: 'bytes=0-9', 'if-range': '"old"' } });
    expect([stale.status, (await stale.arrayBuffer()).byteLength]).toEqual([200, 300_000]);
  });

  test('a client that goes away half way does no harm, nor does a file that is gone', async () => {
    givesFile(new Uint8Array(20_000_000));
    const stop = new AbortController();
    const response = await fetch(`${at.site}/export.gpkg`, { signal: stop.signal });
    stop.abort();
    await expect(response.arrayBuffer()).rejects.toThrow();
    at.service.download = async () => ({ path: '/none/file', size: 9, fileName: 'a', mediaType: 'a/b', tag: 't' });
    await expect(fetch(`${at.site}/export.gpkg`).then((r) => r.arrayBuffer())).rejects.toThrow();
    expect((await fetch(`${at.site}/collections`)).status).toBe(200);
    expect(at.bugs).toEqual([]);
  });

  test('unknown parameters and side files that readers look for are refused', async () => {
    expect((await fetch(`${at.site}/export.gpkg?seasn=S1`)).status).toBe(400);
    for (const end of ['-wal', '-journal', '.aux.xml', '.ovr'])
      expect((await fetch(`${at.site}/export.gpkg${end}`)).status, end).toBe(404);
  });
});

test('records as CSV: by f or Accept, all that match unless a page is asked for', async () => {
  const asked: number[] = [];
  at.service.csv = ((_collection: unknown, rows: Uint32Array) => {
    asked.push(rows.length);
    return [Buffer.from('feature_id\r\n'), Buffer.from('1\r\n')];
  }) as Any;
  const response = await fetch(`${at.site}/collections/finds/items?f=csv`);
  expect(response.headers.get('content-type')).toBe('text/csv; charset=utf-8');
  expect(response.headers.get('content-disposition')).toBe('attachment; filename="test-ledge-finds-v1.csv"');
  expect(await response.text()).toBe('feature_id\r\n1\r\n');
  const accepted = await fetch(`${at.site}/collections/finds/items?limit=5`, { headers: { accept: 'text/csv' } });
  expect(accepted.headers.get('content-type')).toBe('text/csv; charset=utf-8');
  await accepted.text();
  const { body } = await json(`${at.site}/collections/finds/items?limit=1`);
  expect(asked).toEqual([body.numberMatched, 5]);
  expect(body.links.find((link: Any) => link.type === 'text/csv').href).toContain('f=csv');
});

describe('the connection sheet', () => {
  test('tells every address, absolute, and levels from 0 to 22', async () => {
    const { response, body } = await json(`${at.site}/connect`);
    expect(response.headers.get('content-type')).toBe('application/json');
    expect(body.features.address).toBe(at.site);
    expect(body.vector_tiles).toMatchObject({ min_zoom: 0, max_zoom: 22 });
    expect(body.metric_tiles).toMatchObject({
      id: 'SiteMetricQuad',
      crs: 'http://www.opengis.net/def/crs/EPSG/0/32626',
      tile_matrix_set: `${at.site}/tileMatrixSets/SiteMetricQuad`,
    });
    const finds = body.collections.find((c: Any) => c.id === 'finds');
    expect(finds.vector_tiles).toBe(`${at.site}/xyz/finds/{z}/{x}/{y}.mvt`);
    const surface = body.collections.find((c: Any) => c.coverage !== null);
    expect(surface.coverage).toBe(`${at.site}/collections/${surface.id}/coverage`);
    const documents = body.collections.find((c: Any) => c.id === 'documents');
    expect([documents.vector_tiles, documents.style, documents.metric_tiles]).toEqual([null, null, null]);
    for (const [, href] of JSON.stringify(body).matchAll(/"((?:https?:)?\/\/[^"]+)"/g)) expect(href).toMatch(/^http/);
  });

  test('every address without open places answers', async () => {
    givesFile(Uint8Array.of(1));
    const { body } = await json(`${at.site}/connect`);
    const addresses = [
      body.features.address,
      body.features.landing_page,
      body.vector_tiles.style,
      body.metric_tiles.tile_matrix_set,
      ...body.collections.flatMap((c: Any) => [c.features, c.csv, c.tile_json, c.coverage]),
      ...body.downloads.map((d: Any) => d.href),
    ].filter((href: string | null) => href !== null);
    for (const href of addresses) {
      const response = await fetch(href);
      await response.arrayBuffer();
      expect(response.status, href).toBe(200);
    }
  });

  test('the page holds the PROJ string, the text form of the grid and the tile template to copy', async () => {
    const { body } = await json(`${at.site}/connect`);
    const page = await (await fetch(`${at.site}/connect?f=html`)).text();
    const { proj, wkt2 } = body.coordinate_systems.site_grid;
    expect(proj).toMatch(/^\+proj=omerc /);
    expect(page).toContain(`value="${proj}"`);
    expect(page).toContain(`value="${wkt2.replaceAll('"', '&quot;')}"`);
    expect(page).toContain(`${at.site}/tiles/WebMercatorQuad/{z}/{y}/{x}`);
    expect(page).toContain('levels 0 to 22');
  });

  test('collections and the landing page offer the same CRS, and link the sheet', async () => {
    const { body: sheet } = await json(`${at.site}/connect`);
    const { body: landing } = await json(at.site);
    const { body: collections } = await json(`${at.site}/collections`);
    expect(landing.site_grid).toEqual(sheet.coordinate_systems.site_grid);
    expect(collections.site_grid).toEqual(sheet.coordinate_systems.site_grid);
    expect(linkOf(landing, 'help')?.href).toBe(`${at.site}/connect`);
    expect(linkOf(landing, 'enclosure')?.href).toBe(`${at.site}/export.gpkg`);
  });
});
