import { expect, test } from 'vitest';
import { chiSquareUpperTail } from '../../src/math/distributions.js';
import { randomStream, shuffle } from '../../src/math/random.js';

const many = (seed: number, stream: number, count: number) => {
  const random = randomStream(seed, stream);
  return Array.from({ length: count }, () => random.next());
};

/** p of χ² that all cells are equally full. */
function evenness(counts: readonly number[]): number {
  const expected = counts.reduce((a, b) => a + b, 0) / counts.length;
  const square = counts.reduce((sum, c) => sum + (c - expected) ** 2 / expected, 0);
  return chiSquareUpperTail(square, counts.length - 1);
}

test('the same seed and stream give the same numbers, another stream or seed others', () => {
  expect(many(1790, 0, 50)).toEqual(many(1790, 0, 50));
  const firsts = new Set<number>();
  for (let seed = 0; seed < 40; seed++)
    for (let stream = 0; stream < 40; stream++) firsts.add(many(seed, stream, 1)[0]);
  expect(firsts.size).toBe(1600);
  expect(many(2 ** 32, 0, 1)).not.toEqual(many(0, 0, 1));
});

test('numbers lie in [0, 1) and fill it evenly', () => {
  const counts = new Array<number>(100).fill(0);
  for (const v of many(7, 3, 100_000)) {
    // a value outside [0, 1) would make a hundred and first count
    counts[Math.floor(v * 100)]++;
  }
  expect(Object.keys(counts).length).toBe(100);
  expect(evenness(counts)).toBeGreaterThan(1e-4);
});

test('the first numbers of neighbouring streams are even too, in pairs', () => {
  const counts = new Array<number>(100).fill(0);
  for (let stream = 0; stream < 20_000; stream++) {
    const [a, b] = many(1, stream, 2);
    counts[Math.floor(a * 10) * 10 + Math.floor(b * 10)]++;
  }
  expect(evenness(counts)).toBeGreaterThan(1e-4);
});

test('whole numbers below n, n not a power of two', () => {
  const random = randomStream(5, 5);
  const counts = new Array<number>(7).fill(0);
  for (let i = 0; i < 70_000; i++) counts[random.below(7)]++;
  expect(evenness(counts)).toBeGreaterThan(1e-4);
});

test('every order of four comes equally often', () => {
  const counts = new Map<string, number>();
  for (let i = 0; i < 24_000; i++) {
    const order = Uint32Array.of(0, 1, 2, 3);
    shuffle(order, randomStream(11, i));
    counts.set(order.join(''), (counts.get(order.join('')) ?? 0) + 1);
  }
  expect(counts.size).toBe(24);
  expect(evenness([...counts.values()])).toBeGreaterThan(1e-4);
});
