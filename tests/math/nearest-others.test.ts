import { expect, test } from 'vitest';
import { nearestOthers } from '../../src/math/nearest-others.js';
import { randomStream } from '../../src/math/random.js';
import { heapedScatter, latticeScatter, uniformScatter } from '../support/near.js';

/** Looks at everybody: the lowest row among those as near as the nearest. */
function slowNearest(xy: Float64Array, slackM: number) {
  const n = xy.length / 2;
  let tied = 0;
  const index = Array.from({ length: n }, (_, i) => {
    const d = Array.from({ length: n }, (_, j) => (xy[2 * j] - xy[2 * i]) ** 2 + (xy[2 * j + 1] - xy[2 * i + 1]) ** 2);
    d[i] = Infinity;
    const reach = (Math.sqrt(Math.min(...d)) * (1 + 1e-9) + slackM) ** 2;
    const near = d.flatMap((v, j) => (v <= reach ? [j] : []));
    if (near.length > 1) tied++;
    return near[0] ?? -1;
  });
  return { index, tied };
}

test('of equally near neighbours the lowest row of the file is taken, and ties are counted', () => {
  // the corners of a square and its centre, which is nearest to all of them
  const square = nearestOthers(Float64Array.of(0, 0, 1, 0, 1, 1, 0, 1, 0.5, 0.5));
  expect([...square.index]).toEqual([4, 4, 4, 4, 0]);
  expect(square.tied).toBe(1);
  const row = nearestOthers(Float64Array.of(2, 0, 1, 0, 3, 0));
  expect([...row.index]).toEqual([1, 0, 0]);
  expect([...row.distanceM]).toEqual([1, 1, 1]);
});

test('coincident finds are each other’s neighbours, the lowest row again', () => {
  const heap = nearestOthers(Float64Array.of(5, 5, 1, 1, 1, 1, 1, 1));
  expect([...heap.index]).toEqual([1, 2, 1, 1]);
  // from outside the heap the lowest row of three; inside it, either of two
  expect(heap.tied).toBe(4);
});

test('distances written down with rounding are ties on paper, though not in the computer', () => {
  // 0.3 − 0.2 is not 0.4 − 0.3 in binary
  const xy = Float64Array.of(0.4, 0, 0.3, 0, 0.2, 0);
  expect(Math.abs(xy[2] - xy[4])).not.toBe(Math.abs(xy[0] - xy[2]));
  expect(nearestOthers(xy).index[1]).toBe(0);
  const far = xy.map((v, i) => (i % 2 === 0 ? v + 4_649_776 : v));
  expect(nearestOthers(far, 4 * Number.EPSILON * 4_649_777).index[1]).toBe(0);
});

test('a lone find has no neighbour', () => {
  const alone = nearestOthers(Float64Array.of(1, 2));
  expect([...alone.index]).toEqual([-1]);
  expect(alone.distanceM[0]).toBe(Infinity);
  expect(nearestOthers(new Float64Array(0)).index).toHaveLength(0);
});

test('equal to looking at everybody, on scatters, heaps, lattices and rounded coordinates', () => {
  const random = randomStream(11, 0);
  for (let seed = 0; seed < 2000; seed++) {
    const n = 2 + random.below(28);
    const kind = seed % 4;
    const xy =
      kind === 0
        ? uniformScatter({ n, seed, width: 5, height: 3 })
        : kind === 1
          ? heapedScatter({ n, seed, heaps: 3, spread: 0.01, width: 20, height: 20 })
          : kind === 2
            ? latticeScatter({ n, seed, width: 0.006, height: 0.004 })
            : uniformScatter({ n, seed, width: 2, height: 1 }).map((v) => Math.round(v * 5) / 10);
    const slackM = seed % 3 === 0 ? 1e-9 : 0;
    const slow = slowNearest(xy, slackM);
    const fast = nearestOthers(xy, slackM);
    expect([...fast.index], `seed ${seed}`).toEqual(slow.index);
    expect(fast.tied, `seed ${seed}`).toBe(slow.tied);
  }
});

test('a heap of twenty thousand coincident finds costs no more than a scatter', () => {
  const xy = new Float64Array(40_000).fill(3);
  const found = nearestOthers(xy);
  expect(found.index[0]).toBe(1);
  expect(found.index[19_999]).toBe(0);
  expect(found.tied).toBe(20_000);
});
