import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { bandRank, pointwiseBand, rankProbability, simulate } from '../../src/math/monte-carlo.js';

const reference = JSON.parse(readFileSync(new URL('../reference/montecarlo_rank_p.json', import.meta.url), 'utf8'));

test('rank probabilities equal the reference', () => {
  for (const expected of reference.expected.cases) {
    const p = rankProbability(expected.observed, expected.simulated);
    expect(p).toEqual({ lower: expected.p_less, upper: expected.p_greater, twoSided: expected.p_two });
  }
  expect(reference.expected.cases.length).toBe(5);
});

test('19 simulations never give less than 1 in 20, none gives 1', () => {
  const simulated = Float64Array.from({ length: 19 }, (_, i) => i);
  expect(rankProbability(-1, simulated)).toEqual({ lower: 0.05, upper: 1, twoSided: 0.1 });
  expect(rankProbability(99, simulated)).toEqual({ lower: 1, upper: 0.05, twoSided: 0.1 });
  expect(rankProbability(3, [])).toEqual({ lower: 1, upper: 1, twoSided: 1 });
});

test('simulations do not depend on how many workers share them', () => {
  const draw = (random: { next(): number }, index: number) => [index, random.next(), random.next()];
  const alone = simulate({ count: 100, seed: 1790 }, draw);
  const shared = [0, 1, 2].flatMap((worker) => {
    const first = worker * 40;
    return simulate({ count: Math.min(40, 100 - first), seed: 1790, first }, draw);
  });
  expect(shared).toEqual(alone);
  expect(new Set(alone.map((row) => row[1])).size).toBe(100);
  expect(simulate({ count: 0, seed: 1 }, draw)).toEqual([]);
});

test('progress rises from 0 and may stop the run', () => {
  const shares: number[] = [];
  simulate({ count: 1000, seed: 1, progress: (share) => shares.push(share) }, () => 0);
  expect(shares.length).toBe(100);
  expect(shares[0]).toBe(0);
  expect(shares).toEqual([...shares].sort((a, b) => a - b));
  let ran = 0;
  const stop = (share: number) => {
    if (share > 0.5) throw new Error('cancelled');
  };
  expect(() => simulate({ count: 10, seed: 1, progress: stop }, () => ran++)).toThrow('cancelled');
  expect(ran).toBe(6);
});

test('a pointwise band is made of ranks', () => {
  expect(bandRank(999, 0.05)).toBe(25);
  expect(bandRank(39, 0.05)).toBe(1);
  expect(bandRank(19, 0.05)).toBe(1);
  const curves = [3, 30, 1, 10, 2, 20, 5, 50, 4, 40];
  const kept = [...curves];
  expect(pointwiseBand(curves, 2, 1)).toEqual({
    low: Float64Array.of(1, 10),
    high: Float64Array.of(5, 50),
    level: 2 / 6,
  });
  expect(pointwiseBand(curves, 2, 2).low).toEqual(Float64Array.of(2, 20));
  expect(pointwiseBand(curves, 2, 2).high).toEqual(Float64Array.of(4, 40));
  expect(curves).toEqual(kept);
});
