import { expect, test } from 'vitest';
import { blockBootstrapMeans } from '../../src/math/block-bootstrap.js';
import { near } from '../support/near.js';

const values = {
  value: Float64Array.of(1, 2, 3, 4, 5, 6, 7, 9),
  class: Int32Array.of(0, 0, 0, 0, 1, 1, 1, 1),
  classes: 3,
  block: Int32Array.of(1, 2, 3, 4, 1, 2, 3, 4),
};

test('means of classes, an empty class is not known, equal seeds give equal bands', () => {
  const once = blockBootstrapMeans(values, { count: 199, seed: 4 });
  expect(once.map((c) => c.mean)).toEqual([2.5, 6.75, null]);
  expect(once[2]).toEqual({ n: 0, mean: null, low: null, high: null });
  expect(blockBootstrapMeans(values, { count: 199, seed: 4 })).toEqual(once);
  expect(blockBootstrapMeans(values, { count: 199, seed: 5 })).not.toEqual(once);
});

test('the band is that of all 256 ways to draw four blocks from four', () => {
  const means: number[] = [];
  for (let k = 0; k < 256; k++) {
    const drawn = [k & 3, (k >> 2) & 3, (k >> 4) & 3, (k >> 6) & 3];
    means.push(drawn.reduce((sum, b) => sum + values.value[b], 0) / 4);
  }
  means.sort((a, b) => a - b);
  const [first] = blockBootstrapMeans(values, { count: 4000, seed: 1 });
  near(first.low, means[6], { absolute: 0.13 });
  near(first.high, means[249], { absolute: 0.13 });
});

test('three blocks or no draws give no band', () => {
  const few = { ...values, block: Int32Array.of(1, 2, 3, 3, 1, 2, 3, 3) };
  expect(blockBootstrapMeans(few, { count: 99, seed: 1 })[0]).toMatchObject({ mean: 2.5, low: null });
  expect(blockBootstrapMeans(values, { count: 0, seed: 1 })[0]).toMatchObject({ mean: 2.5, high: null });
});
