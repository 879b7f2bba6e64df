import { expect, test } from 'vitest';
import { exponential, naturalLog } from '../../src/math/elementary.js';
import { near } from '../support/near.js';

// mpmath 1.3.0, 60 digits: exp(x), log(x) of the double nearest to x
const exponentials = [
  [-700.25, 7.678723813110872e-305],
  [-37.5, 5.175555005801869e-17],
  [-1, 0.36787944117144233],
  [-1e-9, 0.999999999],
  [0, 1],
  [0.3, 1.3498588075760032],
  [1, Math.E],
  [10.1, 24343.00942440838],
  [500.75, 2.971404748511878e217],
  [709.5, 1.3549863193146328e308],
] as const;
const logarithms = [
  [5e-324, -744.4400719213812],
  [1e-300, -690.7755278982137],
  [0.1, -Math.LN10],
  [0.7072, -0.3464417676587033],
  [0.99999999, -1.0000000100247594e-8],
  [1.0000001, 9.999999505838704e-8],
  [1.5, 0.4054651081081644],
  [2, Math.LN2],
  [10, Math.LN10],
  [12345.678, 9.421061321291832],
  [1e300, 690.7755278982137],
] as const;

test.each(exponentials)('e to the power %d', (x, expected) => near(exponential(x), expected, { relative: 2.3e-16 }));
test.each(logarithms)('logarithm of %d', (x, expected) => near(naturalLog(x), expected, { relative: 2.3e-16 }));

test('the ends of the range', () => {
  expect(exponential(710)).toBe(Infinity);
  expect(exponential(-746)).toBe(0);
  expect(exponential(-745)).toBe(5e-324);
  expect(exponential(Number.NaN)).toBeNaN();
  expect(naturalLog(0)).toBe(-Infinity);
  expect(naturalLog(Infinity)).toBe(Infinity);
  expect(naturalLog(-1)).toBeNaN();
  expect(naturalLog(1)).toBe(0);
});

test('they undo each other and agree with the engine', () => {
  for (let x = -30; x <= 30; x += 0.0137) {
    near(naturalLog(exponential(x)), x, { relative: 4e-16, absolute: 2.3e-16 });
    near(exponential(x), Math.exp(x), { relative: 4.5e-16 });
  }
});
