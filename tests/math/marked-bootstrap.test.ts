import { expect, test } from 'vitest';
import { middleInterval } from '../../src/math/blocks.js';
import { type MarkedFinds, pairRatioIntervals } from '../../src/math/marked-bootstrap.js';
import { nearPairs } from '../../src/math/near-pairs.js';
import { radiiOf } from '../../src/math/radii.js';
import { randomStream } from '../../src/math/random.js';
import { near, uniformScatter } from '../support/near.js';

const distances = [0.4, 0.9];
const weightOf = (dx: number, dy: number) => 1 + 0.1 * (dx * dx + dy * dy);

function scattered(n: number, seed: number): MarkedFinds & { readonly xy: Float64Array } {
  const xy = uniformScatter({ n, seed, width: 6, height: 4 });
  const random = randomStream(seed, 1);
  return {
    xy,
    pairs: nearPairs({ xy, distances: radiiOf(distances), weight: weightOf }),
    label: Uint8Array.from({ length: n }, () => random.below(3)),
    classes: 3,
    block: Int32Array.from({ length: n }, (_, i) => Math.floor(xy[2 * i]) * 4 + Math.floor(xy[2 * i + 1])),
    blocks: 24,
  };
}

/** Straight from the definition: every find of a drawn block brings its true neighbours along. */
function slowRatio(
  { xy, label, block, blocks }: ReturnType<typeof scattered>,
  of: { readonly i: number; readonly j: number; readonly r: number; readonly seed: number; readonly stream: number },
): number {
  const random = randomStream(of.seed, of.stream);
  const times = new Uint32Array(blocks);
  for (let b = 0; b < blocks; b++) times[random.below(blocks)]++;
  const n = label.length;
  const marks = (a: number, isWanted: (name: number) => boolean) => {
    let sum = 0;
    for (let b = 0; b < n; b++) {
      const [dx, dy] = [xy[2 * b] - xy[2 * a], xy[2 * b + 1] - xy[2 * a + 1]];
      if (a !== b && isWanted(label[b]) && Math.sqrt(dx * dx + dy * dy) <= of.r) sum += weightOf(dx, dy);
    }
    return sum;
  };
  const mean = (from: number | null, to: number | null) => {
    let sum = 0;
    let drawn = 0;
    for (let a = 0; a < n; a++) {
      if (from !== null && label[a] !== from) continue;
      drawn += times[block[a]];
      sum += times[block[a]] * marks(a, (name) => to === null || name === to);
    }
    const others = to === null ? n - 1 : label.filter((name) => name === to).length;
    return sum / drawn / others;
  };
  return (mean(of.i, of.j) + mean(of.j, of.i)) / 2 / mean(null, null);
}

test('equal to drawing blocks with all their finds and neighbours, one by one', () => {
  for (let seed = 0; seed < 8; seed++) {
    const finds = scattered(40 + seed, seed);
    const plan = { count: 59, seed, first: 500 };
    const interval = pairRatioIntervals(finds, plan);
    for (const [i, j, d] of [
      [0, 1, 0],
      [2, 1, 1],
    ]) {
      const slow = Array.from({ length: plan.count }, (_, s) =>
        slowRatio(finds, { i, j, r: distances[d], seed, stream: plan.first + s }),
      );
      const expected = middleInterval(slow);
      const found = interval({ i, j, distance: d });
      near(found?.low, expected?.low ?? Number.NaN, { relative: 1e-10 });
      near(found?.high, expected?.high ?? Number.NaN, { relative: 1e-10 });
      expect(interval({ i: j, j: i, distance: d })).toEqual(found);
    }
  }
});

test('few blocks, few resamplings or a class that lies in few blocks give no interval', () => {
  const finds = scattered(60, 3);
  const plan = { count: 99, seed: 1, first: 0 };
  expect(pairRatioIntervals({ ...finds, block: finds.block.map((b) => b % 7), blocks: 7 }, plan)(pair)).toBeNull();
  expect(pairRatioIntervals(finds, { ...plan, count: 0 })(pair)).toBeNull();
  expect(pairRatioIntervals(finds, { ...plan, count: 20 })(pair)).toBeNull();
  const rare = { ...finds, label: finds.label.map((_, i) => Math.min(i, 2)) };
  expect(pairRatioIntervals(rare, plan)(pair)).toBeNull();
  expect(pairRatioIntervals(finds, plan)(pair)).not.toBeNull();
});

const pair = { i: 0, j: 1, distance: 1 };

test('names dealt at random over a scatter: most intervals hold 1', () => {
  let held = 0;
  for (let seed = 0; seed < 60; seed++) {
    const found = pairRatioIntervals(scattered(150, 100 + seed), { count: 99, seed, first: 0 })(pair);
    if (found && found.low <= 1 && found.high >= 1) held++;
  }
  expect(held).toBeGreaterThanOrEqual(49);
});
