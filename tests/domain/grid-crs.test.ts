import { execFileSync } from 'node:child_process';
import proj4 from 'proj4';
import { describe, expect, test } from 'vitest';
import { projectionOf } from '../../src/domain/crs.js';
import { crsText } from '../../src/domain/crs-text.js';
import { gridFrame } from '../../src/domain/grid.js';
import { siteGridCrs } from '../../src/domain/grid-crs.js';
import { type GridRecord, gridSchema } from '../../src/domain/site.js';
import { systemPart } from '../support/running-service.js';

const gdal = systemPart('gdaltransform', 'gdal-bin');

const gridOf = (over: Partial<GridRecord>): GridRecord =>
  gridSchema.parse({
    id: 'g1',
    crs: 'EPSG:32626',
    origin_easting: 412037.4,
    origin_northing: 4984118.25,
    azimuth_deg: 27.35,
    scale: 0.999695,
    columns: 34,
    rows: 20,
    ...over,
  });

/** grids of the north and the south, of every quarter of the compass, taped and on the map's own metre */
const grids: readonly (readonly [string, Partial<GridRecord>])[] = [
  ['the demo', {}],
  ['along map_grid_north', { azimuth_deg: 0 }],
  ['site_north to the east', { azimuth_deg: 91.2 }],
  ['site_north to the south', { azimuth_deg: 179.4 }],
  ['site_north to the south-west', { azimuth_deg: 231 }],
  ['site_north to the north-west', { azimuth_deg: -40.5 }],
  ['on the map metre', { scale: 1 }],
  ['a long grid', { columns: 200, rows: 60 }],
  [
    'south of the equator',
    { crs: 'EPSG:32755', origin_easting: 700_123.4, origin_northing: 5_801_000, azimuth_deg: 118 },
  ],
  ['on ETRS89', { crs: 'EPSG:25833', origin_easting: 340_000, origin_northing: 6_400_000, azimuth_deg: 300 }],
  [
    'on a PROJ string',
    {
      crs: '+proj=tmerc +lat_0=0 +lon_0=9 +k=1 +x_0=500000 +y_0=0 +ellps=GRS80 +units=m +no_defs',
      origin_easting: 510_000,
      origin_northing: 5_900_000,
    },
  ],
];

const corners = (grid: GridRecord): [number, number][] => {
  const [w, h] = [grid.columns * grid.node_spacing, grid.rows * grid.node_spacing];
  return [
    [0, 0],
    [w, 0],
    [w, h],
    [0, h],
    [w / 3, h / 4],
  ];
};

function transformed(from: string, to: string, points: readonly (readonly [number, number])[]): number[][] {
  const input = points.map((p) => p.join(' ')).join('\n');
  const text = execFileSync('gdaltransform', ['-s_srs', from, '-t_srs', to, '-output_xy'], {
    input: `${input}\n`,
    encoding: 'utf8',
    stdio: ['pipe', 'pipe', 'ignore'],
  });
  return text
    .trim()
    .split('\n')
    .map((line) => line.split(/\s+/).map(Number));
}

describe.each(grids)('a site grid as a CRS: %s', (_, over) => {
  const grid = gridOf(over);
  const frame = gridFrame(grid);
  const made = siteGridCrs(grid, 'A ledge');

  test('corners land within a millimetre by proj4, and the deviation told is the one found', () => {
    expect(made).not.toBeNull();
    const projection = proj4(made?.proj as string);
    let largest = 0;
    for (const [x, y] of corners(grid)) {
      const [px, py] = projection.forward(frame.toLonLat(x, y));
      largest = Math.max(largest, Math.hypot(px - x, py - y));
    }
    expect(largest).toBeLessThan(0.001);
    expect(made?.deviationM).toBeGreaterThanOrEqual(largest * 0.99);
    expect(made?.deviationM).toBeLessThan(0.001);
  });

  test.skipIf(!gdal)('corners land within a millimetre by PROJ, from the PROJ string and from WKT 2', () => {
    const points = corners(grid);
    const projected = points.map(([x, y]) => frame.toProjected(x, y));
    for (const to of [made?.proj as string, made?.wkt2 as string]) {
      expect(to).toBeTruthy();
      transformed(frame.projection.proj, to, projected).forEach(([x, y], i) => {
        expect(Math.hypot(x - points[i][0], y - points[i][1]), to).toBeLessThan(0.001);
      });
    }
  });
});

test('the azimuth told is the one from true_north: map azimuth and convergence', () => {
  // convergence of UTM at the demo: −0.7879° (tests/reference/utm.json has the series)
  const made = siteGridCrs(gridOf({ azimuth_deg: 0 }), 'A ledge');
  const lat = (44.999 * Math.PI) / 180;
  const [lon] = gridFrame(gridOf({})).toLonLat(0, 0);
  const sphere = (Math.atan(Math.tan(((lon + 27) * Math.PI) / 180) * Math.sin(lat)) * 180) / Math.PI;
  expect(made?.azimuthFromTrueNorthDeg).toBeCloseTo(sphere, 3);
});

test('no CRS is offered where none fits: an area-true projection, a grid of kilometres', () => {
  const laea = '+proj=laea +lat_0=52 +lon_0=10 +x_0=4321000 +y_0=3210000 +ellps=GRS80 +units=m +no_defs';
  const far = { crs: laea, origin_easting: 2_900_000, origin_northing: 2_500_000, scale: 1 };
  expect(siteGridCrs(gridOf(far), 'A ledge')).toBeNull();
  expect(siteGridCrs(gridOf({ columns: 2000, rows: 2000, node_spacing: 10 }), 'A ledge')).toBeNull();
});

test('a datum that well-known text cannot tell is told by the PROJ string alone', () => {
  const shifted =
    '+proj=tmerc +lat_0=0 +lon_0=9 +k=1 +x_0=3500000 +y_0=0 +ellps=bessel +towgs84=598.1,73.7,418.2,0.202,0.045,-2.455,6.7 +units=m +no_defs';
  const made = siteGridCrs(gridOf({ crs: shifted, origin_easting: 3_510_000, origin_northing: 5_900_000 }), 'A ledge');
  expect(made?.wkt2).toBeNull();
  expect(made?.proj).toContain('+towgs84=598.1');
  expect(made?.deviationM).toBeLessThan(0.001);
});

test('quotes in the name of a site do not end the text early', () => {
  expect(siteGridCrs(gridOf({}), 'The "Ledge"')?.wkt2).toContain('"The ""Ledge"": site grid g1"');
});

test.skipIf(!gdal)('both forms of a projected CRS are the projection of our table, by PROJ', () => {
  for (const code of ['EPSG:32626', 'EPSG:32755', 'EPSG:25833', 'EPSG:3006', 'EPSG:3067']) {
    const projection = projectionOf(code);
    const text = crsText(projection);
    const place: [number, number] = [612_345.678, 6_123_456.789];
    const lonLat = projection.toLonLat(...place);
    for (const wkt of [text?.wkt1, text?.wkt2]) {
      const [[e, n]] = transformed('OGC:CRS84', wkt as string, [lonLat]);
      expect(Math.hypot(e - place[0], n - place[1]), code).toBeLessThan(1e-3);
    }
  }
  const own = projectionOf('+proj=utm +zone=26 +datum=WGS84 +units=m +no_defs');
  expect(crsText(own)).toBeNull();
});
