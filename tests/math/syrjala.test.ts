import { describe, expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { type PairedDensities, syrjala } from '../../src/math/syrjala.js';
import { allNear, near } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

const { input, expected } = readReferenceFile<
  { x: number[]; y: number[]; density1: number[]; density2: number[] },
  { psi: number; psi_by_corner_SW_SE_NW_NE: number[]; ks: number; p_exact_psi: number; p_exact_ks: number }
>('syrjala_s');
const places = { x: input.x, y: input.y, first: input.density1, second: input.density2 };
const none = { count: 0, seed: 1 };

test('Ψ, its corners and the Kolmogorov form as numpy has them, p over all 4,096 swaps', () => {
  const found = syrjala(places, none);
  near(found?.psi, expected.psi, { relative: 1e-12 });
  allNear(found?.psiByCorner ?? [], expected.psi_by_corner_SW_SE_NW_NE, { relative: 1e-12 });
  near(found?.ks, expected.ks, { relative: 1e-12 });
  expect(found).toMatchObject({ p: expected.p_exact_psi, pKs: expected.p_exact_ks, swaps: 4096, isExact: true });
});

/** all swaps, all corners, all pairs of places */
function slowly({ x, y, first, second }: PairedDensities) {
  const k = x.length;
  const total = (of: ArrayLike<number>) => Array.from(of).reduce((a, b) => a + b, 0);
  const g = [Array.from(first, (v) => v / total(first)), Array.from(second, (v) => v / total(second))];
  const psiOf = (bits: number) => {
    let sum = 0;
    for (const [sx, sy] of [
      [1, 1],
      [-1, 1],
      [1, -1],
      [-1, -1],
    ]) {
      for (let i = 0; i < k; i++) {
        let gap = 0;
        for (let j = 0; j < k; j++) {
          if (sx * x[j] > sx * x[i] || sy * y[j] > sy * y[i]) continue;
          const own = (bits >> j) & 1;
          gap += g[own][j] - g[1 - own][j];
        }
        sum += gap * gap;
      }
    }
    return sum / 4;
  };
  const psi = psiOf(0);
  let asLarge = 0;
  for (let bits = 0; bits < 2 ** k; bits++) if (psiOf(bits) >= psi - 1e-12) asLarge++;
  return { psi, p: asLarge / 2 ** k };
}

describe('beside its slow twin', () => {
  const cases = Array.from({ length: 40 }, (_, seed): PairedDensities => {
    const random = randomStream(seed, 11);
    const k = 2 + random.below(6);
    const list = (below: number) => Array.from({ length: k }, () => random.below(below));
    // places on few lines, some of them twice at one spot
    return { x: list(4), y: list(3), first: [1, ...list(9).slice(1)], second: [...list(9).slice(1), 2] };
  });
  test('every set alike', () => {
    for (const own of cases) {
      const twin = slowly(own);
      const found = syrjala(own, none);
      near(found?.psi, twin.psi, { relative: 1e-10, absolute: 1e-14 });
      expect(found?.p).toBe(twin.p);
    }
  });
});

test('numbers do not matter, only how they are spread', () => {
  const tenfold = syrjala({ ...places, second: input.density2.map((v) => 10 * v) }, none);
  near(tenfold?.psi, expected.psi, { relative: 1e-12 });
  const same = syrjala({ ...places, second: input.density1.map((v) => 3 * v) }, none);
  near(same?.psi, 0, { absolute: 1e-25 });
  expect(same?.p).toBe(1);
});

test('moved or turned by a quarter the answer is the same', () => {
  const turned = syrjala({ ...places, x: input.y.map((v) => 4e6 - v), y: input.x.map((v) => 5e5 + v) }, none);
  near(turned?.psi, expected.psi, { relative: 1e-12 });
  expect(turned?.p).toBe(expected.p_exact_psi);
});

test('beyond 12 places swaps are drawn: equal seeds give equal p, a clear gradient is seen', () => {
  const x = Array.from({ length: 30 }, (_, i) => i);
  const gradient = { x, y: x.map(() => 0), first: x.map((v) => v), second: x.map((v) => 29 - v) };
  const found = syrjala(gradient, { count: 199, seed: 3 });
  expect(found).toMatchObject({ isExact: false, swaps: 199, p: 1 / 200 });
  expect(syrjala(gradient, { count: 199, seed: 3 })).toEqual(found);
  expect(syrjala(gradient, { count: 0, seed: 3 })).toBeNull();
});

test('nothing found in one season is nothing to compare', () => {
  expect(syrjala({ ...places, first: input.x.map(() => 0) }, none)).toBeNull();
});
