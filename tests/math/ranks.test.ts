import { describe, expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { kendall, kruskalWallis, midRanks, spearman } from '../../src/math/ranks.js';
import { mannWhitney, twoSampleGap } from '../../src/math/two-samples.js';
import { near } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

type Numbers = Readonly<Record<string, number | null>>;
const exact = { relative: 1e-10 };

describe.each(['s_noties', 's_ties'])('rankcorr_%s, numbers of scipy and R', (name) => {
  const { input, expected } = readReferenceFile<{ a: number[]; b: number[] }, Numbers>(`rankcorr_${name}`);
  test('Spearman and Kendall', () => {
    const rho = spearman(input.a, input.b);
    near(rho.value, expected['spearman_rho'] as number, exact);
    near(rho.p, expected['spearman_p_t'] as number, exact);
    const tau = kendall(input.a, input.b);
    near(tau.value, expected['kendall_tau_b'] as number, exact);
    near(tau.p, expected['kendall_p_normal'] as number, exact);
  });
});

describe.each(['s_kw', 's_kw_ties'])('kruskal_%s, numbers of scipy and R', (name) => {
  const { input, expected } = readReferenceFile<{ groups: number[][] }, Numbers>(`kruskal_${name}`);
  test('H, degrees of freedom and p', () => {
    const test = kruskalWallis(input.groups);
    near(test?.h, expected['H'] as number, exact);
    expect(test?.df).toBe(expected['df']);
    near(test?.p, expected['p'] as number, exact);
  });
});

describe.each(['s_noties', 's_small', 's_ties'])('twosample_%s, numbers of scipy and R', (name) => {
  const { input, expected } = readReferenceFile<{ a: number[]; b: number[] }, Numbers>(`twosample_${name}`);
  test('Mann–Whitney', () => {
    const test = mannWhitney(input.a, input.b);
    near(test?.u, expected['U_first'] as number, exact);
    near(test?.standardDeviation, expected['sd_U_tie_corrected'] as number, exact);
    near(test?.z, expected['z'] as number, exact);
    near(test?.p, expected['p_two_no_continuity'] as number, exact);
    near(test?.pContinuity, expected['p_two_continuity'] as number, exact);
    const enumerated = expected['mw_p_two_exact_enumeration_tie_aware'] ?? expected['p_two_exact_permutation'];
    if (typeof enumerated === 'number') near(test?.pExact, enumerated, exact);
  });

  test('Kolmogorov–Smirnov', () => {
    const test = twoSampleGap(input.a, input.b);
    near(test?.d, expected['ks_D'] as number, exact);
    near(test?.pLimit, expected['ks_p_asymptotic_kolmogorov'] as number, { relative: 1e-9 });
    near(test?.pExact, expected['ks_p_exact_tie_aware'] as number, exact);
  });
});

describe('slow twins', () => {
  const lists = Array.from({ length: 60 }, (_, seed) => {
    const random = randomStream(seed, 5);
    const n = 4 + random.below(9);
    const list = () => Array.from({ length: n }, () => random.below(1 + random.below(8)));
    return [list(), list()] as const;
  });

  test('Kendall by all pairs', () => {
    for (const [a, b] of lists) {
      let s = 0;
      let tiedA = 0;
      let tiedB = 0;
      let all = 0;
      for (let i = 0; i < a.length; i++) {
        for (let j = 0; j < i; j++) {
          s += Math.sign((a[i] - a[j]) * (b[i] - b[j]));
          all++;
          if (a[i] === a[j]) tiedA++;
          if (b[i] === b[j]) tiedB++;
        }
      }
      const { value } = kendall(a, b);
      if (all === tiedA || all === tiedB) expect(value).toBeNull();
      else near(value, s / Math.sqrt((all - tiedA) * (all - tiedB)), { absolute: 1e-12 });
    }
  });

  test('exact p of both two-sample tests by dealing out in every way', () => {
    for (const [a, b] of lists.filter(([list]) => list.length <= 6)) {
      const all = [...a, ...b];
      const rank = (v: number) => all.filter((w) => w < v).length + (all.filter((w) => w === v).length + 1) / 2;
      const gapOf = (one: number[], two: number[]) =>
        Math.max(
          ...all.map((v) =>
            Math.abs(one.filter((w) => w <= v).length * two.length - two.filter((w) => w <= v).length * one.length),
          ),
        );
      const sumOf = (one: number[]) => one.reduce((sum, v) => sum + rank(v), 0);
      let [below, above, wide, count] = [0, 0, 0, 0];
      for (let mask = 0; mask < 2 ** all.length; mask++) {
        const one = all.filter((_, i) => (mask >> i) & 1);
        if (one.length !== a.length) continue;
        const two = all.filter((_, i) => !((mask >> i) & 1));
        count++;
        if (sumOf(one) <= sumOf([...a]) + 1e-9) below++;
        if (sumOf(one) >= sumOf([...a]) - 1e-9) above++;
        if (gapOf(one, two) >= gapOf([...a], [...b])) wide++;
      }
      near(twoSampleGap(a, b)?.pExact, wide / count, { absolute: 1e-12 });
      const test = mannWhitney(a, b);
      if (test) near(test.pExact, Math.min(1, (2 * Math.min(below, above)) / count), { absolute: 1e-12 });
    }
  });
});

describe('lists that do not vary', () => {
  test('have no correlation and no comparison', () => {
    expect(spearman([1, 1, 1], [1, 2, 3])).toEqual({ value: null, p: null });
    expect(kendall([1, 1, 1], [1, 2, 3])).toEqual({ value: null, p: null });
    expect(kruskalWallis([[1, 1], [1]])).toBeNull();
    expect(mannWhitney([2], [2])).toBeNull();
    expect(twoSampleGap([], [1])).toBeNull();
    expect(twoSampleGap([2], [2])).toMatchObject({ d: 0, pLimit: 1, pExact: 1 });
  });

  test('middle ranks', () => {
    expect([...midRanks([3, 1, 3, -0, 0]).rank]).toEqual([4.5, 3, 4.5, 1.5, 1.5]);
    expect(midRanks([3, 1, 3, -0, 0]).ties).toEqual([2, 2]);
  });
});
