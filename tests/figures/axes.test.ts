import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  fixedText,
  niceStep,
  niceTicks,
  numberText,
  stepDecimals,
  tickTexts,
  withUnit,
} from '../../src/figures/axes.js';

test('ticks stand at round values inside the axis', () => {
  expect(niceTicks(0, 1, 5)).toEqual([0, 0.2, 0.4, 0.6, 0.8, 1]);
  expect(niceTicks(-0.3, 0.3, 6)).toEqual([-0.3, -0.2, -0.1, 0, 0.1, 0.2, 0.3]);
  expect(niceTicks(3, 34, 6)).toEqual([5, 10, 15, 20, 25, 30]);
  expect(niceTicks(1, 0, 2)).toEqual([0, 0.5, 1]);
  expect(niceTicks(7, 7)).toEqual([7]);
  expect(niceTicks(Number.NaN, 1)).toEqual([]);
  expect(niceTicks(-0.1, 0.1, 2).some((t) => Object.is(t, -0))).toBe(false);
});

test('ticks are evenly spaced, ordered, inside, and neither few nor many', () => {
  const range = fc.tuple(
    fc.double({ min: -1e6, max: 1e6, noNaN: true }),
    fc.double({ min: 1e-6, max: 1e6, noNaN: true }),
    fc.integer({ min: 2, max: 12 }),
  );
  fc.assert(
    fc.property(range, ([low, length, about]) => {
      const high = low + length;
      fc.pre(high > low && length > 1e-9 * Math.abs(low));
      const ticks = niceTicks(low, high, about);
      const step = niceStep(high - low, about);
      expect(ticks.length).toBeGreaterThanOrEqual(Math.floor(about / 2));
      expect(ticks.length).toBeLessThanOrEqual(2 * about + 1);
      ticks.forEach((t, i) => {
        expect(t).toBeGreaterThanOrEqual(low - 1e-6 * length);
        expect(t).toBeLessThanOrEqual(high + 1e-6 * length);
        if (i > 0) expect((t - ticks[i - 1]) / step).toBeCloseTo(1, 4);
      });
    }),
    { seed: 1790, numRuns: 400 },
  );
});

test('a step is 1, 2 or 5 times a power of ten', () => {
  for (const extent of [0.0003, 0.02, 0.7, 1, 3, 11, 240, 98765]) {
    const step = niceStep(extent, 6);
    const lead = Number(step.toExponential().split('e')[0]);
    expect([1, 2, 5]).toContain(lead);
  }
  expect([1, 0.5, 0.25, 0.1, 20, 1e-7, 0].map(stepDecimals)).toEqual([0, 1, 2, 1, 0, 7, 0]);
});

test('numbers are written as people read them', () => {
  expect(fixedText(-0.5, 2)).toBe('\u22120.50');
  expect(fixedText(-0.001, 2)).toBe('0.00');
  expect(fixedText(1450, 0)).toBe('1450');
  expect(fixedText(4984118.25, 1)).toBe('4\u2009984\u2009118.3');
  expect(fixedText(Number.NaN, 1)).toBe('–');
  expect(numberText(0.3)).toBe('0.3');
  expect(numberText(0.1 + 0.2)).toBe('0.3');
  expect(numberText(238)).toBe('238');
  expect(numberText(0)).toBe('0');
  expect(numberText(2 / 3)).toBe('0.6667');
  expect(numberText(0.00012346)).toBe('0.0001235');
  expect(numberText(1.5e-9)).toBe('1.5\u2009×\u200910⁻⁹');
  expect(numberText(-6e23)).toBe('\u22126\u2009×\u200910²³');
  expect(numberText(Number.POSITIVE_INFINITY)).toBe('–');
});

test('no more digits than the error allows', () => {
  expect(numberText(0.31234, { error: 0.02 })).toBe('0.31');
  expect(numberText(123.456, { error: 3 })).toBe('123');
  expect(numberText(123.456, { error: 0.3 })).toBe('123.5');
});

test('tick labels share their digits; units follow after a thin space, degrees at once', () => {
  expect(tickTexts([0, 0.5, 1])).toEqual(['0.0', '0.5', '1.0']);
  expect(tickTexts([-10, 0, 10])).toEqual(['\u221210', '0', '10']);
  expect(tickTexts([0.25])).toEqual(['0.25']);
  expect(withUnit('3.2', 'm-2')).toBe('3.2\u2009per m²');
  expect(withUnit('27.35', 'deg')).toBe('27.35°');
  expect(withUnit('0.61', '1')).toBe('0.61');
});
