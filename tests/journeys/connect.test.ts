import { execFile } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import Sqlite from 'better-sqlite3';
import { FetchSource, PMTiles } from 'pmtiles';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { gridFrame } from '../../src/domain/grid.js';
import { siteSchema } from '../../src/domain/site.js';
import { type RunningService, root, startService, system, systemPart, wreckfield } from '../support/running-service.js';

// the steps of docs/connect-a-gis-desktop.md, run as they stand there

const gdal = systemPart('ogrinfo', 'gdal-bin');
const page = readFileSync(join(root, 'docs/connect-a-gis-desktop.md'), 'utf8');
const site = siteSchema.parse(JSON.parse(readFileSync(join(root, 'data-demo/site.json'), 'utf8')));
const frame = gridFrame(site.grids[0]);
const run = promisify(execFile);

/** Commands of the page, in order. */
const commands = [...page.matchAll(/^```sh\n([\s\S]*?)^```/gm)].map(([, text]) => text.trim());

let service: RunningService;
let base: string;
let folder: string;
beforeAll(async () => {
  service = await startService();
  base = `${service.url}/sites/tarn-ledge`;
  folder = mkdtempSync(join(tmpdir(), 'wreckfield-connect-'));
}, 90_000);
afterAll(async () => {
  await service?.stop();
  if (folder) rmSync(folder, { recursive: true, force: true });
});

/** Runs the one command of the page that has these words, against the running service. */
async function step(words: string): Promise<string> {
  const found = commands.filter((command) => command.includes(words));
  if (found.length !== 1) throw new Error(`${found.length} commands with ${words}`);
  done.add(found[0]);
  const command = found[0].replaceAll('http://127.0.0.1:8080', service.url);
  const { stdout } = await run('bash', ['-euc', command], { cwd: folder, maxBuffer: 64 * 1024 * 1024 });
  return stdout;
}
const done = new Set<string>();

describe.skipIf(!gdal)('connecting a GIS desktop, step by step', () => {
  test('the finds are a layer of points with 6,400 records', async () => {
    const text = await step('ogrinfo -ro -so OAPIF:');
    expect(text).toMatch(/Geometry: Point/);
    expect(text).toMatch(/Feature Count: 6400/);
    expect(text).toMatch(/z_elevation: Real/);
  }, 60_000);

  test('a filter gives the records it is meant to, as layer and as table', async () => {
    await step('nails.gpkg');
    const info = await system('ogrinfo', ['-ro', '-so', join(folder, 'nails.gpkg'), 'finds']);
    await step('nails.csv');
    const rows = readFileSync(join(folder, 'nails.csv'), 'utf8').trimEnd().split('\r\n').length - 1;
    expect(rows).toBeGreaterThan(50);
    expect(Number(/Feature Count: (\d+)/.exec(info)?.[1])).toBe(rows);
  }, 60_000);

  test('tiles are read, and the addresses of the page answer', async () => {
    expect(await step('MVT:')).toMatch(/artefact_class: String/);
    const pasted = [...page.matchAll(/^```\n(http.*)\n```/gm)].map(([, address]) => address);
    expect(pasted.length).toBe(4);
    for (const address of pasted) {
      const url = address
        .replace('http://127.0.0.1:8080', service.url)
        .replace('{z}', '0')
        .replace('{x}', '0')
        .replace('{y}', '0');
      const response = await fetch(url);
      await response.arrayBuffer();
      expect(response.status, url).toBe(200);
    }
  }, 60_000);

  test('a surface opens from its address, in place', async () => {
    const text = await step('gdalinfo /vsicurl/');
    expect(text).toMatch(/UTM zone 26N/);
    expect(text).toMatch(/Size is 480, 400/);
  }, 60_000);

  test('nodes land on whole metres of the grid, within a millimetre; the string is the one the service offers', async () => {
    const sheet = (await (await fetch(`${base}/connect`)).json()) as {
      coordinate_systems: { site_grid: { proj: string; wkt2: string } };
    };
    const [, pasted] = /^```\n(\+proj=omerc.*)\n```/m.exec(page) ?? expect.fail('no PROJ string on the page');
    expect(pasted).toBe(sheet.coordinate_systems.site_grid.proj);
    await step('nodes.csv');
    const [head, ...rows] = readFileSync(join(folder, 'nodes.csv'), 'utf8').trimEnd().split('\n');
    expect(head.split(',').slice(0, 2)).toEqual(['X', 'Y']);
    const [localX, localY] = ['local_x', 'local_y'].map((name) => head.split(',').indexOf(name));
    expect(rows.length).toBeGreaterThan(500);
    for (const row of rows) {
      const cells = row.split(',').map((cell) => Number(cell.replaceAll('"', '')));
      expect(Math.hypot(cells[0] - cells[localX], cells[1] - cells[localY])).toBeLessThan(0.001);
    }
  }, 60_000);

  test('the GeoPackage opens clean, with the layers, a filter, the surface and the grid copy', async () => {
    await step('-o site.gpkg');
    const file = join(folder, 'site.gpkg');
    const database = new Sqlite(file, { readonly: true });
    expect(database.pragma('integrity_check', { simple: true })).toBe('ok');
    expect(database.pragma('foreign_key_check')).toEqual([]);
    database.close();
    const finds = await step('ogrinfo -ro -so site.gpkg');
    expect(finds).toMatch(/Feature Count: 6400/);
    expect(finds).toMatch(/WGS 84 \/ UTM zone 26N/);
    const surface = await step('GPKG:site.gpkg:');
    expect(surface).toMatch(/Size is 480, 400/);
    expect(surface).toMatch(/Origin = \(411937\.0+,4984219\.50+\)/);
    const stats = await system('gdalinfo', ['-stats', `GPKG:${file}:bathymetry_surface`]);
    const received = await system('gdalinfo', [
      '-stats',
      '--config',
      'GDAL_PAM_ENABLED',
      'NO',
      join(root, 'data-demo/bathymetry.tif'),
    ]);
    const mean = (text: string) => Number(/STATISTICS_MEAN=([-\d.]+)/.exec(text)?.[1]);
    expect(mean(stats)).toBeCloseTo(mean(received), 6);
    const node = async (layer: string) => {
      const text = await system('ogrinfo', ['-ro', '-al', '-where', "node='R10'", file, layer]);
      return (/POINT \(([-\d.]+) ([-\d.]+)\)/.exec(text) ?? []).slice(1).map(Number);
    };
    // R is the 16th letter without I and O
    expect(await node('grid_nodes_site_grid')).toEqual([15, 9]);
    const [e, n] = await node('grid_nodes');
    const wanted = frame.toProjected(15, 9);
    expect(Math.hypot(e - wanted[0], n - wanted[1])).toBeLessThan(1e-6);
    const box = [wanted[0] - 2, wanted[1] - 2, wanted[0] + 2, wanted[1] + 2].map(String);
    const near = await system('ogrinfo', ['-ro', '-so', '-spat', ...box, file, 'grid_nodes']);
    expect(Number(/Feature Count: (\d+)/.exec(near)?.[1])).toBeGreaterThan(8);
    expect(Number(/Feature Count: (\d+)/.exec(near)?.[1])).toBeLessThan(60);
  }, 90_000);

  test('the tile matrix set of the site is a document with edges on whole metres', async () => {
    await step('matrix-set.json');
    const set = JSON.parse(readFileSync(join(folder, 'matrix-set.json'), 'utf8'));
    for (const edge of set.tileMatrices[0].pointOfOrigin) expect(Number.isInteger(edge)).toBe(true);
    expect(set.tileMatrices.at(-1).cellSize * 256).toBe(1);
  });

  test('every command of the page was run', () => {
    expect(commands.filter((command) => !done.has(command))).toEqual([]);
  });
});

describe('exports from the command line', () => {
  const exported = async (...words: string[]) => {
    const answer = await wreckfield(['export', '--site', 'tarn-ledge', '--json', ...words], {
      DATA_DIR: service.dataDir,
    });
    expect(answer.err).toBe('');
    expect(answer.code).toBe(0);
    return (JSON.parse(answer.out) as { files: { path: string; collection?: string; records?: number }[] }).files;
  };

  test('the GeoPackage is byte for byte the one the service hands out', async () => {
    const path = join(folder, 'cli.gpkg');
    await exported('--format', 'gpkg', '--out', path);
    const served = Buffer.from(await (await fetch(`${base}/export.gpkg`)).arrayBuffer());
    expect(Buffer.compare(served, readFileSync(path))).toBe(0);
  }, 90_000);

  test('a selection of one collection, as GeoJSON and as CSV, has the count the service states', async () => {
    const answer = await fetch(
      `${base}/collections/finds/items?limit=1&season=S2&filter=${encodeURIComponent('z_elevation < -0.2')}`,
    );
    const { numberMatched } = (await answer.json()) as { numberMatched: number };
    expect(numberMatched).toBeGreaterThan(10);
    const path = join(folder, 'finds.geojson');
    const choice = ['--collection', 'finds', '--season', 'S2', '--filter', 'z_elevation < -0.2'];
    const [{ records }] = await exported('--format', 'geojson', '--out', path, ...choice);
    expect(records).toBe(numberMatched);
    expect(JSON.parse(readFileSync(path, 'utf8')).features.length).toBe(numberMatched);
    const csv = join(folder, 'finds.csv');
    await exported('--format', 'csv', '--crs', 'storage', '--out', csv, ...choice);
    const [head, first] = readFileSync(csv, 'utf8').split('\r\n');
    expect(head.split(',').slice(-2)).toEqual(['easting', 'northing']);
    expect(Number(first.split(',').at(-1))).toBeGreaterThan(4_984_000);
  }, 90_000);

  test('what cannot be exported is refused in a sentence', async () => {
    const refused = async (...words: string[]) => {
      const { code, err } = await wreckfield(['export', '--site', 'tarn-ledge', ...words], {
        DATA_DIR: service.dataDir,
      });
      expect(code).toBe(1);
      return err;
    };
    const wrong = await refused('--format', 'geotiff', '--collection', 'finds', '--version', '1');
    expect(wrong).toMatch(/no surface "finds"; there are .*bathymetry/);
    expect(await refused('--format', 'archive', '--season', 'S1')).toMatch(/deposit package holds everything/);
  }, 90_000);

  test('PMTiles of a season are read by stretches from a plain file host', async () => {
    const path = join(folder, 's2.pmtiles');
    await exported('--format', 'pmtiles', '--season', 'S2', '--out', path);
    const bytes = readFileSync(path);
    const asked: string[] = [];
    const host: Server = createServer((request, response) => {
      const [, first, last] = /^bytes=(\d+)-(\d+)$/.exec(request.headers.range ?? '') ?? [];
      asked.push(request.headers.range ?? 'all');
      const part = bytes.subarray(Number(first), Number(last) + 1);
      response.writeHead(206, {
        'Content-Range': `bytes ${first}-${Number(first) + part.length - 1}/${bytes.length}`,
        'Content-Length': part.length,
      });
      response.end(part);
    });
    await new Promise<void>((resolve) => host.listen(0, '127.0.0.1', resolve));
    const archive = new PMTiles(new FetchSource(`http://127.0.0.1:${(host.address() as AddressInfo).port}/s2.pmtiles`));
    const [lon, lat] = frame.toLonLat(17, 9.2);
    const size = 2 ** 20;
    const x = Math.floor(((lon + 180) / 360) * size);
    const y = Math.floor((0.5 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / (2 * Math.PI)) * size);
    const tile = await archive.getZxy(20, x, y);
    const served = await fetch(`${base}/collections/finds/tiles/WebMercatorQuad/20/${y}/${x}?season=S2`);
    const own = Buffer.from(await served.arrayBuffer());
    // the layer of the finds is in there as the service draws it
    expect(Buffer.from(tile?.data ?? new ArrayBuffer(0)).includes(own)).toBe(true);
    expect(asked).not.toContain('all');
    await new Promise((resolve) => host.close(resolve));
  }, 120_000);
});
