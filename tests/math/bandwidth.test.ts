import { describe, expect, test } from 'vitest';
import {
  coincidentCount,
  crossValidatedBandwidth,
  leastSquaresCriterion,
  likelihoodCriterion,
  scottBandwidth,
} from '../../src/math/bandwidth.js';
import { bermanDiggleBandwidth, bermanDiggleCriterion } from '../../src/math/berman-diggle.js';
import { leaveOneOutIntensity } from '../../src/math/kernels.js';
import { patterns, readReference, rectangle, thinArms } from '../support/kernel-reference.js';
import { heapedScatter, near, uniformScatter } from '../support/near.js';

type Table = [number, number][];
interface BandwidthExpected {
  scott_iso_geometric_mean_sd: number;
  lcv: { argmax: number; max: number; at_boundary: boolean; table: Table };
  lscv: { argmin: number; min: number; at_boundary: boolean; table: Table };
  berman_diggle_mse?: { argmin_over_jumps: [number, number]; table: Table };
}

const ones = (n: number) => new Float64Array(n).fill(1);

describe.each(patterns)('bandwidth rules on %s', (pattern) => {
  const { expected, xy, window } = readReference<BandwidthExpected>('bandwidth', pattern);

  test("Scott's rule, geometric mean of both axes", () => {
    near(scottBandwidth({ xy, share: ones(xy.length / 2) }).sigmaM, expected.scott_iso_geometric_mean_sd, {
      relative: 1e-13,
    });
  });

  test('likelihood cross-validation: the curve and its top', () => {
    const criterion = likelihoodCriterion(xy, window);
    for (const [sigma, value] of expected.lcv.table) near(criterion(sigma), value, { relative: 1e-8 });
    const found = crossValidatedBandwidth({ rule: 'lcv', xy, window });
    expect(found.atBoundary).toBe(expected.lcv.at_boundary);
    // at the end of the range the reference stopped a little earlier
    near(found.sigmaM, expected.lcv.argmax, { relative: found.atBoundary ? 0.05 : 1e-4 });
    near(found.criterion, expected.lcv.max, { absolute: found.atBoundary ? 1e-3 : 1e-9 });
  });

  test('least-squares cross-validation: the curve and its foot', () => {
    const criterion = leastSquaresCriterion(xy);
    for (const [sigma, value] of expected.lscv.table) near(criterion(sigma), value, { relative: 1e-8 });
    const found = crossValidatedBandwidth({ rule: 'lscv', xy, window });
    expect(found.atBoundary).toBe(expected.lscv.at_boundary);
    near(found.sigmaM, expected.lscv.argmin, { relative: 1e-4 });
  });
});

describe.each(['cells', 'japanesepines', 'redwood', 'betacells'] as const)('Berman and Diggle on %s', (pattern) => {
  const { expected, xy, window } = readReference<BandwidthExpected>('bandwidth', pattern);
  const record = expected.berman_diggle_mse;

  test('the curve, away from bandwidths where a pair lies exactly at the radius', () => {
    const { criterion, pairs } = bermanDiggleCriterion(xy, window);
    const tied = (sigma: number) => pairs.distance.some((d) => Math.abs(d - 2 * sigma) < 1e-12);
    const rows = (record?.table ?? []).filter(([sigma]) => !tied(sigma));
    expect(rows.length).toBeGreaterThan(20);
    for (const [sigma, value] of rows) near(criterion(sigma), value, { relative: 1e-8 });
  });

  test('the least value over every jump', () => {
    const found = bermanDiggleBandwidth(xy, window);
    near(found.criterion, record?.argmin_over_jumps[0] ?? Number.NaN, { relative: 1e-9 });
    near(found.sigmaM, record?.argmin_over_jumps[1] ?? Number.NaN, { relative: 1e-11 });
    expect(found.atBoundary).toBe(pattern === 'cells');
  });
});

test.each([70, 160])('Berman and Diggle: no jump of %s finds is overlooked in a window with a hole and arms', (n) => {
  const xy = heapedScatter({ n, seed: 4, heaps: 9, spread: 2, width: 8, height: 5 });
  const found = bermanDiggleBandwidth(xy, thinArms);
  const { criterion, pairs } = bermanDiggleCriterion(xy, thinArms);
  const all = [...pairs.distance].filter((d) => d > 0 && d <= 2 * pairs.mostSigmaM).map((d) => criterion(d / 2));
  expect(all.length).toBeGreaterThan(50);
  expect(found.criterion).toBe(Math.min(...all, criterion(pairs.mostSigmaM)));
});

test('the likelihood curve is the sum of logarithms of the densities left out', () => {
  const xy = uniformScatter({ n: 60, seed: 9, width: 8, height: 5 });
  for (const sigmaM of [0.4, 1, 3]) {
    let slow = 0;
    for (const v of leaveOneOutIntensity({ xy, weight: ones(60), window: thinArms, sigmaM, edge: 'uniform' }))
      slow += Math.log(v);
    near(likelihoodCriterion(xy, thinArms)(sigmaM), slow, { relative: 1e-12 });
  }
});

test('a lone find thirty metres off does not sink the likelihood to minus infinity', () => {
  const xy = Float64Array.of(1, 1, 1.2, 1.1, 31, 1);
  const value = likelihoodCriterion(xy, rectangle([0, 0, 32, 2]))(0.05);
  expect(value).toBeLessThan(-100_000);
  expect(Number.isFinite(value)).toBe(true);
});

test('rules follow the scale of the site and do not see where it lies', () => {
  const xy = uniformScatter({ n: 50, seed: 2, width: 8, height: 5 });
  const window = rectangle([0, 0, 8, 5]);
  const put = (v: Float64Array) => v.map((c) => 3 * c + 4096);
  const there = { rings: window.rings.map(put) };
  for (const rule of ['lcv', 'lscv'] as const) {
    const here = crossValidatedBandwidth({ rule, xy, window }).sigmaM;
    near(crossValidatedBandwidth({ rule, xy: put(xy), window: there }).sigmaM, 3 * here, { relative: 1e-5 });
  }
  near(bermanDiggleBandwidth(put(xy), there).sigmaM, 3 * bermanDiggleBandwidth(xy, window).sigmaM, { relative: 1e-9 });
  near(scottBandwidth({ xy: put(xy), share: ones(50) }).sigmaM, 3 * scottBandwidth({ xy, share: ones(50) }).sigmaM, {
    relative: 1e-11,
  });
});

test('finds spread over shares count as so many finds', () => {
  const xy = uniformScatter({ n: 20, seed: 8, width: 8, height: 5 });
  const halves = Float64Array.from([...xy, ...xy]);
  near(
    scottBandwidth({ xy: halves, share: ones(40).map(() => 0.5) }).sigmaM,
    scottBandwidth({ xy, share: ones(20) }).sigmaM,
    { relative: 1e-13 },
  );
});

describe('refusals name the rule and the way out', () => {
  const window = rectangle([0, 0, 4, 4]);
  const pair = Float64Array.of(1, 1, 1, 1, 3, 3, 3, 3);

  test('fewer than two finds', () => {
    const one = Float64Array.of(1, 1);
    expect(() => scottBandwidth({ xy: one, share: ones(1) })).toThrow(
      /rule scott needs at least 2 finds .* got 1; give a bandwidth in metres/,
    );
    expect(() => crossValidatedBandwidth({ rule: 'lcv', xy: one, window })).toThrow(/rule lcv needs at least 2/);
    expect(() => bermanDiggleBandwidth(new Float64Array(0), window)).toThrow(/got 0/);
  });

  test('coincident finds draw every cross-validation to zero', () => {
    expect(() => crossValidatedBandwidth({ rule: 'lcv', xy: pair, window })).toThrow(
      /lcv finds no bandwidth: 4 finds share their position .* metres/,
    );
    expect(() => crossValidatedBandwidth({ rule: 'lscv', xy: pair, window })).toThrow(/lscv finds no bandwidth/);
    expect(() => bermanDiggleBandwidth(pair, window)).toThrow(/berman-diggle finds no bandwidth: 2 pairs .* one spot/);
  });

  test('all at one place, or on one line along an axis', () => {
    expect(() => scottBandwidth({ xy: Float64Array.of(1, 1, 1, 1, 1, 1), share: ones(3) })).toThrow(
      /all 3 lie at one place/,
    );
    expect(() => scottBandwidth({ xy: Float64Array.of(1, 1, 2, 1, 3, 1), share: ones(3) })).toThrow(/lie on one line/);
  });

  test('more finds than pairs can be summed for', () => {
    const many = uniformScatter({ n: 20_001, seed: 1 });
    expect(() => crossValidatedBandwidth({ rule: 'lcv', xy: many, window })).toThrow(
      /kept to 20000 of them, got 20001/,
    );
  });
});

test('how many finds share a position', () => {
  expect(coincidentCount(Float64Array.of(1, 1, 2, 2, 1, 1, 1, 1, 3, 3))).toBe(3);
  expect(coincidentCount(new Float64Array(0))).toBe(0);
});
