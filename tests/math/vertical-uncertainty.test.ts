import { expect, test } from 'vitest';
import { totalVerticalUncertaintyM } from '../../src/math/vertical-uncertainty.js';

test('the limits of S-44 at 10 m, as the standard tabulates a and b', () => {
  // IHO S-44 edition 6.1.0, table 1: √(a² + (b·10)²) to the millimetre
  expect(totalVerticalUncertaintyM('exclusive', 10)).toBeCloseTo(0.168, 3);
  expect(totalVerticalUncertaintyM('special', 10)).toBeCloseTo(0.261, 3);
  expect(totalVerticalUncertaintyM('1a', 10)).toBeCloseTo(0.517, 3);
  expect(totalVerticalUncertaintyM('1b', 10)).toBeCloseTo(0.517, 3);
  expect(totalVerticalUncertaintyM('2', 10)).toBeCloseTo(1.026, 3);
});

test('it grows with depth, whichever way depth is counted', () => {
  expect(totalVerticalUncertaintyM('special', -40)).toBe(totalVerticalUncertaintyM('special', 40));
  expect(totalVerticalUncertaintyM('special', 40)).toBeGreaterThan(totalVerticalUncertaintyM('special', 10));
});
