import { expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { squareComparison } from '../../src/math/square-likeness.js';
import { allNear, near } from '../support/near.js';

/** From the definitions: sets of squares, and percentages over squares. */
function slowLikeness(of: {
  readonly square: Int32Array;
  readonly weight: Float64Array;
  readonly label: Uint8Array;
  readonly classes: number;
}) {
  const { square, weight, label, classes } = of;
  const held = Array.from({ length: classes }, (_, c) => {
    const by = new Map<number, number>();
    square.forEach((s, i) => {
      if (label[i] === c && s >= 0 && weight[i] > 0) by.set(s, (by.get(s) ?? 0) + weight[i]);
    });
    return by;
  });
  const pairs = held.flatMap((a) => held.map((b) => [a, b] as const));
  const total = (by: Map<number, number>) => [...by.values()].reduce((sum, v) => sum + v, 0);
  return {
    jaccard: pairs.map(([a, b]) => {
      const either = new Set([...a.keys(), ...b.keys()]).size;
      return either === 0 ? Number.NaN : [...a.keys()].filter((s) => b.has(s)).length / either;
    }),
    robinsonBrainerd: pairs.map(([a, b]) => {
      if (a.size === 0 || b.size === 0) return Number.NaN;
      const squares = new Set([...a.keys(), ...b.keys()]);
      const apart = [...squares].reduce(
        (sum, s) => sum + Math.abs((100 * (a.get(s) ?? 0)) / total(a) - (100 * (b.get(s) ?? 0)) / total(b)),
        0,
      );
      return 200 - apart;
    }),
    shared: pairs.map(([a, b]) => [...a.keys()].filter((s) => b.has(s)).length),
  };
}

test('two classes by hand', () => {
  // jars: 3 in square 0, 1 in square 1; nails: 1 in square 1, 1 in square 2
  const compare = squareComparison({
    square: Int32Array.of(0, 0, 0, 1, 1, 2),
    squares: 4,
    weight: new Float64Array(6).fill(1),
    classes: 2,
  });
  const { jaccard, robinsonBrainerd, shared } = compare(Uint8Array.of(0, 0, 0, 0, 1, 1));
  near(jaccard[1], 1 / 3, { relative: 1e-14 });
  // |75 − 0| + |25 − 50| + |0 − 50| = 150
  near(robinsonBrainerd[1], 50, { relative: 1e-14 });
  expect([...shared]).toEqual([2, 1, 1, 2]);
  expect(jaccard[0]).toBe(1);
  near(robinsonBrainerd[0], 200, { relative: 1e-14 });
});

test('equal to the definitions, call after call, with weights and finds outside all squares', () => {
  const random = randomStream(2, 0);
  for (let round = 0; round < 800; round++) {
    const n = random.below(30);
    const classes = 1 + random.below(4);
    const squares = 1 + random.below(8);
    const square = Int32Array.from({ length: n }, () => random.below(squares + 1) - 1);
    const weight = Float64Array.from({ length: n }, () => random.below(4));
    const compare = squareComparison({ square, squares, weight, classes });
    for (let again = 0; again < 2; again++) {
      const label = Uint8Array.from({ length: n }, () => random.below(classes));
      const fast = compare(label);
      const slow = slowLikeness({ square, weight, label, classes });
      const known = (values: ArrayLike<number>) => Array.from(values, (v) => (Number.isNaN(v) ? -1 : v));
      allNear(known(fast.jaccard), known(slow.jaccard), { absolute: 1e-12 });
      allNear(known(fast.robinsonBrainerd), known(slow.robinsonBrainerd), { absolute: 1e-10 });
      expect([...fast.shared]).toEqual(slow.shared);
    }
  }
});
