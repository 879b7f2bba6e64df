import { describe, expect, test } from 'vitest';
import { kolmogorovExact, kolmogorovGap, kolmogorovLimit } from '../../src/math/kolmogorov.js';
import { lineStrips } from '../../src/math/line-strips.js';
import { randomStream } from '../../src/math/random.js';
import { orientRings } from '../../src/math/rings.js';
import { lineCovariates } from '../support/covariates.js';
import { near } from '../support/near.js';

const unitStrip = lineStrips(orientRings([[Float64Array.of(0, 0, 1, 0, 1, 1, 0, 1)]]), [1, 0, 0]);

describe.each(lineCovariates)('$name, by scipy kstwo and kstwobign', ({ window, line, expected }) => {
  test('gap, exact and limiting probability', () => {
    const distances = Float64Array.from(expected.Z);
    const gap = kolmogorovGap(distances, lineStrips(window, line));
    near(gap, expected.ks_D, { relative: 1e-9 });
    near(kolmogorovExact(distances.length, expected.ks_D), expected.ks_p_exact, { relative: 1e-9 });
    near(kolmogorovLimit(Math.sqrt(distances.length) * expected.ks_D), expected.ks_p_asymptotic, { relative: 1e-9 });
  });
});

test('one find: P(D ≥ d) is 2 (1 − d) from d = ½ on', () => {
  for (const d of [0.5, 0.6, 0.75, 0.99]) near(kolmogorovExact(1, d), 2 * (1 - d), { relative: 1e-12 });
  expect(kolmogorovExact(1, 0.4)).toBe(1);
  expect(kolmogorovExact(1, 1)).toBe(0);
});

test('two finds: P(D < d) is 2 (2d − ½)² up to ½, and 1 − 2 (1 − d)² beyond', () => {
  for (const d of [0.3, 0.4, 0.5]) near(kolmogorovExact(2, d), 1 - 2 * (2 * d - 0.5) ** 2, { relative: 1e-12 });
  for (const d of [0.6, 0.8]) near(kolmogorovExact(2, d), 2 * (1 - d) ** 2, { relative: 1e-12 });
});

test('the value Marsaglia, Tsang & Wang print: P(D < 0.274) for ten finds', () => {
  near(1 - kolmogorovExact(10, 0.274), 0.6284796154565, { absolute: 1e-12 });
});

test('the ways of reckoning meet where one takes over from the other', () => {
  for (const n of [20, 300, 5000]) {
    const d = Math.sqrt(5 / n);
    near(kolmogorovExact(n, d * (1 - 1e-9)), kolmogorovExact(n, d * (1 + 1e-9)), { relative: 1e-6 });
  }
  const d = 1.1 / Math.sqrt(20_000);
  near(kolmogorovExact(20_000, d), kolmogorovExact(20_001, (d * Math.sqrt(20_000)) / Math.sqrt(20_001)), {
    relative: 1e-5,
  });
});

test('falls as the gap widens, between 1 and 0', () => {
  let before = 1;
  for (let k = 1; k <= 60; k++) {
    const p = kolmogorovExact(37, k / 60);
    expect(p).toBeLessThanOrEqual(before);
    expect(p).toBeGreaterThanOrEqual(0);
    before = p;
  }
});

test('slow twin: the share of 20,000 seeded scatters of 8 with such a gap', () => {
  const random = randomStream(11, 0);
  const d = 0.36;
  let wide = 0;
  const runs = 20_000;
  for (let run = 0; run < runs; run++) {
    const values = Float64Array.from({ length: 8 }, () => random.next()).sort();
    const gap = Math.max(...values.map((v, i) => Math.max((i + 1) / 8 - v, v - i / 8)));
    if (gap >= d) wide++;
  }
  const p = kolmogorovExact(8, d);
  expect(Math.abs(wide / runs - p)).toBeLessThan(4 * Math.sqrt((p * (1 - p)) / runs));
});

test('ties: the gap is taken at the end of a run of equal distances, and before it', () => {
  near(kolmogorovGap(Float64Array.of(0.5, 0.5, 0.5, 0.5), unitStrip), 0.5, { relative: 1e-14 });
  near(kolmogorovGap(Float64Array.of(0.1, 0.1, 0.9), unitStrip), 2 / 3 - 0.1, { relative: 1e-12 });
});
