import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { leastSquares } from '../../src/math/least-squares.js';
import { dipErrors, dipOf, fitPlane, seasonShifts, withSharedError } from '../../src/math/plane-dip.js';
import { randomStream } from '../../src/math/random.js';
import { fitTrend, orderTests, robustTrend } from '../../src/math/trend.js';
import { allNear, near } from '../support/near.js';

const { input, expected } = JSON.parse(
  readFileSync(new URL('../reference/plane_site_a_top.json', import.meta.url), 'utf8'),
);
const placesOf = (rows: number[][]) => {
  const list = rows.flatMap((row, y) => row.map((z, x) => [x, y, z]));
  const column = (k: number) => Float64Array.from(list, (p) => p[k]);
  return { x: column(0), y: column(1), z: column(2) };
};

describe.each(['top', 'bottom'])('the plane of the reference, %s', (name) => {
  const places = placesOf(input[name]);
  const record = expected[name];
  test.each([0, 4_984_118.25])('at an offset of %f m', (offset) => {
    const plane = fitPlane({ ...places, x: places.x.map((v) => v + offset), y: places.y.map((v) => v + offset) });
    if (plane === null) throw new Error('no plane');
    const errors = dipErrors(plane, plane.covariance);
    const tolerance = { relative: offset === 0 ? 1e-11 : 1e-9 };
    near(plane.dipDeg, record.dip_deg, tolerance);
    near(plane.directionDeg, record.dip_direction_deg_clockwise_from_north_downslope, tolerance);
    near(errors.seDipDeg, record.se_dip_deg, tolerance);
    near(errors.seDirectionDeg, record.se_dip_direction_deg, tolerance);
    near(plane.sigmaM, record.sigma, tolerance);
    near(plane.levelAtCentre, record.level_at_centroid, tolerance);
    near(plane.centre[0], record.centroid[0] + offset, { absolute: 1e-9 });
  });
  test('R² of order 1', () => near(orderTests(places)[0].rSquared, record.r_squared, { relative: 1e-11 }));
});

test('directions: down to the north, east, south, west, and a level plane', () => {
  expect(dipOf(0, -1).directionDeg).toBeCloseTo(0, 12);
  expect(dipOf(-1, 0).directionDeg).toBeCloseTo(90, 12);
  expect(dipOf(0, 1).directionDeg).toBeCloseTo(180, 12);
  expect(dipOf(1, 0).directionDeg).toBeCloseTo(270, 12);
  expect(dipOf(1, 0).dipDeg).toBeCloseTo(45, 12);
  expect(dipOf(0, 0).directionDeg).toBeNull();
});

describe('polynomials', () => {
  const random = randomStream(21, 0);
  const n = 80;
  const x = Float64Array.from({ length: n }, () => 412_000 + 30 * random.next());
  const y = Float64Array.from({ length: n }, () => 4_984_000 + 20 * random.next());
  const cubic = (px: number, py: number) => {
    const u = (px - 412_015) / 15;
    const v = (py - 4_984_010) / 10;
    return -31 + 0.3 * u - 0.2 * v + 0.1 * u * u - 0.05 * u * v + 0.02 * v * v * v;
  };
  const z = x.map((v, i) => cubic(v, y[i]));

  test('an order finds the polynomial its levels were made from, and its residuals vanish', () => {
    const trend = fitTrend({ x, y, z }, 3);
    allNear(trend?.residual ?? [], new Float64Array(n), { absolute: 1e-12 });
    near(trend?.at(412_003, 4_984_017), cubic(412_003, 4_984_017), { absolute: 1e-11 });
    expect(fitTrend({ x, y, z }, 2)?.sumOfSquares).toBeGreaterThan(1e-4);
  });

  test('F and R² from sums of squares of an independent solution (normal equations)', () => {
    const noisy = z.map((v) => v + 0.01 * (random.next() - 0.5));
    const tests = orderTests({ x, y, z: noisy });
    const mean = noisy.reduce((a, b) => a + b, 0) / n;
    const total = noisy.reduce((sum, v) => sum + (v - mean) ** 2, 0);
    const rest = [1, 2, 3].map((order) => normalEquations({ x, y, z: noisy }, order));
    const terms = [3, 6, 10];
    tests.forEach((row, k) => {
      near(row.rSquared, 1 - rest[k] / total, { relative: 1e-8 });
      near(row.f, (total - rest[k]) / (terms[k] - 1) / (rest[k] / (n - terms[k])), { relative: 1e-7 });
      if (k > 0) {
        const more = (rest[k - 1] - rest[k]) / (terms[k] - terms[k - 1]) / (rest[k] / (n - terms[k]));
        near(row.fIncrease, more, { relative: 1e-6 });
      }
    });
    // the cubic term is there: order 3 is worth having
    expect(tests[2].pIncrease).toBeLessThan(0.01);
  });

  test('places on one line, too few of them, equal levels', () => {
    const line = { x: Float64Array.of(0, 1, 2, 3), y: Float64Array.of(0, 1, 2, 3), z: Float64Array.of(1, 2, 3, 5) };
    expect(fitPlane(line)).toBeNull();
    expect(fitTrend(line, 1)).toBeNull();
    expect(orderTests(line)).toEqual([]);
    const few = (k: number) => ({ x: x.slice(0, k), y: y.slice(0, k), z: z.slice(0, k) });
    expect([0, 1, 2].map((k) => fitPlane(few(k)))).toEqual([null, null, null]);
    const three = fitPlane(few(3));
    expect(three).toMatchObject({ sigmaM: null, covariance: null });
    expect(orderTests(few(3))).toMatchObject([{ order: 1, f: null, degreesOfFreedom: 0 }]);
    const level = orderTests({ x, y, z: z.map(() => -31.5) });
    for (const row of level) expect(row).toMatchObject({ rSquared: null, f: null, p: null });
  });
});

function normalEquations({ x, y, z }: { x: Float64Array; y: Float64Array; z: Float64Array }, order: number): number {
  const powers: [number, number][] = [];
  for (let d = 0; d <= order; d++) for (let q = 0; q <= d; q++) powers.push([d - q, q]);
  const row = (i: number) => powers.map(([p, q]) => ((x[i] - 412_015) / 15) ** p * ((y[i] - 4_984_010) / 10) ** q);
  const k = powers.length;
  const a = Array.from({ length: k }, () => new Array<number>(k + 1).fill(0));
  z.forEach((v, i) => {
    const own = row(i);
    for (let r = 0; r < k; r++) {
      for (let c = 0; c < k; c++) a[r][c] += own[r] * own[c];
      a[r][k] += own[r] * v;
    }
  });
  for (let c = 0; c < k; c++) {
    for (let r = 0; r < k; r++) {
      if (r === c) continue;
      const share = a[r][c] / a[c][c];
      for (let j = c; j <= k; j++) a[r][j] -= share * a[c][j];
    }
  }
  const beta = a.map((own, c) => own[k] / own[c]);
  return z.reduce((sum, v, i) => sum + (v - row(i).reduce((s, t, j) => s + t * beta[j], 0)) ** 2, 0);
}

describe('robust trend', () => {
  const places = placesOf(input.top);
  const plane = (x: number, y: number) => -31 + 0.03 * x - 0.05 * y;
  const random = randomStream(31, 0);
  const good = places.x.map((x, i) => plane(x, places.y[i]) + 0.02 * (random.next() + random.next() - 1));

  test('a tenth of wrong levels pulls the plain plane, not the robust one', () => {
    const wrong = good.map((z, i) => (i % 10 === 3 && places.x[i] > 6 ? z + 1 : z));
    const plain = fitPlane({ ...places, z: wrong });
    const robust = robustTrend({ ...places, z: wrong }, 1);
    const slope = (robust?.trend.at(1, 0) ?? 0) - (robust?.trend.at(0, 0) ?? 0);
    near(slope, 0.03, { absolute: 0.001 });
    expect(Math.abs((plain?.slopeX ?? 0) - 0.03)).toBeGreaterThan(0.004);
    wrong.forEach((z, i) => {
      if (z !== good[i]) expect(robust?.weights[i]).toBe(0);
    });
  });

  test('without error nothing is left out and nothing goes on for ever', () => {
    const exact = robustTrend({ ...places, z: places.x.map((x, i) => plane(x, places.y[i])) }, 1);
    near(exact?.trend.at(100, 50), plane(100, 50), { absolute: 1e-10 });
    expect(exact?.scaleM).toBeLessThan(1e-12);
  });
});

describe('errors shared by a season', () => {
  const random = randomStream(41, 0);
  const places = placesOf(input.top);
  const n = places.x.length;
  // season 1 dug the west, season 2 the middle, season 3 the east
  const season = Array.from(places.x, (x) => Math.min(2, Math.floor(x / 4.5)));
  const share = new Float64Array(3 * n);
  season.forEach((s, i) => {
    share[3 * i + s] = 1;
  });

  test('planted shifts come out, and with errors that hold them', () => {
    const planted = [0.05, -0.06, 0.01];
    const z = places.x.map(
      (x, i) => -31 + 0.02 * x + 0.01 * places.y[i] + planted[season[i]] + 0.01 * (random.next() - 0.5),
    );
    const found = seasonShifts({ ...places, z }, { seasons: 3, share });
    planted.forEach((shift, s) => {
      const gap = Math.abs((found?.shiftM[s] ?? 0) - shift);
      expect(gap).toBeLessThan(4 * (found?.seShiftM[s] ?? 0));
    });
    near(found?.sigmaM, Math.sqrt((0.05 ** 2 + 0.06 ** 2 + 0.01 ** 2) / 2), { relative: 0.15 });
  });

  test('covariance with a shared error is that of simulated shifts', () => {
    const none = [0, 0, 0] as const;
    const [vb, vbc, vc] = withSharedError(places, none, { seasons: 3, share, sharedSigmaM: 0.03 });
    let sb = 0;
    let sbc = 0;
    let sc = 0;
    // all eight signs of three shifts: exact for second moments
    for (let signs = 0; signs < 8; signs++) {
      const z = Float64Array.from(season, (s) => ((signs >> s) & 1 ? 0.03 : -0.03));
      const plane = fitPlane({ ...places, z });
      sb += (plane?.slopeX ?? 0) ** 2 / 8;
      sbc += ((plane?.slopeX ?? 0) * (plane?.slopeY ?? 0)) / 8;
      sc += (plane?.slopeY ?? 0) ** 2 / 8;
    }
    near(vb, sb, { relative: 1e-9 });
    near(vbc, sbc, { absolute: 1e-15 });
    near(vc, sc, { absolute: 1e-15 });
  });

  test('one season, and a season that is all of the slope, cannot be told', () => {
    expect(seasonShifts(places, { seasons: 1, share: new Float64Array(n).fill(1) })).toBeNull();
    const byX = new Float64Array(2 * 4);
    const four = { x: Float64Array.of(0, 0, 1, 1), y: Float64Array.of(0, 1, 0, 1), z: Float64Array.of(1, 2, 3, 4) };
    four.x.forEach((x, i) => {
      byX[2 * i + x] = 1;
    });
    expect(seasonShifts(four, { seasons: 2, share: byX })).toBeNull();
  });
});

test('least squares: weights count rows, a dependent column is refused', () => {
  const x = Float64Array.of(0, 1, 2, 3);
  const one = new Float64Array(4).fill(1);
  const z = Float64Array.of(1, 2, 2, 5);
  const weighted = leastSquares([one, x], z, Float64Array.of(1, 2, 0, 1));
  const repeated = leastSquares(
    [new Float64Array(4).fill(1), Float64Array.of(0, 1, 1, 3)],
    Float64Array.of(1, 2, 2, 5),
    null,
  );
  allNear(weighted?.coefficients ?? [], repeated?.coefficients ?? [1], { absolute: 1e-12 });
  expect(leastSquares([one, x, x.map((v) => 2 - v)], z, null)).toBeNull();
  expect(leastSquares([one, x], z.slice(0, 1), null)).toBeNull();
});
