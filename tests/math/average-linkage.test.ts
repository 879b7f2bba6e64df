import { describe, expect, test } from 'vitest';
import { averageLinkage } from '../../src/math/average-linkage.js';
import { randomStream } from '../../src/math/random.js';
import { allNear, near } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

const reference = readReferenceFile<
  { trees: { n: number; distance: number[] }[] },
  { trees: { joinings: [number, number, number, number][]; cophenetic: number | null }[] }
>('association_several_classes');

describe.each(reference.input.trees.map(({ n }, k) => [n, k] as const))('a tree of %i', (n, k) => {
  test('joins as scipy does, at the same heights', () => {
    const tree = averageLinkage(Float64Array.from(reference.input.trees[k].distance), n);
    const expected = reference.expected.trees[k];
    expect(tree.joinings).toHaveLength(n - 1);
    tree.joinings.forEach((joining, step) => {
      const [left, right, height, members] = expected.joinings[step];
      expect([joining.left, joining.right].sort((a, b) => a - b)).toEqual([left, right]);
      near(joining.height, height, { relative: 1e-12 });
      expect(joining.members).toBe(members);
    });
    if (expected.cophenetic !== null) near(tree.copheneticCorrelation, expected.cophenetic, { relative: 1e-10 });
  });
});

/** Means over all pairs of members from scratch at each step. */
function slowHeights(distance: Float64Array, n: number): number[] {
  let clusters = Array.from({ length: n }, (_, i) => [i]);
  const heights: number[] = [];
  while (clusters.length > 1) {
    const mean = (a: number[], b: number[]) =>
      a.reduce((sum, i) => sum + b.reduce((part, j) => part + distance[i * n + j], 0), 0) / (a.length * b.length);
    const pairs = clusters.flatMap((a, p) => clusters.slice(p + 1).map((b) => ({ a, b, height: mean(a, b) })));
    const best = pairs.reduce((least, pair) => (pair.height < least.height ? pair : least));
    heights.push(best.height);
    clusters = [...clusters.filter((c) => c !== best.a && c !== best.b), [...best.a, ...best.b]];
  }
  return heights;
}

test('heights equal means from scratch, never fall, and no branches cross', () => {
  for (let seed = 0; seed < 150; seed++) {
    const random = randomStream(seed, 1);
    const n = 1 + random.below(14);
    const distance = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++) {
        distance[i * n + j] = random.next();
        distance[j * n + i] = distance[i * n + j];
      }
    }
    const { joinings, order } = averageLinkage(distance, n);
    allNear(
      joinings.map((joining) => joining.height),
      slowHeights(distance, n),
      { relative: 1e-10 },
    );
    expect([...order].sort((a, b) => a - b)).toEqual(Array.from({ length: n }, (_, i) => i));
    const below: number[][] = Array.from({ length: n }, (_, i) => [i]);
    let before = 0;
    for (const { left, right, height } of joinings) {
      expect(height).toBeGreaterThanOrEqual(before);
      before = height;
      const members = [...below[left], ...below[right]];
      below.push(members);
      // the members of every branch stand side by side
      const places = members.map((i) => order.indexOf(i));
      expect(Math.max(...places) - Math.min(...places)).toBe(members.length - 1);
    }
  }
});

test('of equally near things the lowest are joined first; one thing is a tree of its own', () => {
  const equal = new Float64Array(9).fill(1);
  expect(averageLinkage(equal, 3).joinings.map(({ left, right }) => [left, right])).toEqual([
    [0, 1],
    [3, 2],
  ]);
  expect(averageLinkage(equal, 3).copheneticCorrelation).toBeNull();
  expect(averageLinkage(new Float64Array(1), 1)).toEqual({ joinings: [], order: [0], copheneticCorrelation: null });
  expect(averageLinkage(new Float64Array(0), 0).order).toEqual([]);
});
