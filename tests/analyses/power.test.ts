import { expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import nearestNeighbour from '../../src/analyses/nearest-neighbour/index.js';
import section from '../../src/analyses/section/index.js';
import { uniformScatter } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';

const window = windowOf([
  [
    [
      [0, 0],
      [10, 0],
      [10, 8],
      [0, 8],
    ],
  ],
]);
const scatter = (n: number) => {
  const xy = uniformScatter({ n, seed: 3, width: 10, height: 8 });
  return sampleOf(
    Array.from({ length: n }, (_, i) => [xy[2 * i], xy[2 * i + 1]] as const),
    window,
  );
};
const nearest = nearestNeighbour as unknown as Analysis;
const askPower = (n: number) =>
  executeAnalysis(nearest, scatter(n), checkInputs(nearest, { power: true, simulations: 39 }), () => {}).summary[
    'power'
  ] as {
    smallest_effect_80: number | null;
    tried: { strength: number; rejected: number }[];
    reading: string;
  };

test('more finds show smaller heaps; a random scatter is rejected about as often as the level says', () => {
  const few = askPower(12);
  const many = askPower(120);
  expect(many.smallest_effect_80).toBeLessThan(few.smallest_effect_80 ?? 2);
  expect(many.reading).toMatch(/^With 120 finds the smallest effect seen 8 times in 10 is 0\.\d+ \(share of the finds/);
  for (const { tried } of [few, many]) {
    // 100 sets at 0.05: more than 15 would happen once in ten thousand times
    expect(tried[0].strength).toBe(0);
    expect(tried[0].rejected).toBeLessThanOrEqual(0.15);
  }
  const reached = many.tried.find(({ strength }) => strength === many.smallest_effect_80);
  expect(reached?.rejected).toBeGreaterThanOrEqual(0.8);
});

test('one find can show nothing, and the sentence says so', () => {
  expect(askPower(1)).toMatchObject({ smallest_effect_80: null, reading: expect.stringMatching(/^Cannot tell/) });
});

test('equal seeds give the same power, and the numbers of the answer are those without it', () => {
  expect(askPower(30)).toEqual(askPower(30));
  const inputs = { simulations: 19 };
  const plain = executeAnalysis(nearest, scatter(30), checkInputs(nearest, inputs), () => {}).summary;
  const { power: _power, ...numbers } = executeAnalysis(
    nearest,
    scatter(30),
    checkInputs(nearest, { ...inputs, power: true }),
    () => {},
  ).summary;
  expect(numbers).toEqual(plain);
});

test('an analysis without a test refuses the question', () => {
  const analysis = section as unknown as Analysis;
  expect(() => executeAnalysis(analysis, scatter(5), checkInputs(analysis, { power: true }), () => {})).toThrow(
    /section leads with no test whose power could be tried/,
  );
});
