import { expect, test } from 'vitest';
import { logGamma } from '../../src/math/distributions.js';
import { negativeBinomialFit } from '../../src/math/negative-binomial.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';

/** Counts of red mites on 150 leaves, printed in Bliss & Fisher 1953, table 1. */
const mites = [70, 38, 17, 10, 9, 3, 2, 1].flatMap((times, count) => new Array<number>(times).fill(count));
const ones = (n: number) => new Float64Array(n).fill(1);

test('the mites of Bliss & Fisher: k = 1.0246 by maximum likelihood', () => {
  const fit = negativeBinomialFit(mites, ones(150));
  near(fit?.k, 1.02459, { absolute: 5e-6 });
  expect(fit?.low).toBeLessThan(fit?.k ?? 0);
  expect(fit?.high).toBeGreaterThan(fit?.k ?? Infinity);
});

/** Log likelihood of a k with the mean of the counts, straight from the law. */
function likelihood(counts: readonly number[], k: number): number {
  const mean = counts.reduce((sum, c) => sum + c, 0) / counts.length;
  return counts.reduce(
    (sum, c) =>
      sum +
      logGamma(k + c) -
      logGamma(k) -
      logGamma(c + 1) +
      k * Math.log(k / (k + mean)) +
      c * Math.log(mean / (k + mean)),
    0,
  );
}

test('slow twin: no k of a fine search is likelier; the interval ends where the likelihood has fallen by 1.92', () => {
  const fit = negativeBinomialFit(mites, ones(150));
  const best = likelihood(mites, fit?.k ?? 0);
  for (let k = 0.3; k < 4; k *= 1.003) expect(likelihood(mites, k)).toBeLessThanOrEqual(best + 1e-9);
  near(best - likelihood(mites, fit?.low ?? 0), 3.841458820694124 / 2, { relative: 1e-6 });
  near(best - likelihood(mites, fit?.high ?? 0), 3.841458820694124 / 2, { relative: 1e-6 });
});

test('the unit of ground does not matter', () => {
  const random = randomStream(2, 2);
  const ground = Float64Array.from({ length: 40 }, () => 0.2 + random.next());
  const counts = Float64Array.from(ground, (g) => Math.floor(9 * g * random.next() ** 3));
  const one = negativeBinomialFit(counts, ground);
  near(
    negativeBinomialFit(
      counts,
      ground.map((g) => 100 * g),
    )?.k,
    one?.k ?? 0,
    { relative: 1e-6 },
  );
});

test('counts more even than chance have no k; nothing counted has no fit', () => {
  const even = negativeBinomialFit([3, 3, 3, 3, 2, 3, 4, 3], ones(8));
  expect(even).toMatchObject({ k: null, high: null, likelihoodRatio: 0 });
  expect(even?.low).toBeGreaterThan(1);
  expect(negativeBinomialFit([0, 0], ones(2))).toBeNull();
  expect(negativeBinomialFit([4], ones(1))).toBeNull();
});
