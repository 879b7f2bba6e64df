import { expect, test } from 'vitest';
import { depthBelowDatum, reduceDepth, type TideSeries, tideCorrection } from '../../src/math/tide-reduction.js';
import { near } from '../support/near.js';

const hour = 3_600_000;
const series: TideSeries = {
  name: '3',
  startMs: Date.UTC(2021, 5, 19, 8),
  endMs: Date.UTC(2021, 5, 19, 12),
  startDepthM: 10.2,
  endDepthM: 10.6,
  referenceDepthM: 10,
};

test('the handbook example: mark at 10.00, read 10.20 and 10.60, three quarters through the correction is 0.50 m', () => {
  // guidelines for underwater survey, the page on tidal correction of depth readings
  near(tideCorrection(series, series.startMs + 3 * hour), 0.5, { absolute: 1e-12 });
  near(reduceDepth(12.34, series, series.startMs + 3 * hour), 11.84, { absolute: 1e-12 });
});

test('the mark itself comes out at its adopted depth at both ends', () => {
  near(reduceDepth(10.2, series, series.startMs), 10, { absolute: 1e-12 });
  near(reduceDepth(10.6, series, series.endMs), 10, { absolute: 1e-12 });
});

test('raising all depths of the mark by one amount changes nothing', () => {
  const at = series.startMs + hour;
  const deeper = { ...series, startDepthM: 13.2, endDepthM: 13.6, referenceDepthM: 13 };
  near(tideCorrection(deeper, at), tideCorrection(series, at), { absolute: 1e-12 });
});

test('outside the series, without time or without depths it is refused', () => {
  expect(() => tideCorrection(series, series.endMs + 1)).toThrow(/outside reading series 3/);
  expect(() => tideCorrection(series, Number.NaN)).toThrow(/without a time/);
  expect(() => tideCorrection({ ...series, endMs: series.startMs }, series.startMs)).toThrow(/not after its start/);
  expect(() => tideCorrection({ ...series, endDepthM: Number.NaN }, series.startMs)).toThrow(/cannot reduce the tide/);
});

test('depth below a hydrographic datum carries the error of the tie', () => {
  // site zero 14.20 m below mean sea level, known to 0.15 m
  const found = depthBelowDatum(-0.55, 0.02, { offsetM: -14.2, offsetSigmaM: 0.15 });
  near(found.depthM, 14.75, { absolute: 1e-12 });
  near(found.sigmaM, Math.sqrt(0.15 ** 2 + 0.02 ** 2), { absolute: 1e-12 });
  expect(Object.is(depthBelowDatum(0, 0, { offsetM: 0, offsetSigmaM: 0 }).depthM, 0)).toBe(true);
});
