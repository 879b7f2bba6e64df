import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { fitSimilarity, transformed } from '../../src/math/similarity.js';
import { near } from '../support/near.js';

interface Reference {
  input: { source_points: number[][]; target_points: number[][]; extra_source_points: number[][] };
  expected: {
    tx: number;
    ty: number;
    a: number;
    b: number;
    scale: number;
    rotation_deg_anticlockwise: number;
    residuals_computed_minus_given: number[][];
    sigma0: number;
    rmse_per_coordinate: number;
    redundancy: number;
    sd_a_b_tx_ty: number[];
    redundancy_numbers_x_y_per_point: number[][];
    transformed: number[][];
  };
}

const read = (name: string): Reference =>
  JSON.parse(readFileSync(new URL(`../reference/${name}.json`, import.meta.url), 'utf8'));
const flat = (points: number[][]) => Float64Array.from(points.flat());

test.each(['helmert_handbook', 'helmert_site_to_utm'])('%s comes out as the other program has it', (name) => {
  const { input, expected } = read(name);
  const fit = fitSimilarity(flat(input.source_points), flat(input.target_points));
  near(fit.a, expected.a, { relative: 1e-9 });
  near(fit.b, expected.b, { relative: 1e-9 });
  near(fit.scale, expected.scale, { relative: 1e-9 });
  near(fit.rotationDeg, expected.rotation_deg_anticlockwise, { relative: 1e-9 });
  near(fit.tx, expected.tx, { absolute: 1e-6 });
  near(fit.ty, expected.ty, { absolute: 1e-6 });
  near(fit.rmsM, expected.rmse_per_coordinate, { relative: 1e-7 });
  near(fit.sigma0M, expected.sigma0, { relative: 1e-7 });
  expect(fit.redundancy).toBe(expected.redundancy);
  expected.residuals_computed_minus_given.flat().forEach((v, i) => {
    near(fit.residuals[i], v, { absolute: 2e-8 });
  });
  expected.redundancy_numbers_x_y_per_point.forEach(([x], i) => {
    near(fit.redundancyNumbers[i], x, { absolute: 1e-9 });
  });
  near(fit.sigma?.scale, expected.sd_a_b_tx_ty[0], { relative: 1e-7 });
  near(fit.sigma?.txM, expected.sd_a_b_tx_ty[2], { relative: 1e-7 });
  near(fit.sigma?.tyM, expected.sd_a_b_tx_ty[3], { relative: 1e-7 });
  input.extra_source_points.forEach(([x, y], i) => {
    const [e, n] = transformed(fit, x, y);
    near(e, expected.transformed[i][0], { absolute: 1e-6 });
    near(n, expected.transformed[i][1], { absolute: 1e-6 });
  });
});

test('the published example of the handbook: a, b and the shift to the digits printed', () => {
  const { input } = read('helmert_handbook');
  const fit = fitSimilarity(flat(input.source_points), flat(input.target_points));
  // Wolf & Ghilani, Adjustment Computations, two-dimensional conformal transformation
  near(fit.a, -4.51249, { absolute: 5e-6 });
  near(fit.b, -0.25371, { absolute: 5e-6 });
  near(fit.tx, 1050003.715, { absolute: 5e-4 });
  near(fit.ty, 50542.131, { absolute: 5e-4 });
});

/** what the closed form must equal: the scale and turn that a search over both finds best */
function slowFit(source: Float64Array, target: Float64Array, scales: [number, number]): number {
  const cost = (scale: number, turn: number) => {
    const [a, b] = [scale * Math.cos(turn), scale * Math.sin(turn)];
    const d = source.map(
      (_, i) => (i % 2 === 0 ? a * source[i] - b * source[i + 1] : b * source[i - 1] + a * source[i]) - target[i],
    );
    const n = d.length / 2;
    const mean = [0, 1].map((k) => d.reduce((sum, v, i) => (i % 2 === k ? sum + v / n : sum), 0));
    return d.reduce((sum, v, i) => sum + (v - mean[i % 2]) ** 2, 0);
  };
  let best = Infinity;
  for (let s = scales[0]; s <= scales[1] + 1e-12; s += 0.001)
    for (let turn = 0; turn < 2 * Math.PI; turn += 0.002) best = Math.min(best, cost(s, turn));
  return best;
}

test('no other shift, turn and scale fits better, with the scale free or fixed', () => {
  const random = randomStream(3, 1);
  const source = Float64Array.from({ length: 12 }, () => random.next() * 10);
  const target = source.map(
    (v, i) => (i % 2 === 0 ? 3 - source[i + 1] : 5 + source[i - 1]) + 0.2 * (random.next() - 0.5) + 0 * v,
  );
  const free = fitSimilarity(source, target);
  const held = fitSimilarity(source, target, 1);
  const squares = (residuals: Float64Array) => residuals.reduce((sum, v) => sum + v * v, 0);
  const freeBest = slowFit(source, target, [0.98, 1.02]);
  expect(squares(free.residuals)).toBeLessThanOrEqual(freeBest);
  near(squares(free.residuals), freeBest, { relative: 2e-2 });
  const heldBest = slowFit(source, target, [1, 1]);
  expect(squares(held.residuals)).toBeLessThanOrEqual(heldBest);
  near(squares(held.residuals), heldBest, { relative: 2e-2 });
});

test('the fit is the same wherever both grids lie', () => {
  const { input } = read('helmert_site_to_utm');
  const source = flat(input.source_points);
  const target = flat(input.target_points);
  const here = fitSimilarity(source, target);
  const there = fitSimilarity(
    source.map((v) => v + 4096),
    target.map((v) => v - 4_000_000),
  );
  near(there.scale, here.scale, { relative: 1e-9 });
  near(there.rotationDeg, here.rotationDeg, { relative: 1e-9 });
  near(there.rmsM, here.rmsM, { relative: 1e-7 });
});

test('redundancy numbers sum to the redundancy', () => {
  const { input } = read('helmert_site_to_utm');
  for (const scale of [null, 1]) {
    const fit = fitSimilarity(flat(input.source_points), flat(input.target_points), scale);
    near(2 * fit.redundancyNumbers.reduce((sum, v) => sum + v, 0), fit.redundancy, { relative: 1e-12 });
  }
});

test('two points fit exactly, without a standard deviation; with a fixed scale they do not', () => {
  const source = Float64Array.of(0, 0, 10, 0);
  const target = Float64Array.of(100, 200, 100, 210.02);
  const fit = fitSimilarity(source, target);
  expect([...fit.residuals]).toEqual([0, 0, 0, 0]);
  expect(fit.sigma0M).toBeNull();
  expect(fit.sigma).toBeNull();
  near(fit.rotationDeg, 90, { relative: 1e-12 });
  near(fit.scale, 1.002, { relative: 1e-12 });
  const held = fitSimilarity(source, target, 1);
  // the 2 cm are shared: each end 1 cm off
  near(held.residuals[1], 0.01, { absolute: 1e-12 });
  near(held.residuals[3], -0.01, { absolute: 1e-12 });
  near(held.sigma0M, Math.sqrt(2e-4), { relative: 1e-9 });
});

test('one point, or one place named twice, is refused', () => {
  expect(() => fitSimilarity(Float64Array.of(1, 2), Float64Array.of(3, 4))).toThrow(/at least two common points/);
  expect(() => fitSimilarity(Float64Array.of(1, 2, 1, 2), Float64Array.of(3, 4, 3, 4))).toThrow(/2 in one place/);
});
