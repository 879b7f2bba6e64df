import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { gridFrame } from '../../src/domain/grid.js';
import { siteSchema } from '../../src/domain/site.js';
import { type RunningService, root, startService, system, systemPart } from '../support/running-service.js';

// GDAL stands for any desktop that speaks these standards: it is the library most of them read with
const gdal = systemPart('ogrinfo', 'gdal-bin');
const site = siteSchema.parse(JSON.parse(readFileSync(join(root, 'data-demo/site.json'), 'utf8')));
const frame = gridFrame(site.grids[0]);
type Matched = { numberMatched: number };

describe.skipIf(!gdal)('GDAL reads the running service', () => {
  let service: RunningService;
  let base: string;
  let folder: string;

  beforeAll(async () => {
    service = await startService();
    base = `${service.url}/sites/${site.id}`;
    folder = mkdtempSync(join(tmpdir(), 'wreckfield-gdal-'));
  }, 90_000);
  afterAll(async () => {
    await service?.stop();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });

  test('every collection is a layer with the count the service states, and the geometry type it declares', async () => {
    const { collections } = (await (await fetch(`${base}/collections`)).json()) as {
      collections: { id: string; itemCount?: number }[];
    };
    // of layers worked out from levels the list does not tell how many features they have
    const countOf = async ({ id, itemCount }: { id: string; itemCount?: number }) =>
      itemCount ?? ((await (await fetch(`${base}/collections/${id}/items?limit=1`)).json()) as Matched).numberMatched;
    const text = await system('ogrinfo', ['-ro', '-al', '-so', `OAPIF:${base}`]);
    const layers = new Map(
      text
        .split(/^Layer name: /m)
        .slice(1)
        .map((part) => [
          part.split('\n')[0].trim(),
          { type: /^Geometry: (.+)$/m.exec(part)?.[1], count: Number(/^Feature Count: (\d+)$/m.exec(part)?.[1]) },
        ]),
    );
    for (const collection of collections) {
      expect(layers.get(collection.id)?.count, collection.id).toBe(await countOf(collection));
    }
    expect(layers.size).toBe(collections.length);
    expect(layers.get('finds')?.type).toBe('Point');
    expect(layers.get('hull-lines')?.type).toBe('Line String');
    expect(layers.get('excavated-areas')?.type).toMatch(/Polygon/);
    for (const owed of [
      'finds',
      'find-lines',
      'find-areas',
      'concretions',
      'grid-squares',
      'grid-nodes',
      'levels',
      'hull-lines',
      'hull-areas',
      'ship-axes',
      'excavated-areas',
      'contexts',
      'control-points',
      'refits',
      'deposit-top',
      'deposit-bottom',
      'thickness',
      'deposit-top-contours',
      'deposit-bottom-contours',
      'thickness-contours',
      'bathymetry',
      'bathymetry-contours',
    ]) {
      expect(layers.has(owed), owed).toBe(true);
    }
  }, 120_000);

  test('finds are copied to a file with all rows and columns', async () => {
    const file = join(folder, 'finds.csv');
    await system('ogr2ogr', ['-f', 'CSV', '-lco', 'GEOMETRY=AS_XY', file, `OAPIF:${base}`, 'finds']);
    const [heading, ...rows] = readFileSync(file, 'utf8').trimEnd().split('\n');
    const registered = readFileSync(join(root, 'data-demo/finds.csv'), 'utf8').split('\n')[0].split(',');
    for (const column of registered) expect(heading.split(','), column).toContain(column);
    expect(rows.length).toBe(6400);
  }, 120_000);

  test('a grid node stands where PROJ puts it, to a millimetre', async () => {
    const text = await system('ogrinfo', [
      '-ro',
      '-al',
      '-geom=YES',
      '-where',
      "node='R10'",
      `OAPIF:${base}`,
      'grid-nodes',
    ]);
    const place = /POINT \(([-\d.]+) ([-\d.]+)\)/.exec(text);
    expect(place).not.toBeNull();
    const projected = await system('gdaltransform', [
      '-s_srs',
      'EPSG:4326',
      '-t_srs',
      'EPSG:32626',
      '-output_xy',
      ...coordinates(`${place?.[1]} ${place?.[2]}`),
    ]);
    const [e, n] = projected.trim().split(/\s+/).map(Number);
    // R is the 16th letter without I and O
    const [wantedE, wantedN] = frame.toProjected(15, 9);
    expect(Math.hypot(e - wantedE, n - wantedN)).toBeLessThan(0.001);
  }, 60_000);

  test('a tile is read in place by its address', async () => {
    const [lon, lat] = frame.toLonLat(17, 9.2);
    const size = 2 ** 22;
    const x = Math.floor(((lon + 180) / 360) * size);
    const y = Math.floor((0.5 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / (2 * Math.PI)) * size);
    const text = await system('ogrinfo', ['-ro', '-al', '-so', `MVT:${base}/xyz/finds/22/${x}/${y}.pbf`]);
    expect(text).toMatch(/Layer name: finds/);
    expect(Number(/Feature Count: (\d+)/.exec(text)?.[1])).toBeGreaterThan(50);
    expect(text).toMatch(/artefact_class: String/);
  }, 60_000);

  test('a density surface is a GeoTIFF in the projected CRS of the site', async () => {
    const answer = await fetch(`${base}/processes/kernel-density/execution`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({
        inputs: { artefact_class: 'window glass', keep: true },
        outputs: { coverage: {} },
        response: 'raw',
      }),
    });
    expect(answer.status).toBe(200);
    const file = join(folder, 'density.tif');
    const { writeFileSync } = await import('node:fs');
    writeFileSync(file, new Uint8Array(await answer.arrayBuffer()));
    const info = JSON.parse(await system('gdalinfo', ['-json', '-stats', file]));
    expect(info.coordinateSystem.wkt).toMatch(/UTM zone 26N/);
    expect(info.bands[0].type).toBe('Float32');
    expect(String(info.bands[0].noDataValue)).toMatch(/nan/i);
    const [, pixel, turnA, , turnB] = info.geoTransform;
    expect([turnA, turnB]).toEqual([0, 0]);
    // finds are counted per m² of the site grid: the integral over the surface is their number
    const cells = info.bands[0].mean ?? Number(info.bands[0].metadata['']?.STATISTICS_MEAN);
    expect(cells).toBeGreaterThan(0);
    expect(pixel).toBeGreaterThan(0.01);
  }, 60_000);

  test('the bathymetry comes as it was received', async () => {
    const answer = await fetch(`${base}/collections/bathymetry/coverage`);
    expect(answer.headers.get('content-type')).toMatch(/image\/tiff/);
    const received = readFileSync(join(root, 'data-demo/bathymetry.tif'));
    expect(Buffer.compare(Buffer.from(await answer.arrayBuffer()), received)).toBe(0);
  });
});

/** gdaltransform reads stdin unless coordinates are given as -coord */
function coordinates(pair: string): string[] {
  return ['-coord', ...pair.split(' ')];
}
