import { expect, test } from 'vitest';
import { kthNearestDistances, nearestBetween, nearestDistances, nearestWorker } from '../../src/math/nearest.js';
import { heapedScatter, latticeScatter, uniformScatter } from '../support/near.js';

/** Slow twin: looks at everybody. */
function everyDistance(from: Float64Array, to: Float64Array, same: 'same set' | 'two sets'): number[][] {
  return Array.from({ length: from.length / 2 }, (_, i) => {
    const row: number[] = [];
    for (let j = 0; j < to.length / 2; j++) {
      if (same === 'same set' && i === j) continue;
      const dx = to[2 * j] - from[2 * i];
      const dy = to[2 * j + 1] - from[2 * i + 1];
      row.push(Math.sqrt(dx * dx + dy * dy));
    }
    return row.sort((a, b) => a - b);
  });
}

const collinear = (n: number, step: (i: number) => readonly [number, number]) =>
  Float64Array.from({ length: 2 * n }, (_, k) => step(Math.floor(k / 2))[k % 2]);

/** Every kind of scatter a register holds. */
const scatters: Record<string, Float64Array> = {
  'even, 1,000': uniformScatter({ n: 1000, seed: 1, width: 40, height: 25 }),
  'even, long and narrow': uniformScatter({ n: 500, seed: 2, width: 400, height: 0.5 }),
  'on the centimetre': uniformScatter({ n: 800, seed: 3, width: 2, height: 2 }).map((v) => Math.round(v * 100) / 100),
  'two heaps far apart': heapedScatter({ n: 900, seed: 4, heaps: 2, spread: 0.01, width: 1000, height: 700 }),
  'forty heaps': heapedScatter({ n: 1000, seed: 5, heaps: 40, spread: 0.3, width: 60, height: 40 }),
  'one heap and one stray': Float64Array.from([...uniformScatter({ n: 300, seed: 6 }), 4000, -900]),
  'all at one place': new Float64Array(600).fill(3.25),
  'one place and a stray': Float64Array.from([...new Float64Array(400).fill(3.25), 9, 9]),
  'along the x axis': collinear(300, (i) => [i * i * 0.01, 5]),
  'along the y axis': collinear(300, (i) => [5, i * i * 0.01]),
  slanting: collinear(300, (i) => [i * 0.37, i * 0.21]),
  'square lattice': collinear(400, (i) => [i % 20, Math.floor(i / 20)]),
  'map coordinates': uniformScatter({ n: 400, seed: 7, width: 30, height: 20 }).map(
    (v, i) => v + (i % 2 ? 4649776 : 500000),
  ),
  'few: 2': Float64Array.of(1, 1, 4, 5),
  'few: 3': Float64Array.of(1, 1, 4, 5, 1, 1),
};

test.each(Object.entries(scatters))('nearest distances equal those of the slow twin: %s', (_, xy) => {
  expect([...nearestDistances(xy)]).toEqual(everyDistance(xy, xy, 'same set').map((row) => row[0]));
});

test.each(Object.entries(scatters))('k-th distances equal those of the slow twin: %s', (_, xy) => {
  const k = Math.min(6, xy.length / 2 - 1);
  const expected = everyDistance(xy, xy, 'same set').flatMap((row) => row.slice(0, k));
  expect([...kthNearestDistances(xy, k)]).toEqual(expected);
});

test.each(Object.entries(scatters))('distances to another set equal those of the slow twin: %s', (_, xy) => {
  const from = uniformScatter({ n: 200, seed: 9, width: 50, height: 30 });
  expect([...nearestBetween(from, xy)]).toEqual(everyDistance(from, xy, 'two sets').map((row) => row[0]));
});

test('sixty small seeded scatters equal the slow twin', () => {
  for (let seed = 0; seed < 60; seed++) {
    const xy = latticeScatter({ n: 2 + seed, seed, width: 0.02 * (1 + (seed % 7)), height: 0.5 });
    expect([...nearestDistances(xy)]).toEqual(everyDistance(xy, xy, 'same set').map((row) => row[0]));
  }
});

test('nobody and one', () => {
  expect([...nearestDistances(new Float64Array(0))]).toEqual([]);
  expect([...nearestDistances(Float64Array.of(2, 3))]).toEqual([Infinity]);
  expect([...nearestBetween(Float64Array.of(2, 3), new Float64Array(0))]).toEqual([Infinity]);
  expect([...nearestBetween(Float64Array.of(2, 3), Float64Array.of(2, 3))]).toEqual([0]);
  expect([...nearestBetween(new Float64Array(0), Float64Array.of(2, 3))]).toEqual([]);
});

test('more neighbours than there are finds are refused', () => {
  expect(() => kthNearestDistances(Float64Array.of(0, 0, 1, 1, 2, 2), 3)).toThrow(/need at least 4 finds, got 3/);
});

test('a worker forgets the pattern before', () => {
  const worker = nearestWorker(500);
  worker(uniformScatter({ n: 500, seed: 11 }));
  const xy = uniformScatter({ n: 120, seed: 12, width: 9, height: 7 });
  expect([...worker(xy)]).toEqual([...nearestDistances(xy)]);
  worker(scatters['all at one place']);
  expect([...worker(xy)]).toEqual([...nearestDistances(xy)]);
});

test('points are left untouched', () => {
  const xy = uniformScatter({ n: 50, seed: 13 });
  const kept = xy.slice();
  nearestDistances(xy);
  kthNearestDistances(xy, 3);
  nearestBetween(xy, xy);
  expect(xy).toEqual(kept);
});

test('whole-metre shifts, quarter turns, mirror and doubling on the 2^-10 lattice change no bit', () => {
  const xy = latticeScatter({ n: 700, seed: 14, width: 40, height: 25 });
  const here = [...nearestDistances(xy)];
  const pairs = (f: (x: number, y: number) => readonly [number, number]) =>
    Float64Array.from({ length: xy.length }, (_, i) => f(xy[i - (i % 2)], xy[i - (i % 2) + 1])[i % 2]);
  expect([...nearestDistances(pairs((x, y) => [x + 4_500_000, y + 6_500_000]))]).toEqual(here);
  expect([...nearestDistances(pairs((x, y) => [-y, x]))]).toEqual(here);
  expect([...nearestDistances(pairs((x, y) => [-x, y]))]).toEqual(here);
  expect([...nearestDistances(pairs((x, y) => [2 * x, 2 * y]))]).toEqual(here.map((d) => 2 * d));
});
