import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { gridFrame, squareLabel } from '../../src/domain/grid.js';
import { siteSchema } from '../../src/domain/site.js';
import { near } from '../support/near.js';
import { type RunningService, startService, system, systemPart, wreckfield } from '../support/running-service.js';

// GDAL stands for any desktop that speaks these standards: it is the library most of them read with
const gdal = systemPart('gdal_contour', 'gdal-bin');

/** An invented site whose deposit is two planes, so that every value between the nodes is known. */
const siteFile = {
  id: 'two-planes',
  name: 'Two planes (invented)',
  vertical_datum: {
    name: 'pin 1',
    kind: 'control_point_plane',
    hydrographic_datum: 'mean sea level',
    offset_m: -14,
    offset_sigma_m: 0.1,
  },
  grids: [
    {
      id: 'g1',
      crs: 'EPSG:32626',
      origin_easting: 412037.4,
      origin_northing: 4984118.25,
      azimuth_deg: 27.35,
      columns: 12,
      rows: 8,
    },
  ],
  seasons: [{ id: 'S1' }, { id: 'S2' }],
  artefact_classes: [{ id: 'jar' }],
  bathymetry: {
    file: 'bathymetry.xyz',
    crs: 'EPSG:32626',
    vertical_datum: 'mean sea level',
    sign: 'depth_down_positive',
    iho_order: 'special',
    licence: 'CC0-1.0',
  },
};
const site = siteSchema.parse(siteFile);
const frame = gridFrame(site.grids[0]);
const top = (x: number, y: number) => 0.35 + 0.06 * x - 0.045 * y;
const bottom = (x: number, y: number) => top(x, y) - 0.25 - 0.02 * x;
/** depth below mean sea level, by easting and northing */
const depth = (e: number, n: number) => 14 + 0.02 * (e - 412040) - 0.01 * (n - 4984120);

function writeSite(folder: string): void {
  writeFileSync(join(folder, 'site.json'), JSON.stringify(siteFile));
  writeFileSync(join(folder, 'excavated-squares.csv'), 'season,square,part,progress\nS1,A1,,to_deposit_bottom\n');
  writeFileSync(
    join(folder, 'finds.csv'),
    'find,season,artefact_class,position_kind,local_x,local_y,z_elevation\n1,S1,jar,point,0.5,0.25,0.3\n2,S2,jar,point,40,0,0.1\n',
  );
  const levels = ['node,season,surface,value,kind,sigma,state'];
  for (let row = 0; row <= 8; row++) {
    for (let column = 0; column <= 12; column++) {
      const node = squareLabel(site.grids[0], column, row);
      levels.push(`${node},S1,deposit_top,${top(column, row)},elevation,0.03,undisturbed`);
      levels.push(`${node},S1,deposit_bottom,${-bottom(column, row)},depth,0.03,after_dig`);
    }
  }
  writeFileSync(join(folder, 'levels.csv'), `${levels.join('\n')}\n`);
  const soundings = ['easting,northing,depth'];
  for (let e = 412020; e <= 412060; e += 2)
    for (let n = 4984100; n <= 4984140; n += 2) soundings.push(`${e},${n},${depth(e, n)}`);
  writeFileSync(join(folder, 'bathymetry.xyz'), `${soundings.join('\n')}\n`);
}

interface Info {
  readonly size: [number, number];
  readonly geoTransform: [number, number, number, number, number, number];
  readonly coordinateSystem: { readonly wkt: string };
  readonly bands: readonly { type: string; noDataValue: unknown; description?: string; unit?: string }[];
}
type Features = { numberMatched: number; features: { properties: Record<string, never>; geometry: never }[] };

describe.skipIf(!gdal)('GDAL reads surfaces, contours and soundings of two planes', () => {
  let service: RunningService;
  let base: string;
  let folder: string;
  const file = (name: string) => join(folder, name);

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'wreckfield-planes-'));
    mkdirSync(file('site'));
    mkdirSync(file('data'));
    writeSite(file('site'));
    const imported = await wreckfield(['import', file('site'), '--json'], { DATA_DIR: file('data') });
    expect(JSON.parse(imported.out)).toMatchObject({ site: 'two-planes', version: 1 });
    service = await startService({ DATA_DIR: file('data'), WORKERS: '1' }, 'cli.js');
    base = `${service.url}/sites/two-planes`;
  }, 90_000);
  afterAll(async () => {
    await service?.stop();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });

  const download = async (collection: string) => {
    const answer = await fetch(`${base}/collections/${collection}/coverage`);
    expect(answer.status).toBe(200);
    const path = file(`${collection}.tif`);
    writeFileSync(path, new Uint8Array(await answer.arrayBuffer()));
    return path;
  };
  const items = async (path: string) => (await (await fetch(`${base}/collections/${path}`)).json()) as Features;
  const valueAt = async (path: string, [e, n]: readonly [number, number]) => {
    const text = await system('gdallocationinfo', ['-valonly', '-geoloc', path, String(e), String(n)]);
    return text.trim().split('\n').map(Number);
  };

  test('a surface: two Float32 bands in the CRS of the site, upright, NaN where there is none', async () => {
    const path = await download('deposit-top');
    const info = JSON.parse(await system('gdalinfo', ['-json', path])) as Info;
    expect(info.coordinateSystem.wkt).toMatch(/UTM zone 26N/);
    expect(info.bands.map(({ type }) => type)).toEqual(['Float32', 'Float32']);
    expect(String(info.bands[0].noDataValue)).toMatch(/nan/i);
    expect(info.bands[0].description).toMatch(/elevation in pin 1/);
    expect(info.bands[1].description).toMatch(/standard deviation/);
    const [west, pixel, turnA, north, turnB, down] = info.geoTransform;
    expect([turnA, turnB]).toEqual([0, 0]);
    near(down, -0.2, { absolute: 1e-9 });
    near(pixel, 0.2, { absolute: 1e-9 });
    // at the pixel that holds the middle node the value of its centre, and half the error of one node at most
    const [e, n] = frame.toProjected(6, 4);
    const [column, row] = [Math.floor((e - west) / pixel), Math.floor((north - n) / pixel)];
    const centre = frame.fromProjected(west + (column + 0.5) * pixel, north - (row + 0.5) * pixel);
    const [value, sigma] = await valueAt(path, [e, n]);
    near(value, top(...centre), { absolute: 1e-6 });
    expect(sigma).toBeGreaterThanOrEqual(0.015 - 1e-6);
    expect(sigma).toBeLessThanOrEqual(0.03 + 1e-6);
    expect((await valueAt(path, frame.toProjected(-0.5, 4)))[0]).toBeNaN();
  }, 60_000);

  test('gdal_contour draws the same lines through the surface as the collection holds', async () => {
    for (const [collection, field, plane] of [
      ['deposit-top', 'elevation_m', top],
      ['deposit-bottom', 'elevation_m', bottom],
      ['thickness', 'thickness_m', (x: number, y: number) => top(x, y) - bottom(x, y)],
    ] as const) {
      const path = await download(collection);
      const own = await items(`${collection}-contours/items?crs=http://www.opengis.net/def/crs/EPSG/0/32626&limit=500`);
      const interval = Number(own.features[0].properties['interval_m']);
      const out = file(`${collection}-contours.geojson`);
      await system('gdal_contour', ['-q', '-a', 'elev', '-i', String(interval), '-f', 'GeoJSON', path, out]);
      const drawn = JSON.parse(readFileSync(out, 'utf8')) as Features;
      const placed = (lines: Features, name: string, sought: number) =>
        lines.features
          .filter(({ properties }) => Math.abs(Number(properties[name]) - sought) < 1e-6)
          .flatMap(({ geometry }) => (geometry as { coordinates: [number, number][] }).coordinates);
      const levels = [...new Set(own.features.map(({ properties }) => Number(properties[field])))];
      const theirs = [...new Set(drawn.features.map(({ properties }) => Number(properties['elev'])))];
      expect(levels.length).toBeGreaterThan(2);
      let compared = 0;
      // a line that only cuts a corner of the ground may lie outside the middles of GDAL's cells
      for (const level of theirs)
        expect(
          levels.some((l) => Math.abs(l - level) < 1e-9),
          `${collection} ${level}`,
        ).toBe(true);
      expect(levels.length - theirs.length).toBeLessThanOrEqual(2);
      for (const level of levels) {
        // on a plane a line stands where the plane has its level: both within a millimetre of height over slope
        for (const [e, n] of placed(own, field, level))
          near(plane(...frame.fromProjected(e, n)), level, { absolute: 2e-5 });
        // beyond the middles of the outermost cells GDAL goes on levelly: there its lines are no plane's
        const inner = placed(drawn, 'elev', level)
          .map(([e, n]) => frame.fromProjected(e, n))
          .filter(([x, y]) => x > 0.3 && y > 0.3 && x < 11.7 && y < 7.7);
        for (const [x, y] of inner) near(plane(x, y), level, { absolute: 2e-5 });
        compared += inner.length;
      }
      expect(compared).toBeGreaterThan(100);
    }
  }, 90_000);

  test('contours, nodes and footprints are layers', async () => {
    const text = await system('ogrinfo', ['-ro', '-al', '-so', `OAPIF:${base}`, 'thickness-contours']);
    expect(text).toMatch(/Geometry: Line String/);
    expect(text).toMatch(/thickness_m: Real/);
    const own = await items('thickness-contours/items');
    expect(Number(/Feature Count: (\d+)/.exec(text)?.[1])).toBe(own.numberMatched);
    const footprint = await items('thickness/items');
    expect(footprint.numberMatched).toBe(1);
    expect(footprint.features[0].geometry).toMatchObject({ type: 'Polygon' });
    const [node] = (await items('grid-nodes/items?node=C2')).features;
    expect(node.properties).toMatchObject({ state: 'complete', thickness: 0.29, state_deposit_top: 'undisturbed' });
    // no height in the third coordinate: the datum is none of a map's
    expect((node.geometry as { coordinates: number[] }).coordinates.length).toBe(2);
    const [find] = (await items('finds/items?find=1')).features;
    near(find.properties['thickness_at_find'], 0.26, { absolute: 1e-9 });
    near(find.properties['relative_depth'], (top(0.5, 0.25) - 0.3) / 0.26, { absolute: 6e-4 });
    for (const name of ['square', 'local_x', 'local_y', 'sigma_xy', 'sigma_z', 'position_kind', 'distance_to_hull_m'])
      expect(find.properties, name).toHaveProperty(name);
  }, 60_000);

  test('soundings come as GeoTIFF, up-positive, with the error of their order as second band', async () => {
    const path = await download('bathymetry');
    const info = JSON.parse(await system('gdalinfo', ['-json', path])) as Info;
    expect(info.size).toEqual([21, 21]);
    expect(info.coordinateSystem.wkt).toMatch(/UTM zone 26N/);
    const [value, sigma] = await valueAt(path, [412040, 4984120]);
    near(value, -14, { absolute: 1e-6 });
    // S-44 special order at 14 m: √(0.25² + (0.0075·14)²), 95 %
    near(sigma, Math.hypot(0.25, 0.105) / 1.959964, { relative: 1e-6 });
    const lines = await items('bathymetry-contours/items?crs=http://www.opengis.net/def/crs/EPSG/0/32626');
    expect(lines.numberMatched).toBeGreaterThan(0);
    for (const { properties, geometry } of lines.features) {
      expect(properties).toMatchObject({ uncertainty: 'IHO S-44 order special', vertical_datum: 'mean sea level' });
      for (const [e, n] of (geometry as { coordinates: [number, number][] }).coordinates)
        near(-depth(e, n), Number(properties['elevation_m']), { absolute: 2e-5 });
    }
  }, 60_000);

  test('the seasons chosen make the surface; one without levels is refused, one unknown too', async () => {
    const status = async (path: string) => (await fetch(`${base}/collections/${path}`)).status;
    expect(await status('deposit-top/coverage?season=S1')).toBe(200);
    expect(await status('deposit-top/coverage?season=S2')).toBe(422);
    expect(await status('deposit-top/coverage?season=S9')).toBe(400);
    expect((await items('deposit-top/items?season=S2')).numberMatched).toBe(0);
    expect((await items('thickness-contours/items?season=S2')).numberMatched).toBe(0);
    const all = await items('thickness-contours/items');
    expect((await items('thickness-contours/items?season=S1')).numberMatched).toBe(all.numberMatched);
    expect(await status('thickness-contours/items/1?season=S1')).toBe(200);
    expect(await status('thickness-contours/items/1?season=S2')).toBe(404);
    expect(await status('finds/items/1?season=S1')).toBe(400);
    expect((await items('grid-nodes/items?season=S2&node=C2')).features[0].properties['deposit_top']).toBeNull();
  }, 60_000);
});
