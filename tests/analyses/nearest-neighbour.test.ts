import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import {
  clarkEvans,
  clarkEvansConstant,
  donnelly,
  donnellyConstants,
  expectedKthDistances,
  isRectangular,
  kaplanMeierRatio,
  meanDistance,
} from '../../src/analyses/nearest-neighbour/clark-evans.js';
import analysis from '../../src/analyses/nearest-neighbour/index.js';
import { countWithin, randomScatters } from '../../src/analyses/nearest-neighbour/random-scatters.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { Sample } from '../../src/domain/sample.js';
import { rankProbability } from '../../src/math/monte-carlo.js';
import { kthNearestDistances, nearestDistances } from '../../src/math/nearest.js';
import { randomStream } from '../../src/math/random.js';
import { boundaryDistance, orientRings, type Region, regionArea, regionPerimeter } from '../../src/math/rings.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { Problem } from '../../src/problems.js';
import { allNear, heapedScatter, latticeScatter, near, uniformScatter } from '../support/near.js';
import { sampleOf as bareSample } from '../support/sample-of.js';

const ring = (...flat: number[]) => Float64Array.from(flat);
const rectangle = (width: number, height: number): Region => ({
  rings: [ring(0, 0, width, 0, width, height, 0, height)],
});
const trench = orientRings([[ring(0, 0, 12, 0, 12, 5, 7, 5, 7, 8, 0, 8), ring(3, 2, 5, 2, 5, 3, 3, 3)]]);

/** A sample of finds in a window, with classes by name where given. */
function sampleOf(xy: Float64Array, window: Region, classes: readonly string[] = []): Sample {
  const n = xy.length / 2;
  const words = [...new Set(classes.filter((c) => c !== ''))];
  const pairs = Array.from({ length: n }, (_, i) => [xy[2 * i], xy[2 * i + 1]] as const);
  return bareSample(pairs, window, {
    xy,
    dataVersion: 3,
    classCode: Uint32Array.from({ length: n }, (_, i) => words.indexOf(classes[i] ?? '') + 1),
    classes: words,
    seasonCode: new Uint32Array(n).fill(1),
    seasons: ['2021'],
    label: pairs.map((_, i) => `F${i + 1}`),
    windowSource: 'excavated areas of 2021',
  });
}

function answerOf(sample: Sample, how: { simulations?: number; seed?: number; own?: Record<string, unknown> } = {}) {
  const parameters = analysis.parameters.parse(how.own ?? {});
  const control = { seed: how.seed ?? 1790, simulations: how.simulations ?? 0, draws: 1, progress: () => {} };
  return analysis.run(sample, parameters, control);
}

// ——— reference numbers ———

interface Reference {
  input: {
    window: { type: string; xrange: number[]; yrange: number[]; outer: number[][]; holes: number[][][] };
    points: number[][];
  };
  expected: {
    [key: string]: number;
  } & {
    donnelly: { [key: string]: number };
    cdf: { mean_KM_continuous: number; R_cdf_continuous: number; km_total_mass: number };
    mean_kth_neighbour: number[];
    expected_kth_csr: number[];
    nnd: number[];
    kth: number[][] | null;
    boundary_distance: number[];
  };
}

const read = (path: string): Reference =>
  JSON.parse(readFileSync(new URL(`../reference/${path}`, import.meta.url), 'utf8'));
const gpl = ['cells', 'japanesepines', 'redwood', 'demopat', 'humberside', 'ants', 'betacells'];
const references: [string, Reference][] = [
  ['site_a', read('nn_site_a.json')],
  ...gpl.map((name): [string, Reference] => [name, read(`gpl/nn_${name}.json`)]),
];

/** Points and window moved to the window's lower-left corner, as the analysis does. */
function patternOf({ input }: Reference) {
  const { window } = input;
  const [outer, ...holes] =
    window.type === 'rectangle'
      ? [
          [
            [window.xrange[0], window.yrange[0]],
            [window.xrange[1], window.yrange[0]],
            [window.xrange[1], window.yrange[1]],
            [window.xrange[0], window.yrange[1]],
          ],
        ]
      : [window.outer, ...window.holes];
  const west = Math.min(...outer.map(([x]) => x));
  const south = Math.min(...outer.map(([, y]) => y));
  const local = (corners: number[][]) => Float64Array.from(corners.flatMap(([x, y]) => [x - west, y - south]));
  return { xy: local(input.points), region: orientRings([[local(outer), ...holes.map(local)]]) };
}

describe.each(references)('reference pattern %s', (_, reference) => {
  const { xy, region } = patternOf(reference);
  const { expected } = reference;
  const tight = { relative: 1e-10 };
  const areaM2 = regionArea(region);
  const distances = nearestDistances(xy);
  const meanDistanceM = meanDistance(distances) ?? Number.NaN;
  const n = xy.length / 2;

  test('area, edge, distances', () => {
    expect(n).toBe(expected.n);
    near(areaM2, expected.area, tight);
    near(regionPerimeter(region), expected.perimeter, tight);
    allNear(distances, expected.nnd, tight);
    near(meanDistanceM, expected.meanNN, tight);
  });

  test('Clark–Evans', () => {
    const found = clarkEvans({ n, meanDistanceM, areaM2 });
    near(found.expectedDistanceM, expected.expected_csr, tight);
    near(found.ratio, expected.R_none, tight);
    near(found.z, expected.z_none, { relative: 1e-9, absolute: 1e-12 });
    near(found.p, expected.p_two_none, { absolute: 1e-10, relative: 1e-8 });
    near(found.pClustered, expected.p_clustered_none, { absolute: 1e-10 });
    near(found.pRegular, expected.p_regular_none, { absolute: 1e-10 });
    // far tails keep their digits
    near(Math.log(found.p), Math.log(expected.p_two_none), { relative: 1e-8, absolute: 1e-8 });
  });

  test('Donnelly, with either constant in print', () => {
    const printed = expected.donnelly;
    const scatter = { n, meanDistanceM, areaM2, perimeterM: regionPerimeter(region) };
    const found = donnelly(scatter, { ...donnellyConstants, perimeterRoot: 0.041 });
    near(found.expectedDistanceM, printed.expected_0_041, tight);
    near(found.ratio, printed.R_0_041, tight);
    near(found.z, printed.z, { relative: 1e-9, absolute: 1e-12 });
    near(found.p, printed.p_two, { absolute: 1e-10 });
    near(found.pClustered, printed.p_clustered, { absolute: 1e-10 });
    near(found.pRegular, printed.p_regular, { absolute: 1e-10 });
    near(donnelly(scatter).expectedDistanceM, printed.expected_0_0412_as_spatstat, tight);
    near(donnelly(scatter).ratio, printed.R_0_0412_as_spatstat, tight);
    expect(isRectangular(region)).toBe(!printed.rectangle_only);
  });

  test('Kaplan–Meier', () => {
    const boundaries = distances.map((_d, i) => boundaryDistance(region, xy[2 * i], xy[2 * i + 1]));
    allNear(boundaries, expected.boundary_distance, { relative: 1e-10, absolute: 1e-12 * Math.sqrt(areaM2) });
    const found = kaplanMeierRatio(distances, boundaries, areaM2);
    near(found?.meanDistanceM, expected.cdf.mean_KM_continuous, tight);
    near(found?.ratio, expected.cdf.R_cdf_continuous, tight);
  });

  test('k-th neighbours', () => {
    const rows = kthNearestDistances(xy, 5);
    if (expected.kth) allNear(rows, expected.kth.flat(), tight);
    const means = [0, 1, 2, 3, 4].map((j) => rows.reduce((sum, d, i) => sum + (i % 5 === j ? d / n : 0), 0));
    allNear(means, expected.mean_kth_neighbour, tight);
    allNear(expectedKthDistances(5, n / areaM2), expected.expected_kth_csr, tight);
  });
});

test.each(analysis.worked.map((example, i) => [i, example] as const))(
  'worked example %d through the analysis',
  (_, example) => {
    const window = orientRings(example.window.map((polygon) => polygon.map((r) => Float64Array.from(r.flat()))));
    const { summary } = answerOf(sampleOf(Float64Array.from(example.xy.flat()), window), { own: example.parameters });
    for (const [path, expected] of Object.entries(example.expected)) {
      const found = path.split('.').reduce<unknown>((part, key) => (part as Record<string, unknown>)[key], summary);
      near(found as number, expected, { relative: example.tolerance });
    }
  },
);

// ——— laws ———

test('the exact constant, and the k-th expectations 0.5, 0.75, 0.9375 over √λ', () => {
  near(clarkEvansConstant, 0.2613616004385317, { relative: 1e-15 });
  allNear(expectedKthDistances(3, 4), [0.25, 0.375, 0.46875], { relative: 1e-15 });
  expect(expectedKthDistances(0, 4)).toEqual([]);
});

test('a square lattice has ratio 2, a triangular one 2.1491, a heap 0', () => {
  const square = Float64Array.from({ length: 800 }, (_, k) =>
    k % 2 === 0 ? (k >> 1) % 20 : Math.floor((k >> 1) / 20),
  );
  expect(
    answerOf(sampleOf(square, { rings: [ring(-0.5, -0.5, 19.5, -0.5, 19.5, 19.5, -0.5, 19.5)] })).summary.ratio,
  ).toBe(2);
  const step = Math.sqrt(3) / 2;
  const triangular = Float64Array.from({ length: 800 }, (_, k) => {
    const row = Math.floor((k >> 1) / 20);
    return k % 2 === 0 ? ((k >> 1) % 20) + (row % 2) / 2 : row * step;
  });
  const around = { rings: [ring(0, 0, 20, 0, 20, 20 * step, 0, 20 * step)] };
  // distances of shifted rows round in the last digit
  near(answerOf(sampleOf(triangular, around)).summary.ratio, 2 * Math.sqrt(2 / Math.sqrt(3)), { relative: 1e-13 });
  const heap = answerOf(sampleOf(new Float64Array(40).fill(3), rectangle(10, 5)));
  expect(heap.summary.ratio).toBe(0);
  expect(heap.summary.coincident).toBe(20);
  expect(heap.cautions.join(' ')).toMatch(/20 of 20 finds share their place/);
});

const lattice = latticeScatter({ n: 300, seed: 5, width: 12, height: 8 });
const mapped = (f: (x: number, y: number) => readonly [number, number]) => {
  const move = (flat: Float64Array) =>
    Float64Array.from({ length: flat.length }, (_, i) => f(flat[i - (i % 2)], flat[i - (i % 2) + 1])[i % 2]);
  return sampleOf(move(lattice), orientRings([trench.rings.map(move)]));
};

test('a shift by whole metres to map coordinates changes no bit, simulations included', () => {
  const here = answerOf(
    mapped((x, y) => [x, y]),
    { simulations: 19 },
  );
  const there = answerOf(
    mapped((x, y) => [x + 4_500_000, y + 6_500_000]),
    { simulations: 19 },
  );
  expect(there.summary).toEqual(here.summary);
  expect(there.table).toEqual(here.table);
});

test('quarter turns and mirror change no bit of what is not simulated', () => {
  const here = answerOf(mapped((x, y) => [x, y])).summary;
  expect(answerOf(mapped((x, y) => [-y, x])).summary).toEqual(here);
  expect(answerOf(mapped((x, y) => [-x, -y])).summary).toEqual(here);
  expect(answerOf(mapped((x, y) => [-x, y])).summary).toEqual(here);
});

test('doubling doubles distances and leaves the ratios', () => {
  const here = answerOf(mapped((x, y) => [x, y])).summary;
  const doubled = answerOf(mapped((x, y) => [2 * x, 2 * y])).summary;
  expect(doubled.mean_distance_m).toBe(2 * (here.mean_distance_m ?? 0));
  expect(doubled.window_area_m2).toBe(4 * here.window_area_m2);
  expect(doubled.clark_evans.ratio).toBe(here.clark_evans.ratio);
  expect(doubled.kaplan_meier?.ratio).toBe(here.kaplan_meier?.ratio);
  expect(doubled.kth_mean_distance_m).toEqual(here.kth_mean_distance_m.map((d) => 2 * d));
});

test('any turn and any order of the finds leave the numbers within rounding', () => {
  const angle = 0.7;
  const xy = uniformScatter({ n: 80, seed: 6, width: 10, height: 5 });
  const turn = (flat: Float64Array) =>
    flat.map((v, i) =>
      i % 2 === 0
        ? v * Math.cos(angle) - flat[i + 1] * Math.sin(angle)
        : flat[i - 1] * Math.sin(angle) + v * Math.cos(angle),
    );
  const here = answerOf(sampleOf(xy, rectangle(10, 5))).summary;
  const turned = answerOf(sampleOf(turn(xy), { rings: [turn(rectangle(10, 5).rings[0])] })).summary;
  near(turned.clark_evans.ratio, here.clark_evans.ratio ?? 0, { relative: 1e-13 });
  near(turned.donnelly?.ratio, here.donnelly?.ratio ?? 0, { relative: 1e-12 });
  near(turned.kaplan_meier?.ratio, here.kaplan_meier?.ratio ?? 0, { relative: 1e-12 });
  const backward = Float64Array.from({ length: xy.length }, (_, i) => xy[xy.length - 2 - 2 * (i >> 1) + (i % 2)]);
  const reordered = answerOf(sampleOf(backward, rectangle(10, 5))).summary;
  near(reordered.clark_evans.ratio, here.clark_evans.ratio ?? 0, { relative: 1e-13 });
});

test('which windows are rectangles: turned or with a corner on a side yes, others no', () => {
  expect(isRectangular(rectangle(3, 2))).toBe(true);
  expect(isRectangular({ rings: [ring(0, 0, 1, 0, 3, 0, 3, 2, 0, 2, 0, 1)] })).toBe(true);
  expect(isRectangular({ rings: [ring(1, 0, 3, 0, 3, 2, 0, 2, 0, 0)] })).toBe(true);
  expect(isRectangular({ rings: [ring(0, 0, 4, 3, 1, 7, -3, 4)] })).toBe(true);
  expect(isRectangular({ rings: [ring(0, 0, 4, 0, 5, 2, 1, 2)] })).toBe(false);
  expect(isRectangular({ rings: [ring(0, 0, 4, 0, 4, 3)] })).toBe(false);
  expect(isRectangular(trench)).toBe(false);
  expect(isRectangular(orientRings([[ring(0, 0, 1, 0, 1, 1, 0, 1)], [ring(2, 0, 3, 0, 3, 1, 2, 1)]]))).toBe(false);
});

// ——— simulated p ———

test('distances are counted within each place, a tie included', () => {
  const counts = new Uint32Array(5);
  countWithin(Float64Array.of(0, 0.1, 0.2, 0.30000000000000004, 0.35, 9), { count: 5, stepM: 0.1 }, counts);
  const plain = [0, 1, 2, 3, 4].map(
    (k) => [0, 0.1, 0.2, 0.30000000000000004, 0.35, 9].filter((d) => d <= k * 0.1).length,
  );
  expect([...counts]).toEqual(plain);
});

test('the same seed gives the same answer, another seed another, and the sample stays untouched', () => {
  const sample = sampleOf(uniformScatter({ n: 60, seed: 8, width: 7, height: 5 }), rectangle(7, 5));
  const kept = sample.xy.slice();
  const answer = answerOf(sample, { simulations: 99 });
  expect(answerOf(sample, { simulations: 99 })).toEqual(answer);
  const plan = { n: 60, window: sample.window, simulations: 9, progress: () => {} };
  expect(randomScatters({ ...plan, seed: 1 }).meansM).not.toEqual(randomScatters({ ...plan, seed: 2 }).meansM);
  expect(randomScatters({ ...plan, seed: 1, simulations: 4 }).meansM).toEqual(
    randomScatters({ ...plan, seed: 1 }).meansM.subarray(0, 4),
  );
  expect(sample.xy).toEqual(kept);
});

test('heaps are found clustered and a lattice evenly spaced, in a window with an undug patch', () => {
  const heaps = heapedScatter({ n: 60, seed: 2, heaps: 5, spread: 0.4, width: 6, height: 1.9 });
  expect(answerOf(sampleOf(heaps, trench), { simulations: 99 }).summary.simulated).toEqual({
    p_clustered: 0.01,
    p_regular: 1,
    p_two_sided: 0.02,
    simulations: 99,
  });
  const even = Float64Array.from(
    { length: 96 },
    (_, k) => 0.5 + (k % 2 === 0 ? (k >> 1) % 12 : Math.floor((k >> 1) / 12)),
  );
  expect(answerOf(sampleOf(even, rectangle(12, 4)), { simulations: 99 }).summary.simulated?.p_regular).toBe(0.01);
});

test('random scatters in an L with an undug patch are called patterned about once in twenty, unlike by the plain formula', () => {
  const sampler = uniformPoints(trench);
  const n = 40;
  const { meansM } = randomScatters({ n, window: trench, simulations: 199, seed: 77, progress: () => {} });
  let simulated = 0;
  let plain = 0;
  const runs = 1500;
  for (let run = 0; run < runs; run++) {
    const xy = new Float64Array(2 * n);
    sampler(xy, randomStream(9, run));
    const mean = meanDistance(nearestDistances(xy)) ?? 0;
    if (rankProbability(mean, meansM).twoSided <= 0.05) simulated++;
    if (clarkEvans({ n, meanDistanceM: mean, areaM2: 79 }).p <= 0.05) plain++;
  }
  // one set of 199 scatters serves all runs, so its own spread counts too
  expect(simulated / runs).toBeGreaterThan(0.02);
  expect(simulated / runs).toBeLessThan(0.09);
  expect(plain / runs).toBeGreaterThan(0.09);
});

test('the mean of random scatters in a square is the one of long simulations', () => {
  // 20,000 patterns of 30 points in a unit square, independent program on numpy: 0.099186 ± 0.00005
  const { meansM } = randomScatters({ n: 30, window: rectangle(1, 1), simulations: 4000, seed: 3, progress: () => {} });
  const mean = meansM.reduce((a, b) => a + b, 0) / 4000;
  // four standard errors of 4,000 patterns (variance 1.048e-4)
  near(mean, 0.099186, { absolute: 0.00005 + 4 * Math.sqrt(1.048e-4 / 4000) });
});

// ——— classes, layer, refusals, few finds ———

test('a class gives the same numbers pooled with others as alone', () => {
  const xy = uniformScatter({ n: 90, seed: 12, width: 7, height: 5 });
  const names = Array.from({ length: 90 }, (_, i) => ['lead shot', 'nail', ''][i % 3]);
  const all = answerOf(sampleOf(xy, rectangle(7, 5), names), { simulations: 39 });
  expect(all.summary.by_class.map((row) => [row.artefact_class, row.n])).toEqual([
    ['lead shot', 30],
    ['nail', 30],
    [null, 30],
  ]);
  const nails = sampleOf(
    xy.filter((_, i) => (i >> 1) % 3 === 1),
    rectangle(7, 5),
    new Array(30).fill('nail'),
  );
  const alone = answerOf(nails, { simulations: 39 }).summary;
  expect(alone.by_class).toEqual([]);
  const { simulations: _, ...p } = alone.simulated ?? { simulations: 0 };
  expect(all.summary.by_class[1]).toEqual({
    artefact_class: 'nail',
    n: 30,
    mean_distance_m: alone.mean_distance_m,
    ratio: alone.clark_evans.ratio,
    z: alone.clark_evans.z,
    p: alone.clark_evans.p,
    ...p,
  });
  expect(all.table.rows.map((row) => row[0])).toEqual(['lead shot', 'nail', 'class unknown', 'all finds chosen']);
  expect(all.cautions.join(' ')).toMatch(/3 classes are 3 tests/);
});

test('the layer carries each find with its distance', () => {
  const { features } = answerOf(
    sampleOf(Float64Array.of(1, 1, 4, 5, 4, 4), rectangle(10, 10), ['nail', 'nail', 'nail']),
  );
  expect(features?.length).toBe(3);
  const cell = (name: string, row: number) => {
    const column = features?.columns.get(name);
    return column ? valueAt(column, row) : undefined;
  };
  expect(['find', 'artefact_class', 'season', 'nearest_distance_m'].map((name) => cell(name, 1))).toEqual([
    'F2',
    'nail',
    '2021',
    1,
  ]);
  expect(features?.geometry).toEqual({ type: 'point', coordinates: Float64Array.of(1, 1, 4, 5, 4, 4) });
});

test('Donnelly off a rectangle is refused when asked for, and explained when not', () => {
  const sample = sampleOf(lattice, trench);
  expect(() => answerOf(sample, { own: { edge: 'donnelly' } })).toThrow(/made for rectangles/);
  try {
    answerOf(sample, { own: { edge: 'donnelly' } });
  } catch (error) {
    expect((error as Problem).code).toBe('cannot-answer');
  }
  const { summary } = answerOf(sample);
  expect(summary.donnelly).toBeNull();
  expect(summary.donnelly_reason).toMatch(/not a rectangle/);
  expect(answerOf(sampleOf(lattice, rectangle(12, 8))).summary.donnelly_reason).toBeNull();
});

test('the edge correction asked for decides the ratio that leads', () => {
  const sample = sampleOf(lattice, rectangle(12, 8));
  for (const edge of ['none', 'donnelly', 'kaplan_meier'] as const) {
    const { summary, table } = answerOf(sample, { own: { edge } });
    const expected = { none: summary.clark_evans, donnelly: summary.donnelly, kaplan_meier: summary.kaplan_meier }[
      edge
    ];
    expect(summary.ratio).toBe(expected?.ratio);
    expect(table.rows.at(-1)?.[3]).toBe(expected?.ratio);
  }
});

test('too much work, too many neighbours and a window without area are refused', () => {
  const sample = sampleOf(uniformScatter({ n: 30_000, seed: 1 }), rectangle(1, 1));
  expect(() => answerOf(sample, { simulations: 99_999 })).toThrow(/at most 66666 simulations fit/);
  expect(() => answerOf(sampleOf(Float64Array.of(1, 1, 2, 2), rectangle(3, 3)), { own: { k: 2 } })).toThrow(
    /need at least 3 finds, got 2/,
  );
  expect(() => answerOf(sampleOf(Float64Array.of(1, 1, 2, 2), { rings: [] }))).toThrow(Problem);
});

const few: [string, Float64Array, { n: number; coincident: number; mean: number | null }][] = [
  ['no find', new Float64Array(0), { n: 0, coincident: 0, mean: null }],
  ['one find', Float64Array.of(2, 3), { n: 1, coincident: 0, mean: null }],
  ['two finds', Float64Array.of(2, 3, 5, 7), { n: 2, coincident: 0, mean: 5 }],
  ['two at one place', Float64Array.of(2, 3, 2, 3), { n: 2, coincident: 2, mean: 0 }],
  ['three in a line', Float64Array.of(1, 1, 2, 1, 4, 1), { n: 3, coincident: 0, mean: 4 / 3 }],
  ['all on the edge', Float64Array.of(0, 0, 12, 0, 12, 5, 0, 8), { n: 4, coincident: 0, mean: (8 + 5 + 5 + 8) / 4 }],
];

test.each(few)('%s: every number is defined or null, and a caution stands beside it', (_, xy, expected) => {
  for (const own of [{}, { edge: 'kaplan_meier' }]) {
    const answer = answerOf(sampleOf(xy, trench), { simulations: 19, own });
    const { summary } = answer;
    expect(analysis.result.parse(JSON.parse(JSON.stringify(summary)))).toEqual(summary);
    expect(summary.n).toBe(expected.n);
    expect(summary.coincident).toBe(expected.coincident);
    if (expected.mean === null) {
      expect(summary.mean_distance_m).toBeNull();
      expect(summary.expected_distance_m).toBeNull();
      expect(summary.simulated).toBeNull();
      expect(summary.kaplan_meier).toBeNull();
      expect(Object.values(summary.clark_evans)).toEqual([null, null, null, null, null]);
      expect(summary.kth_mean_distance_m).toEqual([]);
    } else {
      near(summary.mean_distance_m, expected.mean, { relative: 1e-15 });
      expect(summary.clark_evans.p).not.toBeNull();
      expect(summary.kth_mean_distance_m.length).toBe(expected.n - 1);
    }
    expect(answer.cautions.length).toBeGreaterThan(0);
    expect(JSON.stringify(answer.table)).not.toContain('NaN');
    expect(answer.figure.marks.length).toBeGreaterThan(0);
  }
});

test('large position errors are said', () => {
  const sample = sampleOf(lattice, trench);
  const careful = { ...sample, sigmaXy: new Float64Array(300).fill(0.02) };
  const rough = { ...sample, sigmaXy: new Float64Array(300).fill(0.15) };
  expect(answerOf(careful).cautions.join(' ')).not.toMatch(/position error/);
  expect(answerOf(rough).cautions.join(' ')).toMatch(/middle position error, 0.15 m/);
});

test('the methods paragraph names window, constants, simulations, seed and sources', () => {
  const { methods } = answerOf(sampleOf(lattice, rectangle(12, 8)), { simulations: 19, seed: 4711 });
  for (const part of [
    '96 m²',
    '0.2613616',
    '0.0412',
    '0.041,',
    '19 scatters',
    'seed 4711',
    'sfc32',
    'Clark & Evans (1954)',
    'Donnelly',
  ]) {
    expect(methods).toContain(part);
  }
});
