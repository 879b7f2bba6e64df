import { describe, expect, test } from 'vitest';
import { bearingOf, circularSummary, rayleigh, turnBetween } from '../../src/math/circular.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

type Expected = Readonly<Record<string, number>>;

describe.each(['s_wrap', 's_uniform', 's_directed'])('circular_%s, numbers of numpy', (name) => {
  const { input, expected } = readReferenceFile<
    { degrees: number[] },
    { directed: Expected; axial_doubled_angles: Expected }
  >(`circular_${name}`);

  test.each([
    ['directed', expected.directed, 'mean_direction_deg', 1],
    ['axial', expected.axial_doubled_angles, 'mean_axis_deg', 2],
  ] as const)('%s', (kind, want, mean, fold) => {
    const summary = circularSummary(input.degrees, kind);
    near(summary.c, want['C'], { relative: 1e-12, absolute: 1e-12 });
    near(summary.s, want['S'], { relative: 1e-12, absolute: 1e-12 });
    near(summary.rBar, want['Rbar'], { relative: 1e-12 });
    near(summary.meanDeg, want[mean], { relative: 1e-12, absolute: 1e-10 });
    near(((summary.standardDeviationDeg as number) * fold * Math.PI) / 180, want['circular_sd_rad'], {
      relative: 1e-10,
    });
    const test = rayleigh(summary);
    near(test.z, want['rayleigh_z'], { relative: 1e-12 });
    near(test.pLarge, want['p_exp_minus_z'], { relative: 1e-12 });
    near(test.p, want['p_zar_greenwood_durand'], { relative: 1e-11 });
    near(test.pSeries, want['p_series'], { relative: 1e-11, absolute: 1e-15 });
  });
});

describe('laws', () => {
  const random = randomStream(3, 0);
  const degrees = Array.from({ length: 30 }, () => 40 + 60 * random.next());

  test('turned by 23°, the mean turns by 23° and nothing else changes', () => {
    const here = circularSummary(degrees, 'axial');
    const there = circularSummary(
      degrees.map((d) => d + 23),
      'axial',
    );
    near(turnBetween(here.meanDeg as number, there.meanDeg as number, 'axial'), 23, { absolute: 1e-9 });
    near(there.rBar, here.rBar, { relative: 1e-12 });
    near(there.meanErrorDeg, here.meanErrorDeg as number, { relative: 1e-10 });
  });

  test('an axis and its other end are one axis', () => {
    const flipped = degrees.map((d, i) => d + 180 * (i % 2));
    near(circularSummary(flipped, 'axial').meanDeg, circularSummary(degrees, 'axial').meanDeg as number, {
      absolute: 1e-9,
    });
    expect(circularSummary(flipped, 'directed').rBar).toBeLessThan(0.2);
  });

  test('the 95 % interval of the mean axis holds the true one in about 95 of 100 samples', () => {
    let held = 0;
    for (let k = 0; k < 400; k++) {
      const stream = randomStream(11, k);
      // sum of four uniforms: nearly normal, σ = 8°
      const sample = Array.from(
        { length: 40 },
        () => 61 + 8 * Math.sqrt(3) * (stream.next() + stream.next() + stream.next() + stream.next() - 2),
      );
      const { meanDeg, meanErrorDeg } = circularSummary(sample, 'axial');
      if (Math.abs(turnBetween(61, meanDeg as number, 'axial')) <= (meanErrorDeg as number)) held++;
    }
    expect(held).toBeGreaterThan(400 * 0.9);
    expect(held).toBeLessThan(400 * 0.99);
  });

  test("Rayleigh's p is uniform for directions at random", () => {
    let small = 0;
    for (let k = 0; k < 2000; k++) {
      const stream = randomStream(12, k);
      const p = rayleigh(
        circularSummary(
          Array.from({ length: 10 }, () => 360 * stream.next()),
          'directed',
        ),
      ).p;
      if (p <= 0.05) small++;
    }
    expect(small / 2000).toBeGreaterThan(0.035);
    expect(small / 2000).toBeLessThan(0.065);
  });
});

test('opposite directions have no mean', () => {
  const summary = circularSummary([10, 190], 'directed');
  expect(summary.meanDeg).toBeNull();
  expect(summary.standardDeviationDeg).toBeNull();
  expect(rayleigh(summary).p).toBe(1);
  expect(() => circularSummary([], 'axial')).toThrow(/at least 1 direction/);
});

test('bearings run clockwise from the y axis', () => {
  expect(bearingOf(0, 1)).toBe(0);
  expect(bearingOf(1, 0)).toBe(90);
  expect(bearingOf(-1, 0)).toBe(270);
  expect(turnBetween(350, 10, 'directed')).toBe(20);
  expect(turnBetween(170, 10, 'axial')).toBe(20);
  expect(turnBetween(10, 170, 'axial')).toBe(-20);
});
