import { expect, test } from 'vitest';
import {
  dealAccumulation,
  expectedAccumulation,
  type SquareClasses,
  unseenClasses,
} from '../../src/math/accumulation.js';
import { randomStream } from '../../src/math/random.js';
import { allNear, near } from '../support/near.js';

const heldOf = (squares: readonly (readonly number[])[], classCount: number): SquareClasses => ({
  squares: squares.length,
  classCount,
  start: Uint32Array.from([0, ...squares.map((_, i) => squares.slice(0, i + 1).flat().length)]),
  classes: Uint32Array.from(squares.flat()),
});
const held = heldOf([[0, 1], [0], [], [0, 2, 3], [1]], 4);

test('two squares by hand: 0 in three of five, 1 in two, 2 and 3 in one', () => {
  const curve = expectedAccumulation(held);
  near(curve[0], 0, { absolute: 1e-14 });
  near(curve[1], 3 / 5 + 2 / 5 + 1 / 5 + 1 / 5, { relative: 1e-13 });
  near(curve[2], 1 - 1 / 10 + (1 - 3 / 10) + 2 * (1 - 6 / 10), { relative: 1e-13 });
  near(curve[5], 4, { relative: 1e-13 });
});

test('slow twin: the mean of many sequences', () => {
  const mean = new Float64Array(6);
  const curve = new Float64Array(6);
  for (let s = 0; s < 4000; s++) {
    dealAccumulation(held, randomStream(1, s), curve);
    expect(curve[5]).toBe(4);
    curve.forEach((v, h) => {
      mean[h] += v / 4000;
    });
  }
  allNear(mean, expectedAccumulation(held), { absolute: 0.06 });
});

test('Chao’s bound by hand: two classes once, one twice, in five squares', () => {
  const found = unseenClasses(held);
  expect(found).toMatchObject({ once: 2, twice: 1 });
  near(found?.estimate, 4 + (4 / 5) * ((2 * 1) / (2 * 2)), { relative: 1e-14 });
  expect(found?.low).toBeGreaterThanOrEqual(4);
  expect(found?.high).toBeGreaterThan(found?.estimate ?? Infinity);
  expect(
    unseenClasses(
      heldOf(
        [
          [0, 1],
          [0, 1],
        ],
        2,
      ),
    ),
  ).toMatchObject({ estimate: 2, low: 2, high: 2 });
  expect(unseenClasses(heldOf([[0]], 1))).toBeNull();
  expect(unseenClasses(heldOf([[], []], 0))).toBeNull();
});
