import { expect, test } from 'vitest';
import {
  chiSquareLowerTail,
  chiSquareUpperTail,
  fUpperTail,
  incompleteBeta,
  logGamma,
  normalLowerTail,
  normalTwoSided,
  normalUpperTail,
  studentTwoSided,
  studentUpperTail,
} from '../../src/math/distributions.js';
import { near } from '../support/near.js';

// All expected values: mpmath 1.3.0 at 60 digits (erfc, loggamma, gammainc and betainc with regularized=True)
// of the doubles given, rounded to the nearest double.

test.each([
  [0.1, 0.460172162722971],
  [0.5, 0.3085375387259869],
  [1, 0.15865525393145705],
  [1.249, 0.10583253692503229],
  [1.251, 0.1054672387200076],
  [1.96, 0.024997895148220435],
  [3, 0.0013498980316300946],
  [5, 2.866515718791939e-7],
  [8.327506337609972, 4.128149245609176e-17],
  [15.205235464920765, 1.6322741893259156e-52],
  [30, 4.906713927148187e-198],
] as const)('normal tail beyond %d', (z, expected) => {
  near(normalUpperTail(z), expected, { relative: 1.5e-15 });
  expect(normalLowerTail(-z)).toBe(normalUpperTail(z));
  expect(normalTwoSided(-z)).toBe(2 * normalUpperTail(z));
  near(normalUpperTail(-z), 1 - expected, { relative: 2e-16 });
});

test('the normal tail at its ends', () => {
  expect(normalUpperTail(0)).toBe(0.5);
  expect(normalTwoSided(0)).toBe(1);
  expect(normalUpperTail(50)).toBe(0);
  expect(normalUpperTail(-50)).toBe(1);
});

test.each([
  [0.1, 2.252712651734206],
  [0.5, 0.5723649429247001],
  [1, 0],
  [2, 0],
  [3.5, 1.2009736023470743],
  [9.9, 12.57717990421988],
  [10.1, 13.027526738633236],
  [100, 359.1342053695754],
  [1234.5, 7550.550901077895],
] as const)('ln Γ(%d)', (a, expected) => near(logGamma(a), expected, { relative: 1e-15, absolute: 4e-15 }));

test.each([
  [3.84, 1, 0.050043521248705106, 0.9499564787512949],
  [0.001, 2, 0.9995001249791693, 0.0004998750208307294],
  [10, 5, 0.07523524614651218, 0.9247647538534878],
  [23.66, 2, 7.282764709942446e-6, 0.99999271723529],
  [120, 100, 0.08440668109369183, 0.9155933189063081],
  [80, 100, 0.9296649333406051, 0.07033506665939496],
  [1000, 900, 0.010994608942135848, 0.9890053910578641],
  [300, 10, 1.5546747543803181e-58, 1],
  [1e-8, 1, 0.9999202115440526, 7.978845594730578e-5],
  [2100, 2000, 0.05867111137731808, 0.9413288886226819],
] as const)('χ² = %d with %d degrees of freedom', (value, df, upper, lower) => {
  near(chiSquareUpperTail(value, df), upper, { relative: 2e-14 });
  near(chiSquareLowerTail(value, df), lower, { relative: 2e-14 });
});

test('χ² with one degree of freedom is the square of a normal value', () => {
  for (const z of [0.2, 1, 2.5, 6, 12]) near(chiSquareUpperTail(z * z, 1), normalTwoSided(z), { relative: 1e-13 });
});

test.each([
  [0.01, 1, 0.9936340144701835],
  [2, 3, 0.1393259685588432],
  [2.228, 10, 0.05001177181711137],
  [8.5, 40, 1.681848958441449e-10],
  [40, 5, 1.8411962171772954e-7],
  [1.5, 1000, 0.13393003882208618],
  [12, 200, 2.4221360052466313e-25],
] as const)("Student's t = %d with %d degrees of freedom", (t, df, expected) => {
  near(studentTwoSided(t, df), expected, { relative: 5e-12 });
  expect(studentTwoSided(-t, df)).toBe(studentTwoSided(t, df));
  expect(studentUpperTail(-t, df)).toBe(1 - studentUpperTail(t, df));
});

test.each([
  [1, 1, 1, 0.5],
  [4.26, 2, 9, 0.049910030381548974],
  [0.2, 3, 8, 0.8935098957784527],
  [30, 4, 60, 1.0199565074199609e-13],
  [2.5, 100, 120, 9.485505988168104e-7],
  [1.01, 5, 2000, 0.4101209567373633],
  [1e-5, 2, 10, 0.9999900000599997],
] as const)('F = %d with %d and %d degrees of freedom', (value, df1, df2, expected) =>
  near(fUpperTail(value, df1, df2), expected, { relative: 5e-12 }),
);

test.each([
  [0.5, 0.5, 0.1, 0.20483276469913345],
  [2, 3, 0.4, 0.5248],
  [10, 2, 0.9, 0.6973568802000001],
  [50, 60, 0.3, 0.00034341151876628867],
  [0.2, 7, 0.01, 0.626267965937642],
] as const)('incomplete beta of %d, %d at %d', (a, b, x, expected) => {
  near(incompleteBeta({ a, b, x }), expected, { relative: 1e-13 });
  near(incompleteBeta({ a: b, b: a, x: 1 - x }), 1 - expected, { relative: 1e-13 });
});

test('tails at their ends', () => {
  expect(chiSquareUpperTail(0, 3)).toBe(1);
  expect(chiSquareLowerTail(0, 3)).toBe(0);
  expect(studentTwoSided(0, 4)).toBe(1);
  expect(studentTwoSided(Infinity, 4)).toBe(0);
  expect(fUpperTail(0, 2, 3)).toBe(1);
  expect(fUpperTail(Infinity, 2, 3)).toBe(0);
});
