import { expect, test } from 'vitest';
import {
  type DugSquare,
  fitRates,
  fittingTrend,
  leaveOut,
  predict,
  rateAt,
  triedTrends,
} from '../../src/analyses/next-squares/trend.js';
import { countQuantile } from '../../src/math/count-law.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';

const quiet = () => {};

/** counts of a law with this mean and dispersion 1 + mean / k, drawn through its quantiles */
function drawn(mean: number, k: number, share: number): number {
  return countQuantile({ mean, variance: mean + (mean * mean) / k }, share);
}

/** 9 × 8 dug squares and 2 × 8 beyond them, finds falling off from a hull along the middle */
function field(seed: number): { dug: DugSquare[]; beyond: DugSquare[] } {
  const random = randomStream(seed, 0);
  const squares = Array.from({ length: 88 }, (_, i): DugSquare => {
    const [x, y] = [(i % 11) + 0.5, Math.floor(i / 11) + 0.5];
    const hullM = Math.abs(y - 4);
    const mean = Math.exp(1.6 - 0.5 * hullM + 0.1 * (x - 5));
    return { x, y, hullM, exposureM2: 1, count: drawn(mean, 4, random.next()) };
  });
  return { dug: squares.filter(({ x }) => x < 9), beyond: squares.filter(({ x }) => x > 9) };
}

test('counts in squares beside the dug ones fall into their intervals, and the rate is found again', () => {
  let covered = 0;
  let squares = 0;
  let slope = 0;
  for (let seed = 1; seed <= 60; seed++) {
    const { dug, beyond } = field(seed);
    const trend = fitRates(dug, 'hull_and_linear')!;
    slope += trend.fit.coefficients[1] / 60;
    for (const square of beyond) {
      const { low, high } = predict(rateAt(trend, square), { groundM2: 1, dispersion: trend.dispersion });
      squares++;
      if (square.count >= low && square.count <= high) covered++;
    }
  }
  near(slope, -0.5, { absolute: 0.05 });
  expect(covered / squares).toBeGreaterThan(0.92);
  expect(covered / squares).toBeLessThan(0.995);
});

test('the mean rate left one out is (T − y) / (E − e), and its misses are counted so', () => {
  const dug: DugSquare[] = [4, 0, 7, 2, 1, 3].map((count, i) => ({
    x: i,
    y: 0,
    hullM: null,
    count,
    exposureM2: i === 2 ? 0.5 : 1,
  }));
  const trend = fitRates(dug, 'none')!;
  const found = leaveOut(dug, trend, { bufferM: 0, tick: quiet })!;
  const expected = dug.map((s) => ((17 - s.count) / (5.5 - s.exposureM2)) * s.exposureM2);
  near(found.meanError, expected.reduce((sum, m, i) => sum + Math.abs(m - dug[i].count), 0) / 6, { relative: 1e-9 });
  near(found.meanErrorOfMeanRate, found.meanError, { relative: 1e-9 });
  near(
    found.meanDeviance,
    expected.reduce(
      (sum, m, i) => sum + 2 * ((dug[i].count > 0 ? dug[i].count * Math.log(dug[i].count / m) : 0) - dug[i].count + m),
      0,
    ) / 6,
    { relative: 1e-9 },
  );
});

test('with a buffer the neighbours are left out too', () => {
  const dug: DugSquare[] = [5, 5, 50, 1, 1].map((count, i) => ({ x: i, y: 0, hullM: null, count, exposureM2: 1 }));
  const trend = fitRates(dug, 'none')!;
  const apart = leaveOut(dug, trend, { bufferM: 1, tick: quiet })!;
  const means = [(50 + 2) / 3, 2 / 2, (5 + 1) / 2, (5 + 5) / 2, (5 + 5 + 50) / 3];
  near(apart.meanError, means.reduce((sum, m, i) => sum + Math.abs(m - dug[i].count), 0) / 5, { relative: 1e-9 });
});

test('the trend of the ground wins the trial: hull where finds follow the hull, a heap where they lie in one', () => {
  const counts = (mean: (x: number, y: number) => number) => {
    const random = randomStream(3, 1);
    return Array.from({ length: 96 }, (_, i): DugSquare => {
      const [x, y] = [(i % 12) + 0.5, Math.floor(i / 12) + 0.5];
      return { x, y, hullM: Math.abs(y - 4), exposureM2: 1, count: drawn(mean(x, y), 50, random.next()) };
    });
  };
  const first = (squares: DugSquare[]) => triedTrends(squares, { bufferM: 2, tick: quiet })[0].trend.name;
  expect(first(counts((_, y) => 12 * Math.exp(-1.2 * Math.abs(y - 4))))).toMatch(/^hull/);
  expect(first(counts((x, y) => 20 * Math.exp(-((x - 4) ** 2 + (y - 3) ** 2) / 4) + 1e-9))).toBe('quadratic');
  expect(first(counts((x) => Math.exp(0.35 * x - 1)))).toMatch(/linear$/);
});

test('without hull, or with too few squares, a plainer trend stands in', () => {
  const { dug } = field(1);
  const bare = dug.map((s) => ({ ...s, hullM: null }));
  expect(fittingTrend(bare, 'hull_and_linear')?.name).toBe('linear');
  const seven = dug.filter((_, i) => i % 10 === 0).slice(0, 7);
  expect(fittingTrend(seven, 'hull_and_linear')?.name).toBe('hull');
  expect(fittingTrend(seven.map((s) => ({ ...s, count: 2 })).slice(0, 3), 'linear')?.name).toBe('none');
  expect(
    fittingTrend(
      dug.map((s) => ({ ...s, count: 0 })),
      'linear',
    ),
  ).toBeNull();
  expect(triedTrends(bare, { bufferM: 2, tick: quiet }).map(({ trend }) => trend.name)).not.toContain('hull');
});

test('a place far off is known less well than any dug square, one amid them is not', () => {
  const { dug } = field(2);
  const trend = fitRates(dug, 'linear')!;
  expect(rateAt(trend, { x: 4.5, y: 4, hullM: 0 }).isBeyondFit).toBe(false);
  expect(rateAt(trend, { x: 15, y: 14, hullM: 10 }).isBeyondFit).toBe(true);
});

test('the interval widens with ground, dispersion and the uncertainty of the trend', () => {
  const width = (variance: number, dispersion: number, groundM2 = 1) => {
    const { low, high } = predict({ link: 2, variance, isBeyondFit: false }, { groundM2, dispersion });
    return high - low;
  };
  expect(width(0, 4)).toBeGreaterThan(width(0, 1));
  expect(width(0.5, 1)).toBeGreaterThan(width(0, 1));
  const { mean, variance } = predict(
    { link: Math.log(6), variance: 0.2, isBeyondFit: false },
    { groundM2: 0.5, dispersion: 3 },
  );
  near(mean, 3, { relative: 1e-12 });
  near(variance, 3 * 3 + 9 * (Math.exp(0.2) - 1), { relative: 1e-12 });
});
