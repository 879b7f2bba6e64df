import { writeArrayBuffer } from 'geotiff';
import { expect, test } from 'vitest';
import { bathymetryFacts } from '../../src/import/bathymetry.js';
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
