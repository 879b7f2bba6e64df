import { expect, test } from 'vitest';
import { rateRatio } from '../../src/math/rate-ratio.js';
import { near } from '../support/near.js';

test('slow twin: binomial sums at both ends of the interval leave 2.5 %', () => {
  const term = (k: number, share: number) => {
    let choose = 1;
    for (let i = 0; i < k; i++) choose *= (15 - i) / (i + 1);
    return choose * share ** k * (1 - share) ** (15 - k);
  };
  const sum = (from: number, to: number, share: number) => {
    let total = 0;
    for (let k = from; k <= to; k++) total += term(k, share);
    return total;
  };
  const found = rateRatio({ n1: 5, area1: 7, n2: 10, area2: 7 });
  const shareOf = (ratio: number) => ratio / (1 + ratio);
  near(found?.ratio, 0.5, { relative: 1e-14 });
  near(sum(5, 15, shareOf(found?.low ?? 0)), 0.025, { relative: 1e-9 });
  near(sum(0, 5, shareOf(found?.high ?? 0)), 0.025, { relative: 1e-9 });
  near(found?.p, (2 * 4944) / 32_768, { relative: 1e-12 });
});
test('the same rate on unequal ground is a ratio of 1; none on one side has no end on the other', () => {
  near(rateRatio({ n1: 4, area1: 2, n2: 12, area2: 6 })?.ratio, 1, { relative: 1e-14 });
  expect(rateRatio({ n1: 0, area1: 2, n2: 3, area2: 6 })).toMatchObject({ ratio: 0, low: 0 });
  expect(rateRatio({ n1: 3, area1: 2, n2: 0, area2: 6 })).toMatchObject({ ratio: null, high: null });
  expect(rateRatio({ n1: 0, area1: 2, n2: 0, area2: 6 })).toBeNull();
  expect(rateRatio({ n1: 1, area1: 0, n2: 1, area2: 6 })).toBeNull();
});
