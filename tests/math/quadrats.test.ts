import { describe, expect, test } from 'vitest';
import { countsWithGround, morisitaIndex, quadratTest, varianceMeanRatio } from '../../src/math/quadrats.js';
import { randomStream } from '../../src/math/random.js';
import { regionBox } from '../../src/math/rings.js';
import { shareSampler } from '../../src/math/share-sampler.js';
import { type TileGrid, tileAreas, tileAt } from '../../src/math/tiles.js';
import { localPattern } from '../support/local-pattern.js';
import { allNear, near } from '../support/near.js';

interface Expected {
  readonly counts: readonly number[];
  readonly areas: readonly number[];
  readonly chi2: number;
  readonly df: number;
  readonly p_two: number;
  readonly p_clustered_upper: number;
  readonly p_regular_lower: number;
  readonly variance_mean_ratio: number;
  readonly morisita: number;
}

const patterns = [
  ['site_a', 4, 4],
  ['ants', 3, 3],
  ['betacells', 4, 3],
  ['cells', 3, 3],
  ['demopat', 4, 4],
  ['humberside', 5, 5],
  ['japanesepines', 3, 3],
  ['redwood', 3, 3],
] as const;

test.each(patterns)('%s: counts exactly, χ² and its tails as the reference has them', (name, columns, rows) => {
  const { expected, xy, window } = localPattern<Expected>('quadrat', name);
  const [west, south, east, north] = regionBox(window);
  const tiles: TileGrid = { west, south, east, north, columns, rows };
  const counts = new Float64Array(columns * rows);
  for (let i = 0; i < xy.length; i += 2) counts[tileAt(tiles, xy[i], xy[i + 1])]++;
  const areas = tileAreas(window, tiles);
  const fromNorth = (values: Float64Array) =>
    Array.from({ length: rows }, (_, r) => [...values.subarray((rows - 1 - r) * columns, (rows - r) * columns)]).flat();
  expect(fromNorth(counts)).toEqual(expected.counts);
  allNear(fromNorth(areas), expected.areas, { relative: 1e-9, absolute: 1e-9 });
  const found = quadratTest(counts, areas);
  near(found?.chi2, expected.chi2, { relative: 1e-9 });
  expect(found?.df).toBe(expected.df);
  near(found?.pTwoSided, expected.p_two, { relative: 1e-7 });
  near(found?.pClustered, expected.p_clustered_upper, { relative: 1e-7 });
  near(found?.pRegular, expected.p_regular_lower, { relative: 1e-7 });
  const used = countsWithGround(counts, areas);
  near(varianceMeanRatio(used), expected.variance_mean_ratio, { relative: 1e-12 });
  near(morisitaIndex(used), expected.morisita, { relative: 1e-12 });
});

describe('laws', () => {
  const equal = new Float64Array(6).fill(2.5);
  test('with equal tiles χ² is (tiles − 1) times variance over mean', () => {
    const counts = [4, 0, 7, 1, 1, 3];
    near(quadratTest(counts, equal)?.chi2, 5 * (varianceMeanRatio(counts) ?? 0), { relative: 1e-13 });
  });
  test('the unit of ground does not matter, nor does a tile without ground', () => {
    const counts = [4, 0, 7, 1, 1, 3];
    const ground = [1, 2, 3, 0.5, 1, 1];
    const one = quadratTest(counts, ground);
    near(quadratTest([...counts, 9], [...ground.map((g) => 1e4 * g), 0])?.chi2, one?.chi2 ?? 0, { relative: 1e-13 });
  });
  test('one find too few, one tile too few, nothing at all', () => {
    expect(quadratTest([0, 0], [1, 1])).toBeNull();
    expect(quadratTest([3], [1])).toBeNull();
    expect(quadratTest([3, 1], [1, 0])).toBeNull();
    expect(quadratTest([], [])).toBeNull();
    expect(morisitaIndex([1, 0])).toBeNull();
    expect(varianceMeanRatio([0, 0, 0])).toBeNull();
  });
  test('all finds in one tile: Morisita is the number of tiles; each in its own: 0', () => {
    expect(morisitaIndex([0, 7, 0, 0])).toBe(4);
    expect(morisitaIndex([1, 1, 1, 1])).toBe(0);
  });
});

test('finds dropped on unequal ground: dispersion near 1, and each tile hit by its share', () => {
  const ground = [1, 0.5, 2, 0, 0.25, 1.25];
  const draw = shareSampler(ground);
  const random = randomStream(11, 0);
  const hits = new Float64Array(6);
  let dispersion = 0;
  for (let s = 0; s < 400; s++) {
    const counts = new Float64Array(6);
    for (let i = 0; i < 50; i++) counts[draw(random)]++;
    counts.forEach((c, k) => {
      hits[k] += c;
    });
    dispersion += (quadratTest(counts, ground)?.dispersion ?? 0) / 400;
  }
  // χ² / df of 4 degrees of freedom: standard error √(2 / 4 / 400)
  near(dispersion, 1, { absolute: 4 * Math.sqrt(2 / 4 / 400) });
  expect(hits[3]).toBe(0);
  hits.forEach((h, k) => {
    const share = ground[k] / 5;
    near(h / 20_000, share, { absolute: 4.5 * Math.sqrt((share * (1 - share)) / 20_000) });
  });
});
