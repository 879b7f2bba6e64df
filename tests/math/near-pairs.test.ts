import { describe, expect, test } from 'vitest';
import { crossK, nearPairs, pairCounter, pairsByClass } from '../../src/math/near-pairs.js';
import { radiiOf } from '../../src/math/radii.js';
import { randomStream } from '../../src/math/random.js';
import { setCovariance } from '../../src/math/set-covariance.js';
import { localPattern, markNames } from '../support/local-pattern.js';
import { allNear, uniformScatter } from '../support/near.js';

const plain = () => 1;

/** Looks at all pairs: weighted pairs within each distance between classes, either order. */
function slowSums(
  xy: Float64Array,
  label: Uint8Array,
  of: { readonly classes: number; readonly distances: readonly number[]; weight(dx: number, dy: number): number },
): Float64Array {
  const { classes, distances, weight } = of;
  const out = new Float64Array(distances.length * classes * classes);
  for (let p = 0; p < label.length; p++) {
    for (let q = 0; q < label.length; q++) {
      const [dx, dy] = [xy[2 * q] - xy[2 * p], xy[2 * q + 1] - xy[2 * p + 1]];
      distances.forEach((r, k) => {
        if (p !== q && Math.sqrt(dx * dx + dy * dy) <= r)
          out[(k * classes + label[p]) * classes + label[q]] += weight(dx, dy);
      });
    }
  }
  return out;
}

test('three finds by hand: a pair at exactly the distance counts', () => {
  const search = { xy: Float64Array.of(0, 0, 3, 4, 0, 1), distances: radiiOf([1, 5]), weight: plain };
  const label = Uint8Array.of(0, 1, 0);
  const [sums] = pairCounter(nearPairs(search), 2)([label]);
  // within 1 m the two of class 0, twice; within 5 m also both with class 1
  expect([...sums]).toEqual([2, 0, 0, 0, 2, 2, 2, 0]);
});

test('four namings at once, one naming alone, and one pass without gathering equal a look at all pairs', () => {
  const random = randomStream(6, 0);
  const weight = (dx: number, dy: number) => 1 + dx * dx + dy * dy;
  for (let seed = 0; seed < 1500; seed++) {
    const n = random.below(26);
    const classes = 1 + random.below(5);
    const distances = [0.2, 0.5, 1.1].slice(0, 1 + random.below(3));
    const xy = uniformScatter({ n, seed, width: 2, height: 1 }).map((v) =>
      seed % 2 === 0 ? v : Math.round(v * 10) / 10,
    );
    const search = { xy, distances: radiiOf(distances), weight };
    const namings = Array.from({ length: 4 }, () => Uint8Array.from({ length: n }, () => random.below(classes)));
    const pairs = nearPairs(search);
    const slow = namings.map((label) => slowSums(xy, label, { classes, distances, weight }));
    const close = { relative: 1e-12, absolute: 1e-12 };
    const all = pairCounter(pairs, classes)(namings);
    for (const [b, expected] of slow.entries()) allNear(all[b], expected, close);
    allNear(pairCounter(pairs, classes)([namings[2]])[0], slow[2], close);
    allNear(pairsByClass(search, { label: namings[3], classes }), slow[3], close);
  }
});

describe.each(['site_a', 'ants', 'betacells', 'demopat', 'humberside'])('K between the classes of %s', (name) => {
  interface Cross {
    readonly levels: readonly [string, string];
    readonly Kcross_AB: { readonly r: number[]; readonly un: number[]; readonly trans: number[] };
    readonly Kcross_BA: { readonly r: number[]; readonly un: number[]; readonly trans: number[] };
  }
  const { expected, xy, window, areaM2, isRectangle } = localPattern<Cross>('cross', name);
  const marks = markNames('cross', name);
  const label = Uint8Array.from(marks, (mark) => expected.levels.indexOf(mark));
  const count = expected.levels.map((level) => marks.filter((mark) => mark === level).length);
  const tolerance = { relative: isRectangle ? 1e-12 : 1e-9, absolute: 1e-9 * areaM2 * 1e-3 };

  test('without correction and with translation weights, the same in either direction', () => {
    const { r } = expected.Kcross_AB;
    const distances = radiiOf(r);
    const overlap = setCovariance(window, r[r.length - 1]);
    for (const [kind, weight] of [
      ['un', plain],
      ['trans', (dx: number, dy: number) => areaM2 / overlap(dx, dy)],
    ] as const) {
      const [sums] = pairCounter(nearPairs({ xy, distances, weight }), 2)([label]);
      const k = crossK(sums, { count, areaM2 });
      allNear(
        r.map((_, d) => k[4 * d + 1]),
        expected.Kcross_AB[kind],
        tolerance,
      );
      allNear(
        r.map((_, d) => k[4 * d + 2]),
        expected.Kcross_BA[kind],
        tolerance,
      );
    }
  });
});

test('a class without finds has no K, and too many pairs are refused with a sentence', () => {
  expect([...crossK(Float64Array.of(2, 0, 0, 0), { count: [2, 0], areaM2: 10 })]).toEqual([
    10,
    Number.NaN,
    Number.NaN,
    Number.NaN,
  ]);
  const heap = { xy: new Float64Array(8100).fill(1), distances: radiiOf([0.5]), weight: plain };
  expect(() => nearPairs(heap)).toThrow(/more than 8000000 pairs of finds lie within 0.5 m/);
  expect(() => pairsByClass(heap, { label: new Uint8Array(4050), classes: 1 })).toThrow(/smaller distances/);
});
