import { expect, test } from 'vitest';
import { chanceOfNone, countLowerTail, countQuantile } from '../../src/math/count-law.js';
import { linkAt, poissonRegression } from '../../src/math/poisson-regression.js';
import { randomStream } from '../../src/math/random.js';
import { allNear, near } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

interface CountOf {
  readonly mean: number;
  readonly size: number;
  readonly value: number;
}
const { input, expected } = readReferenceFile<
  Record<'x' | 'y' | 'exposure' | 'distance' | 'count', number[]>,
  Record<'coefficients' | 'vcov' | 'leave_one_out', number[]> & {
    dispersion: number;
    deviance: number;
    new: Record<'distance' | 'x' | 'y' | 'link' | 'se', number[]>;
    quantiles: (CountOf & { share: number })[];
    none: CountOf[];
  }
>('poisson_trend_s');

const tableOf = (columns: readonly ArrayLike<number>[], counts: ArrayLike<number>, exposure: ArrayLike<number>) => ({
  design: Float64Array.from(Array.from({ length: counts.length }, (_, i) => [1, ...columns.map((c) => c[i])]).flat()),
  terms: columns.length + 1,
  counts: Float64Array.from(counts),
  exposure: Float64Array.from(exposure),
});

test('coefficients, errors, dispersion, deviance and predictions as R’s glm has them', () => {
  const fit = poissonRegression(tableOf([input.distance, input.x, input.y], input.count, input.exposure))!;
  allNear(fit.coefficients, expected.coefficients, { relative: 1e-9 });
  near(fit.dispersion, expected.dispersion, { relative: 1e-9 });
  near(fit.deviance, expected.deviance, { relative: 1e-11 });
  allNear(
    fit.covariance.map((v) => v * fit.dispersion!),
    expected.vcov,
    { relative: 1e-7 },
  );
  expected.new.link.forEach((link, i) => {
    const at = linkAt(fit, [1, expected.new.distance[i], expected.new.x[i], expected.new.y[i]]);
    near(at.link, link, { relative: 1e-9 });
    near(Math.sqrt(at.variance * fit.dispersion!), expected.new.se[i], { relative: 1e-8 });
  });
});

test('the fits that leave one square out as R’s', () => {
  expected.leave_one_out.forEach((mean, i) => {
    const rest = (v: readonly number[]) => v.filter((_, j) => j !== i);
    const fit = poissonRegression(
      tableOf([rest(input.distance), rest(input.x), rest(input.y)], rest(input.count), rest(input.exposure)),
    )!;
    const { link } = linkAt(fit, [1, input.distance[i], input.x[i], input.y[i]]);
    near(Math.exp(link) * input.exposure[i], mean, { relative: 1e-9 });
  });
});

test('an intercept alone is the count over the ground; two groups are their two rates', () => {
  const counts = [3, 0, 5, 2, 7];
  const exposure = [1, 0.5, 1, 1, 2];
  const mean = poissonRegression(tableOf([], counts, exposure))!;
  near(Math.exp(mean.coefficients[0]), 17 / 5.5, { relative: 1e-12 });
  near(mean.covariance[0], 1 / 17, { relative: 1e-10 });
  const groups = poissonRegression(tableOf([[0, 0, 1, 1, 1]], counts, exposure))!;
  near(Math.exp(groups.coefficients[0]), 3 / 1.5, { relative: 1e-11 });
  near(groups.coefficients[1], Math.log(14 / 4 / 2), { relative: 1e-11 });
  // variance of a log rate ratio: 1/a + 1/b
  near(groups.covariance[3], 1 / 3 + 1 / 14, { relative: 1e-9 });
});

/** plain Newton steps on the log likelihood from a flat start, solved by elimination */
function newton(rows: number[][], counts: number[], exposure: number[]): number[] {
  const p = rows[0].length;
  const total = counts.reduce((s, c) => s + c, 0) / exposure.reduce((s, e) => s + e, 0);
  let b = [Math.log(total), ...new Array<number>(p - 1).fill(0)];
  for (let round = 0; round < 200; round++) {
    const mean = rows.map((row, i) => exposure[i] * Math.exp(row.reduce((s, v, t) => s + v * b[t], 0)));
    const m = b.map((_, a) => [
      ...b.map((__, c) => rows.reduce((s, row, i) => s + mean[i] * row[a] * row[c], 0)),
      rows.reduce((s, row, i) => s + (counts[i] - mean[i]) * row[a], 0),
    ]);
    for (let a = 0; a < p; a++)
      for (let r = 0; r < p; r++)
        if (r !== a) {
          const f = m[r][a] / m[a][a];
          for (let c = a; c <= p; c++) m[r][c] -= f * m[a][c];
        }
    // half steps: the flat start may overshoot
    b = b.map((v, a) => v + Math.max(-0.5, Math.min(0.5, m[a][p] / m[a][a])));
  }
  return b;
}

test('200 seeded fields: the same coefficients as plain Newton steps', () => {
  for (let seed = 1; seed <= 200; seed++) {
    const random = randomStream(seed, 2);
    const n = 12 + random.below(20);
    const x = Array.from({ length: n }, () => random.next() * 4);
    const y = Array.from({ length: n }, () => random.next() * 3);
    const exposure = x.map(() => (random.below(3) === 0 ? 0.5 : 1));
    const counts = x.map((v, i) => Math.round(exposure[i] * Math.exp(1 + 0.4 * v - 0.3 * y[i]) * 2 * random.next()));
    const fit = poissonRegression(tableOf([x, y], counts, exposure))!;
    const slow = newton(
      x.map((v, i) => [1, v, y[i]]),
      counts,
      exposure,
    );
    allNear(fit.coefficients, slow, { relative: 1e-7, absolute: 1e-8 });
  }
});

test('terms that cannot be told apart, nothing counted, too few squares: no fit', () => {
  const flat = [1, 1, 1, 1];
  expect(poissonRegression(tableOf([flat], [1, 2, 3, 4], flat))).toBeNull();
  expect(poissonRegression(tableOf([[1, 2, 3, 4]], [0, 0, 0, 0], flat))).toBeNull();
  expect(poissonRegression(tableOf([[1], [2]], [3], [1]))).toBeNull();
});

test('quantiles of counts as R has them', () => {
  for (const { mean, size, share, value } of expected.quantiles) {
    const law = { mean, variance: mean + (mean * mean) / size };
    expect(countQuantile(law, share)).toBe(value);
    expect(countLowerTail(law, value)).toBeGreaterThanOrEqual(share);
    expect(countLowerTail(law, value - 1)).toBeLessThan(share);
  }
  for (const { mean, size, value } of expected.none)
    near(chanceOfNone({ mean, variance: mean + (mean * mean) / size }), value, { relative: 1e-12 });
});

test('tails of counts are sums of their terms, Poisson and negative binomial', () => {
  const law = { mean: 2.5, variance: 2.5 };
  near(countLowerTail(law, 3), Math.exp(-2.5) * (1 + 2.5 + 2.5 ** 2 / 2 + 2.5 ** 3 / 6), { relative: 1e-12 });
  near(chanceOfNone(law), Math.exp(-2.5), { relative: 1e-12 });
  // k = 1 is geometric
  const heaped = { mean: 3, variance: 12 };
  near(countLowerTail(heaped, 2), 1 - 0.75 ** 3, { relative: 1e-12 });
  expect(countQuantile(heaped, 1 - 0.75 ** 3 - 1e-9)).toBe(2);
  expect(countQuantile(heaped, 1 - 0.75 ** 3 + 1e-9)).toBe(3);
  expect(countLowerTail(heaped, -1)).toBe(0);
});
