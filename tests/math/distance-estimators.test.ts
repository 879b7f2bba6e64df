import { describe, expect, test } from 'vitest';
import { distanceCurves } from '../../src/math/distance-estimators.js';
import { emptySpace, jFunction, testPlaces } from '../../src/math/empty-space.js';
import { erodedAreas, hanischCurve } from '../../src/math/erosion.js';
import { nearestBetween, nearestDistances } from '../../src/math/nearest.js';
import { radiiOf } from '../../src/math/radii.js';
import { boundaryDistance, insideEvenOdd, type Region, regionBox } from '../../src/math/rings.js';
import { patterns, thinArms } from '../support/kernel-reference.js';
import { localPattern, markNames, pointsOf, trench } from '../support/local-pattern.js';
import { allNear, near, uniformScatter } from '../support/near.js';

interface Curves {
  r: number[];
  raw: number[];
  rs: (number | null)[];
  km: (number | null)[];
  han: number[];
}

function sameCurve(actual: Float64Array, expected: readonly (number | null)[], absolute: number): void {
  expect(actual.length).toBe(expected.length);
  expected.forEach((value, k) => {
    if (value === null) expect(actual[k]).toBeNaN();
    else near(actual[k], value, { absolute });
  });
}

const edgesOf = (window: Region, xy: Float64Array) =>
  Float64Array.from({ length: xy.length / 2 }, (_, i) => boundaryDistance(window, xy[2 * i], xy[2 * i + 1]));

describe.each(patterns)('reference pattern %s', (name) => {
  const { expected, xy, window, isRectangle } = localPattern<Record<'G' | 'F' | 'J', Curves>>('gfj', name);
  const nearest = { distances: nearestDistances(xy), boundaries: edgesOf(window, xy) };

  test('G: raw, reduced sample, Kaplan–Meier, Hanisch', () => {
    const radii = radiiOf(expected.G.r);
    const g = distanceCurves(nearest, radii);
    sameCurve(g.raw, expected.G.raw, 1e-12);
    sameCurve(g.reducedSample, expected.G.rs, 1e-12);
    sameCurve(g.kaplanMeier, expected.G.km, 1e-12);
    sameCurve(hanischCurve(window, nearest, radii), expected.G.han, isRectangle ? 1e-10 : 1e-5);
  });

  test('F from the same test places, and J', () => {
    const radii = radiiOf(expected.F.r);
    const places = testPlaces(window);
    const seen = { distances: nearestBetween(places.xy, xy), boundaries: places.boundaries };
    const f = distanceCurves(seen, radii);
    sameCurve(f.raw, expected.F.raw, 1e-12);
    sameCurve(f.reducedSample, expected.F.rs, 1e-12);
    sameCurve(f.kaplanMeier, expected.F.km, 1e-12);
    expect(emptySpace(xy, places, radii)).toEqual(f.kaplanMeier);
    const j = jFunction(distanceCurves(nearest, radii).kaplanMeier, f.kaplanMeier);
    expected.J.km.forEach((value, k) => {
      if (value === null) expect(j[k]).toBeNaN();
      else near(j[k], value, { absolute: 1e-12, relative: 1e-9 });
    });
  });
});

describe.each(['site_a', 'ants', 'betacells', 'demopat', 'humberside'])('two types of %s', (name) => {
  const { expected, xy, window } = localPattern<{
    levels: string[];
    Gcross_AB: Curves;
    mean_NN_AB: number;
    mean_NN_BA: number;
  }>('cross', name);
  const marks = markNames('cross', name);
  const [a, b] = expected.levels.map((level) => pointsOf(xy, marks, level));

  test('G from the first type to the second', () => {
    const distances = nearestBetween(a, b);
    const g = distanceCurves({ distances, boundaries: edgesOf(window, a) }, radiiOf(expected.Gcross_AB.r));
    sameCurve(g.raw, expected.Gcross_AB.raw, 1e-12);
    sameCurve(g.reducedSample, expected.Gcross_AB.rs, 1e-12);
    sameCurve(g.kaplanMeier, expected.Gcross_AB.km, 1e-12);
    const mean = (values: Float64Array) => values.reduce((sum, d) => sum + d, 0) / values.length;
    near(mean(distances), expected.mean_NN_AB, { relative: 1e-10 });
    near(mean(nearestBetween(b, a)), expected.mean_NN_BA, { relative: 1e-10 });
  });
});

test('a distance equal to r is within, an edge at r is far enough, deaths before censorings', () => {
  const radii = radiiOf([0, 0.5, 1, 2]);
  const seen = { distances: Float64Array.of(0, 0.5, 1, 3), boundaries: Float64Array.of(2, 0.5, 0.25, 1) };
  const curves = distanceCurves(seen, radii);
  expect([...curves.raw]).toEqual([0.25, 0.5, 0.75, 0.75]);
  expect([...curves.reducedSample]).toEqual([1 / 4, 2 / 3, 1 / 2, 1]);
  allNear(curves.kaplanMeier, [0.25, 0.625, 0.625, 0.625], { absolute: 1e-15 });
});

test('without places every curve is undefined; without finds the ground is empty', () => {
  const none = { distances: new Float64Array(0), boundaries: new Float64Array(0) };
  const curves = distanceCurves(none, radiiOf([0, 1]));
  for (const curve of Object.values(curves)) expect([...curve].every(Number.isNaN)).toBe(true);
  expect([...emptySpace(new Float64Array(0), testPlaces(trench), radiiOf([0, 1]))]).toEqual([0, 0]);
  expect([...jFunction(Float64Array.of(0, 0.5, 1), Float64Array.of(0, 0.5, 1))]).toEqual([1, 1, Number.NaN]);
});

test.each([
  ['an L with a hole', trench],
  ['thin arms', thinArms],
])('ground farther than d from every edge is that of a fine net of places: %s', (_, window) => {
  const distances = Float64Array.of(0, 0.1, 0.4, 0.9, 1.4, 5);
  const areas = erodedAreas(window, distances);
  const [, , east, north] = regionBox(window);
  const side = 0.02;
  const counts = new Float64Array(distances.length);
  for (let x = side / 2; x < east; x += side) {
    for (let y = side / 2; y < north; y += side) {
      if (!insideEvenOdd(window, x, y)) continue;
      const edge = boundaryDistance(window, x, y);
      distances.forEach((d, k) => {
        if (edge > d) counts[k] += side * side;
      });
    }
  }
  // the net misjudges cells along the edge of the ground
  allNear(areas, counts, { absolute: 0.15 });
  near(areas[5], 0, { absolute: 1e-9 });
});

test('round the corner of a hole the strip is a quarter circle', () => {
  // along 40 m of edge: two strips overlap in each of five corners, a quarter circle fills the hollow one
  const d = 0.5;
  const outerStrip = d * 40 - 5 * d * d + (Math.PI / 4) * d * d;
  const holeStrip = d * 6 + Math.PI * d * d;
  near(erodedAreas(trench, Float64Array.of(d))[0], 79 - outerStrip - holeStrip, { absolute: 1e-9 });
});

test('Hanisch has no curve when every find is nearer to the edge than to its neighbour', () => {
  const xy = Float64Array.of(0.1, 0.1, 11.9, 4.9);
  const seen = { distances: nearestDistances(xy), boundaries: edgesOf(trench, xy) };
  expect([...hanischCurve(trench, seen, radiiOf([0, 1]))].every(Number.isNaN)).toBe(true);
});

test('test places lie in the window at the centres of the division', () => {
  const places = testPlaces(trench);
  expect(places.xy.length / 2).toBe(3360);
  expect([places.xy[0], places.xy[1]]).toEqual([12 / 128, 8 / 128]);
  for (let i = 0; i < places.xy.length; i += 2) {
    expect(insideEvenOdd(trench, places.xy[i], places.xy[i + 1])).toBe(true);
  }
  const xy = uniformScatter({ n: 5, seed: 1, width: 3, height: 2 });
  expect(emptySpace(xy, places, radiiOf([20]))[0]).toBeLessThanOrEqual(1);
});
