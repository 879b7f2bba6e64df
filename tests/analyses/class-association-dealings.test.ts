import { expect, test } from 'vitest';
import { associationOf, type ClassedFinds, pairNumber } from '../../src/analyses/class-association/dealings.js';
import { nameDealer } from '../../src/math/name-dealing.js';
import { randomStream } from '../../src/math/random.js';
import { regionArea } from '../../src/math/rings.js';
import { near } from '../support/near.js';
import { windowOf } from '../support/sample-of.js';
import { scatterIn } from '../support/scattered-finds.js';

const finds = (seed: number): ClassedFinds => {
  const random = randomStream(seed, 0);
  const n = 30;
  const window = windowOf([
    [
      [
        [0, 0],
        [3, 0],
        [3, 2],
        [0, 2],
      ],
    ],
  ]);
  return {
    classes: ['a', 'b', 'c'],
    xy: scatterIn(window, n, seed),
    label: Uint8Array.from({ length: n }, (_, i) => i % 3),
    group: Int32Array.from({ length: n }, (_, i) => (i < 12 ? Math.floor(i / 2) : -1)),
    stratum: new Int32Array(n),
    square: Int32Array.from({ length: n }, () => random.below(5)),
    weight: new Float64Array(n).fill(1),
    squares: 5,
    window,
    areaM2: regionArea(window),
    slackM: 0,
  };
};
const plan = { distances: [0.3, 0.7], edge: 'none' as const, seed: 9, progress: () => {} };

test('dealing s depends on stream s alone, not on how many are dealt at once', () => {
  const seven = associationOf(finds(1), { ...plan, simulations: 7 });
  const ten = associationOf(finds(1), { ...plan, simulations: 10 });
  for (const [at, values] of seven.dealt.entries()) expect([...ten.dealt[at].subarray(0, 7)]).toEqual([...values]);
});

test('every dealing measures what a plain look at the dealt names does', () => {
  for (let seed = 0; seed < 40; seed++) {
    const given = finds(seed);
    const found = associationOf(given, { ...plan, simulations: 6 });
    const dealer = nameDealer(given);
    const label = new Uint8Array(30);
    for (let s = 0; s < 6; s++) {
      dealer.deal(label, randomStream(plan.seed, s));
      let beside = 0;
      let within = 0;
      for (let p = 0; p < 30; p++) {
        const d = Array.from({ length: 30 }, (_, q) =>
          q === p ? Infinity : Math.hypot(given.xy[2 * q] - given.xy[2 * p], given.xy[2 * q + 1] - given.xy[2 * p + 1]),
        );
        if (label[p] === 2 && label[d.indexOf(Math.min(...d))] === 1) beside++;
        within += d.filter((v, q) => v <= 0.7 && label[p] === 2 && label[q] === 1).length;
      }
      expect(found.dealt[found.layout.cell(7)][s]).toBe(beside);
      near(found.dealt[found.layout.k(pairNumber(1, 2), 1)][s], (6 * within) / 100, { relative: 1e-12 });
    }
  }
});
