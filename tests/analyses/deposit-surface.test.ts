import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import depositSurface from '../../src/analyses/deposit-surface/index.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { LevelReadings, Sample } from '../../src/domain/sample.js';
import { gridSchema } from '../../src/domain/site.js';
import { svgText } from '../../src/figures/svg.js';
import { randomStream } from '../../src/math/random.js';
import { answerParts } from '../../src/operations/answer-parts.js';
import { type DemoStore, openDemo, truth } from '../support/demo.js';
import { type LevelRow, readingsOf } from '../support/levelled-nodes.js';
import { allNear, near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';

const analysis = depositSurface as unknown as Analysis;
const window = windowOf([
  [
    [
      [0, 0],
      [12, 0],
      [12, 8],
      [0, 8],
    ],
  ],
]);
const sampleWith = (levels: LevelReadings | null, more: Partial<Sample> = {}) =>
  sampleOf([], window, { levels, ...more });

function run(sample: Sample, inputs: Record<string, unknown> = {}) {
  const answer = executeAnalysis(analysis, sample, checkInputs(analysis, inputs), () => {});
  const parsed = depositSurface.result.safeParse(answer.summary);
  expect(parsed.success, parsed.success ? '' : JSON.stringify(parsed.error.issues)).toBe(true);
  expect(svgText(answer.figure)).not.toMatch(/NaN|undefined|Infinity/);
  expect(answer.methods).toContain('m²');
  for (const row of answer.table.rows) expect(row).toHaveLength(answer.table.columns.length);
  return { ...answer, summary: depositSurface.result.parse(answer.summary) };
}

/** levels of a plane or any ground at the nodes of the window's grid */
function nodeRows(z: (x: number, y: number) => number, more: Partial<LevelRow> = {}): LevelRow[] {
  return Array.from({ length: 13 * 9 }, (_, k) => {
    const [x, y] = [k % 13, Math.floor(k / 13)];
    return { x, y, surface: 'deposit_top', elevation: z(x, y), sigma: 0.02, ...more };
  });
}
const plane = (x: number, y: number) => -31 + 0.04 * x - 0.03 * y;
const random = randomStream(77, 0);
const rough = nodeRows((x, y) => plane(x, y) + 0.2 * Math.sin(x / 2) * Math.cos(y / 3) + 0.01 * random.next());

const kriging = { method: 'ordinary-kriging', nugget: 0.001, sill: 0.04, range: 6 };
const everyMethod: [string, Record<string, unknown>][] = [
  ['bilinear', { method: 'bilinear' }],
  ['tin', { method: 'tin' }],
  ['inverse-distance', { method: 'inverse-distance' }],
  ['kriging, given', kriging],
  ['kriging, fitted', { method: 'ordinary-kriging', model: 'exponential' }],
  ['kriging, Gaussian', { method: 'ordinary-kriging', model: 'gaussian' }],
];

describe.each(everyMethod)('%s', (_, inputs) => {
  const sample = sampleWith(readingsOf(rough));

  test('gives every node back, whatever the mask, at and beyond the edge', () => {
    const at = rough.map(({ x, y }) => [x, y]);
    const { summary, coverage, features } = run(sample, { ...inputs, at, mask: 'window' });
    allNear(
      summary.prediction.map((v) => v ?? Number.NaN),
      rough.map((r) => r.elevation),
      { absolute: 1e-9 },
    );
    expect(summary.at[5]).toEqual({ x_m: 5, y_m: 0 });
    expect(summary).toMatchObject({ area_m2: null, cell_m: null, mean_surface_m: null });
    expect(coverage).toBeUndefined();
    expect(features).toBeUndefined();
  });

  test('raster, contours and area agree; equal runs give equal bytes; the sample is left as it was', () => {
    const levels = readingsOf(rough);
    const before = JSON.stringify(rough);
    const { summary, coverage, features } = run(sampleWith(levels), {
      ...inputs,
      cell_m: 0.5,
      contour_interval_m: 0.1,
    });
    const known = [...(coverage?.values ?? [])].filter((v) => !Number.isNaN(v));
    near(summary.area_m2, known.length * 0.25, { absolute: 1e-9 });
    near(summary.area_m2, 96, { absolute: 1e-9 });
    near(summary.mean_surface_m, known.reduce((a, b) => a + b, 0) / known.length, { absolute: 1e-5 });
    expect(coverage?.sigma).toHaveLength(coverage?.values.length ?? -1);
    expect([coverage?.columns, coverage?.rows]).toEqual([24, 16]);
    const levelsDrawn = Array.from({ length: features?.length ?? 0 }, (_, i) =>
      valueAt(features?.columns.get('elevation_m') ?? { kind: 'boolean', values: new Uint8Array(0) }, i),
    );
    expect(levelsDrawn.length).toBeGreaterThan(3);
    expect([...levelsDrawn].sort((a, b) => Number(a) - Number(b))).toEqual(levelsDrawn);
    for (const level of levelsDrawn) near(Number(level) / 0.1, Math.round(Number(level) / 0.1), { absolute: 1e-9 });
    const once = answerParts(executeAnalysis(analysis, sampleWith(levels), checkInputs(analysis, inputs), () => {}));
    const again = answerParts(executeAnalysis(analysis, sampleWith(levels), checkInputs(analysis, inputs), () => {}));
    for (const [name, bytes] of once) expect(Buffer.compare(bytes, again.get(name) as Uint8Array), name).toBe(0);
    expect(JSON.stringify(rough)).toBe(before);
  });

  test('moved by whole metres to map coordinates the numbers stay', () => {
    const away = rough.map((r) => ({ ...r, x: r.x + 412_000, y: r.y + 4_984_000 }));
    const places = [
      [3.3, 4.4],
      [7.25, 1.5],
    ];
    const here = run(sample, { ...inputs, at: places }).summary;
    const there = run(sampleWith(readingsOf(away)), {
      ...inputs,
      at: places.map(([x, y]) => [x + 412_000, y + 4_984_000]),
    }).summary;
    allNear(there.prediction.map(Number), here.prediction.map(Number), { absolute: 1e-8 });
    allNear(there.variance.map(Number), here.variance.map(Number), { absolute: 1e-8 });
  });
});

test('predictions, variances and leave-one-out of the reference by way of the inputs', () => {
  const { input, expected } = JSON.parse(
    readFileSync(new URL('../reference/krige_site_a_top.json', import.meta.url), 'utf8'),
  );
  const rows = input.x.map((x: number, i: number) => ({
    x,
    y: input.y[i],
    surface: 'deposit_top',
    elevation: input.z[i],
  }));
  const at = input.query_x.map((x: number, i: number) => [x, input.query_y[i]]);
  for (const [key, model] of [
    ['Sph', 'spherical'],
    ['Exp', 'exponential'],
    ['Gau', 'gaussian'],
  ]) {
    const { nugget, psill, range_parameter, prediction, variance, loo_rmse } = expected[key];
    const inputs = { method: 'ordinary-kriging', model, nugget, sill: psill, range: range_parameter, at };
    const { summary } = run(sampleWith(readingsOf(rows)), inputs);
    allNear(summary.prediction.map(Number), prediction, { absolute: 1e-9 });
    allNear(summary.variance.map(Number), variance, { absolute: 1e-9 * psill });
    near(summary.leave_one_out?.rmse_m, loo_rmse, { absolute: 1e-10 });
    expect(summary.variogram).toMatchObject({ model, nugget, sill: psill, range: range_parameter, fitted: [] });
  }
});

describe('nodes', () => {
  test('readings of a node and season are averaged with their σ; set aside ones do not count; newest or mean', () => {
    const at = (season: string, elevation: number, more: Partial<LevelRow> = {}): LevelRow => ({
      x: 0,
      y: 0,
      surface: 'deposit_top',
      season,
      elevation,
      sigma: 0.02,
      ...more,
    });
    const others = nodeRows(() => 1, { season: 'S1' }).filter(({ x, y }) => x + y > 0);
    const levels = readingsOf([at('S2', 3), at('S2', 5), at('S1', 1), at('S2', 90, { state: 'set_aside' }), ...others]);
    const sample = sampleWith(levels, { seasons: ['S1', 'S2'] });
    const newest = run(sample, { at: [[0, 0]] });
    expect(newest.summary.prediction).toEqual([4]);
    near(newest.summary.variance[0], 0.02 ** 2 / 2, { relative: 1e-12 });
    expect(newest.cautions.join(' ')).toMatch(/1 nodes were levelled more than once in a season.*2 m/);
    expect(newest.methods).toContain('1 readings set aside');
    expect(newest.methods).toContain('newest');
    const mean = run(sample, { at: [[0, 0]], node_value: 'mean' });
    expect(mean.summary.prediction).toEqual([2.5]);
    near(mean.summary.variance[0], (0.02 ** 2 / 2 + 0.02 ** 2) / 4, { relative: 1e-12 });
    const earlier = run({ ...sample, seasons: ['S2', 'S1'] }, { at: [[0, 0]] });
    expect(earlier.summary.prediction).toEqual([1]);
  });

  test('thickness is top less bottom of one season; inverted nodes are named, not mended', () => {
    const rows = [
      ...nodeRows(plane, { season: 'S1' }),
      ...nodeRows((x, y) => plane(x, y) - (x === 4 && y === 4 ? -0.1 : 0.3), {
        season: 'S1',
        surface: 'deposit_bottom',
      }),
      ...nodeRows((x, y) => plane(x, y) + 5, { season: 'S2' }).slice(0, 20),
    ];
    const { summary, cautions, coverage } = run(sampleWith(readingsOf(rows), { seasons: ['S1', 'S2'] }), {
      surface: 'thickness',
      at: [
        [4, 4],
        [1, 1],
        [10.5, 3],
      ],
    });
    allNear(summary.prediction.map(Number), [-0.1, 0.3, 0.3], { absolute: 1e-12 });
    near(summary.variance[1], 2 * 0.02 ** 2, { relative: 1e-12 });
    expect(cautions.join(' ')).toContain('1 nodes have their bottom above their top');
    expect(coverage).toBeUndefined();
  });

  test('a missing corner, a reading beside the grid and the mask', () => {
    const lacking = nodeRows(plane).filter(({ x, y }) => !(x === 5 && y === 5));
    const beside: LevelRow = { x: 2.4, y: 2.6, surface: 'deposit_top', elevation: -31, sigma: 0.02 };
    const sample = sampleWith(readingsOf([...lacking, beside]));
    const none = run(sample, { cell_m: 0.25 });
    expect(none.summary).toMatchObject({
      squares_four_nodes: 92,
      squares_three_nodes: 4,
      missing_nodes: 1,
      beside_grid: 1,
      n: 117,
    });
    near(none.summary.area_m2, 92, { absolute: 1e-9 });
    expect(none.cautions.join(' ')).toMatch(/1 levels lie beside every grid/);
    const triangle = run(sample, { cell_m: 0.1, missing_corner: 'triangle' });
    near(triangle.summary.area_m2, 94, { absolute: 0.3 });
    const all = run(sample, { cell_m: 0.25, method: 'inverse-distance' });
    near(all.summary.area_m2, 96, { absolute: 1e-9 });
    const half = windowOf([
      [
        [
          [0, 0],
          [6, 0],
          [6, 8],
          [0, 8],
        ],
      ],
    ]);
    const dug = { ...sample, window: half, windowAreaM2: 48 };
    near(run(dug, { cell_m: 0.25, method: 'tin', mask: 'window' }).summary.area_m2, 48, { absolute: 1e-9 });
    const wide = {
      ...sample,
      window: windowOf([
        [
          [
            [-2, 0],
            [12, 0],
            [12, 8],
            [-2, 8],
          ],
        ],
      ]),
      windowAreaM2: 112,
    };
    const open = run(wide, { cell_m: 0.25, ...kriging, mask: 'none' });
    near(open.summary.area_m2, 112, { absolute: 1e-9 });
    near(open.summary.area_beyond_nodes_m2, 16, { absolute: 1e-9 });
    expect(open.cautions.join(' ')).toMatch(/16 m² of the surface lie beyond the ground that was levelled/);
    const flags = open.features?.columns.get('beyond_nodes');
    const values = Array.from({ length: open.features?.length ?? 0 }, (_, i) => flags && valueAt(flags, i));
    expect(new Set(values)).toEqual(new Set([true, false]));
  });
});

/** the demo's turn and place for the window's grid */
const grid = gridSchema.parse({
  id: 'g1',
  crs: 'EPSG:32626',
  origin_easting: 412_037.4,
  origin_northing: 4_984_118.25,
  azimuth_deg: 27.35,
  columns: 12,
  rows: 8,
});

describe('refusals and few levels', () => {
  const few = (rows: [number, number, number][]) =>
    sampleWith(readingsOf(rows.map(([x, y, elevation]) => ({ x, y, surface: 'deposit_top', elevation }))));

  test('no levels, no levels of the surface, levels on no grid', () => {
    expect(() => run(sampleWith(null))).toThrow(/no levels in this selection/);
    expect(() => run(few([[0, 0, 1]]), { surface: 'hard_substrate' })).toThrow(
      /no levels of hard_substrate.*1 of deposit_top/,
    );
    expect(() =>
      run(
        few([
          [0, 0, 1],
          [1.3, 0.2, 2],
          [0.1, 2.9, 2],
          [5.7, 4.1, 1],
        ]),
      ),
    ).toThrow(/tin, inverse-distance or ordinary-kriging/);
    expect(() =>
      run(
        few([
          [0, 0, 1],
          [1, 1, 2],
          [2, 2, 2],
        ]),
        { method: 'tin' },
      ),
    ).toThrow(/one line/);
  });

  test('one, two, three and collinear levels answer as far as they can', () => {
    for (const rows of [
      [[0, 0, 1]],
      [
        [0, 0, 1],
        [1, 0, 2],
      ],
      [
        [0, 0, 1],
        [1, 0, 2],
        [0, 1, 3],
      ],
      [
        [0, 0, 1],
        [1, 1, 2],
        [2, 2, 4],
        [3, 3, 5],
      ],
    ] as [number, number, number][][]) {
      for (const inputs of [{ method: 'inverse-distance' }, kriging]) {
        const at = run(few(rows), {
          ...inputs,
          at: [
            [0, 0],
            [9, 9],
          ],
        });
        expect(at.summary.prediction[0]).toBe(1);
        expect(at.summary.prediction[1]).toBeGreaterThanOrEqual(1);
        const drawn = run(few(rows), inputs);
        expect(drawn.summary.n).toBe(rows.length);
        expect(drawn.coverage).toBeDefined();
      }
    }
    const three = run(
      {
        ...few([
          [0, 0, 1],
          [1, 0, 2],
          [0, 1, 3],
        ]),
        grid,
      },
      {
        missing_corner: 'triangle',
        at: [
          [0.25, 0.25],
          [0.9, 0.9],
        ],
      },
    );
    expect(three.summary.prediction).toEqual([1.75, null]);
    expect(three.summary.variance).toEqual([null, null]);
    expect(three.cautions.join(' ')).toMatch(/1 of the places asked/);
    expect(three.cautions.join(' ')).toMatch(/3 nodes are too few/);
  });

  test('a Gaussian model without nugget, a variogram from nothing, contours without end, too many cells', () => {
    const sample = sampleWith(readingsOf(rough));
    expect(() => run(sample, { ...kriging, model: 'gaussian', nugget: 0 })).toThrow(/nugget of at least/);
    expect(() =>
      run(
        few([
          [0, 0, 1],
          [5, 5, 2],
        ]),
        { method: 'ordinary-kriging' },
      ),
    ).toThrow(/give nugget, sill and range/);
    expect(() => run(sample, { contour_interval_m: 1e-6 })).toThrow(/larger interval/);
    expect(() => run(sample, { cell_m: 0.001 })).toThrow(/larger cells/);
    expect(() => run(sample, { ...kriging, lag_m: 1e-9 })).toThrow(/larger lag_m/);
    const level = sampleWith(readingsOf(nodeRows(() => -31)));
    expect(run(level).features).toHaveLength(0);
    expect(() => run(level, { method: 'ordinary-kriging' })).toThrow(/all levels are equal/);
    expect(run(level, { ...kriging, at: [[3.3, 3.3]] }).summary.prediction[0]).toBeCloseTo(-31, 12);
  });
});

test('on a site the raster follows the map, and the contours of a plane stay straight on the site grid', () => {
  const { coverage, features, summary } = run(sampleWith(readingsOf(nodeRows(plane)), { grid, mapAzimuthDeg: 27.35 }));
  expect(summary.node_spacing_m).toBe(1);
  if (!coverage || features?.geometry?.type !== 'line') throw new Error('no surface');
  const { columns, corner, columnStep, rowStep, values } = coverage;
  const turn = (27.35 * Math.PI) / 180;
  near(columnStep[0], 0.2 * Math.cos(turn), { absolute: 1e-12 });
  let known = 0;
  values.forEach((v, k) => {
    if (Number.isNaN(v)) return;
    known++;
    const [c, r] = [(k % columns) + 0.5, Math.floor(k / columns) + 0.5];
    const x = corner[0] + c * columnStep[0] + r * rowStep[0];
    const y = corner[1] + c * columnStep[1] + r * rowStep[1];
    near(v, plane(x, y), { absolute: 3e-6 });
  });
  near(known * 0.04, 96, { absolute: 1.5 });
  for (let p = 0; p < features.length; p++) {
    expect(features.geometry.partStart[p + 1] - features.geometry.partStart[p]).toBe(2);
  }
});

describe('the demo site', () => {
  let demo: DemoStore;
  beforeAll(async () => {
    demo = await openDemo();
  });
  afterAll(() => demo.close());

  test('the top of the deposit covers the dug area, the re-laid grid too, but for squares that lack nodes', async () => {
    const inputs = { surface: 'deposit_top', missing_corner: 'triangle', mask: 'window' };
    const { area_m2, beside_grid, n, seasons } = depositSurface.result.parse(
      (await demo.run('deposit-surface', inputs)).summary,
    );
    expect(n).toBeGreaterThan(300);
    expect(beside_grid).toBe(0);
    expect(seasons).toEqual(['S1', 'S2', 'S3', 'S4']);
    expect(area_m2).toBeGreaterThan(0.8 * truth.ground.union.area_m2);
    expect(area_m2).toBeLessThan(1.01 * truth.ground.union.area_m2);
  });

  test('the mean thickness of the trial trench is the one planted, within its errors', async () => {
    const { summary } = await demo.run('deposit-surface', { surface: 'thickness', season: ['S1'], mask: 'window' });
    // fifty nodes of σ 0.028 m each: three standard errors
    near(depositSurface.result.parse(summary).mean_surface_m, truth.ground.seasons.S1.mean_thickness_m, {
      absolute: 0.012,
    });
  });

  test('kriging predicts left-out nodes about as well as it says', async () => {
    const { summary } = await demo.run('deposit-surface', {
      surface: 'deposit_top',
      method: 'ordinary-kriging',
      season: ['S3'],
    });
    const { leave_one_out: left, variogram } = depositSurface.result.parse(summary);
    expect(variogram?.bins.length).toBeGreaterThan(5);
    expect(left?.rmse_m).toBeLessThan(0.15);
    expect(left?.rms_standardised).toBeGreaterThan(0.5);
    expect(left?.rms_standardised).toBeLessThan(2);
  });
});
