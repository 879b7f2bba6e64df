import { describe, expect, test } from 'vitest';
import { distanceDistribution } from '../../src/math/distance-distribution.js';
import { lawQuantile } from '../../src/math/distance-law.js';
import { nearestShapes, type Shape, straightPieces } from '../../src/math/hull-distance.js';
import { lineStrips, lineThrough } from '../../src/math/line-strips.js';
import { insideEvenOdd, orientRings, type Region, regionBox } from '../../src/math/rings.js';
import { lineCovariates } from '../support/covariates.js';
import { seededHull } from '../support/hulls.js';
import { allNear, near } from '../support/near.js';

const line = (...corners: number[]): Shape => ({ type: 'line', parts: [Float64Array.from(corners)] });
const area = (...corners: number[]): Shape => ({ type: 'area', parts: [Float64Array.from(corners)] });
const lawOf = (window: Region, shapes: readonly Shape[], sign: 'distance' | 'signed' = 'distance') =>
  distanceDistribution(window, straightPieces(shapes), sign);
const square = orientRings([[Float64Array.of(0, 0, 2, 0, 2, 2, 0, 2)]]);

describe.each(lineCovariates)(
  '$name: a straight piece that runs past the window equals the exact strips',
  (covariate) => {
    const { window, expected } = covariate;
    const [a, b, c] = covariate.line;
    const [west, south, east, north] = regionBox(window);
    const reach = 9 * Math.max(east - west, north - south);
    const length = Math.hypot(a, b);
    const middle = [
      west - (a * (a * west + b * south + c)) / length ** 2,
      south - (b * (a * west + b * south + c)) / length ** 2,
    ];
    const end = (way: number) => [middle[0] - (way * reach * b) / length, middle[1] + (way * reach * a) / length];
    const law = lawOf(window, [line(...end(-1), ...end(1))]);
    test('shares, mean, second moment, extremes', () => {
      allNear(law.shares(Float64Array.from(expected.Z)), expected.U, { absolute: 1e-9 });
      near(law.mean, expected.covariate_mean, { relative: 1e-9 });
      near(law.secondMoment, expected.covariate_second_moment, { relative: 1e-9 });
      near(law.greatest, lineStrips(window, covariate.line).greatest, { relative: 1e-9 });
    });
  },
);

test('a point in the middle of a square: circles, and the mean (√2 + ln(1 + √2)) / 3 of half sides', () => {
  const law = lawOf(square, [line(1, 1)]);
  near(law.shares(Float64Array.of(0.8))[0], (Math.PI * 0.64) / 4, { relative: 1e-12 });
  expect([...law.shares(Float64Array.of(-0.1, 0, 1.5))]).toEqual([0, 0, 1]);
  near(law.mean, (Math.SQRT2 + Math.log(1 + Math.SQRT2)) / 3, { relative: 1e-9 });
  near(law.secondMoment, 2 / 3, { relative: 1e-9 });
  near(lawQuantile(law, 0.5), Math.sqrt(2 / Math.PI), { relative: 1e-10 });
});

test('two points: half way between them the nearer one counts', () => {
  const law = lawOf(square, [line(0, 1), line(2, 1)]);
  near(law.shares(Float64Array.of(0.5))[0], (Math.PI * 0.25) / 4, { relative: 1e-12 });
  near(law.greatest, Math.SQRT2, { relative: 1e-12 });
});

test('a keel inside the window: strip and two half circles', () => {
  const law = lawOf(orientRings([[Float64Array.of(0, 0, 10, 0, 10, 6, 0, 6)]]), [line(3, 3, 7, 3)]);
  near(law.shares(Float64Array.of(1.25))[0], (4 * 2.5 + Math.PI * 1.25 ** 2) / 60, { relative: 1e-12 });
});

test('a point and a line: the parabola between them', () => {
  // the point's disc and the line's strip overlap from z = ½ on: a circle segment of half angle acos(1 − 1/z … )
  const z = 0.8;
  const window = orientRings([[Float64Array.of(-5, 0, 5, 0, 5, 5, -5, 5)]]);
  const law = lawOf(window, [line(-9, 0, 9, 0), line(0, 1)]);
  const half = Math.acos((1 - z) / z);
  const overlap = z * z * (half - Math.sin(half) * Math.cos(half));
  near(law.shares(Float64Array.of(z))[0], (10 * z + Math.PI * z * z - overlap) / 50, { relative: 1e-12 });
});

test('a hull area: the ground inside is at 0, or negative when signed', () => {
  const hull = [area(0.5, 0.5, 1.5, 0.5, 1.5, 1.5, 0.5, 1.5)];
  const plain = lawOf(square, hull);
  near(plain.atZero, 0.25, { relative: 1e-12 });
  near(plain.shares(Float64Array.of(0))[0], 0.25, { relative: 1e-12 });
  near(plain.shares(Float64Array.of(0.25))[0], (1 + 4 * 0.25 + Math.PI / 16) / 4, { relative: 1e-12 });
  expect(lawQuantile(plain, 0.2)).toBe(0);
  const signed = lawOf(square, hull, 'signed');
  expect(signed.atZero).toBe(0);
  near(signed.least, -0.5, { relative: 1e-12 });
  allNear(signed.shares(Float64Array.of(-0.25, 0, 0.25)), [0.25 * 0.25, 0.25, (2 + Math.PI / 16) / 4], {
    relative: 1e-12,
  });
  // mean depth inside is a third of the half side
  near(plain.mean - signed.mean, 0.25 * (0.5 / 3), { relative: 1e-8 });
});

test('the order in which distances are asked does not matter', () => {
  const law = lawOf(square, seededHull({ seed: 1, lines: 3, areas: 0 }));
  const rising = law.shares(Float64Array.of(1, 2, 3));
  expect([...law.shares(Float64Array.of(3, 1, 2))]).toEqual([rising[2], rising[0], rising[1]]);
});

const trench = orientRings([
  [Float64Array.of(1, 1, 12, 0.3, 19, 4, 18.5, 9, 11, 13.5, 2, 12, 3, 6), Float64Array.of(8, 5, 11, 5, 11, 8, 8, 8)],
  [Float64Array.of(16, 12, 18, 12, 18, 14, 16, 14)],
]);

test.each([
  ['lines', { seed: 21, lines: 40, areas: 0 }],
  ['planks', { seed: 22, lines: 0, areas: 30 }],
  ['both', { seed: 23, lines: 25, areas: 25 }],
] as const)('slow twin: a lattice over a trench with a baulk, a hull of %s', (_, spec) => {
  const shapes = seededHull(spec);
  const pieces = straightPieces(shapes);
  const index = nearestShapes(pieces, regionBox(trench));
  const values = Float64Array.of(-0.1, 0, 0.21, 0.6, 1.37, 2.9);
  for (const sign of ['distance', 'signed'] as const) {
    const law = distanceDistribution(trench, pieces, sign);
    expect(law.bound).toBeLessThan(1e-9);
    const counts = new Float64Array(values.length);
    let all = 0;
    let sum = 0;
    let squares = 0;
    const step = 0.08;
    for (let x = step / 2; x < 20; x += step) {
      for (let y = step / 2; y < 15; y += step) {
        if (!insideEvenOdd(trench, x, y)) continue;
        const d = sign === 'signed' ? index.signedDistance(x, y) : index.distance(x, y);
        all++;
        sum += d;
        squares += d * d;
        values.forEach((z, k) => {
          if (d <= z) counts[k]++;
        });
      }
    }
    allNear(
      law.shares(values),
      counts.map((c) => c / all),
      { absolute: 4e-3 },
    );
    near(law.mean, sum / all, { absolute: 4e-3 });
    near(law.secondMoment, squares / all, { relative: 5e-3 });
  }
});

test('mean and second moment agree with the shares they come with', () => {
  const law = lawOf(trench, seededHull({ seed: 9, lines: 12, areas: 8 }));
  const steps = 4000;
  const width = law.greatest / steps;
  const shares = law.shares(Float64Array.from({ length: steps }, (_, k) => (k + 0.5) * width));
  near(
    law.mean,
    shares.reduce((sum, share) => sum + (1 - share) * width, 0),
    { relative: 1e-6 },
  );
  near(
    law.secondMoment,
    shares.reduce((sum, share, k) => sum + 2 * (k + 0.5) * width * (1 - share) * width, 0),
    { relative: 1e-6 },
  );
});

test('pieces drawn twice, and a hull cut into short pieces, change nothing', () => {
  const values = Float64Array.of(0.3, 1, 2.2);
  const once = lawOf(trench, [line(4, 4, 16, 8)]).shares(values);
  const parts = Array.from({ length: 24 }, (_, k) => line(4 + k / 2, 4 + k / 6, 4.5 + k / 2, 4 + (k + 1) / 6));
  allNear(lawOf(trench, [...parts, ...parts, line(16, 8, 4, 4)]).shares(values), once, { absolute: 1e-10 });
});

test('many pieces that meet at one corner do not run away', () => {
  const fan = Array.from({ length: 16 }, (_, k) => line(9, 9, 9 + Math.cos(k / 5), 9 + Math.sin(k / 5)));
  const law = lawOf(trench, fan);
  const index = nearestShapes(straightPieces(fan), regionBox(trench));
  expect(law.bound).toBeLessThan(1e-9);
  expect(law.greatest).toBeGreaterThan(index.distance(1, 1) - 1e-9);
});

test('moved, turned a quarter and doubled', () => {
  const shapes = seededHull({ seed: 31, lines: 10, areas: 6 });
  const values = Float64Array.of(0.2, 0.9, 2);
  const before = lawOf(trench, shapes);
  const turned = (ring: Float64Array) => ring.map((_, i) => (i % 2 === 0 ? 40 - 2 * ring[i + 1] : 2 * ring[i - 1] - 7));
  const after = lawOf(
    { rings: trench.rings.map(turned) },
    shapes.map((shape) => ({ ...shape, parts: shape.parts.map(turned) })),
  );
  allNear(after.shares(values.map((v) => 2 * v)), before.shares(values), { absolute: 1e-10 });
  near(after.mean, 2 * before.mean, { relative: 1e-6 });
});

test('the line through the ends of a keel has its normal to port', () => {
  const law = lineStrips(square, lineThrough([0, 1], [2, 1]));
  near(law.mean, 0.5, { relative: 1e-14 });
});
