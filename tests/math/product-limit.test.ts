import { expect, test } from 'vitest';
import { productLimit, productLimitAt, productLimitMean } from '../../src/math/product-limit.js';
import { near, uniformScatter } from '../support/near.js';

/** Slow twin, straight from the formula. */
function twin(distances: Float64Array, boundaries: Float64Array, r: number): number {
  const observed = [...distances].map((d, i) => Math.min(d, boundaries[i]));
  let survival = 1;
  for (const s of new Set([...distances].filter((d, i) => d <= boundaries[i] && d <= r).sort((a, b) => a - b))) {
    const deaths = [...distances].filter((d, i) => d === s && d <= boundaries[i]).length;
    survival *= 1 - deaths / observed.filter((o) => o >= s).length;
  }
  return 1 - survival;
}

test('six distances by hand, one tie of a neighbour and an edge', () => {
  // times 1 (seen), 2 (edge), 2 (seen: counts before the edge), 3 (edge), 4 (seen), 5 (edge)
  const curve = productLimit(Float64Array.of(1, 9, 2, 7, 4, 6), Float64Array.of(5, 2, 8, 3, 4, 5));
  expect([...curve.at]).toEqual([1, 2, 4]);
  near(curve.value[0], 1 / 6, { relative: 1e-15 });
  near(curve.value[1], 1 - (5 / 6) * (4 / 5), { relative: 1e-15 });
  near(curve.value[2], 1 - (5 / 6) * (4 / 5) * (1 / 2), { relative: 1e-15 });
  near(curve.mass, 2 / 3, { relative: 1e-15 });
  near(productLimitMean(curve), (1 / 6 + 2 / 6 + 4 / 3) / (2 / 3), { relative: 1e-15 });
  expect(productLimitAt(curve, 0.999)).toBe(0);
  expect(productLimitAt(curve, 1)).toBe(curve.value[0]);
  expect(productLimitAt(curve, 3.99)).toBe(curve.value[1]);
  expect(productLimitAt(curve, 99)).toBe(curve.mass);
});

test('seeded distances with ties equal the slow twin', () => {
  for (let seed = 0; seed < 30; seed++) {
    const drawn = uniformScatter({ n: 40, seed }).map((v) => Math.round(v * 20) / 20);
    const distances = drawn.filter((_, i) => i % 2 === 0);
    const boundaries = drawn.filter((_, i) => i % 2 === 1);
    const curve = productLimit(distances, boundaries);
    for (const r of [0, 0.05, 0.31, 0.5, 0.77, 1]) {
      near(productLimitAt(curve, r), twin(distances, boundaries, r), { absolute: 1e-14 });
    }
  }
});

test('without any edge in reach it is the plain share and the plain mean', () => {
  const distances = Float64Array.of(3, 0, 1, 1, 7);
  const curve = productLimit(distances, new Float64Array(5).fill(Infinity));
  near(productLimitAt(curve, 1), 0.6, { absolute: 1e-15 });
  near(curve.mass, 1, { absolute: 0 });
  near(productLimitMean(curve), 12 / 5, { relative: 1e-15 });
});

test('coincident finds on the edge are seen; when all are cut short there is no mean', () => {
  expect(productLimitMean(productLimit(Float64Array.of(0, 0), Float64Array.of(0, 0)))).toBe(0);
  expect(productLimitMean(productLimit(Float64Array.of(3, 3), Float64Array.of(1, 2)))).toBeNull();
  expect(productLimitMean(productLimit(Float64Array.of(Infinity), Float64Array.of(2)))).toBeNull();
  expect(productLimit(new Float64Array(0), new Float64Array(0)).mass).toBe(0);
});
