import { expect, test } from 'vitest';
import { mean, median, quantile, quantiles, standardDeviation, variance } from '../../src/math/quantiles.js';
import { allNear, near } from '../support/near.js';

test('quantiles are interpolated as type 7', () => {
  // numpy 2.4.6, numpy.quantile([9, 3, 7, 1, 20], [0, .1, .25, .5, .9, 1])
  const values = Float64Array.of(9, 3, 7, 1, 20);
  allNear(quantiles(values, [0, 0.1, 0.25, 0.5, 0.9, 1]) as number[], [1, 1.8, 3, 7, 15.6, 20], { relative: 1e-14 });
  expect([...values]).toEqual([9, 3, 7, 1, 20]);
  expect(median([4, 1, 2, 3])).toBe(2.5);
  expect(quantile([5], 0.37)).toBe(5);
});

test('mean and variance, far from the origin too', () => {
  expect(mean([1, 2, 6])).toBe(3);
  near(variance([1, 2, 6]), 7, { relative: 1e-15 });
  near(standardDeviation([1, 2, 6]), Math.sqrt(7), { relative: 1e-15 });
  near(variance([6_500_001, 6_500_002, 6_500_006]), 7, { relative: 1e-12 });
});

test('unknown is null', () => {
  expect(mean([])).toBeNull();
  expect(variance([3])).toBeNull();
  expect(standardDeviation([])).toBeNull();
  expect(median(new Float64Array(0))).toBeNull();
});
