import { expect, test } from 'vitest';
import { placeOrder } from '../../src/math/cluster-numbers.js';
import { kMeans, sseCurve } from '../../src/math/k-means.js';
import { randomStream, shuffle } from '../../src/math/random.js';
import { heapedScatter, near, uniformScatter } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

const reference = readReferenceFile<{ points: number[][] }, { sse_m2: number[] }>('clusters_site_a');

const siteA = Float64Array.from(reference.input.points.flat());

function sumOfSquares(xy: Float64Array, label: ArrayLike<number>, k: number): number {
  let sum = 0;
  for (let c = 0; c < k; c++) {
    const own = Array.from({ length: xy.length / 2 }, (_, i) => i).filter((i) => label[i] === c);
    const x = own.reduce((s, i) => s + xy[2 * i], 0) / own.length;
    const y = own.reduce((s, i) => s + xy[2 * i + 1], 0) / own.length;
    sum += own.reduce((s, i) => s + (xy[2 * i] - x) ** 2 + (xy[2 * i + 1] - y) ** 2, 0);
  }
  return sum;
}

/** the least sum over every way of parting n finds into k groups, none empty */
function bestOfAll(xy: Float64Array, k: number): number {
  const n = xy.length / 2;
  const label = new Array<number>(n).fill(0);
  let best = Infinity;
  const deal = (i: number, used: number): void => {
    if (n - i < k - used) return;
    if (i === n) {
      best = Math.min(best, sumOfSquares(xy, label, k));
      return;
    }
    for (let c = 0; c <= Math.min(used, k - 1); c++) {
      label[i] = c;
      deal(i + 1, Math.max(used, c + 1));
    }
  };
  deal(0, 0);
  return best;
}

test('400 tiny sets: the best of all partitions', () => {
  for (let seed = 1; seed <= 400; seed++) {
    const n = 4 + (seed % 4);
    const k = 2 + (seed % 3 === 0 ? 1 : 0);
    const xy = seed % 2 ? uniformScatter({ n, seed }) : heapedScatter({ n, seed, heaps: 2, spread: 0.2 });
    const { sse } = kMeans(xy, { k, restarts: 25 }, randomStream(seed, 1));
    near(sse, bestOfAll(xy, k), { relative: 1e-10, absolute: 1e-14 });
  }
});

test('sums of squares for 1 to 10 groups as R finds them with 3,000 starts', () => {
  const sums = sseCurve(siteA, { kMost: 10, restarts: 60 }, randomStream(1790, 0));
  reference.expected.sse_m2.forEach((expected, i) => {
    near(sums[i], expected, { relative: i < 6 ? 1e-9 : 0.01 });
    expect(sums[i]).toBeGreaterThan(expected * (1 - 1e-9));
  });
});

test('the sum is that of the groups it names, and no single move lowers it', () => {
  for (let seed = 1; seed <= 60; seed++) {
    const xy = uniformScatter({ n: 30, seed, width: 6, height: 4 });
    const fit = kMeans(xy, { k: 4, restarts: 2 }, randomStream(seed, 0));
    const label = [...fit.cluster].map((c) => c - 1);
    near(fit.sse, sumOfSquares(xy, label, 4), { relative: 1e-10 });
    expect(fit.sizes).toEqual([1, 2, 3, 4].map((c) => fit.cluster.filter((v) => v === c).length));
    expect([...fit.sizes]).toEqual([...fit.sizes].sort((a, b) => b - a));
    for (let i = 0; i < 30; i++) {
      if (fit.sizes[label[i]] === 1) continue;
      for (let c = 0; c < 4; c++) {
        const moved = label.with(i, c);
        expect(sumOfSquares(xy, moved, 4)).toBeGreaterThan(fit.sse * (1 - 1e-9));
      }
    }
  }
});

test('same seed, same groups; sorted by place first, whatever the order of the file', () => {
  const xy = heapedScatter({ n: 50, seed: 4, heaps: 4, spread: 0.3 });
  const sorted = (given: Float64Array) =>
    Float64Array.from([...placeOrder(given)].flatMap((i) => [given[2 * i], given[2 * i + 1]]));
  const order = Uint32Array.from({ length: 50 }, (_, i) => i);
  shuffle(order, randomStream(8, 0));
  const dealt = Float64Array.from([...order].flatMap((i) => [xy[2 * i], xy[2 * i + 1]]));
  const parted = (given: Float64Array) => kMeans(sorted(given), { k: 4, restarts: 5 }, randomStream(3, 7));
  expect(parted(dealt)).toEqual(parted(xy));
});

test('one group: the squares about the mean; as many groups as places: nothing left', () => {
  const xy = uniformScatter({ n: 9, seed: 2 });
  near(kMeans(xy, { k: 1, restarts: 3 }, randomStream(1, 0)).sse, sumOfSquares(xy, new Array(9).fill(0), 1), {
    relative: 1e-12,
  });
  near(kMeans(xy, { k: 9, restarts: 3 }, randomStream(1, 0)).sse, 0, { absolute: 1e-20 });
});

test('fewer places than groups is refused', () => {
  const heap = Float64Array.of(1, 1, 1, 1, 1, 1, 2, 2);
  expect(() => kMeans(heap, { k: 3, restarts: 2 }, randomStream(1, 0))).toThrow(/3 different places, got 2/);
  expect(() => kMeans(new Float64Array(0), { k: 1, restarts: 2 }, randomStream(1, 0))).toThrow(/got 0/);
});

test('how many restarts ended at the best sum: all where there is one way to part, one of one group', () => {
  const two = Float64Array.from(
    Array.from({ length: 20 }, (_, i) => [i < 12 ? 0.01 * i : 50 + 0.01 * i, 0.003 * ((i * 7) % 5)]).flat(),
  );
  expect(kMeans(two, { k: 2, restarts: 8 }, randomStream(1, 0))).toMatchObject({ restartsAtBest: 8, sizes: [12, 8] });
  expect(kMeans(two, { k: 1, restarts: 8 }, randomStream(1, 0)).restartsAtBest).toBe(8);
  const even = uniformScatter({ n: 60, seed: 3 });
  expect(kMeans(even, { k: 9, restarts: 8 }, randomStream(1, 0)).restartsAtBest).toBeLessThan(8);
});
