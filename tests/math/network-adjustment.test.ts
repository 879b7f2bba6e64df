import { describe, expect, test } from 'vitest';
import {
  baardaCritical,
  minimalDetectableBias,
  normalisedResidual,
  tauCritical,
} from '../../src/math/blunder-tests.js';
import { snoop, wholeFit } from '../../src/math/data-snooping.js';
import { confidenceFactor, errorEllipse } from '../../src/math/error-ellipse.js';
import { crossings, sphereCrossings } from '../../src/math/intersections.js';
import { comeToRest, networkPrecision } from '../../src/math/network-adjustment.js';
import { type NetworkReading, readingAt, type SurveyNetwork } from '../../src/math/network-reading.js';
import { solveNetwork } from '../../src/math/network-solution.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';

const reading = (kind: NetworkReading['kind'], ends: readonly [number, number, number], value = 0, sigma = 0.01) => ({
  kind,
  from: ends[0],
  second: ends[1],
  point: ends[2],
  value,
  sigma,
});
const tape = (from: number, point: number, value: number, sigma = 0.01) =>
  reading('distance', [from, -1, point], value, sigma);

test('the derivatives of every kind of reading are the slopes of the reading itself', () => {
  const random = randomStream(11, 0);
  for (const dimension of [2, 3] as const) {
    for (const kind of ['distance', 'height', 'height_difference', 'along', 'out'] as const) {
      if (dimension === 2 && kind.startsWith('height')) continue;
      const one = reading(kind, [kind === 'height' ? -1 : 0, kind === 'along' || kind === 'out' ? 1 : -1, 2]);
      const places = Float64Array.from({ length: 3 * dimension }, () => 10 * random.next());
      const partials = new Float64Array(9);
      const nothing = new Float64Array(9);
      readingAt(one, places, dimension, partials);
      for (let p = 0; p < 3; p++) {
        for (let k = 0; k < dimension; k++) {
          const moved = (by: number) => {
            const c = places.slice();
            c[p * dimension + k] += by;
            return readingAt(one, c, dimension, nothing);
          };
          near(partials[3 * p + k], (moved(1e-5) - moved(-1e-5)) / 2e-5, { absolute: 1e-8 });
        }
      }
    }
  }
});

/** the point with the least squared misfit on a finer and finer lattice */
function slowRest(network: SurveyNetwork, controls: Float64Array, around: readonly [number, number]) {
  const misfit = (x: number, y: number) =>
    network.readings.reduce(
      (sum, r) => sum + ((Math.hypot(x - controls[2 * r.from], y - controls[2 * r.from + 1]) - r.value) / r.sigma) ** 2,
      0,
    );
  let [x, y] = around;
  for (let step = 1; step > 1e-10; step /= 2) {
    for (let better = true; better; ) {
      better = false;
      for (const [dx, dy] of [
        [step, 0],
        [-step, 0],
        [0, step],
        [0, -step],
      ]) {
        if (misfit(x + dx, y + dy) < misfit(x, y)) {
          [x, y, better] = [x + dx, y + dy, true];
          break;
        }
      }
    }
  }
  return { x, y, vtpv: misfit(x, y) };
}

test('a point comes to rest where a search finds the least misfit, gross errors and all', () => {
  const random = randomStream(5, 0);
  for (let round = 0; round < 20; round++) {
    const controls = Float64Array.from({ length: 10 }, () => 20 * random.next());
    const [px, py] = [5 + 10 * random.next(), 5 + 10 * random.next()];
    const readings = Array.from({ length: 5 }, (_, c) =>
      tape(
        c,
        5,
        Math.hypot(px - controls[2 * c], py - controls[2 * c + 1]) + 0.4 * (random.next() - 0.5),
        0.01 + 0.03 * random.next(),
      ),
    );
    const network: SurveyNetwork = { dimension: 2, fixed: Uint8Array.of(1, 1, 1, 1, 1, 0), readings };
    const start = Float64Array.of(...controls, px + 1, py - 1);
    const rest = comeToRest(network, start);
    const slow = slowRest(network, controls, [px, py]);
    expect(rest.vtpv).toBeLessThanOrEqual(slow.vtpv * (1 + 1e-9));
    near(rest.coordinates[10], slow.x, { absolute: 1e-4 });
    near(rest.coordinates[11], slow.y, { absolute: 1e-4 });
    expect(rest.converged).toBe(true);
  }
});

test('the redundancy number is the share of an error that the residual shows, and leaving out drops vᵀPv by w²', () => {
  const random = randomStream(9, 0);
  const controls = [0, 0, 14, 1, 13, 10, -1, 9, 6, -4];
  const truth = [5, 4];
  const readings = Array.from({ length: 5 }, (_, c) =>
    tape(c, 5, Math.hypot(truth[0] - controls[2 * c], truth[1] - controls[2 * c + 1]) + 1e-4 * (random.next() - 0.5)),
  );
  const network: SurveyNetwork = { dimension: 2, fixed: Uint8Array.of(1, 1, 1, 1, 1, 0), readings };
  const start = Float64Array.of(...controls, ...truth);
  const rest = comeToRest(network, start);
  const precision = networkPrecision(network, rest.coordinates);
  if ('loosePoint' in precision) throw new Error('loose');
  near(
    precision.redundancyNumber.reduce((sum, r) => sum + r, 0),
    3,
    { absolute: 1e-9 },
  );
  readings.forEach((one, k) => {
    const worse = { ...network, readings: readings.map((r, i) => (i === k ? { ...one, value: one.value + 1e-4 } : r)) };
    const after = networkPrecision(worse, comeToRest(worse, start).coordinates);
    if ('loosePoint' in after) throw new Error('loose');
    near(after.residual[k] - precision.residual[k], -1e-4 * precision.redundancyNumber[k], { absolute: 1e-8 });
    const less = { ...network, readings: readings.filter((_, i) => i !== k) };
    const w = normalisedResidual(precision.residual[k], one.sigma, precision.redundancyNumber[k]) ?? Number.NaN;
    near(rest.vtpv - comeToRest(less, start).vtpv, w * w, { absolute: 1e-9, relative: 1e-3 });
  });
});

test('loci cross where they should; spheres above and below their plane', () => {
  const circle = { kind: 'circle', x: 0, y: 0, radius: 5 } as const;
  expect(crossings(circle, { kind: 'circle', x: 8, y: 0, radius: 5 })).toEqual([
    [4, 3],
    [4, -3],
  ]);
  expect(crossings(circle, { kind: 'line', x: 0, y: 3, ux: 1, uy: 0 })).toEqual([
    [4, 3],
    [-4, 3],
  ]);
  expect(crossings({ kind: 'line', x: 0, y: 3, ux: 1, uy: 0 }, { kind: 'line', x: 2, y: 0, ux: 0, uy: 1 })).toEqual([
    [2, 3],
  ]);
  expect(crossings({ kind: 'line', x: 0, y: 3, ux: 1, uy: 0 }, { kind: 'line', x: 2, y: 0, ux: 1, uy: 0 })).toEqual([]);
  expect(crossings(circle, { ...circle, radius: 4 })).toEqual([]);
  const at = [3, 4, 2];
  const sphere = (x: number, y: number, z: number) => ({
    x,
    y,
    z,
    radius: Math.hypot(at[0] - x, at[1] - y, at[2] - z),
  });
  const places = sphereCrossings(sphere(0, 0, 0), sphere(10, 0, 0), sphere(0, 9, 0));
  for (const [k, v] of at.entries()) near(places[0][k], v, { absolute: 1e-12 });
  near(places[1][2], -2, { absolute: 1e-12 });
  expect(sphereCrossings(sphere(0, 0, 0), sphere(10, 0, 0), sphere(5, 0, 0))).toEqual([]);
});

test('ellipses: a turned needle, a circle, and the factors for 95 %', () => {
  const t = (30 * Math.PI) / 180;
  const [a, b] = [0.05, 0.01];
  // long axis 30° clockwise from y
  const xx = (a * Math.sin(t)) ** 2 + (b * Math.cos(t)) ** 2;
  const yy = (a * Math.cos(t)) ** 2 + (b * Math.sin(t)) ** 2;
  const found = errorEllipse({ xx, yy, xy: (a * a - b * b) * Math.sin(t) * Math.cos(t) });
  near(found.semiMajorM, a, { relative: 1e-12 });
  near(found.semiMinorM, b, { relative: 1e-10 });
  near(found.azimuthDeg, 30, { absolute: 1e-9 });
  expect(errorEllipse({ xx: 4, yy: 4, xy: 0 })).toMatchObject({ semiMajorM: 2, semiMinorM: 2 });
  // χ² with 2 degrees of freedom 5.991; F(2, 6) 5.143 and F(2, 1) 199.5, tables
  near(confidenceFactor(0.95, null), 2.4477, { absolute: 5e-5 });
  near(confidenceFactor(0.95, 6), Math.sqrt(2 * 5.1433), { absolute: 5e-4 });
  near(confidenceFactor(0.95, 1), Math.sqrt(2 * 199.5), { absolute: 5e-3 });
  expect(confidenceFactor(0.95, 0)).toBeNull();
});

test('critical values: 3.29 at 0.001; tau between 1 and √r', () => {
  near(baardaCritical(0.001), 3.2905267314918945, { relative: 1e-12 });
  near(baardaCritical(0.05), 1.959963984540054, { relative: 1e-12 });
  near(tauCritical(0.05, 2), 1.4098540139303903, { relative: 1e-9 });
  near(tauCritical(0.05, 3), 1.6454482671964668, { relative: 1e-9 });
  near(tauCritical(0.05, 100000), 1.96, { absolute: 1e-3 });
  expect(tauCritical(0.05, 1)).toBeNull();
  near(minimalDetectableBias(0.025, 0.25), 4.13 * 0.05, { relative: 1e-12 });
  expect(minimalDetectableBias(0.025, 0)).toBeNull();
});

describe('a hundred points and two thousand tapes', () => {
  const random = randomStream(1, 2);
  const n = 108;
  const places = Float64Array.from({ length: 2 * n }, (_, i) => random.next() * (i % 2 === 0 ? 40 : 25));
  const bell = () => Array.from({ length: 12 }, () => random.next()).reduce((sum, v) => sum + v, -6);
  const readings = Array.from({ length: 2000 }, (): NetworkReading => {
    const to = 8 + random.below(100);
    const from = (to + 1 + random.below(n - 1)) % n;
    const length = Math.hypot(places[2 * from] - places[2 * to], places[2 * from + 1] - places[2 * to + 1]);
    return tape(from, to, length + 0.025 * bell(), 0.025);
  });
  const planted = Array.from({ length: 20 }, (_, i) => 97 * i);
  const wrong = readings.map((r, i) => (planted.includes(i) ? { ...r, value: r.value + 1 } : r));
  const fixed = Uint8Array.from({ length: n }, (_, i) => (i < 8 ? 1 : 0));
  const network: SurveyNetwork = { dimension: 2, fixed, readings: wrong };
  const coordinates = places.map((v, i) => (i < 16 ? v : Number.NaN));

  test('start values are found: the solution is the one that the true places lead to', () => {
    const solution = solveNetwork(network, coordinates);
    expect(solution.loose.size).toBe(0);
    const led = comeToRest(network, places);
    expect(wholeFit(solution.parts)).toMatchObject({ redundancy: 1800, readings: 2000 });
    near(wholeFit(solution.parts).vtpv, led.vtpv, { relative: 1e-9 });
  });

  test('all gross errors are found, and few others', () => {
    const { suspects, parts } = snoop(
      { network, coordinates, solution: solveNetwork(network, coordinates) },
      { test: 'baarda', alpha: 0.001 },
    );
    const named = suspects.filter(({ apart }) => apart).map(({ reading: r }) => r);
    expect(planted.filter((r) => !named.includes(r))).toEqual([]);
    expect(named.length).toBeLessThan(30);
    for (const { reading: r, errorM } of suspects) if (planted.includes(r)) near(errorM, 1, { absolute: 0.12 });
    const { vtpv, redundancy } = wholeFit(parts);
    near(vtpv / redundancy, 1, { absolute: 0.15 });
  });
});

test('a chain that can only be placed as a whole: no point has two tapes to control', () => {
  // three points in a ring, each with one tape to another control point
  const places = [0, 0, 10, 0, 5, 9, 3, 2, 7, 2.5, 5, 5];
  const length = (a: number, b: number) =>
    Math.hypot(places[2 * a] - places[2 * b], places[2 * a + 1] - places[2 * b + 1]);
  const ends = [
    [0, 3],
    [1, 4],
    [2, 5],
    [3, 4],
    [4, 5],
    [5, 3],
  ];
  const network: SurveyNetwork = {
    dimension: 2,
    fixed: Uint8Array.of(1, 1, 1, 0, 0, 0),
    readings: ends.map(([a, b]) => tape(a, b, length(a, b))),
  };
  const start = Float64Array.from(places, (v, i) => (i < 6 ? v : Number.NaN));
  const { parts, loose } = solveNetwork(network, start);
  expect(loose.size).toBe(0);
  near(wholeFit(parts).vtpv, 0, { absolute: 1e-9 });
});
