import { expect } from 'vitest';
import { randomStream } from '../../src/math/random.js';

/** How far a number may stray: a share of the expected value, metres (or whatever the unit is), or either of both. */
export interface Tolerance {
  readonly relative?: number;
  readonly absolute?: number;
}

/** Fails unless `actual` lies within the tolerance of `expected`; says by how much it strays. */
export function near(actual: number | null | undefined, expected: number, tolerance: Tolerance): void {
  const allowed = Math.max((tolerance.relative ?? 0) * Math.abs(expected), tolerance.absolute ?? 0);
  const difference = typeof actual === 'number' ? Math.abs(actual - expected) : Number.NaN;
  // written so that NaN fails
  if (!(difference <= allowed || actual === expected)) {
    expect.fail(`got ${actual}, expected ${expected}: off by ${difference}, allowed ${allowed}`);
  }
}

/** Every number of a list within the tolerance of its fellow. */
export function allNear(actual: ArrayLike<number>, expected: ArrayLike<number>, tolerance: Tolerance): void {
  expect(actual.length).toBe(expected.length);
  for (let i = 0; i < expected.length; i++) near(actual[i], expected[i], tolerance);
}

/** [2n] seeded points, uniform in a rectangle from 0,0. */
export function uniformScatter(spec: { n: number; seed: number; width?: number; height?: number }): Float64Array {
  const { n, seed, width = 1, height = 1 } = spec;
  const random = randomStream(seed, 0);
  const xy = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    xy[2 * i] = random.next() * width;
    xy[2 * i + 1] = random.next() * height;
  }
  return xy;
}

/** [2n] seeded points in square heaps of side `spread`, `heaps` of them, inside a rectangle from 0,0. */
export function heapedScatter(spec: {
  n: number;
  seed: number;
  heaps: number;
  spread: number;
  width?: number;
  height?: number;
}): Float64Array {
  const { n, seed, heaps, spread, width = 1, height = 1 } = spec;
  const random = randomStream(seed, 0);
  const centres = Array.from({ length: heaps }, () => [
    random.next() * (width - spread),
    random.next() * (height - spread),
  ]);
  const xy = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    const [x, y] = centres[random.below(heaps)];
    xy[2 * i] = x + random.next() * spread;
    xy[2 * i + 1] = y + random.next() * spread;
  }
  return xy;
}

/** [2n] seeded points on the lattice of 2^-10 m, where whole-metre shifts, quarter turns and doubling are exact in binary. */
export function latticeScatter(spec: { n: number; seed: number; width: number; height: number }): Float64Array {
  return uniformScatter(spec).map((v) => Math.round(v * 1024) / 1024);
}
