import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fromArrayBuffer } from 'geotiff';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Raster } from '../../src/domain/raster.js';
import { randomStream } from '../../src/math/random.js';
import { geotiff, type RasterPlacement } from '../../src/tiles/geotiff.js';
import { allNear, near } from '../support/near.js';

function raster(columns: number, rows: number): Raster {
  const random = randomStream(2, 0);
  const values = Float32Array.from({ length: columns * rows }, () => -30 + random.next());
  values[1] = Number.NaN;
  return {
    title: 'Thickness "north" of the wreck & more, über <1 m',
    unit: 'm',
    columns,
    rows,
    corner: [0, 0],
    columnStep: [0.25, 0],
    rowStep: [0, -0.25],
    space: 'projected',
    values,
  };
}
const upright: RasterPlacement = {
  epsg: 32633,
  corner: [500_000.5, 5_000_064.25],
  columnStep: [0.25, 0],
  rowStep: [0, -0.25],
};
const [cos, sin] = [Math.cos(0.3), Math.sin(0.3)];
const turned: RasterPlacement = {
  ...upright,
  columnStep: [0.25 * cos, -0.25 * sin],
  rowStep: [-0.25 * sin, -0.25 * cos],
};

async function read(bytes: Uint8Array) {
  const file = await fromArrayBuffer(bytes.slice().buffer as ArrayBuffer);
  const image = await file.getImage();
  const [band] = (await image.readRasters()) as unknown as [Float32Array];
  return { image, band };
}

test('the geotiff package reads back every cell, the place, the CRS and the missing value', async () => {
  for (const [columns, rows] of [
    [7, 5],
    [1, 1],
    [200, 333],
    [20_000, 3],
  ]) {
    const given = raster(columns, rows);
    const { image, band } = await read(geotiff(given, upright));
    expect([image.getWidth(), image.getHeight()]).toEqual([columns, rows]);
    expect(Buffer.from(band.buffer).equals(Buffer.from(given.values.buffer))).toBe(true);
    expect(image.getOrigin().slice(0, 2)).toEqual([500_000.5, 5_000_064.25]);
    expect(image.getResolution().slice(0, 2)).toEqual([0.25, -0.25]);
    expect(image.getGeoKeys()).toMatchObject({
      GTModelTypeGeoKey: 1,
      GTRasterTypeGeoKey: 1,
      ProjectedCSTypeGeoKey: 32633,
    });
    expect(image.getGDALNoData()).toBeNaN();
  }
});

test('a turned surface carries its whole transformation', async () => {
  const { image } = await read(geotiff(raster(7, 5), turned));
  const directory = image.fileDirectory;
  const at = await directory.loadValue('ModelTransformation');
  allNear(
    Array.from(at as ArrayLike<number>).slice(0, 8),
    [0.25 * cos, -0.25 * sin, 0, 500_000.5, -0.25 * sin, -0.25 * cos, 0, 5_000_064.25],
    {
      absolute: 1e-12,
    },
  );
  expect(directory.hasTag('ModelPixelScale')).toBe(false);
});

test('a tremble in the last digits is not a turn', async () => {
  const { image } = await read(
    geotiff(raster(7, 5), { ...upright, columnStep: [0.25, 1e-12], rowStep: [-1e-12, -0.25] }),
  );
  expect(image.fileDirectory.hasTag('ModelPixelScale')).toBe(true);
});

test('a surface with its error has two bands, each with its own cells', async () => {
  for (const [columns, rows] of [
    [7, 5],
    [200, 333],
  ]) {
    const given = {
      ...raster(columns, rows),
      sigma: Float32Array.from({ length: columns * rows }, (_, k) => k / 1000),
    };
    const file = await fromArrayBuffer(geotiff(given, upright).slice().buffer as ArrayBuffer);
    const image = await file.getImage();
    expect(image.getSamplesPerPixel()).toBe(2);
    const [values, sigma] = (await image.readRasters()) as unknown as [Float32Array, Float32Array];
    expect(Buffer.from(values.buffer).equals(Buffer.from(given.values.buffer))).toBe(true);
    expect([...sigma]).toEqual([...given.sigma]);
  }
});

test('the same surface gives the same bytes', () => {
  expect(geotiff(raster(50, 40), turned)).toEqual(geotiff(raster(50, 40), turned));
});

test('a surface that no GeoTIFF can hold is refused', () => {
  const vast = { ...raster(2, 2), columns: 40_000, rows: 40_000, values: { length: 1_600_000_000 } as Float32Array };
  expect(() => geotiff(vast, upright)).toThrow(/40000 × 40000 cells .* 4 GiB/);
});

const gdal = spawnSync('gdalinfo', ['--version']).status === 0;
if (!gdal && process.env.CI === 'true')
  throw new Error('gdalinfo is missing: the CI must check what a GIS desktop reads');

describe.skipIf(!gdal)(`what GDAL reads${gdal ? '' : ' (skipped: gdalinfo is not installed)'}`, () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'geotiff-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  function info(bytes: Uint8Array) {
    const path = join(folder, 'surface.tif');
    writeFileSync(path, bytes);
    const run = spawnSync('gdalinfo', ['-json', '-stats', path], { encoding: 'utf8' });
    expect(run.stderr).toBe('');
    rmSync(`${path}.aux.xml`, { force: true });
    return { json: JSON.parse(run.stdout.replaceAll(/:\s*nan\b/gi, ':null')), path };
  }

  test('size, place, CRS, kind of cell, missing value, title and unit', () => {
    const { json, path } = info(geotiff(raster(70, 50), upright));
    expect(json.size).toEqual([70, 50]);
    expect(json.geoTransform).toEqual([500_000.5, 0.25, 0, 5_000_064.25, 0, -0.25]);
    expect(json.coordinateSystem.wkt).toMatch(/WGS 84 \/ UTM zone 33N/);
    expect(json.metadata[''].AREA_OR_POINT).toBe('Area');
    const [band] = json.bands;
    expect(band.type).toBe('Float32');
    expect(band.description).toBe('Thickness "north" of the wreck & more, über <1 m');
    expect(band.unit).toBe('m');
    expect(String(band.noDataValue ?? 'NaN')).toBe('NaN');
    const known = raster(70, 50).values.filter((v) => !Number.isNaN(v));
    near(band.mean, known.reduce((sum, v) => sum + v, 0) / known.length, { absolute: 5.1e-4 });
    const value = execFileSync('gdallocationinfo', ['-valonly', path, '12', '34'], { encoding: 'utf8' });
    near(Number(value), raster(70, 50).values[34 * 70 + 12], { relative: 1e-12 });
  });

  test('a turned surface', () => {
    const { json } = info(geotiff(raster(7, 5), turned));
    allNear(json.geoTransform, [500_000.5, 0.25 * cos, -0.25 * sin, 5_000_064.25, -0.25 * sin, -0.25 * cos], {
      absolute: 1e-12,
    });
  });

  test('a surface in a CRS without code keeps its coordinates in metres and claims no known CRS', () => {
    const path = join(folder, 'local.tif');
    writeFileSync(path, geotiff(raster(7, 5), { ...upright, epsg: null }));
    const told = execFileSync('gdalinfo', [path], { encoding: 'utf8' });
    expect(told).toMatch(/Origin = \(500000\.50*,5000064\.250*\)/);
    expect(told).toMatch(/LENGTHUNIT\["metre",1/);
    expect(told).not.toMatch(/PROJCRS|UTM/);
  });
});
