import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { normalTwoSided } from '../../src/math/distributions.js';
import {
  type Autocorrelation,
  expectedJoins,
  gearyC,
  getisOrdStar,
  joinCounts,
  localMoran,
  moranI,
} from '../../src/math/lattice-autocorrelation.js';
import { dealtMoran, dealtStatistics } from '../../src/math/lattice-permutation.js';
import { randomStream } from '../../src/math/random.js';
import { type Contiguity, squareLinks, type WeightStyle } from '../../src/math/square-links.js';
import { allNear, near } from '../support/near.js';

const grid = (columns: number, rows: number) => ({
  columns: Array.from({ length: columns * rows }, (_, i) => i % columns),
  rows: Array.from({ length: columns * rows }, (_, i) => Math.floor(i / columns)),
});
const linksOn = (columns: number, rows: number, contiguity: Contiguity, style: WeightStyle) =>
  squareLinks(grid(columns, rows).columns, grid(columns, rows).rows, { contiguity, style });
const quiet = { seed: 9, progress: () => {} };

describe.each([
  ['rook', 'W'],
  ['rook', 'B'],
  ['queen', 'W'],
  ['queen', 'B'],
] as const)('%s, %s', (contiguity, style) => {
  const file = new URL(`../reference/lattice_s_${contiguity}_${style}.json`, import.meta.url);
  const { input, expected, R } = JSON.parse(readFileSync(file, 'utf8'));
  const z = Float64Array.from(input.z);
  const links = linksOn(input.ncol, input.nrow, contiguity, style);
  const zOf = (found: Autocorrelation | null, variance: number | null | undefined) =>
    ((found?.value ?? Number.NaN) - (found?.expected ?? Number.NaN)) / Math.sqrt(variance ?? Number.NaN);

  test('Moran’s I with both variances and their p', () => {
    const found = moranI(z, links);
    near(found?.value, expected.I, { relative: 1e-12 });
    near(found?.expected, expected.expected, { relative: 1e-14 });
    near(found?.varianceRandomisation, expected.var_randomisation, { relative: 1e-12 });
    near(found?.varianceNormality, expected.var_normality, { relative: 1e-12 });
    near(normalTwoSided(zOf(found, found?.varianceRandomisation)), expected.p_two_randomisation, { relative: 1e-11 });
    near(normalTwoSided(zOf(found, found?.varianceNormality)), expected.p_two_normality, { relative: 1e-11 });
  });
  test('Geary’s C, and its variance under randomisation as spdep has it', () => {
    const found = gearyC(z, links);
    near(found?.value, expected.geary_C, { relative: 1e-12 });
    near(found?.varianceRandomisation, R.geary_V, { relative: 1e-10 });
  });
  test('local I and Gi*', () => {
    allNear(localMoran(z, links) ?? [], expected.local_I, { relative: 1e-11, absolute: 1e-13 });
    allNear(getisOrdStar(z, links) ?? [], expected.Gi_star_z, { relative: 1e-11, absolute: 1e-13 });
  });
  test('local I adds up to I times the sum of weights', () => {
    const total = [...(localMoran(z, links) ?? [])].reduce((sum, v) => sum + v, 0);
    near(total, (moranI(z, links)?.value ?? 0) * links.weight.reduce((sum, w) => sum + w, 0), { relative: 1e-11 });
  });
});

test('a chessboard: I is −1 by sides; joins are all mixed', () => {
  const links = linksOn(6, 6, 'rook', 'B');
  const board = Float64Array.from({ length: 36 }, (_, i) => (i + Math.floor(i / 6)) % 2);
  near(moranI(board, links)?.value, -1, { relative: 1e-14 });
  expect(joinCounts(board, links)).toEqual({ both: 0, mixed: 60, neither: 0 });
  // 60 joins, half the squares: 60 · 18 · 17 / (36 · 35)
  near(expectedJoins(board, links)?.both, (60 * 18 * 17) / (36 * 35), { relative: 1e-14 });
});

test('the same everywhere, no neighbours, one square, none: no answer', () => {
  const links = linksOn(5, 4, 'queen', 'W');
  const flat = new Float64Array(20).fill(0.1 + 0.2);
  expect([moranI(flat, links), gearyC(flat, links), localMoran(flat, links), getisOrdStar(flat, links)]).toEqual([
    null,
    null,
    null,
    null,
  ]);
  const apart = squareLinks([0, 2], [0, 0], { contiguity: 'queen', style: 'W' });
  expect(moranI([1, 2], apart)).toBeNull();
  expect(moranI([1], squareLinks([0], [0], { contiguity: 'rook', style: 'W' }))).toBeNull();
  expect(moranI([], squareLinks([], [], { contiguity: 'rook', style: 'W' }))).toBeNull();
});

test('a lone square has no local answer and is nobody’s neighbour', () => {
  const links = squareLinks([0, 1, 5], [0, 0, 5], { contiguity: 'queen', style: 'W' });
  expect([...links.start]).toEqual([0, 1, 2, 2]);
  expect(localMoran([1, 2, 3], links)?.[2]).toBeNaN();
  expect(getisOrdStar([1, 2, 3], links)?.[2]).toBeNaN();
});

test('stretching and shifting the values changes nothing', () => {
  const links = linksOn(5, 5, 'queen', 'W');
  const random = randomStream(4, 4);
  const z = Float64Array.from({ length: 25 }, () => random.next());
  near(
    moranI(
      z.map((v) => 7 + 3 * v),
      links,
    )?.value,
    moranI(z, links)?.value ?? 0,
    { relative: 1e-11 },
  );
  near(
    gearyC(
      z.map((v) => 7 - 3 * v),
      links,
    )?.value,
    gearyC(z, links)?.value ?? 0,
    { relative: 1e-11 },
  );
});

describe('dealing the values anew', () => {
  const links = linksOn(4, 3, 'queen', 'W');
  const random = randomStream(8, 1);
  const z = Float64Array.from({ length: 12 }, () => Math.floor(6 * random.next()));
  const present = Uint8Array.from(z, (v) => (v > 2 ? 1 : 0));
  const dealt = dealtStatistics({ z, present, links }, { count: 4000, ...quiet });
  const mean = (values: Float64Array) => values.reduce((sum, v) => sum + v / values.length, 0);
  const spread = (values: Float64Array) =>
    values.reduce((sum, v) => sum + (v - mean(values)) ** 2 / (values.length - 1), 0);

  test('means and variances are those of the closed forms over all dealings', () => {
    const moran = moranI(z, links);
    const geary = gearyC(z, links);
    near(mean(dealt.moran), moran?.expected ?? 0, { absolute: 4 * Math.sqrt(spread(dealt.moran) / 4000) });
    near(spread(dealt.moran), moran?.varianceRandomisation ?? 0, { relative: 0.1 });
    near(mean(dealt.geary), 1, { absolute: 4 * Math.sqrt(spread(dealt.geary) / 4000) });
    near(spread(dealt.geary), geary?.varianceRandomisation ?? 0, { relative: 0.1 });
    near(mean(dealt.both), expectedJoins(present, links)?.both ?? 0, {
      absolute: 4 * Math.sqrt(spread(dealt.both) / 4000),
    });
  });
  test('slow twin: neighbours dealt one square at a time are as often as high', () => {
    const other = randomStream(77, 0);
    const square = 5;
    const neighbours = [...links.to.subarray(links.start[square], links.start[square + 1])];
    const seen = neighbours.reduce((sum, j) => sum + z[j], 0);
    let high = 0;
    for (let s = 0; s < 4000; s++) {
      const rest = [...z].filter((_, j) => j !== square);
      let sum = 0;
      for (const _ of neighbours) sum += rest.splice(other.below(rest.length), 1)[0];
      if (sum >= seen) high++;
    }
    near(dealt.high[square] / 4000, high / 4000, { absolute: 4.5 * Math.sqrt(0.5 / 4000) });
    expect(dealt.high[square] + dealt.low[square]).toBeGreaterThanOrEqual(4000);
  });
  test('I alone draws the same; another seed draws otherwise', () => {
    expect([...dealtMoran(z, links, { count: 50, ...quiet })]).toEqual([...dealt.moran.subarray(0, 50)]);
    expect([...dealtMoran(z, links, { count: 5, ...quiet, seed: 10 })]).not.toEqual([...dealt.moran.subarray(0, 5)]);
  });
});
