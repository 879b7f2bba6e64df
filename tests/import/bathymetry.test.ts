import { writeArrayBuffer } from 'geotiff';
import { expect, test } from 'vitest';
import { siteSchema } from '../../src/domain/site.js';
import { bathymetryFacts, surfaceContents } from '../../src/import/bathymetry.js';
import { checkFolder, complaintSentence } from '../../src/import/import-folder.js';
import { folderWith, siteWith } from '../support/site-folders.js';

const place = {
  ModelPixelScale: [0.5, 0.5, 0],
  ModelTiepoint: [0, 0, 0, 500000, 100, 0],
  GTModelTypeGeoKey: 1,
};

const raster = async (more: Record<string, unknown>): Promise<Uint8Array> =>
  new Uint8Array(
    await writeArrayBuffer(new Float32Array(6), {
      width: 3,
      height: 2,
      SampleFormat: [3],
      BitsPerSample: [32],
      ...more,
    }),
  );

const right = { ...place, ProjectedCSTypeGeoKey: 32631, GDAL_NODATA: '-9999' };

const stated = siteWith({
  bathymetry: {
    file: 'bathymetry.tif',
    vertical_datum: 'mean sea level',
    sign: 'elevation_up_positive',
    uncertainty_m: 0.25,
    licence: 'CC0-1.0',
  },
});

const said = async (changes: Parameters<typeof folderWith>[0]) =>
  (await checkFolder(folderWith(changes))).complaints.first.map(complaintSentence);

test('size, CRS and the value for "not surveyed"', async () => {
  expect(await bathymetryFacts(await raster(right))).toEqual({ columns: 3, rows: 2, crs: 'EPSG:32631', noData: -9999 });
});

test('a stated bathymetry is looked into', async () => {
  expect(await said({ 'site.json': stated, 'bathymetry.tif': await raster(right) })).toEqual([]);
  expect((await said({ 'site.json': stated, 'bathymetry.tif': new Uint8Array(200) }))[0]).toMatch(
    /bathymetry.tif: cannot be read as GeoTIFF/,
  );
  const unknown = await raster({ ...right, ProjectedCSTypeGeoKey: 27700 });
  expect((await said({ 'site.json': stated, 'bathymetry.tif': unknown }))[0]).toMatch(/EPSG:27700/);
  const without = await raster({
    ...place,
    ModelTiepoint: [0, 0, 0, 1, 1, 0],
    GTModelTypeGeoKey: 2,
    GeographicTypeGeoKey: 4326,
  });
  expect((await said({ 'site.json': stated, 'bathymetry.tif': without }))[0]).toMatch(/names no projected CRS/);
});

test('stated but absent, present but not stated', async () => {
  expect((await said({ 'site.json': stated }))[0]).toMatch(/bathymetry.tif: is named in site.json/);
  expect((await said({ 'bathymetry.tif': await raster(right) }))[0]).toMatch(/is not named in site.json/);
});

const read = async (
  bytes: Uint8Array,
  more: Record<string, unknown> = {},
  near: [number, number, number, number] | null = null,
) => {
  const { bathymetry, csv } = siteSchema.parse(JSON.parse(stated));
  const request = { stated: { ...bathymetry!, ...more }, csv, near: near && (() => near), mostCells: near ? 4 : 1000 };
  return surfaceContents(bytes, request);
};
const filled = async (more: Record<string, unknown> = {}) =>
  new Uint8Array(
    await writeArrayBuffer(Float32Array.of(1, 2, 3, 4, -9999, 6), {
      width: 3,
      height: 2,
      SampleFormat: [3],
      BitsPerSample: [32],
      ...right,
      ...more,
    }),
  );

test('cells come out up-positive, without a value where nothing was surveyed', async () => {
  const { box, cells } = await read(await filled());
  expect(box).toEqual([500000, 99, 500001.5, 100]);
  expect(Array.from(cells().values)).toEqual([1, 2, 3, 4, Number.NaN, 6]);
  const depths = await read(await filled(), { sign: 'depth_down_positive' });
  expect(Array.from(depths.cells().values)).toEqual([-1, -2, -3, -4, Number.NaN, -6]);
});

test('a tie point may be the middle of a cell', async () => {
  const { box } = await read(await filled({ GTRasterTypeGeoKey: 2 }));
  expect(box).toEqual([499999.75, 99.25, 500001.25, 100.25]);
});

test('of a large raster only the part around the site is read', async () => {
  const { box, cells } = await read(await filled(), {}, [500000.6, 99, 500001.4, 99.4]);
  expect(box).toEqual([500000, 99, 500001.5, 100]);
  expect([cells().columns, cells().rows, ...cells().corner]).toEqual([2, 1, 500000.5, 99.5]);
  expect(Array.from(cells().values)).toEqual([Number.NaN, 6]);
});

test('a CRS stated beside another in the file is refused, one stated for a file without any is taken', async () => {
  await expect(read(await filled(), { crs: 'EPSG:32632' })).rejects.toThrow(
    /is in EPSG:32631, but site.json says EPSG:32632/,
  );
  const { ProjectedCSTypeGeoKey: _, ...unnamed } = right;
  const file = await raster({ ...unnamed, ProjectedCSTypeGeoKey: 32767 });
  expect((await read(file, { crs: 'EPSG:32631' })).crs).toBe('EPSG:32631');
});
