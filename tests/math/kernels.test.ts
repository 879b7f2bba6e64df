import { describe, expect, test } from 'vitest';
import { type EdgeCorrection, kernelIntensity, leaveOneOutIntensity } from '../../src/math/kernels.js';
import type { Region } from '../../src/math/rings.js';
import { flat, patterns, readReference, rectangle, thinArms } from '../support/kernel-reference.js';
import { allNear, near, uniformScatter } from '../support/near.js';

type Places = [number, number][];
interface KernelExpected {
  sigma: number;
  grid_xy: Places;
  grid_none: number[];
  grid_uniform: number[];
  grid_diggle: number[];
  points_none: number[];
  points_uniform: number[];
  points_diggle: number[];
  points_loo_uniform: number[];
}

const corrections = [
  ['none', 'none'],
  ['uniform', 'uniform'],
  ['jones-diggle', 'diggle'],
] as const;

const ones = (n: number) => new Float64Array(n).fill(1);

describe.each(patterns)('full kernel sums on %s', (pattern) => {
  const { expected, xy, window, isRectangle } = readReference<KernelExpected>('kde', pattern);
  const relative = isRectangle ? 1e-12 : 1e-10;
  const common = { xy, weight: ones(xy.length / 2), window, sigmaM: expected.sigma };

  test.each(corrections)('%s', (edge, key) => {
    const input = { ...common, edge };
    allNear(kernelIntensity(input, flat(expected.grid_xy)), expected[`grid_${key}`], { relative });
    allNear(kernelIntensity(input, xy), expected[`points_${key}`], { relative });
  });

  test('each find left out', () => {
    allNear(leaveOneOutIntensity({ ...common, edge: 'uniform' }), expected.points_loo_uniform, { relative });
  });
});

const finds = uniformScatter({ n: 40, seed: 11, width: 8, height: 4 });
const at = Float64Array.of(1, 1, 4.5, 0.2, 8, 2, 3, 8);
const density = (xy: Float64Array, window: Region, edge: EdgeCorrection) =>
  kernelIntensity({ xy, weight: ones(xy.length / 2), window, sigmaM: 0.8, edge }, at);

describe.each(['none', 'uniform', 'jones-diggle'] as const)('laws, %s', (edge) => {
  test('the density of two classes together is the sum of theirs', () => {
    const a = density(finds.slice(0, 30), thinArms, edge);
    const b = density(finds.slice(30), thinArms, edge);
    const both = density(finds, thinArms, edge);
    allNear(
      both,
      a.map((v, k) => v + b[k]),
      { relative: 1e-13 },
    );
  });

  test('a find of weight 3 is three finds', () => {
    const weight = ones(40);
    weight[7] = 3;
    const heavy = kernelIntensity({ xy: finds, weight, window: thinArms, sigmaM: 0.8, edge }, at);
    const repeated = Float64Array.from([...finds, finds[14], finds[15], finds[14], finds[15]]);
    allNear(heavy, density(repeated, thinArms, edge), { relative: 1e-13 });
  });

  test('moving the whole site changes nothing, scaling by s divides by s²', () => {
    const put = (v: Float64Array, s: number, shift: number) => v.map((c) => c * s + shift);
    const there = (s: number, shift: number) =>
      kernelIntensity(
        {
          xy: put(finds, s, shift),
          weight: ones(40),
          window: { rings: thinArms.rings.map((ring) => put(ring, s, shift)) },
          sigmaM: 0.8 * s,
          edge,
        },
        put(at, s, shift),
      );
    const here = density(finds, thinArms, edge);
    allNear(there(1, 4_194_304), here, { relative: 1e-7 });
    allNear(
      there(3, 0),
      here.map((v) => v / 9),
      { relative: 1e-12 },
    );
  });

  test('turning the whole site changes nothing', () => {
    const turn = (v: Float64Array) =>
      v.map((_, k) => {
        const [x, y] = [v[k - (k % 2)], v[k - (k % 2) + 1]];
        return k % 2 === 0 ? x * Math.cos(0.7) - y * Math.sin(0.7) : x * Math.sin(0.7) + y * Math.cos(0.7);
      });
    const input = { weight: ones(40), sigmaM: 0.8, edge };
    const turned = kernelIntensity(
      { ...input, xy: turn(finds), window: { rings: thinArms.rings.map(turn) } },
      turn(at),
    );
    allNear(turned, density(finds, thinArms, edge), { relative: 1e-11 });
  });
});

test('one find far from any edge: 1 / 2πσ² at its place', () => {
  const input = { xy: Float64Array.of(50, 50), weight: ones(1), window: rectangle([0, 0, 100, 100]), sigmaM: 0.5 };
  near(kernelIntensity({ ...input, edge: 'none' }, Float64Array.of(50, 50))[0], 0.6366197723675814, {
    relative: 1e-14,
  });
  expect(leaveOneOutIntensity({ ...input, edge: 'uniform' })[0]).toBe(0);
});

test('a find on the trench edge counts twice over with jones-diggle, in a corner four times', () => {
  const common = { weight: ones(1), window: rectangle([0, 0, 100, 100]), sigmaM: 0.5 };
  const at1 = (x: number, y: number) =>
    kernelIntensity({ ...common, xy: Float64Array.of(x, y), edge: 'jones-diggle' }, Float64Array.of(x, y))[0];
  near(at1(50, 0), 2 * 0.6366197723675814, { relative: 1e-13 });
  near(at1(0, 0), 4 * 0.6366197723675814, { relative: 1e-13 });
});

test('far from all finds the uniform estimate is a tiny number, not nothing', () => {
  const input = { xy: Float64Array.of(1, 1), weight: ones(1), window: rectangle([0, 0, 40, 40]), sigmaM: 1 };
  near(kernelIntensity({ ...input, edge: 'none' }, Float64Array.of(13, 1))[0], Math.exp(-72) / (2 * Math.PI), {
    relative: 1e-12,
  });
});

test('no find: no density', () => {
  const input = {
    xy: new Float64Array(0),
    weight: ones(0),
    window: thinArms,
    sigmaM: 1,
    edge: 'jones-diggle' as const,
  };
  expect([...kernelIntensity(input, at)]).toEqual([0, 0, 0, 0]);
});
