import { expect, test } from 'vitest';
import { logGamma } from '../../src/math/distributions.js';
import { countInterval, countIntervals } from '../../src/math/rate-interval.js';
import { near } from '../support/near.js';

test('as printed in tables of exact Poisson limits', () => {
  // 0: 3.689; 1: 0.0253 to 5.572; 10: 4.795 to 18.39; 50: 37.11 to 65.92
  expect(countInterval(0).low).toBe(0);
  near(countInterval(0).high, -Math.log(0.025), { relative: 1e-13 });
  near(countInterval(1).low, -Math.log(0.975), { relative: 1e-12 });
  near(countInterval(1).high, 5.572, { absolute: 5e-4 });
  near(countInterval(10).low, 4.795, { absolute: 5e-4 });
  near(countInterval(10).high, 18.39, { absolute: 5e-3 });
  near(countInterval(50).low, 37.11, { absolute: 5e-3 });
  near(countInterval(50).high, 65.92, { absolute: 5e-3 });
});

test('slow twin: Poisson sums at both ends leave 2.5 %', () => {
  const sum = (from: number, to: number, mean: number) => {
    let total = 0;
    for (let k = from; k <= to; k++) total += Math.exp(k * Math.log(mean) - mean - logGamma(k + 1));
    return total;
  };
  for (const count of [1, 4, 17, 120]) {
    const { low, high } = countInterval(count);
    near(sum(0, count, high), 0.025, { relative: 1e-9 });
    near(1 - sum(0, count - 1, low), 0.025, { relative: 1e-9 });
  }
  expect(countIntervals()(7)).toEqual(countInterval(7));
});
