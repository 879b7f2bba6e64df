import { describe, expect, test } from 'vitest';
import { abramsonBandwidths, adaptiveIntensity, adaptiveSurface } from '../../src/math/adaptive-kernels.js';
import { cellFrame, cellsInside, framePlace } from '../../src/math/cell-frame.js';
import { kernelIntensity } from '../../src/math/kernels.js';
import { flat, patterns, readReference, rectangle, thinArms } from '../support/kernel-reference.js';
import { allNear, heapedScatter, near, uniformScatter } from '../support/near.js';

interface AdaptiveExpected {
  sigma: number;
  grid_xy: [number, number][];
  adaptive: {
    pilot: number[];
    h: number[];
    own_mass: number[];
    grid_none: number[];
    grid_diggle: number[];
    points_none: number[];
    points_diggle: number[];
    uniform_at_xy?: [number, number][];
    uniform_values?: number[];
  };
}

const ones = (n: number) => new Float64Array(n).fill(1);
const edges = ['none', 'uniform', 'jones-diggle'] as const;

describe.each(patterns)('kernels of their own on %s', (pattern) => {
  const { expected, xy, window, isRectangle } = readReference<AdaptiveExpected>('kde', pattern);
  const relative = isRectangle ? 1e-9 : 1e-8;
  const weight = ones(xy.length / 2);
  const kernel = { xy, weight, window, sigmaM: expected.sigma, edge: 'none' as const };
  const bandwidths = abramsonBandwidths(kernel, weight);
  const input = { ...kernel, sigmas: bandwidths.sigmaM };

  test('pilot and bandwidths equal the reference', () => {
    allNear(bandwidths.pilot, expected.adaptive.pilot, { relative });
    allNear(bandwidths.sigmaM, expected.adaptive.h, { relative });
  });

  test('densities at places and at the finds equal the reference', () => {
    const at = flat(expected.grid_xy);
    const diggle = { ...input, edge: 'jones-diggle' as const };
    allNear(adaptiveIntensity(input, at), expected.adaptive.grid_none, { relative });
    allNear(adaptiveIntensity(input, xy), expected.adaptive.points_none, { relative });
    allNear(adaptiveIntensity(diggle, at), expected.adaptive.grid_diggle, { relative });
    allNear(adaptiveIntensity(diggle, xy), expected.adaptive.points_diggle, { relative });
  });

  test('divided at the place, too, where the reference has it', () => {
    const { uniform_at_xy: at, uniform_values: values } = expected.adaptive;
    if (!at || !values) return;
    allNear(adaptiveIntensity({ ...input, edge: 'uniform' }, flat(at)), values, { relative });
  });
});

describe('surface', () => {
  const window = thinArms;
  const scatter = heapedScatter({ n: 160, seed: 4, heaps: 5, spread: 1.2, width: 8, height: 5 });
  const weight = Float64Array.from({ length: 160 }, (_, i) => 1 + (i % 3));
  const kernel = { xy: scatter, weight, window, sigmaM: 0.6, edge: 'none' as const };
  const { sigmaM: sigmas, smallestM, largestM } = abramsonBandwidths(kernel, ones(160));
  const frame = cellFrame(window, 0.11, 0);
  const inside = cellsInside(window, frame);
  const cells = Array.from(inside.keys()).filter((k) => inside[k] === 1);
  const centres = Float64Array.from(
    cells.flatMap((k) => framePlace(frame, k % frame.columns, Math.floor(k / frame.columns))),
  );

  test.each(edges)('%s: equals the full sum at every cell', (edge) => {
    expect(largestM / smallestM).toBeGreaterThan(1.8);
    const input = { ...kernel, edge, sigmas };
    const { values } = adaptiveSurface(input, frame);
    const probe = cells.map((_, i) => i).filter((i) => edge !== 'uniform' || i % 60 === 0);
    const full = adaptiveIntensity(
      input,
      Float64Array.from(probe.flatMap((i) => [centres[2 * i], centres[2 * i + 1]])),
    );
    const peak = Math.max(...full);
    probe.forEach((i, k) => {
      near(values[cells[i]], full[k], { absolute: (edge === 'uniform' ? 1e-3 : 1e-9) * peak });
    });
  });

  test('corrected at each find it holds all weight, uncorrected less', () => {
    const total = weight.reduce((sum, w) => sum + w, 0);
    near(adaptiveSurface({ ...kernel, edge: 'jones-diggle', sigmas }, frame).integral, total, { relative: 1e-3 });
    const none = adaptiveSurface({ ...kernel, edge: 'none', sigmas }, frame).integral;
    expect(none).toBeLessThan(0.95 * total);
    // the naive integral: cell centres times cell area
    const sum = adaptiveIntensity({ ...kernel, sigmas }, centres).reduce((s, v) => s + v * 0.11 ** 2, 0);
    near(none, sum, { relative: 0.01 });
  });
});

describe('bandwidths', () => {
  const window = rectangle([0, 0, 10, 10]);

  test('equal kernels give the fixed density back', () => {
    const xy = uniformScatter({ n: 30, seed: 2, width: 10, height: 10 });
    const input = { xy, weight: ones(30), window, sigmaM: 0.8, edge: 'uniform' as const };
    const at = Float64Array.of(1, 1, 5, 5, 9.9, 3);
    allNear(adaptiveIntensity({ ...input, sigmas: new Float64Array(30).fill(0.8) }, at), kernelIntensity(input, at), {
      relative: 1e-12,
    });
  });

  test('their geometric mean is the bandwidth of the pilot, and heaps get the narrow ones', () => {
    const heap = uniformScatter({ n: 40, seed: 3, width: 0.5, height: 0.5 }).map((v) => v + 5);
    const loose = uniformScatter({ n: 40, seed: 5, width: 10, height: 10 });
    const xy = Float64Array.from([...heap, ...loose]);
    const found = abramsonBandwidths({ xy, weight: ones(80), window, sigmaM: 0.8, edge: 'none' }, ones(80));
    expect(found.capped).toBe(0);
    const logs = found.sigmaM.reduce((sum, h) => sum + Math.log(h), 0);
    near(Math.exp(logs / 80), 0.8, { relative: 1e-12 });
    expect(Math.max(...found.sigmaM.subarray(0, 40))).toBeLessThan(0.8);
    expect([found.smallestM, found.largestM]).toEqual([Math.min(...found.sigmaM), Math.max(...found.sigmaM)]);
  });

  test('a find far away from all is held at five times the middle kernel', () => {
    const heap = uniformScatter({ n: 60, seed: 3, width: 0.2, height: 0.2 }).map((v) => v + 1);
    const xy = Float64Array.from([...heap, 9, 9]);
    const found = abramsonBandwidths({ xy, weight: ones(61), window, sigmaM: 0.3, edge: 'none' }, ones(61));
    expect(found.capped).toBe(1);
    near(found.sigmaM[60], 5 * found.medianM, { relative: 1e-12 });
  });

  test('four sub-points of a quarter count as one find', () => {
    const xy = uniformScatter({ n: 20, seed: 8, width: 10, height: 10 });
    const split = Float64Array.from([...xy, ...xy.subarray(38), ...xy.subarray(38), ...xy.subarray(38)]);
    const share = Float64Array.from([...ones(19), 0.25, 0.25, 0.25, 0.25]);
    const common = { window, sigmaM: 1, edge: 'none' as const };
    const whole = abramsonBandwidths({ ...common, xy, weight: ones(20) }, ones(20));
    const parts = abramsonBandwidths({ ...common, xy: split, weight: share }, share);
    allNear(parts.sigmaM.subarray(0, 20), whole.sigmaM, { relative: 1e-12 });
    near(parts.medianM, whole.medianM, { relative: 1e-12 });
  });

  test('beyond four thousand positions the pilot is read off the lattice', () => {
    const xy = uniformScatter({ n: 4100, seed: 6, width: 10, height: 10 });
    const weight = ones(4100);
    const found = abramsonBandwidths({ xy, weight, window, sigmaM: 0.7, edge: 'none' }, weight);
    const full = kernelIntensity({ xy, weight, window, sigmaM: 0.7, edge: 'uniform' }, xy.subarray(0, 40));
    allNear(found.pilot.subarray(0, 20), full.subarray(0, 20), { relative: 1e-3 });
  });
});

test('far too many sums are refused', () => {
  const xy = new Float64Array(2 * 30_000).fill(5);
  const sigmas = new Float64Array(30_000).fill(2);
  const input = {
    xy,
    weight: ones(30_000),
    window: rectangle([0, 0, 10, 10]),
    sigmaM: 2,
    edge: 'none' as const,
    sigmas,
  };
  expect(() => adaptiveSurface(input, cellFrame(input.window, 0.01, 0))).toThrow(/too many sums/);
});
