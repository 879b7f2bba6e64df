import { expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { boxDistance, straightThrough, timberEnds } from '../../src/math/straight-continuation.js';
import { near } from '../support/near.js';

test('a line ends where it is drawn to and points away from itself', () => {
  const [after, bow] = timberEnds({ type: 'line', parts: [Float64Array.of(1, 1, 4, 5)] });
  expect(after).toEqual({ x: 1, y: 1, dx: -0.6, dy: -0.8 });
  expect(bow).toEqual({ x: 4, y: 5, dx: 0.6, dy: 0.8 });
});

test('a bent line points as its last third of a metre does, not as its last wobble', () => {
  const bent = Float64Array.of(0, 0, 0, 2, 2.8, 2, 3, 2.05);
  const [, end] = timberEnds({ type: 'line', parts: [bent] });
  near(end.dx, 3 / Math.hypot(3, 0.05), { relative: 1e-12 });
  expect(timberEnds({ type: 'line', parts: [Float64Array.of(1, 1)] })).toEqual([]);
  expect(timberEnds({ type: 'line', parts: [Float64Array.of(1, 1, 1, 1)] })).toEqual([]);
});

test('a plank ends in the middle of its short sides, turned as it may be', () => {
  for (const turn of [0, 0.4, 1.3, 2.9]) {
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    const ring = Float64Array.from(
      [
        [-2, -0.1],
        [2, -0.1],
        [2, 0.1],
        [-2, 0.1],
      ].flatMap(([x, y]) => [5 + c * x - s * y, 3 + s * x + c * y]),
    );
    const ends = timberEnds({ type: 'area', parts: [ring] });
    expect(ends).toHaveLength(2);
    for (const side of [1, -1]) {
      const end = ends.find(({ dx, dy }) => side * (dx * c + dy * s) > 0)!;
      near(end.x, 5 + side * 2 * c, { absolute: 1e-12 });
      near(end.y, 3 + side * 2 * s, { absolute: 1e-12 });
      near(side * (end.dx * c + end.dy * s), 1, { absolute: 1e-12 });
    }
  }
});

test('a timber on its way through a square: against 20,000 steps along it', () => {
  let hits = 0;
  for (let seed = 1; seed <= 300; seed++) {
    const random = randomStream(seed, 4);
    const turn = 2 * Math.PI * random.next();
    const end = { x: 6 * random.next() - 2, y: 6 * random.next() - 2, dx: Math.cos(turn), dy: Math.sin(turn) };
    const box = [0, 0, 1.5, 1] as const;
    const stepM = 0.001;
    const inside = Array.from({ length: 10_000 }, (_, k) => k * stepM).filter(
      (t) => boxDistance(end.x + t * end.dx, end.y + t * end.dy, box) === 0,
    );
    const through = straightThrough(end, box);
    if (through === null) expect(inside.length).toBeLessThan(3);
    else {
      hits++;
      near(inside[0], through.entersM, { absolute: 2 * stepM });
      near(inside.at(-1), through.leavesM, { absolute: 2 * stepM });
    }
  }
  expect(hits).toBeGreaterThan(30);
});

test('a timber along a side only touches the square', () => {
  const box = [0, 0, 1, 1] as const;
  expect(straightThrough({ x: -1, y: 0, dx: 1, dy: 0 }, box)).toBeNull();
  expect(straightThrough({ x: -1, y: 0.5, dx: 1, dy: 0 }, box)).toEqual({ entersM: 1, leavesM: 2 });
  expect(straightThrough({ x: -1, y: 0.5, dx: -1, dy: 0 }, box)).toBeNull();
});
