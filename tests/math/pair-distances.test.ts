import { describe, expect, test } from 'vitest';
import { eachPair, type PairSearch, pairLooks } from '../../src/math/pair-distances.js';
import { randomStream } from '../../src/math/random.js';
import { heapedScatter, latticeScatter, uniformScatter } from '../support/near.js';

function found(search: PairSearch): string[] {
  const out: string[] = [];
  eachPair(search, (batch) => {
    for (let p = 0; p < batch.length; p++) {
      const [i, j] = [batch.first[p], batch.second[p]];
      const isStep =
        batch.dx[p] === search.to[2 * j] - search.from[2 * i] &&
        batch.dy[p] === search.to[2 * j + 1] - search.from[2 * i + 1];
      if (!isStep) expect.fail(`the step of pair ${i} ${j} is wrong`);
      out.push(`${i} ${j} ${batch.distance[p]}`);
    }
  });
  return out.sort();
}

function byLooking({ from, to, reachM }: PairSearch): string[] {
  const out: string[] = [];
  for (let i = 0; i < from.length / 2; i++) {
    for (let j = 0; j < to.length / 2; j++) {
      if (from === to && i === j) continue;
      const dx = to[2 * j] - from[2 * i];
      const dy = to[2 * j + 1] - from[2 * i + 1];
      const d = Math.sqrt(dx * dx + dy * dy);
      if (d <= reachM) out.push(`${i} ${j} ${d}`);
    }
  }
  return out.sort();
}

const random = randomStream(9, 0);
const scatters: [string, Float64Array][] = [
  ['even', uniformScatter({ n: 90, seed: 1, width: 10, height: 4 })],
  ['heaps', heapedScatter({ n: 90, seed: 2, heaps: 3, spread: 0.2, width: 10, height: 4 })],
  ['on a lattice', latticeScatter({ n: 90, seed: 3, width: 10, height: 4 }).map((v) => Math.round(v * 2) / 2)],
  ['on a line', uniformScatter({ n: 60, seed: 4 }).map((v, i) => (i % 2 === 0 ? v : 0.5))],
  ['at one place', new Float64Array(24).fill(3)],
  ['two', Float64Array.of(0, 0, 3, 4)],
  ['one', Float64Array.of(1, 2)],
  ['none', new Float64Array(0)],
];

describe.each(scatters)('pairs of a scatter: %s', (_, xy) => {
  test.each([0, 0.1, 0.5, 1, 2.5, 5, 100])('within %d m they are those found by looking at all', (reachM) => {
    expect(found({ from: xy, to: xy, reachM, order: 'both' })).toEqual(
      byLooking({ from: xy, to: xy, reachM, order: 'both' }),
    );
    const other = scatters[random.below(3)][1];
    expect(found({ from: xy, to: other, reachM, order: 'both' })).toEqual(
      byLooking({ from: xy, to: other, reachM, order: 'both' }),
    );
    const once = found({ from: xy, to: xy, reachM, order: 'once' });
    const unordered = new Set(once.map((pair) => pair.split(' ').slice(0, 2).sort().join(' ')));
    expect(unordered.size).toBe(once.length);
    expect(2 * once.length).toBe(byLooking({ from: xy, to: xy, reachM, order: 'both' }).length);
  });
});

test('pairs of one first point come together', () => {
  const xy = uniformScatter({ n: 300, seed: 5 });
  const seen = new Set<number>();
  let last = -1;
  eachPair({ from: xy, to: xy, reachM: 0.4, order: 'both' }, (batch) => {
    for (let p = 0; p < batch.length; p++) {
      if (batch.first[p] === last) continue;
      last = batch.first[p];
      expect(seen.has(last)).toBe(false);
      seen.add(last);
    }
  });
  expect(seen.size).toBe(300);
});

test('the cost told beforehand is at least the pairs met, and not many times as much', () => {
  for (const xy of [uniformScatter({ n: 400, seed: 6 }), heapedScatter({ n: 400, seed: 7, heaps: 2, spread: 0.05 })]) {
    const search: PairSearch = { from: xy, to: xy, reachM: 0.2, order: 'both' };
    let pairs = 0;
    eachPair(search, (batch) => {
      pairs += batch.length;
    });
    expect(pairLooks(search)).toBeGreaterThanOrEqual(pairs);
    expect(pairLooks(search)).toBeLessThan(3 * pairs);
  }
});
