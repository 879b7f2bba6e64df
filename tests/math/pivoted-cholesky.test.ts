import { expect, test } from 'vitest';
import { pivotedCholesky, quadraticForm } from '../../src/math/pivoted-cholesky.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';

/** Correlations of `size` sums of `directions` random values: rank `directions`, with a deviation that they can give. */
function dependent(size: number, directions: number, seed: number) {
  const random = randomStream(seed, 0);
  const rows = Array.from({ length: size }, () => Array.from({ length: directions }, () => random.next() - 0.5)).map(
    (row) => {
      const length = Math.hypot(...row);
      return row.map((v) => v / length);
    },
  );
  const source = Array.from({ length: directions }, () => random.next() - 0.5);
  const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, v, k) => sum + v * b[k], 0);
  return {
    source,
    deviation: rows.map((row) => dot(row, source)),
    values: Float64Array.from({ length: size * size }, (_, at) => dot(rows[Math.floor(at / size)], rows[at % size])),
  };
}

test('by hand: two correlated values', () => {
  const factor = pivotedCholesky({ values: Float64Array.of(1, 0.6, 0.6, 1), size: 2 });
  expect(factor.rank).toBe(2);
  // (1, 0)' [1 .6; .6 1]⁻¹ (1, 0) = 1 / 0.64
  near(
    quadraticForm(factor, (row) => (row === 0 ? 1 : 0)),
    1.5625,
    { relative: 1e-14 },
  );
});

test('rows that follow from others are passed over, and the form is what the free directions say', () => {
  for (let seed = 0; seed < 300; seed++) {
    const size = 2 + (seed % 9);
    const directions = 1 + (seed % size);
    const { values, deviation, source } = dependent(size, directions, seed);
    const factor = pivotedCholesky({ values, size });
    expect(factor.rank).toBe(directions);
    expect(new Set(factor.pivots).size).toBe(directions);
    const square = source.reduce((sum, v) => sum + v * v, 0);
    near(
      quadraticForm(factor, (row) => deviation[row]),
      square,
      { relative: 1e-6 },
    );
  }
});

test('nothing to factor has no directions', () => {
  const factor = pivotedCholesky({ values: new Float64Array(0), size: 0 });
  expect(factor.rank).toBe(0);
  expect(quadraticForm(factor, () => 1)).toBe(0);
});
