import { describe, expect, test } from 'vitest';
import { ratiosSeen } from '../../src/math/ratios-seen.js';
import { near } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

interface Split {
  readonly n: number;
  readonly area1: number;
  readonly area2: number;
}
const { input, expected } = readReferenceFile<
  { even: Split; uneven: Split },
  { even: { above: number }; uneven: { above: number; below: number } }
>('season_rates_r');
const exact = { relative: 1e-9 };

test('numbers of R: ratios that so many finds would show with 80 %', () => {
  const even = ratiosSeen(input.even);
  near(even.above, expected.even.above, exact);
  near(even.below, 1 / expected.even.above, exact);
  const uneven = ratiosSeen(input.uneven);
  near(uneven.above, expected.uneven.above, exact);
  near(uneven.below, expected.uneven.below, exact);
});

describe('power of so many finds', () => {
  test('the share of seen splits at that ratio is 80 %, and just below it is less', () => {
    const n = 40;
    const { above } = ratiosSeen({ n, area1: 3, area2: 2 });
    const choose = (k: number) => {
      let value = 1;
      for (let i = 0; i < k; i++) value = (value * (n - i)) / (i + 1);
      return value;
    };
    const atLeast = (k: number, p: number) => {
      let sum = 0;
      for (let i = k; i <= n; i++) sum += choose(i) * p ** i * (1 - p) ** (n - i);
      return sum;
    };
    let critical = 0;
    while (atLeast(critical, 0.6) > 0.025) critical++;
    const shareOf = (ratio: number) => (3 * ratio) / (3 * ratio + 2);
    near(atLeast(critical, shareOf(above ?? 0)), 0.8, { relative: 1e-9 });
    expect(atLeast(critical, shareOf(0.99 * (above ?? 0)))).toBeLessThan(0.8);
  });

  test('five finds on equal ground show nothing; more finds show smaller ratios', () => {
    expect(ratiosSeen({ n: 5, area1: 1, area2: 1 })).toEqual({ above: null, below: null });
    expect(ratiosSeen({ n: 0, area1: 1, area2: 1 }).above).toBeNull();
    const [few, many] = [20, 2000].map((n) => ratiosSeen({ n, area1: 1, area2: 1 }).above ?? 0);
    expect(few).toBeGreaterThan(3);
    expect(many).toBeLessThan(1.2);
  });
});
