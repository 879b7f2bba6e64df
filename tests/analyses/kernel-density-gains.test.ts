import { describe, expect, test } from 'vitest';
import type { RunControl } from '../../src/analyses/contract.js';
import kernelDensity from '../../src/analyses/kernel-density/index.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { Sample } from '../../src/domain/sample.js';
import { rectangle } from '../support/kernel-reference.js';
import { nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { near, uniformScatter } from '../support/near.js';
import { cellsWhereNumber } from '../support/raster-cells.js';
import { sampleOf } from '../support/sample-of.js';

const control: RunControl = { seed: 1, simulations: 0, draws: 1, progress: () => {} };

function run(sample: Sample, asked: Record<string, unknown> = {}) {
  const answer = kernelDensity.run(sample, kernelDensity.parameters.parse(asked), control);
  kernelDensity.result.parse(answer.summary);
  return answer;
}

const pairs = (xy: Float64Array) =>
  Array.from({ length: xy.length / 2 }, (_, i) => [xy[2 * i], xy[2 * i + 1]] as const);
const window = rectangle([0, 0, 12, 6]);
const heap = (x: number, y: number, n: number) =>
  uniformScatter({ n, seed: Math.round(7 * x + y), width: 0.4, height: 0.4 }).map((v, k) => v + (k % 2 === 0 ? x : y));
const loose = uniformScatter({ n: 60, seed: 12, width: 12, height: 6 });
const dig = sampleOf(pairs(Float64Array.from([...heap(3, 2, 40), ...heap(9, 4, 30), ...loose])), window);

describe('adaptive kernels', () => {
  const fixed = run(dig, { bandwidth: 0.6 });
  const adaptive = run(dig, { bandwidth: 0.6, kernel: 'adaptive' });

  test('sharpen heaps, hold all finds and tell their widths', () => {
    expect(adaptive.summary.peak_per_m2).toBeGreaterThan(1.3 * fixed.summary.peak_per_m2);
    near(adaptive.summary.integral, 130, { relative: 1e-3 });
    const { adaptive: kernels } = adaptive.summary;
    expect(kernels?.pilot_bandwidth_m).toBe(0.6);
    expect(kernels?.smallest_m).toBeLessThan(0.6);
    expect(kernels?.largest_m).toBeGreaterThan(0.6);
    expect(fixed.summary.adaptive).toBeNull();
    expect(adaptive.methods).toMatch(/Abramson 1982/);
    expect(adaptive.methods).toMatch(/integrates to 130 over the window/);
    expect(adaptive.cautions.join(' ')).toMatch(/sharpen heaps/);
  });

  test('both other views have pilots of their own', () => {
    expect(adaptive.summary.half_bandwidth?.bandwidth_m).toBe(0.3);
    expect(adaptive.summary.half_bandwidth?.peak_per_m2).toBeGreaterThan(adaptive.summary.peak_per_m2);
    expect(adaptive.summary.double_bandwidth?.peak_per_m2).toBeLessThan(adaptive.summary.peak_per_m2);
  });

  test('the surface is the full sum at its cells', () => {
    const { summary, coverage } = run(dig, { bandwidth: 0.6, kernel: 'adaptive', cell_m: 0.5, at: [[3.25, 2.25]] });
    const at = cellsWhereNumber(coverage).find(({ x, y }) => Math.hypot(x - 3.25, y - 2.25) < 1e-9);
    near(at?.value, summary.at[0] ?? Number.NaN, { relative: 1e-6 });
  });

  test('without a find there is nothing to adapt to', () => {
    const { summary } = run(sampleOf([], window), { bandwidth: 0.6, kernel: 'adaptive' });
    expect([summary.n, summary.peak_per_m2, summary.adaptive]).toEqual([0, 0, null]);
  });
});

describe('peaks', () => {
  test('two heaps far apart persist, each with its own counterparts nearby', () => {
    const { summary, table, cautions } = run(dig, { bandwidth: 0.6 });
    expect(summary.peak_list).toHaveLength(summary.peaks);
    expect(summary.peak_list.map((p) => p.persists)).toEqual([true, true]);
    const [first, second] = summary.peak_list;
    expect([first.x_m, first.y_m]).toEqual([summary.peak_x_m, summary.peak_y_m]);
    expect(first.height).toBe(summary.peak_per_m2);
    expect(Math.hypot(second.x_m - 9.2, second.y_m - 4.2)).toBeLessThan(0.3);
    expect(second.half?.height).toBeGreaterThan(second.height);
    expect(second.double?.height).toBeLessThan(second.height);
    expect(Math.hypot((second.double?.x_m ?? 0) - 9.2, (second.double?.y_m ?? 0) - 4.2)).toBeLessThan(0.6);
    const rows = table.rows.filter((row) => row[0] === 'peak');
    expect(rows.map((row) => row[table.columns.findIndex((c) => c.name === 'persists')])).toEqual(['yes', 'yes']);
    expect(cautions.join(' ')).toMatch(/2 of 2 peaks persist .* \(3\.\d, 2\.\d\), \(9\.\d, 4\.\d\)/);
  });

  test('two heaps that melt at twice the bandwidth: one of them does not persist', () => {
    const close = sampleOf(pairs(Float64Array.from([...heap(3, 3, 40), ...heap(5, 3, 30)])), window);
    const { summary } = run(close, { bandwidth: 0.7 });
    expect([summary.peaks, summary.double_bandwidth?.peaks]).toEqual([2, 1]);
    expect(summary.peak_list.filter((p) => p.persists)).toHaveLength(1);
    expect(summary.peak_list.filter((p) => p.half !== null)).toHaveLength(2);
    const lost = summary.peak_list.find((p) => !p.persists);
    expect(lost).toMatchObject({ persists: false, double: null });
  });

  test('half a bandwidth that is too much work: persistence is not known', () => {
    const few = sampleOf(
      [
        [10, 10],
        [60, 70],
      ],
      rectangle([0, 0, 100, 100]),
    );
    const { summary, cautions } = run(few, { bandwidth: 0.4, edge: 'none', cell_m: 5 });
    expect(summary.peak_list[0]).toMatchObject({ half: null, persists: null });
    expect(cautions.join(' ')).toMatch(/persists is not known/);
  });
});

describe('finds per m³', () => {
  /** 0.5 m thick in the west half, 0.05 m in the east; σ of each level 0.02, so that three errors of a node are 0.085 */
  const levels = (thickness: (x: number, y: number) => number, season = 'S1') => [
    ...nodeLevels({ columns: 13, rows: 7, surface: 'deposit_top', season, sigma: 0.02, field: () => -1 }),
    ...nodeLevels({
      columns: 13,
      rows: 7,
      surface: 'deposit_bottom',
      season,
      sigma: 0.02,
      field: (x, y) => -1 - thickness(x, y),
    }),
  ];
  const even: Sample = { ...dig, levels: readingsOf(levels(() => 0.5)) };
  const uneven: Sample = { ...dig, levels: readingsOf(levels((x) => (x <= 6 ? 0.5 : 0.03))) };

  test('under an even deposit all is divided by its thickness, and titles follow', () => {
    const perM2 = run(even, { bandwidth: 0.6, at: [[3, 2]] });
    const { summary, coverage, features, table, methods } = run(even, { bandwidth: 0.6, per: 'm3', at: [[3, 2]] });
    expect(summary.peak_per_m2).toBe(perM2.summary.peak_per_m2);
    near(summary.volume?.peak_per_m3, 2 * perM2.summary.peak_per_m2, { relative: 1e-12 });
    near(summary.volume?.at[0], 2 * (perM2.summary.at[0] ?? 0), { relative: 1e-12 });
    near(summary.volume?.volume_m3, 36, { relative: 1e-9 });
    near(summary.volume?.mean_per_m3, 130 / 36, { relative: 2e-3 });
    expect(summary.volume).toMatchObject({ thin_area_m2: 0, unknown_area_m2: 0 });
    expect([summary.surface_unit, coverage?.unit, coverage?.title]).toEqual(['m-3', 'm-3', 'Density per m³']);
    expect(features?.fields.map((f) => f.name)).toEqual(['level_per_m3', 'level_to_per_m3', 'area_m2']);
    expect(table.columns.filter((c) => c.unit === 'm-3').map((c) => c.name)).toContain('peak_per_m3');
    expect(methods).toMatch(/below three standard deviations/);
    near(summary.peak_list[0].height, 2 * perM2.summary.peak_list[0].height, { relative: 1e-12 });
    // the same areas at twice the level
    const area = (layer: typeof features, row: number) =>
      valueAt(layer?.columns.get('area_m2') ?? expect.fail(''), row);
    const twin = perM2.features ?? expect.fail('no areas');
    expect(features?.length).toBe(twin.length);
    near(Number(area(features, 0)), Number(area(twin, 0)), { relative: 0.02 });
  });

  test('no value where the deposit is thinner than three of its errors', () => {
    const { summary, coverage, cautions } = run(uneven, { bandwidth: 0.6, per: 'm3', cell_m: 0.25 });
    const places = cellsWhereNumber(coverage);
    expect(places.every(({ x }) => x < 7)).toBe(true);
    near(summary.volume?.thin_area_m2, 30, { absolute: 0.7 });
    expect(cautions.join(' ')).toMatch(/4\d % of the window is blank: 4\d % too thin/);
    // the heap in the thin ground is no peak any more
    expect(summary.peaks).toBe(2);
    expect(summary.peak_list.every((peak) => peak.x_m < 7)).toBe(true);
  });

  test('no value where a surface was not levelled', () => {
    const rows = levels(() => 0.5).filter(({ x, surface }) => surface !== 'deposit_bottom' || x <= 8);
    const { summary, coverage } = run({ ...dig, levels: readingsOf(rows) }, { bandwidth: 0.6, per: 'm3' });
    expect(cellsWhereNumber(coverage).every(({ x }) => x <= 8)).toBe(true);
    near(summary.volume?.unknown_area_m2, 24, { relative: 0.02 });
  });

  test('the oldest top and the newest bottom: what all seasons together dug', () => {
    const lower = levels(() => 0.3, 'S2').map((row) =>
      row.surface === 'deposit_top' ? { ...row, elevation: -1.2 } : row,
    );
    const sample = { ...dig, seasons: ['S1', 'S2'], levels: readingsOf([...levels(() => 0.4), ...lower]) };
    near(run(sample, { bandwidth: 0.6, per: 'm3' }).summary.volume?.volume_m3, 72 * 0.3, { relative: 1e-9 });
    const disturbed = readingsOf([
      ...levels(() => 0.4),
      ...lower.map((row) => ({ ...row, state: row.surface === 'deposit_top' ? 'after_dig' : 'kept' })),
    ]);
    const onlyLater = { ...dig, seasons: ['S2', 'S1'], levels: disturbed };
    near(run(onlyLater, { bandwidth: 0.6, per: 'm3' }).summary.volume?.volume_m3, 72 * 0.4, { relative: 1e-9 });
  });

  test('refused without levels, without a bottom, and where all is thin', () => {
    expect(() => run(dig, { bandwidth: 0.6, per: 'm3' })).toThrow(/no levels in this selection: a thickness needs/);
    const tops = levels(() => 0.5).filter((row) => row.surface === 'deposit_top');
    expect(() => run({ ...dig, levels: readingsOf(tops) }, { bandwidth: 0.6, per: 'm3' })).toThrow(
      /no levels of deposit_bottom; the levels are of deposit_top/,
    );
    expect(() => run({ ...dig, levels: readingsOf(levels(() => 0.001)) }, { bandwidth: 0.6, per: 'm3' })).toThrow(
      /nowhere in the window is the deposit thicker/,
    );
  });

  test('plain level files may say top and bottom, in map coordinates too', () => {
    const far = (v: Float64Array) => v.map((c, k) => c + (k % 2 === 0 ? 400_000 : 4_900_000));
    const there = sampleOf(pairs(far(dig.xy)), { rings: window.rings.map(far) });
    const rows = levels(() => 0.5, '').map((row) => ({
      ...row,
      x: row.x + 400_000,
      y: row.y + 4_900_000,
      surface: row.surface === 'deposit_top' ? 'top' : 'bottom',
    }));
    const { summary } = run({ ...there, levels: readingsOf(rows) }, { bandwidth: 0.6, per: 'm3' });
    near(summary.volume?.volume_m3, 36, { relative: 1e-6 });
  });
});
