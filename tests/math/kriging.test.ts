import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { choleskyInPlace, inverseFromLower, invertLower, solveInPlace } from '../../src/math/cholesky.js';
import { inverseDistanceLeftOut, inverseDistanceSurface } from '../../src/math/inverse-distance.js';
import { ordinaryKriging } from '../../src/math/kriging.js';
import { randomStream } from '../../src/math/random.js';
import { triangleRoom } from '../../src/math/triangle-kernel.js';
import {
  empiricalVariogram,
  fitVariogram,
  gammaAt,
  type VariogramKind,
  type VariogramModel,
  weightedMisfit,
} from '../../src/math/variogram.js';
import { allNear, near } from '../support/near.js';

interface ModelRecord {
  readonly psill: number;
  readonly range_parameter: number;
  readonly nugget: number;
  readonly prediction: number[];
  readonly variance: number[];
  readonly loo_prediction: number[];
  readonly loo_variance: number[];
}

const kinds: Record<string, VariogramKind> = { Sph: 'spherical', Exp: 'exponential', Gau: 'gaussian' };
const flat = (x: ArrayLike<number>, y: ArrayLike<number>) =>
  Float64Array.from({ length: 2 * x.length }, (_, i) => (i % 2 === 0 ? x : y)[i >> 1]);

const references = ['krige_site_a_top', 'gpl/krige_meuse60'].map((name) => {
  const file = JSON.parse(readFileSync(new URL(`../reference/${name}.json`, import.meta.url), 'utf8'));
  const column = (values: number[]) => Float64Array.from(values);
  const z = column(file.input.z);
  return {
    name,
    file,
    places: { x: column(file.input.x), y: column(file.input.y), z, sigma: new Float64Array(z.length).fill(0.02) },
    query: flat(file.input.query_x, file.input.query_y),
  };
});

describe.each(references)('$name', ({ file, places, query }) => {
  test.each(Object.keys(kinds))('%s: predictions, variances and leave-one-out of the reference', (key) => {
    const record = file.expected[key] as ModelRecord;
    const model: VariogramModel = {
      kind: kinds[key],
      nugget: record.nugget,
      sill: record.psill,
      range: record.range_parameter,
    };
    const kriging = ordinaryKriging(places, model);
    const allowed = (key === 'Gau' ? 1e-7 : 1e-9) * (record.psill + record.nugget);
    const { value, sigma } = kriging.predict(query);
    allNear(value, record.prediction, { absolute: allowed });
    allNear(
      sigma.map((s) => s * s),
      record.variance,
      { absolute: allowed },
    );
    // the same places among many others go the way of a finite range
    const many = new Float64Array(2 * 200).map((_, i) => query[i % query.length] + (i < query.length ? 0 : 0.37));
    many.set(query);
    const among = kriging.predict(many);
    allNear(among.value.subarray(0, value.length), record.prediction, { absolute: allowed });
    allNear(
      among.sigma.subarray(0, value.length).map((s) => s * s),
      record.variance,
      { absolute: allowed },
    );
    const left = kriging.leaveOneOut();
    allNear(
      places.z.map((z, i) => z - left.error[i]),
      record.loo_prediction,
      { absolute: allowed },
    );
    allNear(left.variance, record.loo_variance, { absolute: allowed });
  });

  test('inverse distances of the reference', () => {
    const { idw } = file.expected;
    for (const [name, power, neighbours] of [
      ['power_1', 1, null],
      ['power_2', 2, null],
      ['power_2_nearest_6', 2, 6],
    ] as const) {
      allNear(inverseDistanceSurface(places, { power, neighbours })(query).value, idw[name], { relative: 1e-10 });
    }
  });

  test('the empirical variogram of the reference: counts exact', () => {
    const { width, cutoff, bins_count_meandist_gamma } = file.expected.variogram_matheron;
    const bins = empiricalVariogram(flat(places.x, places.y), places.z, { lagM: width, cutoffM: cutoff });
    expect(bins.map((b) => b.pairs)).toEqual(bins_count_meandist_gamma.map((b: number[]) => b[0]));
    bins.forEach((bin, k) => {
      near(bin.distanceM, bins_count_meandist_gamma[k][1], { relative: 1e-10 });
      near(bin.gamma, bins_count_meandist_gamma[k][2], { relative: 1e-10 });
    });
  });

  test("fits no worse than the library's, by the same weighted sum of squares", () => {
    const { width, cutoff } = file.expected.variogram_matheron;
    const bins = empiricalVariogram(flat(places.x, places.y), places.z, { lagM: width, cutoffM: cutoff });
    for (const [key, kind] of Object.entries(kinds)) {
      const theirs = file.gstat.fit?.[`${key}_method7`];
      if (!theirs || theirs.SSErr === null) continue;
      const fit = fitVariogram(bins, { kind, nugget: null, sill: null, range: null });
      const misfit = weightedMisfit(bins, { kind, nugget: theirs.nugget, sill: theirs.psill, range: theirs.range });
      near(misfit, theirs.SSErr, { relative: 1e-6 });
      expect(fit.misfit).toBeLessThanOrEqual(misfit * (1 + 1e-6));
      if (fit.rangeAtBoundary || theirs.warning !== null) continue;
      near(fit.misfit, misfit, { relative: 1e-6 });
      near(fit.model.range, theirs.range, { relative: 1e-3 });
      near(fit.model.sill, theirs.psill, { relative: 1e-3 });
    }
  });
});

function levels(n: number, seed: number) {
  const random = randomStream(seed, 0);
  const x = Float64Array.from({ length: n }, () => 20 * random.next());
  const y = Float64Array.from({ length: n }, () => 12 * random.next());
  const z = x.map((v, i) => -31 + 0.3 * Math.sin(v / 3) * Math.cos(y[i] / 2) + 0.02 * random.next());
  return { x, y, z, sigma: new Float64Array(n).fill(Number.NaN) };
}
const models: VariogramModel[] = [
  { kind: 'spherical', nugget: 0, sill: 0.04, range: 5 },
  { kind: 'spherical', nugget: 0.001, sill: 0.04, range: 60 },
  { kind: 'exponential', nugget: 0.0005, sill: 0.03, range: 2 },
  { kind: 'gaussian', nugget: 0.0004, sill: 0.05, range: 2 },
];
const scatter = Float64Array.from({ length: 300 }, (_, i) => (i % 2 === 0 ? 1.1 : 0.7) * ((i * 7.31) % 19));

describe.each(models)('laws, $kind with range $range', (model) => {
  const places = levels(90, 4);
  const { value, sigma } = ordinaryKriging(places, model).predict(scatter);

  test('solves the full system of equations, place by place', () => {
    // the slow twin: [Γ 1; 1' 0] · [w; μ] = [γ; 1] by elimination
    const n = places.x.length;
    for (const i of [0, 13, 77, 149]) {
      const [px, py] = [scatter[2 * i], scatter[2 * i + 1]];
      const between = (a: number, b: number) => Math.hypot(places.x[a] - places.x[b], places.y[a] - places.y[b]);
      const rows = Array.from({ length: n }, (_, a) => [
        ...Array.from({ length: n }, (_, b) => gammaAt(model, between(a, b))),
        1,
        gammaAt(model, Math.hypot(places.x[a] - px, places.y[a] - py)),
      ]);
      rows.push([...new Array<number>(n).fill(1), 0, 1]);
      const right = rows.map((row) => row[n + 1]);
      const solution = eliminate(rows);
      const predicted = solution.slice(0, n).reduce((sum, w, k) => sum + w * places.z[k], 0);
      const variance = solution.reduce((sum, w, k) => sum + w * right[k], 0);
      near(value[i], predicted, { absolute: 1e-9 });
      near(sigma[i] ** 2, variance, { absolute: 1e-9 * (model.sill + model.nugget) + 1e-13 });
    }
  });

  test('weights sum to one: adding a constant adds it, a constant field stays', () => {
    const lifted = ordinaryKriging({ ...places, z: places.z.map((v) => v + 1000) }, model).predict(scatter);
    allNear(
      lifted.value,
      value.map((v) => v + 1000),
      { absolute: 1e-9 },
    );
    allNear(lifted.sigma, sigma, { absolute: 0 });
    const level = ordinaryKriging({ ...places, z: places.z.map(() => -31.5) }, model).predict(scatter);
    allNear(
      level.value,
      scatter.subarray(0, 150).map(() => -31.5),
      { absolute: 1e-12 },
    );
    // the weight of reading k is the prediction when k alone is 1
    const total = new Float64Array(150);
    for (let k = 0; k < places.x.length; k++) {
      const alone = ordinaryKriging({ ...places, z: places.z.map((_, i) => (i === k ? 1 : 0)) }, model);
      alone.predict(scatter.subarray(0, 12)).value.forEach((w, i) => {
        total[i] += w;
      });
    }
    allNear(total.subarray(0, 6), [1, 1, 1, 1, 1, 1], { absolute: 1e-11 });
  });

  test('gives every reading back with variance 0, here and on map coordinates', () => {
    const away = { ...places, x: places.x.map((v) => v + 412_037), y: places.y.map((v) => v + 4_984_118) };
    const there = ordinaryKriging(away, model);
    const at = there.predict(flat(away.x, away.y));
    allNear(at.value, places.z, { absolute: 0 });
    allNear(
      at.sigma,
      places.z.map(() => 0),
      { absolute: 0 },
    );
    const moved = there.predict(scatter.map((v, i) => v + (i % 2 === 0 ? 412_037 : 4_984_118)));
    allNear(moved.value, value, { absolute: 2e-6 });
  });

  test('leave-one-out is what leaving out gives', () => {
    const { error, variance } = ordinaryKriging(places, model).leaveOneOut();
    for (const k of [0, 31, 89]) {
      const without = (values: Float64Array) => values.filter((_, i) => i !== k);
      const others = { x: without(places.x), y: without(places.y), z: without(places.z), sigma: without(places.sigma) };
      const left = ordinaryKriging(others, model).predict(Float64Array.of(places.x[k], places.y[k]));
      near(error[k], places.z[k] - left.value[0], { absolute: 1e-10 });
      near(variance[k], left.sigma[0] ** 2, { absolute: 1e-11 });
    }
  });
});

function eliminate(rows: number[][]): number[] {
  const n = rows.length;
  for (let c = 0; c < n; c++) {
    let pivot = c;
    for (let r = c; r < n; r++) if (Math.abs(rows[r][c]) > Math.abs(rows[pivot][c])) pivot = r;
    [rows[c], rows[pivot]] = [rows[pivot], rows[c]];
    for (let r = c + 1; r < n; r++) {
      const share = rows[r][c] / rows[c][c];
      for (let k = c; k <= n; k++) rows[r][k] -= share * rows[c][k];
    }
  }
  const out = new Array<number>(n).fill(0);
  for (let r = n - 1; r >= 0; r--) {
    out[r] = (rows[r][n] - out.reduce((sum, v, k) => (k > r ? sum + rows[r][k] * v : sum), 0)) / rows[r][r];
  }
  return out;
}

describe('few readings and refusals', () => {
  const of = (...list: number[][]) => ({
    x: Float64Array.from(list, (p) => p[0]),
    y: Float64Array.from(list, (p) => p[1]),
    z: Float64Array.from(list, (p) => p[2]),
    sigma: new Float64Array(list.length),
  });
  const model: VariogramModel = { kind: 'spherical', nugget: 0.01, sill: 0.04, range: 5 };

  test('one reading: its level everywhere, no leave-one-out; two: between them', () => {
    const one = ordinaryKriging(of([3, 4, -31]), model);
    const { value, sigma } = one.predict(Float64Array.of(3, 4, 9, 9));
    expect([...value]).toEqual([-31, -31]);
    expect(sigma[0]).toBe(0);
    near(sigma[1] ** 2, 2 * 0.05, { relative: 1e-12 });
    expect(one.leaveOneOut().error[0]).toBeNaN();
    const two = ordinaryKriging(of([0, 0, -31], [2, 0, -30]), model);
    near(two.predict(Float64Array.of(1, 0)).value[0], -30.5, { absolute: 1e-12 });
    near(two.leaveOneOut().error[0], -1, { absolute: 1e-12 });
  });

  test('only a nugget: the mean of all readings', () => {
    const flatModel: VariogramModel = { kind: 'exponential', nugget: 0.01, sill: 0, range: 1 };
    const { value, sigma } = ordinaryKriging(of([0, 0, 1], [1, 0, 2], [0, 1, 6]), flatModel).predict(
      Float64Array.of(5, 5),
    );
    near(value[0], 3, { absolute: 1e-12 });
    near(sigma[0] ** 2, 0.01 + 0.01 / 3, { absolute: 1e-15 });
  });

  test('refuses a Gaussian model without nugget, a senseless model, too many readings and coincident ones', () => {
    const two = of([0, 0, 1], [1, 0, 2]);
    const gaussian: VariogramModel = { kind: 'gaussian', nugget: 1e-9, sill: 0.04, range: 5 };
    expect(() => ordinaryKriging(two, gaussian)).toThrow(/nugget of at least 4e-8/);
    expect(() => ordinaryKriging(two, { ...model, range: 0 })).toThrow(/range > 0/);
    expect(() => ordinaryKriging(levels(2501, 1), model)).toThrow(/at most 2500/);
    expect(() => ordinaryKriging(of([0, 0, 1], [0, 0, 1]), { ...model, nugget: 0 })).toThrow(/set one of them aside/);
  });

  test('a variogram needs bins and levels that differ', () => {
    const ask = { kind: 'spherical', nugget: null, sill: null, range: null } as const;
    const bins = [1, 2, 3, 4].map((h) => ({ pairs: 5, distanceM: h, gamma: 0 }));
    expect(() => fitVariogram(bins.slice(0, 3), ask)).toThrow(/3 distance classes/);
    expect(() => fitVariogram(bins, ask)).toThrow(/all levels are equal/);
    expect(fitVariogram([], { kind: 'spherical', nugget: 1, sill: 2, range: 3 }).misfit).toBe(0);
  });

  test('a fit finds the model its bins were made from, all of it or what is left open', () => {
    for (const kind of ['spherical', 'exponential', 'gaussian'] as const) {
      const truth: VariogramModel = { kind, nugget: 0.002, sill: 0.03, range: 4 };
      const bins = Array.from({ length: 12 }, (_, k) => ({
        pairs: 10 + k,
        distanceM: 0.7 * (k + 1),
        gamma: gammaAt(truth, 0.7 * (k + 1)),
      }));
      for (const ask of [
        { nugget: null, sill: null, range: null },
        { nugget: 0.002, sill: null, range: null },
        { nugget: null, sill: 0.03, range: null },
        { nugget: null, sill: null, range: 4 },
        { nugget: 0.002, sill: 0.03, range: null },
      ]) {
        const { model, rangeAtBoundary } = fitVariogram(bins, { kind, ...ask });
        near(model.nugget, truth.nugget, { absolute: 1e-7 });
        near(model.sill, truth.sill, { relative: 1e-5 });
        near(model.range, truth.range, { relative: 1e-5 });
        expect(rangeAtBoundary).toBe(false);
      }
    }
    const slope = Array.from({ length: 9 }, (_, k) => ({ pairs: 9, distanceM: k + 1, gamma: (k + 1) ** 2 }));
    const steep = fitVariogram(slope, { kind: 'gaussian', nugget: null, sill: null, range: null });
    expect(steep.rangeAtBoundary).toBe(true);
    expect(steep.model.nugget).toBeGreaterThanOrEqual(1e-6 * steep.model.sill);
  });
});

describe('inverse distances', () => {
  const places = levels(40, 9);
  test('readings as near as the last neighbour all count; leave-one-out is what leaving out gives', () => {
    const cross = {
      x: Float64Array.of(0, 2, 1, 1),
      y: Float64Array.of(1, 1, 0, 2),
      z: Float64Array.of(1, 2, 3, 6),
      sigma: new Float64Array(4).fill(0.02),
    };
    const { value, sigma } = inverseDistanceSurface(cross, { power: 2, neighbours: 1 })(Float64Array.of(1, 1));
    near(value[0], 3, { absolute: 1e-12 });
    near(sigma[0], 0.01, { absolute: 1e-12 });
    const rule = { power: 1.5, neighbours: 7 };
    const left = inverseDistanceLeftOut(places, rule);
    for (const k of [0, 20, 39]) {
      const without = (values: Float64Array) => values.filter((_, i) => i !== k);
      const others = { x: without(places.x), y: without(places.y), z: without(places.z), sigma: without(places.sigma) };
      const at = inverseDistanceSurface(others, rule)(Float64Array.of(places.x[k], places.y[k]));
      near(left[k], at.value[0], { absolute: 1e-13 });
    }
  });
});

describe('the solver beneath', () => {
  test('factor, inverse and product of a banded matrix against plain sums', () => {
    const n = 37;
    const random = randomStream(6, 0);
    const lower = new Float64Array(n * n);
    for (let i = 0; i < n; i++)
      for (let j = Math.max(0, i - 5); j <= i; j++) lower[i * n + j] = random.next() + (i === j ? 4 : 0);
    const values = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j <= i; j++)
        for (let k = 0; k <= j; k++) values[i * n + j] += lower[i * n + k] * lower[j * n + k];
    }
    const matrix = { n, values: values.slice(), first: Int32Array.from({ length: n }, (_, i) => Math.max(0, i - 5)) };
    choleskyInPlace(matrix);
    allNear(matrix.values, lower, { absolute: 1e-12 });
    const symmetric = (i: number, j: number) => values[Math.max(i, j) * n + Math.min(i, j)];
    const truth = Float64Array.from({ length: n }, () => random.next());
    const right = truth.map((_, i) => truth.reduce((sum, v, j) => sum + symmetric(i, j) * v, 0));
    allNear(solveInPlace(matrix, right), truth, { absolute: 1e-11 });
    const inverse = inverseFromLower(invertLower(matrix), n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) {
        let sum = 0;
        for (let k = 0; k < n; k++) sum += symmetric(i, k) * inverse[Math.max(k, j) * n + Math.min(k, j)];
        near(sum, i === j ? 1 : 0, { absolute: 1e-11 });
      }
    }
  });

  test.each([
    [1, 1],
    [3, 5],
    [4, 4],
    [42, 64],
    [101, 7],
  ])('a triangle of %i rows times %i columns against plain sums, twice with fewer rows', (rows, columns) => {
    const random = randomStream(8, rows);
    const room = triangleRoom(rows, columns);
    for (let i = 0; i < rows; i++)
      for (let j = 0; j <= i; j++) room.triangle[i * room.stride + j] = random.next() - 0.5;
    for (let i = 0; i < rows; i++) for (let t = 0; t < columns; t++) room.right[room.at(i, t)] = random.next() - 0.5;
    for (const used of [rows, Math.max(1, 4 * Math.floor(rows / 8))]) {
      room.product.fill(Number.NaN);
      room.multiply(used, columns);
      for (let i = 0; i < used; i++) {
        for (let t = 0; t < columns; t++) {
          let sum = 0;
          for (let j = 0; j <= i; j++) sum += room.triangle[i * room.stride + j] * room.right[room.at(j, t)];
          near(room.product[room.at(i, t)], sum, { absolute: 1e-13 });
        }
      }
    }
  });
});
