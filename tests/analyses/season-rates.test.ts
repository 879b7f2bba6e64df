import { describe, expect, test } from 'vitest';
import {
  dispersionOf,
  negativeBinomialK,
  splitDispersion,
  widenedRate,
  widenedRatio,
} from '../../src/analyses/season-comparison/rates.js';
import { near } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

const { input, expected } = readReferenceFile<
  { rate: { count: number; ground: number }; ratio: { n1: number; area1: number; n2: number; area2: number } },
  { rate: { low: number; high: number }; ratio: { low: number; high: number; p: number } }
>('season_rates_r');
const exact = { relative: 1e-9 };
const one = (count: number, ground: number) => ({ counts: [count], exposure: [ground] });

describe('numbers of R', () => {
  test('rate of one season', () => {
    const rate = widenedRate(one(input.rate.count, input.rate.ground), true);
    near(rate.exactLow, expected.rate.low, exact);
    near(rate.exactHigh, expected.rate.high, exact);
    expect(rate).toMatchObject({ value: 3.5, low: rate.exactLow, high: rate.exactHigh, dispersion: null });
  });

  test('ratio of two seasons, the second over the first', () => {
    const { n1, area1, n2, area2 } = input.ratio;
    const ratio = widenedRatio(one(n2, area2), one(n1, area1), { dispersion: null, areIndependent: true });
    near(ratio.value, 2, { relative: 1e-12 });
    near(ratio.exactLow, expected.ratio.low, exact);
    near(ratio.exactHigh, expected.ratio.high, exact);
  });
});

describe('widening', () => {
  const heaped = { counts: [0, 0, 20, 0, 0, 16, 0, 0], exposure: new Array<number>(8).fill(1) };
  const level = { counts: [4, 5, 4, 5, 5, 4, 5, 4], exposure: new Array<number>(8).fill(1) };

  test('heaped finds widen the interval, even ones do not narrow it', () => {
    const wide = widenedRate(heaped, true);
    expect(wide.dispersion).toBeGreaterThan(5);
    expect((wide.high ?? 0) - (wide.low ?? 0)).toBeGreaterThan(2 * ((wide.exactHigh ?? 0) - (wide.exactLow ?? 0)));
    const even = widenedRate(level, true);
    expect(even.dispersion).toBeLessThan(1);
    expect(even.low).toBe(even.exactLow);
    expect(negativeBinomialK(heaped)).toBeLessThan(1);
    expect(negativeBinomialK(level)).toBeNull();
  });

  test('what is uneven between squares, but alike in both seasons, does not widen a ratio on shared squares', () => {
    const twice = { ...heaped, counts: heaped.counts.map((c) => 2 * c) };
    expect(dispersionOf([heaped, twice])).toBeGreaterThan(5);
    near(splitDispersion(heaped, twice), 0, { absolute: 1e-12 });
    expect(
      splitDispersion({ ...heaped, counts: [8, 0, 0, 0, 0, 0, 0, 0] }, { ...heaped, counts: [0, 8, 0, 0, 0, 0, 0, 0] }),
    ).toBe(16);
  });

  test('counts divided by their dispersion: four finds that count as one', () => {
    const ratio = widenedRatio(one(40, 1), one(80, 1), { dispersion: 4, areIndependent: true });
    const quarter = widenedRatio(one(10, 1), one(20, 1), { dispersion: null, areIndependent: true });
    near(ratio.low, quarter.exactLow as number, exact);
    near(ratio.high, quarter.exactHigh as number, exact);
    expect(ratio.seen).toEqual(quarter.seen);
  });

  test('grams have a rate and no interval; no finds in the first season leave a ratio without end', () => {
    expect(widenedRate(heaped, false)).toMatchObject({ value: 4.5, low: null, high: null, dispersion: null });
    const open = widenedRatio(one(0, 2), one(9, 2), { dispersion: null, areIndependent: true });
    expect(open).toMatchObject({ value: null, high: null });
    expect(open.low).toBeGreaterThan(1);
  });
});
