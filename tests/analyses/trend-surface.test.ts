import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import trendSurface from '../../src/analyses/trend-surface/index.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { LevelReadings, Sample } from '../../src/domain/sample.js';
import { svgText } from '../../src/figures/svg.js';
import { randomStream } from '../../src/math/random.js';
import { type DemoStore, openDemo, truth } from '../support/demo.js';
import { type LevelRow, readingsOf } from '../support/levelled-nodes.js';
import { allNear, near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';

const analysis = trendSurface as unknown as Analysis;
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
  const parsed = trendSurface.result.safeParse(answer.summary);
  expect(parsed.success, parsed.success ? '' : JSON.stringify(parsed.error.issues)).toBe(true);
  expect(svgText(answer.figure)).not.toMatch(/NaN|undefined|Infinity/);
  expect(answer.methods).toContain('m²');
  return { ...answer, summary: trendSurface.result.parse(answer.summary) };
}

function nodeRows(z: (x: number, y: number) => number, more: Partial<LevelRow> = {}): LevelRow[] {
  return Array.from({ length: 13 * 9 }, (_, k) => {
    const [x, y] = [k % 13, Math.floor(k / 13)];
    return { x, y, surface: 'deposit_top', elevation: z(x, y), sigma: 0.02, ...more };
  });
}

describe.each(['top', 'bottom'])('the reference, deposit_%s', (name) => {
  const { input, expected } = JSON.parse(
    readFileSync(new URL('../reference/plane_site_a_top.json', import.meta.url), 'utf8'),
  );
  const rows = nodeRows((x, y) => input[name][y][x], { surface: `deposit_${name}` });
  const record = expected[name];

  test.each([0, 4_984_118])('dip, direction and errors, moved by %i m', (offset) => {
    const moved = rows.map((r) => ({ ...r, x: r.x + offset, y: r.y + offset }));
    const { summary } = run(sampleWith(readingsOf(moved), { mapAzimuthDeg: 27.35 }), { surface: `deposit_${name}` });
    near(summary.dip_deg, record.dip_deg, { relative: 1e-9 });
    near(summary.direction_deg, record.dip_direction_deg_clockwise_from_north_downslope, { relative: 1e-9 });
    near(
      summary.direction_from_map_grid_north_deg,
      (record.dip_direction_deg_clockwise_from_north_downslope + 27.35) % 360,
      { relative: 1e-9 },
    );
    near(summary.se_dip_deg, record.se_dip_deg, { relative: 1e-9 });
    near(summary.se_direction_deg, record.se_dip_direction_deg, { relative: 1e-9 });
    near(summary.r_squared, record.r_squared, { relative: 1e-9 });
    expect(summary.dip_low_deg).toBeLessThan(summary.dip_deg);
    expect(summary.season_error).toBeNull();
  });
});

test('residuals are levels less trend, for every order', () => {
  const random = randomStream(9, 0);
  const rows = nodeRows((x, y) => -31 + 0.02 * x * x - 0.03 * x * y + 0.01 * (random.next() - 0.5));
  for (const order of [1, 2, 3]) {
    const { summary, features, table } = run(sampleWith(readingsOf(rows)), { order });
    const column = (name: string) => {
      const found = features?.columns.get(name);
      return Array.from({ length: features?.length ?? 0 }, (_, i) => Number(found && valueAt(found, i)));
    };
    const residual = column('residual_m');
    allNear(
      column('trend_m').map((v, i) => v + residual[i]),
      rows.map((r) => r.elevation),
      { absolute: 1e-12 },
    );
    near(
      residual.reduce((a, b) => a + b, 0),
      0,
      { absolute: 1e-10 },
    );
    const terms = [3, 6, 10][order - 1];
    near(summary.residual_sd_m, Math.sqrt(residual.reduce((s, r) => s + r * r, 0) / (117 - terms)), { relative: 1e-9 });
    expect(table.rows).toHaveLength(3);
    expect(summary.tests).toBe(5);
    expect(summary.dip_deg).toBe(run(sampleWith(readingsOf(rows))).summary.dip_deg);
  }
  const { orders } = run(sampleWith(readingsOf(rows))).summary;
  expect(orders[1].p_increase).toBeLessThan(1e-20);
  expect(orders[2].p_increase).toBeGreaterThan(1e-4);
});

test('a direction is withheld when the dip is below its own error, and when the plane is level', () => {
  // squares of a chessboard, high and low: rough, but hardly a slope
  const noisy = run(sampleWith(readingsOf(nodeRows((x, y) => -31 + ((x + y) % 2 === 0 ? 0.1 : -0.1) + 1e-4 * x))));
  const { dip_deg, se_dip_deg, direction_deg, se_direction_deg, direction_withheld } = noisy.summary;
  expect(dip_deg).toBeLessThan(Number(se_dip_deg));
  expect([direction_deg, se_direction_deg]).toEqual([null, null]);
  expect(direction_withheld).toMatch(/below its own standard error/);
  expect(noisy.cautions.join(' ')).toMatch(/No direction/);
  const level = run(sampleWith(readingsOf(nodeRows(() => -31))));
  expect(level.summary).toMatchObject({ dip_deg: 0, direction_deg: null, direction_withheld: 'the plane is level' });
});

test('a shift between seasons widens the errors, estimated or given', () => {
  const random = randomStream(5, 0);
  const rows = nodeRows((_, y) => -31 + 0.05 * y + 0.01 * (random.next() - 0.5)).map((r) => {
    const season = r.x < 4 ? 'S1' : r.x < 9 ? 'S2' : 'S3';
    return { ...r, season, elevation: r.elevation + { S1: 0.04, S2: -0.05, S3: 0.02 }[season] };
  });
  const sample = sampleWith(readingsOf(rows), { seasons: ['S1', 'S2', 'S3'] });
  const { summary, cautions } = run(sample);
  const error = summary.season_error;
  expect(error?.estimated).toBe(true);
  expect(error?.shared_sigma_m).toBeGreaterThan(0.02);
  expect(Number(error?.se_direction_deg)).toBeGreaterThan(2 * Number(summary.se_direction_deg));
  expect(error?.shifts.map((s) => s.season)).toEqual(['S1', 'S2', 'S3']);
  expect(error?.shifts.map((s) => s.n)).toEqual([36, 45, 36]);
  expect(cautions.join(' ')).toMatch(/shifts of 3 seasons/);
  const given = run(sample, { shared_sigma_m: 0 }).summary.season_error;
  near(given?.se_dip_deg, Number(summary.se_dip_deg), { relative: 1e-12 });
  expect(given?.estimated).toBe(false);
});

test('wrong levels pull the plain plane and are named; the robust one beside it stands', () => {
  const random = randomStream(6, 0);
  const rows = nodeRows((_, y) => -31 + 0.05 * y + 0.02 * (random.next() - 0.5)).map((r) =>
    r.x >= 10 && r.y >= 5 && r.y < 8 ? { ...r, elevation: r.elevation + 0.38 } : r,
  );
  const { summary, cautions } = run(sampleWith(readingsOf(rows)));
  near(summary.robust?.dip_deg, (Math.atan(0.05) * 180) / Math.PI, { absolute: 0.05 });
  near(summary.robust?.direction_deg, 180, { absolute: 1 });
  expect(summary.robust?.nodes_without_weight).toBe(9);
  expect(Math.abs(Number(summary.direction_deg) - 180)).toBeGreaterThan(5);
  expect(cautions.join(' ')).toMatch(/a few levels pull the plain fit/);
});

test('no, two, three and collinear levels, and too few for an order', () => {
  const of = (...rows: number[][]) =>
    sampleWith(readingsOf(rows.map(([x, y, elevation]) => ({ x, y, surface: 'deposit_top', elevation }))));
  expect(() => run(sampleWith(null))).toThrow(/no levels/);
  expect(() => run(of([0, 0, 1], [1, 0, 2]))).toThrow(/at least as many levelled nodes; there are 2/);
  expect(() => run(of([0, 0, 1], [1, 1, 2], [2, 2, 3]))).toThrow(/on one line/);
  expect(() => run(of([0, 0, 1], [1, 0, 2], [0, 1, 3], [1, 1, 3]), { order: 2 })).toThrow(/6 terms/);
  const line2 = Array.from({ length: 12 }, (_, k) => [k % 6, Math.floor(k / 6), k]);
  expect(() => run(of(...line2), { order: 2 })).toThrow(/too few lines/);
  const { summary, cautions } = run(of([0, 0, 1], [1, 0, 2], [0, 1, 1]));
  near(summary.dip_deg, 45, { absolute: 1e-10 });
  near(summary.direction_deg, 270, { absolute: 1e-9 });
  expect(summary).toMatchObject({ se_dip_deg: null, dip_low_deg: null, robust: null, residual_sd_m: null });
  expect(cautions.join(' ')).toMatch(/fits 3 nodes exactly/);
});

describe('the demo site', () => {
  let demo: DemoStore;
  beforeAll(async () => {
    demo = await openDemo();
  });
  afterAll(() => demo.close());

  test.each(['deposit_top', 'deposit_bottom'])(
    '%s: the planted dip and direction lie within the stated errors',
    async (surface) => {
      const { summary } = await demo.run('trend-surface', { surface });
      const { dip_deg, direction_deg, season_error, robust } = trendSurface.result.parse(summary);
      const planted = truth.ground.union.planes[surface];
      const error = Number(season_error?.se_dip_deg);
      expect(Math.abs(dip_deg - planted.dip_deg)).toBeLessThan(2.5 * error + 0.05);
      expect(Math.abs(Number(direction_deg) - planted.downslope_deg)).toBeLessThan(
        2.5 * Number(season_error?.se_direction_deg) + 1,
      );
      expect(Number(robust?.dip_deg)).toBeGreaterThan(2);
    },
  );
});
