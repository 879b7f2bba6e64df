import { describe, expect, test } from 'vitest';
import { dealtSquares, swappedSquares, unequalRates } from '../../src/math/dealt-counts.js';
import { dealtTable, type UnitTable } from '../../src/math/dealt-table.js';
import { randomStream } from '../../src/math/random.js';
import { allNear, near } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

const { input, expected } = readReferenceFile<
  { table: number[][] },
  { table: { chi2: number; expected: number[][]; residual: number[][] } }
>('season_rates_r');
const exact = { relative: 1e-9 };

/** every find a unit of its own */
function tableOf(counts: readonly (readonly number[])[]): UnitTable {
  const finds = counts.flatMap((row, group) => row.flatMap((n, c) => Array.from({ length: n }, () => [group, c])));
  return {
    group: Uint32Array.from(finds, ([group]) => group),
    groups: counts.length,
    start: Uint32Array.from({ length: finds.length + 1 }, (_, i) => i),
    classOf: Uint32Array.from(finds, ([, c]) => c),
    classes: counts[0].length,
    count: new Float64Array(finds.length).fill(1),
  };
}

test('numbers of R: χ², expected counts and standardised residuals of seasons by classes', () => {
  const found = dealtTable(tableOf(input.table), { count: 0, seed: 1 });
  near(found.chi2, expected.table.chi2, exact);
  allNear(found.expected, expected.table.expected.flat(), exact);
  allNear(found.residual, expected.table.residual.flat(), exact);
  expect(found).toMatchObject({ df: 2, p: null });
});

describe('dealing', () => {
  const squares = {
    counts: [9, 7, 8, 1, 0, 2],
    exposure: [1, 1, 1, 1, 1, 1],
    group: Uint32Array.of(0, 0, 0, 1, 1, 1),
    groups: 2,
  };

  test('squares dealt out: close to the 2 in 20 of all dealings that part the rich from the poor', () => {
    const p = dealtSquares(squares, { count: 4999, seed: 4 });
    near(p, 0.1, { absolute: 3 * Math.sqrt((0.1 * 0.9) / 4999) });
    expect(dealtSquares(squares, { count: 0, seed: 4 })).toBeNull();
    expect(dealtSquares({ ...squares, counts: squares.counts.map(() => 0) }, { count: 9, seed: 4 })).toBeNull();
    expect(dealtSquares({ ...squares, group: new Uint32Array(6) }, { count: 9, seed: 4 })).toBeNull();
  });

  test('seasons swapped within squares: all swaps of six squares counted by hand', () => {
    const paired = {
      first: [3, 4, 5, 3, 4, 5],
      second: [1, 2, 2, 1, 1, 3],
      exposureFirst: [1, 1, 1, 1, 1, 1],
      exposureSecond: [1, 1, 1, 1, 1, 1],
    };
    // every square is richer in the first season: only no swap and all swaps are as uneven
    expect(swappedSquares(paired, { count: 0, seed: 1 })).toBe(2 / 64);
    expect(swappedSquares({ ...paired, second: paired.first }, { count: 0, seed: 1 })).toBe(1);
    expect(
      swappedSquares({ ...paired, first: [0, 0, 0, 0, 0, 0], second: [0, 0, 0, 0, 0, 0] }, { count: 0, seed: 1 }),
    ).toBeNull();
  });

  test('ground goes along with what was found on it: equal rates are equal whatever the ground', () => {
    near(unequalRates(Float64Array.of(10, 30), Float64Array.of(1, 3)), 0, { absolute: 1e-12 });
    near(unequalRates(Float64Array.of(30, 10), Float64Array.of(1, 1)), 10, { relative: 1e-12 });
    const uneven = {
      first: [2, 4, 6],
      second: [1, 2, 3],
      exposureFirst: [2, 4, 6],
      exposureSecond: [1, 2, 3],
    };
    expect(swappedSquares(uneven, { count: 0, seed: 1 })).toBe(1);
  });

  test('many squares: swaps are drawn, equal seeds give equal p', () => {
    const random = randomStream(2, 2);
    const list = () => Array.from({ length: 40 }, () => random.below(4));
    const ground = new Array<number>(40).fill(1);
    const alike = { first: list(), second: list(), exposureFirst: ground, exposureSecond: ground };
    const p = swappedSquares(alike, { count: 199, seed: 8 });
    expect(p).toBeGreaterThan(0.05);
    expect(swappedSquares(alike, { count: 199, seed: 8 })).toBe(p);
    expect(swappedSquares({ ...alike, first: alike.second.map((v) => v + 2) }, { count: 199, seed: 8 })).toBe(1 / 200);
    expect(swappedSquares(alike, { count: 0, seed: 8 })).toBeNull();
  });

  test('the sherds of a jar are one thing: thirty sherds of two jars are no evidence, thirty finds are', () => {
    const single = dealtTable(
      tableOf([
        [30, 0],
        [10, 20],
      ]),
      { count: 499, seed: 6 },
    );
    expect(single.p).toBe(1 / 500);
    const jars: UnitTable = {
      // two jars of fifteen sherds in the first season, one of ten and twenty single nails in the second
      group: Uint32Array.of(0, 0, 1, ...new Array<number>(20).fill(1)),
      groups: 2,
      start: Uint32Array.from([0, 15, 30, 40, ...Array.from({ length: 20 }, (_, i) => 41 + i)]),
      classOf: Uint32Array.from([...new Array<number>(40).fill(0), ...new Array<number>(20).fill(1)]),
      classes: 2,
      count: new Float64Array(60).fill(1),
    };
    const whole = dealtTable(jars, { count: 1999, seed: 6 });
    near(whole.chi2, single.chi2, exact);
    // of the 253 pairs of 23 things only the two large jars make the first season so uneven
    near(whole.p, 1 / 253, { absolute: 3 * Math.sqrt(1 / 253 / 1999) + 1 / 2000 });
    expect(single.cellP[0]).toBeLessThanOrEqual(whole.cellP[0]);
  });
});
