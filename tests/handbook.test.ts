import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Analysis } from '../src/analyses/contract.js';
import depositVolume from '../src/analyses/deposit-volume/index.js';
import { executeAnalysis } from '../src/analyses/execute.js';
import gridFit from '../src/analyses/grid-fit/index.js';
import { checkInputs } from '../src/analyses/inputs.js';
import surveyAdjustment from '../src/analyses/survey-adjustment/index.js';
import { fromWebMercator, toWebMercator } from '../src/domain/crs.js';
import { squareAt } from '../src/domain/grid.js';
import { mapPlace, utmZone } from '../src/math/norths.js';
import { totalVerticalUncertaintyM } from '../src/math/vertical-uncertainty.js';
import { tileExtent } from '../src/tiles/matrix-set.js';
import { type DemoStore, openDemo } from './support/demo.js';
import { readingsOf as levelReadings, nodeLevels } from './support/levelled-nodes.js';
import { near } from './support/near.js';
import { sampleOf } from './support/sample-of.js';
import { smallSite } from './support/small-site.js';
import { readingsOf } from './support/survey-readings.js';

// Rules and figures that the trade's handbooks print, asked of the program that has to know them. Others of the same
// pages stand beside what they test: two-tape fixes and offsets (survey-adjustment), the tide example
// (tide-reduction), the limits of S-44 (vertical-uncertainty), convergence over a site (norths).

function adjusted(given: Parameters<typeof readingsOf>[0], inputs: Record<string, unknown> = {}) {
  const analysis = surveyAdjustment as unknown as Analysis;
  const sample = sampleOf([], { rings: [] }, { readings: readingsOf(given) });
  const { summary } = executeAnalysis(analysis, sample, checkInputs(analysis, inputs), () => {});
  return surveyAdjustment.result.parse(summary);
}

describe('tapes', () => {
  test('a reading good to 25 mm makes a position good to 43 mm in space', () => {
    // Holt 2003, International Journal of Nautical Archaeology 32, on the quality of tape surveys under water
    const { points } = adjusted(
      {
        control: [
          ['A', 10, 0, 0],
          ['B', 0, 10, 0],
          ['C', 0, 0, 10],
        ],
        measurements: (['A', 'B', 'C'] as const).map((from) => [from, 'P', 'distance', 10, 0.025] as const),
      },
      { dimensions: '3', start: [{ name: 'P', x: 0, y: 0, z: 0 }] },
    );
    const { sx, sy, sz } = points['P'];
    near(1000 * Math.hypot(sx, sy, sz as number), 43, { absolute: 0.5 });
  });

  test.each([
    // Green 2004, Maritime Archaeology, page 91, prints 9.95 m for 0.1 m in 10 m; the right value is 9.9995 m
    [0.1, 0.5],
    [0.5, 12.5],
  ])('10 m taped over a height of %d m lose %d mm in plan', (height, millimetres) => {
    const { measurements } = adjusted(
      {
        control: [
          ['A', 0, 0, 0],
          ['B', 6, 8, 0],
        ],
        measurements: [
          ['A', 'P', 'distance', 10, 0.025],
          ['B', 'P', 'distance', 10, 0.025],
          [null, 'P', 'elevation', height, 0.02],
        ],
      },
      { dimensions: '2' },
    );
    const [first] = measurements;
    near(1000 * (10 - (first.reduced as number)), millimetres, { absolute: 0.02 });
  });

  test('a cut of 1° at 1,000 units: the fix lies off the line, and a unit on both tapes carries it far', () => {
    // Green 2004, page 101: about 17 off the line; one unit more on the tapes makes it 48
    const control = [
      ['A', -1000, 0],
      ['B', 1000, 0],
    ] as const;
    const off = (reading: number) => {
      const { points } = adjusted(
        {
          control: [...control],
          measurements: [
            ['A', 'P', 'distance', reading, 0.5],
            ['B', 'P', 'distance', reading, 0.5],
          ],
        },
        { start: [{ name: 'P', x: 0, y: 20 }] },
      );
      return points['P'].y;
    };
    // each tape lies 1° off the line between its ends
    const first = 1000.1445;
    near(off(first), 17, { absolute: 0.05 });
    near(off(first + 1), 48, { absolute: 0.3 });
  });
});

describe('levels and volumes', () => {
  const rows = (['deposit_top', 'deposit_bottom'] as const).flatMap((surface) =>
    nodeLevels({
      columns: 11,
      rows: 11,
      surface,
      sigma: 0.03,
      field: () => (surface === 'deposit_top' ? -13.7 : -14),
    }),
  );
  const volume = (inputs: Record<string, unknown> = {}, more = rows) => {
    const sample = sampleOf([], { rings: [] }, { levels: levelReadings(more), dug: [] });
    const analysis = depositVolume as unknown as Analysis;
    const { summary } = executeAnalysis(analysis, sample, checkInputs(analysis, inputs), () => {});
    return depositVolume.result.parse(summary);
  };

  test('30 mm a level make 42 mm of thickness, 83 mm at 95 %', () => {
    // error propagation as in Brasington, Langham & Rumsby 2003, doi:10.1016/S0169-555X(02)00320-3
    const { thickness_sigma_m: sigma } = volume();
    near(1000 * sigma, 42, { absolute: 0.5 });
    near(1960 * sigma, 83, { absolute: 0.5 });
  });

  test('100 squares: ± 0.40 m³ from the nodes, 3.0 m³ from a common shift of 30 mm, which no number of nodes averages out', () => {
    // split of random and systematic error: Lane, Westaway & Hicks 2003, doi:10.1002/esp.483
    const summary = volume();
    near(summary.volume_m3, 30, { relative: 1e-12 });
    near(summary.sigma_random_m3, 0.4, { absolute: 0.005 });
    near(summary.sigma_shared_m3, 3, { absolute: 1e-9 });
  });

  test('a node stands for a quarter, a half or all of a square: at a corner, an edge, inside', () => {
    const base = volume().volume_m3;
    const raised = (x: number, y: number) =>
      volume(
        {},
        rows.map((row) =>
          row.surface === 'deposit_top' && row.x === x && row.y === y ? { ...row, elevation: row.elevation + 1 } : row,
        ),
      ).volume_m3 - base;
    near(raised(0, 0), 0.25, { absolute: 1e-9 });
    near(raised(5, 0), 0.5, { absolute: 1e-9 });
    near(raised(5, 5), 1, { absolute: 1e-9 });
  });

  test('the strictest chart order at 10 m allows about three times the error of a level', () => {
    // IHO S-44 edition 6, table 1: never difference site levels and bathymetry as equals
    near(totalVerticalUncertaintyM('exclusive', 10) / (1.96 * 0.03), 3, { absolute: 0.2 });
  });

  test('a find on the line between two squares belongs to the lower-numbered one', () => {
    // Muckelroy 1975, International Journal of Nautical Archaeology 4.2, 173–190: slack tapes read too far
    const [grid] = smallSite().grids;
    expect(squareAt(grid, 2, 1.5)).toBe(squareAt(grid, 1.5, 1.5));
    expect(squareAt(grid, 1.5, 2)).toBe(squareAt(grid, 1.5, 1.5));
  });
});

describe('maps', () => {
  test('UTM at its central meridian makes 30 m of tape 12 mm short', () => {
    const { pointScale } = mapPlace(3, 45, utmZone(31, 'north'));
    near(30_000 * (1 - pointScale), 12, { absolute: 1e-6 });
  });

  test.each([
    // measured on the ellipsoid’s web map: never measure there
    [25, 1.103],
    [40, 1.305],
    [55, 1.743],
  ])('at %d° a web map draws everything %d times too large', (latitude, inflation) => {
    const [x0, y0] = toWebMercator(10, latitude);
    // 1/cos φ of the sphere that the web map takes the earth for
    const radius = 6378137;
    const [lon] = fromWebMercator(x0 + inflation, y0);
    near(((lon - 10) * Math.PI * radius * Math.cos((latitude * Math.PI) / 180)) / 180, 1, { absolute: 6e-4 });
  });

  test.each([
    [18, 37],
    [20, 9.3],
    [22, 2.3],
  ])('a vector tile of level %d steps by %d mm at the equator', (zoom, millimetres) => {
    const step = (1000 * 2 * Math.PI * 6378137) / 2 ** zoom / tileExtent;
    near(step, millimetres, { relative: 0.02 });
  });
});

describe('the four norths of the demo', () => {
  let demo: DemoStore;
  beforeAll(async () => {
    demo = await openDemo();
  });
  afterAll(() => demo.close());

  test('the declination of site.json enters with its date: true = magnetic + declination, grid = true − convergence', async () => {
    const { norths } = gridFit.result.parse((await demo.run('grid-fit')).summary);
    expect(norths).toMatchObject({ declination_deg: -9.4, declination_date: '2021-06-15' });
    near(norths.site_north_deg, 27.35, { absolute: 1e-9 });
    near(norths.true_north_deg, -(norths.convergence_deg as number), { absolute: 1e-9 });
    near(norths.magnetic_north_deg, -9.4 - (norths.convergence_deg as number), { absolute: 1e-9 });
    const given = await demo.run('grid-fit', { declination_deg: -9, declination_date: '2024-07-01' });
    expect(gridFit.result.parse(given.summary).norths).toMatchObject({
      declination_deg: -9,
      declination_date: '2024-07-01',
    });
  });
});
