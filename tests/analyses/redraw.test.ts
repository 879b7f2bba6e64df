import { expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import nearestNeighbour from '../../src/analyses/nearest-neighbour/index.js';
import type { Sample } from '../../src/domain/sample.js';
import { normalDeviate, randomStream } from '../../src/math/random.js';
import { heapedScatter } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';

const analysis = nearestNeighbour as unknown as Analysis;
const window = windowOf([
  [
    [
      [0, 0],
      [9, 0],
      [9, 6],
      [0, 6],
    ],
  ],
]);
const heaps = heapedScatter({ n: 60, seed: 5, heaps: 6, spread: 0.3, width: 9, height: 6 });
const finds = Array.from({ length: 60 }, (_, i) => [heaps[2 * i], heaps[2 * i + 1]] as const);
const withError = (sigma: number): Sample => sampleOf(finds, window, { sigmaXy: new Float64Array(60).fill(sigma) });
const run = (sample: Sample, position_error: string) =>
  executeAnalysis(analysis, sample, checkInputs(analysis, { position_error, draws: 9, simulations: 9 }), () => {});
const ratioOf = (summary: Record<string, unknown>) => summary['ratio'] as number;

test('a large position error pulls heaps towards random, and the range says how far', () => {
  const asRecorded = ratioOf(run(withError(0.5), 'ignore').summary);
  const { summary, cautions } = run(withError(0.5), 'redraw');
  expect(asRecorded).toBeLessThan(0.5);
  expect(ratioOf(summary)).toBeGreaterThan(asRecorded + 0.1);
  const range = (summary['range_over_draws'] as { ratio: { low: number; high: number } }).ratio;
  expect(range.low).toBeLessThan(range.high);
  expect(range.low).toBeLessThanOrEqual(ratioOf(summary));
  expect(range.high).toBeGreaterThanOrEqual(ratioOf(summary));
  expect(cautions.join(' ')).toContain('shifted by its own standard deviation 9 times');
});

test('without a stated error nothing is redrawn; an error of nothing changes nothing', () => {
  const { summary } = run(withError(Number.NaN), 'redraw');
  expect(summary).toEqual(run(withError(Number.NaN), 'ignore').summary);
  const { range_over_draws: _range, ...numbers } = run(withError(0), 'redraw').summary;
  expect(numbers).toEqual(run(withError(0), 'ignore').summary);
});

test('equal seeds redraw the same', () => {
  expect(run(withError(0.2), 'redraw').summary).toEqual(run(withError(0.2), 'redraw').summary);
});

test('normal deviates have the moments of the standard normal law', () => {
  const random = randomStream(11, 0);
  const n = 40_000;
  const moments = [0, 0, 0, 0];
  let inside = 0;
  for (let i = 0; i < n; i++) {
    const v = normalDeviate(random);
    moments.forEach((_, k) => {
      moments[k] += v ** (k + 1) / n;
    });
    if (Math.abs(v) < 1.959963984540054) inside++;
  }
  // four standard errors of each mean: √(1, 2, 15, 96) / 200
  expect(Math.abs(moments[0])).toBeLessThan(0.02);
  expect(Math.abs(moments[1] - 1)).toBeLessThan(0.03);
  expect(Math.abs(moments[2])).toBeLessThan(0.08);
  expect(Math.abs(moments[3] - 3)).toBeLessThan(0.2);
  expect(Math.abs(inside / n - 0.95)).toBeLessThan(0.005);
});
