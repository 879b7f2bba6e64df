import { describe, expect, test } from 'vitest';
import type { RunControl } from '../../src/analyses/contract.js';
import kernelDensity from '../../src/analyses/kernel-density/index.js';

import { spreadAreas } from '../../src/analyses/kernel-density/spread-areas.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { AreaPosition, Sample } from '../../src/domain/sample.js';
import { framePlace } from '../../src/math/cell-frame.js';
import { kernelIntensity } from '../../src/math/kernels.js';
import { contains, edgeSlack, orientRings, type Region, regionArea, ringArea } from '../../src/math/rings.js';
import { usualCell } from '../../src/math/usual-cell.js';
import { Problem } from '../../src/problems.js';
import { flat, patterns, readReference, rectangle, thinArms } from '../support/kernel-reference.js';
import { near, uniformScatter } from '../support/near.js';
import { sampleOf as sampleOfPairs } from '../support/sample-of.js';

const control: RunControl = { seed: 1, simulations: 0, draws: 1, progress: () => {} };

function sampleOf(xy: Float64Array, window: Region, changes: Partial<Sample> = {}): Sample {
  const pairs = Array.from({ length: xy.length / 2 }, (_, i) => [xy[2 * i], xy[2 * i + 1]] as const);
  return sampleOfPairs(pairs, window, changes);
}

function run(sample: Sample, asked: Record<string, unknown> = {}) {
  const answer = kernelDensity.run(sample, kernelDensity.parameters.parse(asked), control);
  kernelDensity.result.parse(answer.summary);
  return answer;
}

function refusal(sample: Sample, asked: Record<string, unknown> = {}): Problem {
  try {
    run(sample, asked);
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  return expect.fail('the question was answered');
}

const siteA = readReference<{ sigma: number; grid_xy: [number, number][]; grid_diggle: number[] }>('kde', 'site_a');
const siteSample = (changes: Partial<Sample> = {}) => sampleOf(siteA.xy, siteA.window, changes);

describe.each(kernelDensity.worked.map((w) => [JSON.stringify({ ...w.parameters, at: undefined }), w] as const))(
  'worked example %s',
  (_, worked) => {
    test('gives the numbers another program gave', () => {
      const window = orientRings(worked.window.map((polygon) => polygon.map((ring) => flat(ring))));
      const { summary } = run(sampleOf(flat(worked.xy), window), worked.parameters);
      for (const [path, value] of Object.entries(worked.expected)) {
        const found = path.split('.').reduce<unknown>((at, key) => (at as Record<string, unknown>)[key], summary);
        near(found as number, value, { relative: worked.tolerance });
      }
    });
  },
);

describe.each(patterns)('on %s', (pattern) => {
  const { expected, xy, window } = readReference<{ sigma: number; grid_xy: [number, number][]; grid_diggle: number[] }>(
    'kde',
    pattern,
  );
  const { summary, coverage } = run(sampleOf(xy, window), { bandwidth: expected.sigma, at: expected.grid_xy });

  test('densities at places equal the reference', () => {
    expected.grid_diggle.forEach((value, k) => {
      near(summary.at[k], value, { relative: 1e-9 });
    });
  });

  test('the surface holds all finds, its mean is n by area', () => {
    near(summary.integral, summary.n, { relative: 1e-3 });
    near(summary.mean_per_m2, xy.length / 2 / regionArea(window), { relative: 1e-12 });
  });

  test('the peak is no lower than any cell, and is what the full sum gives there', () => {
    let highest = 0;
    for (const v of coverage?.values ?? []) if (v > highest) highest = v;
    expect(summary.peak_per_m2).toBeGreaterThan(highest * (1 - 1e-6));
    const at = Float64Array.of(summary.peak_x_m ?? Number.NaN, summary.peak_y_m ?? Number.NaN);
    const input = { xy, weight: new Float64Array(xy.length / 2).fill(1), window, sigmaM: expected.sigma };
    near(kernelIntensity({ ...input, edge: 'jones-diggle' }, at)[0], summary.peak_per_m2, { relative: 2e-4 });
  });
});

describe('surface', () => {
  const { coverage, summary } = run(siteSample({ mapAzimuthDeg: 37 }), { bandwidth: 0.83, cell_m: 0.2 });
  const raster = coverage ?? expect.fail('no coverage');

  test('cells whose centre was dug hold the full sum there, all others nothing', () => {
    const slack = edgeSlack(siteA.window);
    const input = { xy: siteA.xy, weight: new Float64Array(96).fill(1), window: siteA.window, sigmaM: 0.83 };
    const places: number[] = [];
    const values: number[] = [];
    raster.values.forEach((value, k) => {
      const c = k % raster.columns;
      const frame = { ...raster, x: 0, y: 0, stepX: 0, stepY: 0, cellM: 0.2 };
      const [x, y] = framePlace(frame, c, (k - c) / raster.columns);
      expect(Number.isNaN(value)).toBe(!contains(siteA.window, x, y, slack));
      if (!Number.isNaN(value)) {
        places.push(x, y);
        values.push(value);
      }
    });
    expect(values.length).toBeGreaterThan(1900);
    kernelIntensity({ ...input, edge: 'jones-diggle' }, Float64Array.from(places)).forEach((v, k) => {
      near(values[k], v, { absolute: 2e-4 * summary.peak_per_m2 });
    });
  });

  test('rows run south on the map, columns east, from the north-west', () => {
    const [cos, sin] = [Math.cos((37 * Math.PI) / 180), Math.sin((37 * Math.PI) / 180)];
    near(raster.columnStep[0], 0.2 * cos, { absolute: 1e-15 });
    near(raster.columnStep[1], 0.2 * sin, { absolute: 1e-15 });
    near(raster.rowStep[0], 0.2 * sin, { absolute: 1e-15 });
    near(raster.rowStep[1], -0.2 * cos, { absolute: 1e-15 });
    const east = raster.corner[0] * cos + raster.corner[1] * sin;
    near(east / 0.2, Math.round(east / 0.2), { absolute: 1e-9 });
  });

  test('by default a sixth of the bandwidth at most, between 128 and 512 cells to the longer side, and a round figure', () => {
    expect(run(siteSample(), { bandwidth: 0.83 }).summary.cell_m).toBe(0.05);
    expect(usualCell(siteA.window, 0.2)).toBe(0.025);
    expect(usualCell(siteA.window, 0.02)).toBe(0.025);
    expect(usualCell(siteA.window, 5)).toBe(0.05);
    expect(usualCell(rectangle([0, 0, 1000, 10]), 40)).toBe(5);
  });
});

describe('density areas', () => {
  const { features, summary, coverage } = run(siteSample(), { bandwidth: 0.6, contours: 5 });
  const layer = features ?? expect.fail('no features');
  const geometry = layer.geometry?.type === 'area' ? layer.geometry : expect.fail('no areas');
  const column = (name: string) =>
    Array.from({ length: layer.length }, (_, i) => Number(valueAt(layer.columns.get(name) ?? expect.fail(name), i)));

  test('round levels, each from where the last ended, up to the peak', () => {
    const from = column('level_per_m2');
    const to = column('level_to_per_m2');
    expect(from.length).toBeGreaterThan(2);
    expect(from.length).toBeLessThanOrEqual(5);
    expect(to.slice(0, -1)).toEqual(from.slice(1));
    expect(to[to.length - 1]).toBe(summary.peak_per_m2);
    for (const level of from) expect(Number(level.toPrecision(2))).toBe(level);
  });

  test('their areas are those of the cells at these densities', () => {
    const cell2 = summary.cell_m ** 2;
    column('area_m2').forEach((area, i) => {
      const [from, to] = [column('level_per_m2')[i], column('level_to_per_m2')[i]];
      const cells = (coverage?.values ?? []).filter((v) => v >= from && v < to).length;
      near(area, cells * cell2, { relative: 0.03, absolute: 0.05 });
    });
  });

  test('rings as a feature table holds them: outer anticlockwise, holes clockwise, marked, after their outer ring', () => {
    expect(geometry.hole[0]).toBe(0);
    for (let f = 0; f < layer.length; f++) {
      let area = 0;
      for (let p = geometry.featureStart[f]; p < geometry.featureStart[f + 1]; p++) {
        const ring = geometry.coordinates.slice(2 * geometry.partStart[p], 2 * geometry.partStart[p + 1]);
        expect(ringArea(ring) < 0).toBe(geometry.hole[p] === 1);
        area += ringArea(ring);
      }
      near(area, column('area_m2')[f], { relative: 1e-12 });
    }
    expect([...layer.ids]).toEqual(column('area_m2').map((_, i) => i + 1));
  });
});

describe('three bandwidths', () => {
  test('two heaps two metres apart are two peaks at half, one at double', () => {
    const heap = (x: number) =>
      uniformScatter({ n: 30, seed: x, width: 0.4, height: 0.4 }).map((v, k) => v + (k % 2 === 0 ? x : 3));
    const xy = Float64Array.from([...heap(3), ...heap(5)]);
    const { summary, table, cautions } = run(sampleOf(xy, rectangle([0, 0, 8, 6])), { bandwidth: 0.7 });
    expect([summary.half_bandwidth?.peaks, summary.peaks, summary.double_bandwidth?.peaks]).toEqual([2, 2, 1]);
    expect(summary.half_bandwidth?.bandwidth_m).toBe(0.35);
    expect(summary.half_bandwidth?.peak_per_m2).toBeGreaterThan(summary.peak_per_m2);
    expect(table.rows.slice(0, 3).map((row) => row[1])).toEqual([0.35, 0.7, 1.4]);
    expect(cautions[0]).toMatch(/2 at half, 2 at once and 1 at twice/);
  });
});

describe('finds known by square only', () => {
  const square = (west: number, south: number, weight = 1): AreaPosition => ({
    label: 'a',
    region: rectangle([west, south, west + 1, south + 1]),
    areaM2: 1,
    weight,
    classCode: 0,
    seasonCode: 0,
  });

  test('are spread over it, keep their weight and are counted in the answer', () => {
    const areas = [square(8, 2, 3), square(8, 2), square(1, 5)];
    const { summary, methods, cautions } = run(siteSample({ areas }), { bandwidth: 0.83 });
    expect([summary.n, summary.total_weight, summary.spread_finds]).toEqual([99, expect.closeTo(101, 9), 3]);
    near(summary.integral, 101, { relative: 1e-3 });
    expect(methods).toMatch(/3 finds known only by square or area were spread/);
    expect(cautions.join(' ')).not.toMatch(/known by square only/);
  });

  test('a find spread evenly over a square has the density of the kernel averaged over it', () => {
    const sample = sampleOf(new Float64Array(0), rectangle([-10, -10, 10, 10]), { areas: [square(0, 0)] });
    const { summary, cautions } = run(sample, {
      bandwidth: 0.7,
      edge: 'none',
      at: [
        [0.5, 0.5],
        [1.2, 0.1],
      ],
      cell_m: 1,
    });
    // (Φ((1 − x)/σ) − Φ(−x/σ)) along both axes, Φ by the error function of Python 3.11's math module
    near(summary.at[0], 0.27557195229602927, { relative: 2e-3 });
    near(summary.at[1], 0.1575313151718467, { relative: 2e-3 });
    expect(summary.spread_finds).toBe(1);
    expect(cautions.join(' ')).toMatch(/1 of 1 finds are known by square only/);
  });

  test('sub-points lie inside the area, slivers and holes too, and the same square is cut once', () => {
    const sliver = { rings: [Float64Array.of(0, 0, 3, 0.001, 3, 0.002)] };
    const spread = spreadAreas(
      [
        { region: sliver, weight: 2 },
        { region: thinArms, weight: 5 },
        { region: thinArms, weight: 1 },
      ],
      0.5,
    );
    near(
      spread.weight.reduce((a, b) => a + b),
      8,
      { relative: 1e-12 },
    );
    near(
      spread.share.reduce((a, b) => a + b),
      3,
      { relative: 1e-12 },
    );
    const once = spreadAreas(
      [
        { region: sliver, weight: 1 },
        { region: thinArms, weight: 1 },
      ],
      0.5,
    );
    expect(spread.xy).toEqual(once.xy);
    for (let i = 0; i < spread.xy.length; i += 2) {
      const [x, y] = [spread.xy[i], spread.xy[i + 1]];
      expect(contains(thinArms, x, y, 1e-6) || contains(sliver, x, y, 1e-6)).toBe(true);
    }
  });

  test("Scott's rule counts them, cross-validation does not", () => {
    const areas = [square(1, 1), square(9, 3), square(2, 6)];
    const sample = sampleOf(new Float64Array(0), siteA.window, { areas });
    expect(run(sample).summary.bandwidth_m).toBeGreaterThan(0.5);
    expect(refusal(sample, { bandwidth: 'lcv' }).message).toMatch(/at least 2 finds with a position, got 0/);
  });
});

describe('little or odd data', () => {
  const window = rectangle([0, 0, 6, 4]);

  test('no find and a bandwidth in metres: zero where it was dug', () => {
    const { summary, coverage, features, cautions } = run(sampleOf(new Float64Array(0), window), {
      bandwidth: 0.5,
      at: [[1, 1]],
    });
    expect(summary).toMatchObject({ n: 0, integral: 0, peak_per_m2: 0, peak_x_m: null, peaks: 0, at: [0] });
    expect(coverage?.values.every((v) => v === 0)).toBe(true);
    expect(features?.length).toBe(0);
    expect(cautions).toEqual([expect.stringMatching(/density is 0 where it was dug/)]);
  });

  test.each(['scott', 'lcv', 'berman-diggle', 'lscv'])('no find or one, and the rule %s: refused', (bandwidth) => {
    for (const xy of [new Float64Array(0), Float64Array.of(1, 1)]) {
      const problem = refusal(sampleOf(xy, window), { bandwidth });
      expect(problem.code).toBe('too-few-points');
      expect(problem.message).toMatch(/give a bandwidth in metres/);
    }
  });

  test('one find, two finds, finds on one line, on an edge and in a corner', () => {
    for (const xy of [
      [3, 2],
      [1, 1, 5, 3],
      [1, 1, 2, 2, 3, 3],
      [0, 2, 6, 4, 3, 0],
    ]) {
      const { summary } = run(sampleOf(Float64Array.from(xy), window), { bandwidth: 0.7 });
      near(summary.integral, xy.length / 2, { relative: 1e-3 });
      expect(summary.peak_per_m2).toBeGreaterThan(0);
    }
    expect(run(sampleOf(Float64Array.of(1, 1, 5, 3), window)).summary.bandwidth_rule).toBe('scott');
  });

  test('all at one place: a rule is refused, metres are answered with a caution', () => {
    const xy = Float64Array.of(2, 2, 2, 2, 2, 2);
    for (const bandwidth of ['scott', 'lcv', 'berman-diggle', 'lscv']) {
      expect(refusal(sampleOf(xy, window), { bandwidth }).code).toBe('cannot-answer');
    }
    const { summary, cautions } = run(sampleOf(xy, window), { bandwidth: 0.5 });
    expect([summary.coincident, summary.peaks]).toEqual([3, 1]);
    expect(cautions.join(' ')).toMatch(/3 finds share their position/);
  });

  test('a place outside the window has no density, and the answer says so', () => {
    const { summary, cautions } = run(siteSample(), {
      bandwidth: 0.83,
      at: [
        [4, 2.5],
        [20, 1],
        [1, 1],
        [12, 5],
      ],
    });
    expect(summary.at.map((v) => v === null)).toEqual([true, true, false, false]);
    expect(cautions.join(' ')).toMatch(/2 of the places asked lie outside the window/);
  });

  test('a bandwidth below three times the position error is called out', () => {
    const sigmaXy = new Float64Array(96).fill(Number.NaN).fill(0.4, 0, 30);
    expect(run(siteSample({ sigmaXy }), { bandwidth: 0.83 }).cautions.join(' ')).toMatch(
      /below three times the median standard deviation of the positions \(0.4 m\)/,
    );
    expect(run(siteSample({ sigmaXy }), { bandwidth: 1.3 }).cautions.join(' ')).not.toMatch(/three times/);
  });

  test('no window, a far too small bandwidth, parameters of the wrong kind', () => {
    expect(refusal(sampleOf(siteA.xy, { rings: [] }), { bandwidth: 1 }).code).toBe('no-window');
    expect(refusal(siteSample(), { bandwidth: 0.001 }).code).toBe('too-much-work');
    for (const asked of [
      { bandwidth: 0 },
      { bandwidth: 'silverman' },
      { edge: 'both' },
      { cell_m: -1 },
      { radius: 1 },
    ]) {
      expect(kernelDensity.parameters.safeParse(asked).success).toBe(false);
    }
  });

  test('half a bandwidth that is too much work is left out and said', () => {
    const { summary, cautions } = run(sampleOf(Float64Array.of(10, 10, 60, 70), rectangle([0, 0, 100, 100])), {
      bandwidth: 0.4,
      edge: 'none',
      cell_m: 5,
    });
    expect(summary.half_bandwidth).toBeNull();
    expect(cautions.join(' ')).toMatch(/Half the bandwidth .* left out/);
  });
});

describe('laws', () => {
  test('the sample is left untouched and the same question gives the same bytes', () => {
    const sample = siteSample({ mapAzimuthDeg: 12 });
    const before = structuredClone({ xy: sample.xy, rings: sample.window.rings });
    const first = run(sample, { bandwidth: 'lscv' });
    expect({ xy: sample.xy, rings: sample.window.rings }).toEqual(before);
    expect(JSON.stringify(run(sample, { bandwidth: 'lscv' }))).toBe(JSON.stringify(first));
  });

  test('turning the map under the site leaves the densities where they are', () => {
    const at = siteA.expected.grid_xy;
    const north = run(siteSample(), { bandwidth: 0.83, at }).summary;
    const turned = run(siteSample({ mapAzimuthDeg: 30 }), { bandwidth: 0.83, at }).summary;
    expect(turned.at).toEqual(north.at);
    near(turned.peak_per_m2, north.peak_per_m2, { relative: 2e-4 });
    near(turned.peak_x_m, north.peak_x_m ?? Number.NaN, { absolute: 0.02 });
    near(turned.integral, north.integral, { relative: 1e-5 });
    expect(turned.peaks).toBe(north.peaks);
  });

  test('a site three times as large at three times the bandwidth is nine times as thin', () => {
    const larger = (v: Float64Array) => v.map((c) => 3 * c);
    const there = sampleOf(larger(siteA.xy), { rings: siteA.window.rings.map(larger) });
    const [a, b] = [run(siteSample()).summary, run(there).summary];
    near(b.bandwidth_m, 3 * a.bandwidth_m, { relative: 1e-12 });
    near(b.peak_per_m2, a.peak_per_m2 / 9, { relative: 2e-4 });
    near(b.window_area_m2, 9 * a.window_area_m2, { relative: 1e-12 });
  });
});

test('methods, figure and table hold what a report needs', () => {
  const { methods, figure, table, cautions } = run(siteSample(), { bandwidth: 'lcv', edge: 'uniform' });
  expect(methods).toMatch(/96 finds per m² .* 0\.8977 m/);
  expect(methods).toMatch(/likelihood cross-validation .*Loader 1999/);
  expect(methods).toMatch(/Diggle 1985/);
  expect(methods).toMatch(/79 m²/);
  expect(figure.marks.length).toBeGreaterThan(0);
  for (const row of table.rows) expect(row).toHaveLength(table.columns.length);
  expect(cautions.length).toBeGreaterThan(0);
});
