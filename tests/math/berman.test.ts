import { describe, expect, test } from 'vitest';
import { berman } from '../../src/math/berman.js';
import type { DistanceLaw } from '../../src/math/distance-law.js';
import { lineStrips } from '../../src/math/line-strips.js';
import { orientRings } from '../../src/math/rings.js';
import { lineCovariates } from '../support/covariates.js';
import { near } from '../support/near.js';

describe.each(lineCovariates)('$name, by numpy and scipy', ({ window, line, expected }) => {
  test('Z1 (Poisson and conditional), Z2 and their p', () => {
    const found = berman(Float64Array.from(expected.Z), lineStrips(window, line));
    near(found.z1, expected.berman_Z1_poisson, { relative: 1e-9 });
    near(found.p1, expected.p_Z1, { relative: 1e-9 });
    near(found.z1Conditional, expected.berman_Z1_conditional_on_n, { relative: 1e-9 });
    near(found.p1Conditional, expected.p_Z1_conditional, { relative: 1e-9 });
    near(found.z2, expected.berman_Z2, { relative: 1e-9 });
    near(found.p2, expected.p_Z2, { relative: 1e-9 });
  });
});

const strip = lineStrips(orientRings([[Float64Array.of(0, 0, 1, 0, 1, 1, 0, 1)]]), [1, 0, 0]);

test('finds against the line give a negative Z, finds away from it a positive one', () => {
  const close = berman(Float64Array.of(0.01, 0.02, 0.05), strip);
  const far = berman(Float64Array.of(0.99, 0.98, 0.95), strip);
  expect(close.z1).toBeLessThan(0);
  expect(close.z2).toBeLessThan(0);
  near(far.z2, -(close.z2 ?? 0), { relative: 1e-12 });
});

test('no finds: nothing to tell', () => {
  expect(Object.values(berman(new Float64Array(0), strip))).toEqual([null, null, null, null, null, null]);
});

test('all ground equally far: nothing to tell', () => {
  const flat: DistanceLaw = {
    shares: (values) => values.map(() => 1),
    atZero: 1,
    least: 0,
    greatest: 0,
    mean: 0,
    secondMoment: 0,
    bound: 0,
  };
  const found = berman(Float64Array.of(0, 0), flat);
  expect([found.z1, found.z1Conditional, found.z2]).toEqual([null, null, null]);
});
