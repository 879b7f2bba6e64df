import { describe, expect, test } from 'vitest';
import { blockRows, dealtSums, middleInterval, resampleBlocks, resampleInBlocks } from '../../src/math/blocks.js';
import { holm } from '../../src/math/holm.js';
import { randomStream } from '../../src/math/random.js';
import { randomlyLabelledSums } from '../../src/math/random-labels.js';
import { near } from '../support/near.js';

const seeded = (seed: number, n = 30, blocks = 6, labels = 3) => {
  const random = randomStream(seed, 77);
  return {
    block: Uint32Array.from({ length: n }, () => random.below(blocks)),
    label: Uint32Array.from({ length: n }, () => random.below(labels)),
    labels,
    values: Float64Array.from({ length: n }, () => random.below(1000)),
  };
};

describe('names dealt out within blocks', () => {
  test('every block keeps its sum, and all labels together keep theirs', () => {
    for (let seed = 0; seed < 50; seed++) {
      const of = seeded(seed);
      const [sums] = dealtSums([of.values], of, { count: 20, seed });
      const total = of.values.reduce((sum, v) => sum + v, 0);
      for (let s = 0; s < 20; s++) {
        expect(sums.subarray(3 * s, 3 * s + 3).reduce((sum, v) => sum + v, 0)).toBe(total);
      }
    }
  });

  test('two lists are dealt with the same names', () => {
    const of = seeded(4);
    const [once, twice] = dealtSums([of.values, of.values.map((v) => 2 * v)], of, { count: 9, seed: 1 });
    expect([...twice]).toEqual([...once].map((v) => 2 * v));
  });

  test('dealing 7 is dealing 7, wherever the count starts', () => {
    const of = seeded(4);
    const [all] = dealtSums([of.values], of, { count: 10, seed: 1 });
    const [last] = dealtSums([of.values], of, { count: 3, seed: 1, first: 7 });
    expect([...last]).toEqual([...all.subarray(21)]);
  });

  test('each way to deal comes equally often: all six of a block of two and two, three blocks', () => {
    // values are powers of two, so that the sum of label 0 tells which values it got
    const block = Uint32Array.of(0, 0, 0, 0, 1);
    const label = Uint32Array.of(0, 0, 1, 1, 1);
    const [sums] = dealtSums([Float64Array.of(1, 2, 4, 8, 16)], { block, label, labels: 2 }, { count: 6000, seed: 3 });
    const counts = new Map<number, number>();
    for (let s = 0; s < 6000; s++) counts.set(sums[2 * s], (counts.get(sums[2 * s]) ?? 0) + 1);
    expect([...counts.keys()].sort((a, b) => a - b)).toEqual([3, 5, 6, 9, 10, 12]);
    for (const count of counts.values()) near(count, 1000, { absolute: 120 });
  });

  test('the mean over all dealings is the count in each block times its mean', () => {
    const of = seeded(9, 40, 5, 2);
    const [sums] = dealtSums([of.values], of, { count: 4000, seed: 2 });
    let expected = 0;
    for (const rows of blockRows(of.block)) {
      const mean = [...rows].reduce((sum, i) => sum + of.values[i], 0) / rows.length;
      expected += mean * [...rows].filter((i) => of.label[i] === 0).length;
    }
    let mean = 0;
    for (let s = 0; s < 4000; s++) mean += sums[2 * s] / 4000;
    near(mean, expected, { relative: 0.01 });
  });
});

describe('resampling', () => {
  test('inside blocks: every block keeps its weight', () => {
    const { block } = seeded(5);
    resampleInBlocks(block, { count: 20, seed: 8 }, (weight) => {
      for (const rows of blockRows(block)) {
        const sum = [...rows].reduce((total, i) => total + weight[i], 0);
        if (rows.length > 1) near(sum, rows.length, { absolute: 1e-12 });
      }
    });
  });

  test('inside blocks: the variance of a mean is the textbook one, even in blocks of three', () => {
    const random = randomStream(6, 6);
    const block = Uint32Array.from({ length: 60 }, (_, i) => Math.floor(i / 3));
    const values = Float64Array.from(block, (b) => b + random.next());
    let expected = 0;
    for (const rows of blockRows(block)) {
      const mean = [...rows].reduce((sum, i) => sum + values[i] / 3, 0);
      expected += ([...rows].reduce((sum, i) => sum + (values[i] - mean) ** 2, 0) / 2) * 3;
    }
    const sums: number[] = [];
    resampleInBlocks(block, { count: 3000, seed: 4 }, (weight) => {
      sums.push(weight.reduce((sum, w, i) => sum + w * values[i], 0));
    });
    const mean = sums.reduce((sum, v) => sum + v / sums.length, 0);
    near(sums.reduce((sum, v) => sum + (v - mean) ** 2, 0) / sums.length, expected, { relative: 0.12 });
  });

  test('whole blocks come with all that lies in them', () => {
    const { block } = seeded(5);
    resampleBlocks(block, { count: 20, seed: 8 }, (weight) => {
      for (const rows of blockRows(block)) expect(new Set([...rows].map((i) => weight[i])).size).toBe(1);
    });
  });

  test('the middle 95 % of 999 values leaves out 24 on each side', () => {
    const values = Array.from({ length: 999 }, (_, i) => 999 - i);
    expect(middleInterval(values)).toEqual({ low: 25, high: 975 });
    expect(middleInterval(values.slice(0, 38))).toBeNull();
    expect(middleInterval([...values, Number.NaN])).toEqual({ low: 25, high: 975 });
  });
});

describe('groups drawn from a crowd', () => {
  test('a group as large as the crowd is the crowd', () => {
    const [sums] = randomlyLabelledSums([Float64Array.of(1, 2, 4)], { sizes: [3], count: 5, seed: 1 });
    expect([...sums]).toEqual([7, 7, 7, 7, 7]);
  });

  test('groups do not overlap while the crowd lasts, and every member comes equally often', () => {
    const [sums] = randomlyLabelledSums([Float64Array.of(1, 2, 4, 8, 16)], { sizes: [2, 3], count: 5000, seed: 1 });
    const counts = new Array<number>(5).fill(0);
    for (let s = 0; s < 5000; s++) {
      expect(sums[2 * s] + sums[2 * s + 1]).toBe(31);
      for (let k = 0; k < 5; k++) if ((sums[2 * s] >> k) & 1) counts[k]++;
    }
    for (const count of counts) near(count, 2000, { absolute: 150 });
  });
});

test("Holm's steps, by hand", () => {
  expect(holm([0.01, null, 0.04, 0.03])).toEqual([0.03, null, 0.06, 0.06]);
  expect(holm([])).toEqual([]);
  expect(holm([0.9, 0.8])).toEqual([1, 1]);
});
