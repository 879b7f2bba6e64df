import { describe, expect, test } from 'vitest';
import { deviationalEllipse, ellipseRing, ellipseVariants, meanCentre } from '../../src/math/centre.js';
import { convexHull } from '../../src/math/convex-hull.js';
import { medianCentre } from '../../src/math/median-centre.js';
import { randomStream } from '../../src/math/random.js';
import { ringArea, ringLength } from '../../src/math/rings.js';
import { Problem } from '../../src/problems.js';
import { allNear, near, uniformScatter } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

interface CentroExpected {
  readonly n: number;
  readonly mean_centre: [number, number];
  readonly median_centre_min_sum_of_distances: [number, number];
  readonly median_centre_sum: number;
  readonly median_centre_unique: boolean;
  readonly standard_distance: { readonly divisor_n: number };
  readonly sde: Readonly<Record<string, number>>;
  readonly hull: {
    readonly vertices_ccw_from_lowest_then_leftmost: [number, number][];
    readonly area: number;
    readonly perimeter: number;
  };
}

const cases = ['centro_site_a', 'gpl/centro_cells', 'gpl/centro_redwood'].flatMap((name) => {
  const file = readReferenceFile<
    { points: [number, number][]; marks?: string[] },
    { all: CentroExpected; by_class?: Record<string, CentroExpected> }
  >(name);
  const { points, marks } = file.input;
  return [
    { name, points, expected: file.expected.all },
    ...Object.entries(file.expected.by_class ?? {}).map(([group, expected]) => ({
      name: `${name} ${group}`,
      points: points.filter((_, i) => marks?.[i] === group),
      expected,
    })),
  ];
});

describe.each(cases)('$name, numbers of numpy', ({ points, expected }) => {
  const xy = Float64Array.from(points.flat());
  test('mean centre and standard distance', () => {
    const centre = meanCentre(xy);
    allNear([centre.x, centre.y], expected.mean_centre, { relative: 1e-10 });
    near(centre.standardDistanceM, expected.standard_distance.divisor_n, { relative: 1e-10 });
  });

  test('ellipse, with the variants other programs print', () => {
    const ellipse = deviationalEllipse(xy);
    near(ellipse.bearingDeg, expected.sde['bearing_deg_clockwise_from_north_0_180'], { absolute: 1e-8 });
    near(ellipse.semiMajorM, expected.sde['semi_major_divisor_n'], { relative: 1e-10 });
    near(ellipse.semiMinorM, expected.sde['semi_minor_divisor_n'], { relative: 1e-10 });
    const variants = ellipseVariants(ellipse, expected.n);
    near(variants.sqrt2_divisor_n[0], expected.sde['semi_major_sqrt2_divisor_n'], { relative: 1e-10 });
    near(variants.sqrt2_divisor_n_minus_2?.[1], expected.sde['semi_minor_sqrt2_divisor_n_minus_2'], {
      relative: 1e-10,
    });
  });

  test('median centre', () => {
    const median = medianCentre(xy);
    near(median.sumM, expected.median_centre_sum, { relative: 1e-12 });
    expect(median.isUnique).toBe(expected.median_centre_unique);
    allNear([median.x, median.y], expected.median_centre_min_sum_of_distances, { absolute: 1e-6 });
  });

  test('hull', () => {
    const hull = convexHull(xy);
    expect([...hull]).toEqual(expected.hull.vertices_ccw_from_lowest_then_leftmost.flat());
    near(ringArea(hull), expected.hull.area, { relative: 1e-10 });
    near(ringLength(hull), expected.hull.perimeter, { relative: 1e-10 });
  });
});

const turned = (xy: Float64Array, deg: number) => {
  const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
  return xy.map((_, i) => (i % 2 === 0 ? c * xy[i] + s * xy[i + 1] : -s * xy[i - 1] + c * xy[i]));
};

describe('laws', () => {
  const xy = uniformScatter({ n: 60, seed: 4, width: 9, height: 3 });

  test('turned clockwise by 17°, the ellipse turns by 17° and keeps its axes', () => {
    const here = deviationalEllipse(xy);
    const there = deviationalEllipse(turned(xy, 17));
    near(((((there.bearingDeg as number) - (here.bearingDeg as number)) % 180) + 180) % 180, 17, { absolute: 1e-9 });
    near(there.semiMajorM, here.semiMajorM, { relative: 1e-12 });
    near(there.semiMinorM, here.semiMinorM, { relative: 1e-12 });
  });

  test('moved to map coordinates, centres move along and spreads stay', () => {
    const moved = xy.map((v, i) => v + (i % 2 === 0 ? 412_037 : 4_984_118));
    near(meanCentre(moved).standardDistanceM, meanCentre(xy).standardDistanceM, { relative: 1e-8 });
    near(deviationalEllipse(moved).bearingDeg, deviationalEllipse(xy).bearingDeg as number, { absolute: 1e-6 });
    near(medianCentre(moved).x - 412_037, medianCentre(xy).x, { absolute: 1e-6 });
  });

  test('weight counts like so many finds in one place', () => {
    const weighted = meanCentre(Float64Array.of(0, 0, 3, 3), [2, 1]);
    const repeated = meanCentre(Float64Array.of(0, 0, 0, 0, 3, 3));
    expect(weighted).toEqual(repeated);
    near(medianCentre(Float64Array.of(0, 0, 3, 0, 0, 3), [5, 1, 1]).x, 0, { absolute: 1e-12 });
  });

  test('no place beats the median centre, whatever the scatter', () => {
    for (let seed = 0; seed < 200; seed++) {
      const random = randomStream(seed, 9);
      const points = Float64Array.from({ length: 2 * (3 + random.below(12)) }, () => Math.floor(5 * random.next()));
      const median = medianCentre(points);
      const sum = (x: number, y: number) => {
        let total = 0;
        for (let i = 0; i < points.length; i += 2) total += Math.hypot(points[i] - x, points[i + 1] - y);
        return total;
      };
      near(sum(median.x, median.y), median.sumM, { relative: 1e-12, absolute: 1e-12 });
      for (let k = 0; k < 16; k++) {
        const angle = (k * Math.PI) / 8;
        for (const step of [1e-3, 0.1]) {
          const other = sum(median.x + step * Math.cos(angle), median.y + step * Math.sin(angle));
          expect(other).toBeGreaterThanOrEqual(median.sumM * (1 - 1e-12));
        }
      }
    }
  });

  test('a hull holds every point and turns left at every corner', () => {
    for (let seed = 0; seed < 100; seed++) {
      const random = randomStream(seed, 2);
      const points = Float64Array.from({ length: 2 * (3 + random.below(20)) }, () => random.below(6));
      const hull = convexHull(points);
      for (let k = 0; k < hull.length && hull.length >= 6; k += 2) {
        const [ax, ay] = [hull[k], hull[k + 1]];
        const j = (k + 2) % hull.length;
        for (let i = 0; i < points.length; i += 2) {
          const left = (hull[j] - ax) * (points[i + 1] - ay) - (hull[j + 1] - ay) * (points[i] - ax);
          expect(left).toBeGreaterThanOrEqual(0);
        }
      }
    }
  });

  test('the ring of an ellipse reaches its axes and points along its bearing', () => {
    const ring = ellipseRing({ x: 1, y: 2 }, { bearingDeg: 90, semiMajorM: 3, semiMinorM: 1 });
    near(ring[0], 4, { absolute: 1e-12 });
    near(ring[1], 2, { absolute: 1e-12 });
    near(ringArea(ring), Math.PI * 3, { relative: 0.002 });
  });
});

describe('degenerate scatters', () => {
  test('one find: everything in one place, no direction', () => {
    const one = Float64Array.of(3, 4);
    expect(meanCentre(one)).toEqual({ x: 3, y: 4, standardDistanceM: 0 });
    expect(deviationalEllipse(one)).toEqual({ bearingDeg: null, semiMajorM: 0, semiMinorM: 0 });
    expect(medianCentre(one)).toEqual({ x: 3, y: 4, sumM: 0, isUnique: true });
    expect([...convexHull(one)]).toEqual([3, 4]);
  });

  test('a square has no longer axis', () => {
    expect(deviationalEllipse(Float64Array.of(0, 0, 1, 0, 1, 1, 0, 1)).bearingDeg).toBeNull();
  });

  test('finds in one line: no minor axis, no area, a median that may not be unique', () => {
    const line = Float64Array.of(0, 0, 1, 1, 2, 2, 5, 5);
    const ellipse = deviationalEllipse(line);
    near(ellipse.bearingDeg, 45, { absolute: 1e-9 });
    near(ellipse.semiMinorM, 0, { absolute: 1e-9 });
    expect([...convexHull(line)]).toEqual([0, 0, 5, 5]);
    expect(medianCentre(line).isUnique).toBe(false);
    expect(medianCentre(line.subarray(0, 6))).toMatchObject({ x: 1, y: 1, isUnique: true });
  });

  test('no finds: refused', () => {
    expect(() => meanCentre(new Float64Array(0))).toThrow(Problem);
    expect(() => medianCentre(new Float64Array(0))).toThrow(/at least 1 position/);
  });
});
