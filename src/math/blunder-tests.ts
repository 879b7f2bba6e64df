import { normalTwoSided, studentTwoSided } from './distributions.js';

/** Shift of a normalised residual that a test at 0.1 % finds with 80 % probability. @see Baarda 1968 */
export const detectableShift = 4.13;

/** Residual over its own standard deviation, the readings' standard deviations trusted; null when nothing checks it. */
export function normalisedResidual(residual: number, sigma: number, redundancyNumber: number): number | null {
  return redundancyNumber > 0 ? residual / (sigma * Math.sqrt(redundancyNumber)) : null;
}

/** Smallest gross error of a reading that the test would find, metres; null when none would ever show. */
export function minimalDetectableBias(sigma: number, redundancyNumber: number): number | null {
  return redundancyNumber > 0 ? (detectableShift * sigma) / Math.sqrt(redundancyNumber) : null;
}

/** Value that a falling function takes at some place above 0, by halving. */
function placeWhere(falling: (x: number) => number, wanted: number): number {
  let high = 1;
  while (falling(high) > wanted && high < 1e9) high *= 2;
  let low = 0;
  for (let i = 0; i < 200 && high - low > 1e-15 * high; i++) {
    const middle = (low + high) / 2;
    if (falling(middle) > wanted) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Normalised residuals larger than this are suspect when standard deviations are trusted; 3.29 at 0.001.
 * @param alpha  share of good readings that would be called suspect
 * @see Baarda 1968, A testing procedure for use in geodetic networks, Netherlands Geodetic Commission 2(5)
 */
export function baardaCritical(alpha: number): number {
  return placeWhere(normalTwoSided, alpha);
}

/**
 * Residuals normalised with the estimated variance factor that are larger than this are suspect (tau).
 * @param alpha       share of good readings that would be called suspect
 * @param redundancy  of the adjustment; at least 2, since with one redundancy every tau is 1
 * @returns           null when the redundancy is too small
 * @see Pope 1976, The statistics of residuals and the detection of outliers, NOAA TR NOS 65 NGS 1
 */
export function tauCritical(alpha: number, redundancy: number): number | null {
  if (redundancy < 2) return null;
  const t = placeWhere((x) => studentTwoSided(x, redundancy - 1), alpha);
  return (t * Math.sqrt(redundancy)) / Math.sqrt(redundancy - 1 + t * t);
}
