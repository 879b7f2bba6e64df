import { describe, expect, test } from 'vitest';
import {
  denominatorSide,
  heldRatio,
  mostLogRatio,
  numeratorSide,
  type RatioField,
  ratioField,
  ratioPlaces,
  ratioTest,
  type TwoSides,
} from '../../src/math/density-ratio.js';
import { edgeMass } from '../../src/math/kernel-edge.js';
import { kernelIntensity } from '../../src/math/kernels.js';
import { nameDealer } from '../../src/math/name-dealing.js';
import { type RandomStream, randomStream } from '../../src/math/random.js';
import { contains, regionArea } from '../../src/math/rings.js';
import { rectangle, thinArms } from '../support/kernel-reference.js';
import { allNear, near, uniformScatter } from '../support/near.js';

const both = numeratorSide | denominatorSide;
const window = rectangle([0, 0, 8, 5]);

function sidesOf(n: number, sideOf: (i: number) => number, more: Partial<TwoSides> = {}): TwoSides {
  return {
    xy: uniformScatter({ n, seed: 5, width: 8, height: 5 }),
    weight: new Float64Array(n).fill(1),
    side: Uint8Array.from({ length: n }, (_, i) => sideOf(i)),
    shared: window,
    windows: null,
    sigmaM: 0.8,
    ...more,
  };
}

const dealerOf = (side: Uint8Array, more: { group?: Int32Array; stratum?: Int32Array } = {}) =>
  nameDealer({
    label: side,
    group: more.group ?? new Int32Array(side.length).fill(-1),
    stratum: more.stratum ?? new Int32Array(side.length),
  });

function values(field: RatioField, side: Uint8Array) {
  const g = field.places.shareM2.length;
  const out = { logRatio: new Float64Array(g), steadied: new Float64Array(g), support: new Float64Array(g) };
  field.measure(side, out);
  return out;
}

const fieldOf = (sides: TwoSides) => ratioField(sides, ratioPlaces(sides.shared, sides.sigmaM, sides.side.length));

describe('test places', () => {
  test.each([window, thinArms])('stand for all of the ground, half a bandwidth apart', (ground) => {
    const places = ratioPlaces(ground, 0.6, 100);
    expect(places.lattice.stepM).toBe(0.3);
    near(
      places.shareM2.reduce((sum, share) => sum + share, 0),
      regionArea(ground),
      { relative: 1e-10 },
    );
    places.inside.forEach((flag, k) => {
      expect(flag === 1).toBe(contains(ground, places.xy[2 * k], places.xy[2 * k + 1], 1e-8));
    });
    expect(Array.from(places.number).filter((k) => k >= 0)).toHaveLength(places.shareM2.length);
  });

  test('are wider apart when finds are many, and refused beyond a bandwidth', () => {
    const { lattice } = ratioPlaces(window, 0.6, 60_000);
    expect(lattice.stepM).toBeGreaterThan(0.3);
    expect(lattice.stepM).toBeLessThan(0.61);
    expect(() => ratioPlaces(window, 0.05, 60_000)).toThrow(/needs more than 333 test places for 60000 finds/);
  });
});

describe('log ratio', () => {
  test.each([
    ['a class against all', (i: number) => (i < 20 ? both : denominatorSide)],
    ['all against a class', (i: number) => (i < 45 ? both : numeratorSide)],
    ['class against class', (i: number) => (i < 20 ? numeratorSide : denominatorSide)],
    ['a large class against a small one', (i: number) => (i < 50 ? numeratorSide : denominatorSide)],
  ])('%s equals two kernel densities divided, weights included', (_, sideOf) => {
    const weight = Float64Array.from({ length: 60 }, (_, i) => 1 + (i % 4));
    const sides = sidesOf(60, sideOf, { weight });
    const field = fieldOf(sides);
    const { logRatio, support } = values(field, sides.side);
    const densityOf = (bit: number, edge: 'uniform' | 'none') => {
      const members = Array.from(sides.side.keys()).filter((i) => (sides.side[i] & bit) !== 0);
      const own = Float64Array.from(members, (i) => weight[i]);
      const xy = Float64Array.from(members.flatMap((i) => [sides.xy[2 * i], sides.xy[2 * i + 1]]));
      const total = own.reduce((sum, w) => sum + w, 0);
      const density = kernelIntensity({ xy, weight: own, window, sigmaM: 0.8, edge }, field.places.xy);
      return edge === 'none' ? density : density.map((v) => v / total);
    };
    const above = densityOf(numeratorSide, 'uniform');
    const below = densityOf(denominatorSide, 'uniform');
    allNear(
      logRatio,
      above.map((a, k) => heldRatio(Math.log(a / below[k]))),
      { absolute: 1e-9 },
    );
    // 4πσ² times the density, in finds of average weight
    const plain = densityOf(denominatorSide, 'none').map(
      (v) => (v * 4 * Math.PI * 0.64) / (weight.reduce((a, b) => a + b) / 60),
    );
    allNear(support, plain, { relative: 1e-9 });
  });

  test('unequal ground: each density has its own edge', () => {
    const numerator = rectangle([3, 0, 8, 5]);
    const denominator = rectangle([0, 0, 6, 5]);
    const shared = rectangle([3, 0, 6, 5]);
    const all = sidesOf(90, (i) => 1 + (i % 2));
    const kept = Array.from(all.side.keys()).filter((i) =>
      contains(all.side[i] === numeratorSide ? numerator : denominator, all.xy[2 * i], all.xy[2 * i + 1], 0),
    );
    const sides: TwoSides = {
      ...all,
      xy: Float64Array.from(kept.flatMap((i) => [all.xy[2 * i], all.xy[2 * i + 1]])),
      weight: new Float64Array(kept.length).fill(1),
      side: Uint8Array.from(kept, (i) => all.side[i]),
      shared,
      windows: { numerator, denominator },
    };
    const field = fieldOf(sides);
    const { logRatio, steadied } = values(field, sides.side);
    const slow = (k: number) => {
      const [u, v] = [field.places.xy[2 * k], field.places.xy[2 * k + 1]];
      const side = (bit: number, ground: typeof shared) => {
        let [sum, onShared] = [0, 0];
        sides.side.forEach((s, i) => {
          if (s !== bit) return;
          sum += Math.exp(-((u - sides.xy[2 * i]) ** 2 + (v - sides.xy[2 * i + 1]) ** 2) / (2 * 0.64));
          if (sides.xy[2 * i] >= 3 && sides.xy[2 * i] <= 6) onShared++;
        });
        return sum / edgeMass(ground, 0.8)(u, v) / onShared;
      };
      return Math.log(side(numeratorSide, numerator) / side(denominatorSide, denominator));
    };
    for (let k = 0; k < logRatio.length; k += 7) {
      near(logRatio[k], slow(k), { absolute: 1e-9 });
      // drawn towards equal, never across
      expect(Math.sign(steadied[k])).toBe(Math.sign(logRatio[k]));
      expect(Math.abs(steadied[k])).toBeLessThanOrEqual(Math.abs(logRatio[k]));
    }
  });

  test('turning the line over turns the sign', () => {
    const side = (i: number) => (i < 25 ? numeratorSide : denominatorSide);
    const sides = sidesOf(60, side);
    const swapped = { ...sides, side: sides.side.map((s) => both - s) };
    const there = values(fieldOf(swapped), swapped.side);
    const here = values(fieldOf(sides), sides.side);
    for (const of of ['logRatio', 'steadied'] as const) {
      allNear(
        there[of].map((v) => -v),
        here[of],
        { absolute: 1e-9 },
      );
    }
  });

  test('two classes at the same places are equal everywhere', () => {
    const xy = uniformScatter({ n: 30, seed: 9, width: 8, height: 5 });
    const sides = sidesOf(60, (i) => (i < 30 ? numeratorSide : denominatorSide), {
      xy: Float64Array.from([...xy, ...xy]),
    });
    for (const v of values(fieldOf(sides), sides.side).logRatio) near(v, 0, { absolute: 1e-12 });
  });

  test('held at a thousand to one, and at equal where there is nothing of either', () => {
    expect([heldRatio(50), heldRatio(-Infinity), heldRatio(Number.NaN)]).toEqual([mostLogRatio, -mostLogRatio, 0]);
    near(mostLogRatio, Math.log(1000), { relative: 1e-15 });
  });
});

describe('random labelling', () => {
  const sides = sidesOf(40, (i) => (i < 12 ? both : denominatorSide), { sigmaM: 1 });
  const field = fieldOf(sides);
  const { deal } = dealerOf(sides.side);
  const plan = { count: 99, seed: 11, floorFinds: 3, deal };
  const found = ratioTest(field, sides.side, plan);

  test('equals a slow twin that sums every kernel anew for every dealing', () => {
    const { places } = field;
    const g = places.shareM2.length;
    const ratios = (side: Uint8Array) =>
      Array.from({ length: g }, (_, k) => {
        const sum = (bit: number) => {
          let [kernels, count] = [0, 0];
          side.forEach((s, i) => {
            if ((s & bit) === 0) return;
            count++;
            const d2 = (places.xy[2 * k] - sides.xy[2 * i]) ** 2 + (places.xy[2 * k + 1] - sides.xy[2 * i + 1]) ** 2;
            kernels += Math.exp(-d2 / 2);
          });
          return { kernels, count };
        };
        const [a, b] = [sum(numeratorSide), sum(denominatorSide)];
        const smaller = Math.min(a.count, b.count);
        const steadied = Math.log(
          ((2 * smaller * a.kernels) / a.count + 0.5) / ((2 * smaller * b.kernels) / b.count + 0.5),
        );
        const rho = heldRatio(Math.log(a.kernels / a.count / (b.kernels / b.count)));
        return { rho, steadied, support: 2 * b.kernels };
      });
    const squared = (list: { steadied: number; support: number }[]) =>
      list.reduce((t, { steadied, support }, k) => t + (support >= 3 ? places.shareM2[k] * steadied ** 2 : 0), 0);
    const own = ratios(sides.side);
    near(found.statistic, squared(own), { relative: 1e-9 });
    expect([...found.masked]).toEqual(own.map(({ support }) => (support >= 3 ? 0 : 1)));
    expect(found.masked.some((m) => m === 1)).toBe(true);
    const high = new Array(g).fill(1);
    const low = new Array(g).fill(1);
    let extreme = 1;
    const named = new Uint8Array(40);
    for (let s = 0; s < 99; s++) {
      deal(named, randomStream(11, s));
      const dealt = ratios(named);
      if (squared(dealt) >= found.statistic * (1 - 1e-9)) extreme++;
      dealt.forEach(({ rho }, k) => {
        if (rho >= own[k].rho - 1e-9) high[k]++;
        if (rho <= own[k].rho + 1e-9) low[k]++;
      });
    }
    expect(found.p).toBe(extreme / 100);
    expect([...found.upper]).toEqual(high.map((c) => c / 100));
    expect([...found.lower]).toEqual(low.map((c) => c / 100));
  });

  test('highest and lowest places lie on the ground, above the floor, with what chance gives there', () => {
    const known = Array.from(found.masked.keys()).filter((k) => found.masked[k] === 0 && field.places.inside[k] === 1);
    expect(found.logRatio[found.highest.place]).toBe(Math.max(...known.map((k) => found.logRatio[k])));
    expect(found.logRatio[found.lowest.place]).toBe(Math.min(...known.map((k) => found.logRatio[k])));
    expect(found.highest.dealt?.low).toBeLessThan(found.highest.dealt?.high ?? -Infinity);
  });

  test('without dealings there is a ratio and no p', () => {
    const none = ratioTest(field, sides.side, { ...plan, count: 0 });
    expect([none.p, none.highest.dealt, none.upper[0]]).toEqual([null, null, 1]);
    expect([...none.logRatio]).toEqual([...found.logRatio]);
  });

  test('a floor nothing reaches masks all', () => {
    const none = ratioTest(field, sides.side, { ...plan, floorFinds: 1e6 });
    expect([none.statistic, none.highest.place, none.lowest.dealt]).toEqual([0, -1, null]);
    expect(none.masked.every((m) => m === 1)).toBe(true);
  });

  test('p is uniform when names are dealt at random, and 1 / (m + 1) for a class in a heap', () => {
    const sets = 200;
    let rejected = 0;
    const side = sides.side.slice();
    for (let set = 0; set < sets; set++) {
      deal(side, randomStream(77, set));
      const own = dealerOf(side);
      const { p } = ratioTest(field, side, { count: 19, seed: 1000 + set, floorFinds: 1, deal: own.deal });
      if ((p ?? 0) <= 0.1) rejected++;
    }
    // 20 expected of 200, ± 4.2
    expect(rejected).toBeGreaterThan(7);
    expect(rejected).toBeLessThan(33);
    const byEast = Array.from(side.keys()).sort((a, b) => sides.xy[2 * a] - sides.xy[2 * b]);
    const heaped = Uint8Array.from(side, (_, i) => (byEast.indexOf(i) < 12 ? both : denominatorSide));
    const far = ratioTest(field, heaped, { ...plan, deal: dealerOf(heaped).deal });
    expect(far.p).toBe(0.01);
    expect(field.places.xy[2 * far.highest.place]).toBeLessThan(2);
  });

  test('names that never move give p = 1 whatever they show', () => {
    const still = (into: Uint8Array, _random: RandomStream) => into.set(sides.side);
    const { p, upper, lower } = ratioTest(field, sides.side, { ...plan, deal: still });
    expect([p, Math.min(...upper), Math.min(...lower)]).toEqual([1, 1, 1]);
  });
});
