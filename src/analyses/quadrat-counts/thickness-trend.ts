import { studentTwoSided } from '../../math/distributions.js';
import { exponential, naturalLog } from '../../math/elementary.js';
import { poissonRegression } from '../../math/poisson-regression.js';
import { pearsonSum } from '../../math/quadrats.js';

/** Squares whose deposit was measured, all [n]. */
export interface MeasuredSquares {
  readonly counts: Float64Array;
  /** ground dug, m², above 0 */
  readonly exposure: Float64Array;
  /** mean thickness of the deposit, metres, above 0 */
  readonly thickness: Float64Array;
}

/** How the rate per m² may go with thickness: by a factor for each metre, or as a power of thickness. */
export type ThicknessTerm = 'thickness' | 'log_thickness';

/** Counts explained by thickness and ground, and what is left. */
export interface ThicknessTrend {
  /** of log rate, for each metre of thickness, or for each unit of its natural log (1 = finds go with the volume) */
  readonly coefficient: number;
  /** 95 % interval, widened where counts vary more than chance has it */
  readonly low: number;
  readonly high: number;
  readonly pTwoSided: number;
  /** Pearson's χ² over its degrees of freedom: by ground alone on the same squares, and after thickness */
  readonly dispersionBefore: number;
  readonly dispersionAfter: number;
  /** [n] counts expected of ground and thickness */
  readonly expected: Float64Array;
  /** [n] (count − expected) / √(expected × dispersion): beyond ±2 is seldom chance */
  readonly residual: Float64Array;
}

/** with fewer squares a slope rests on single ones */
export const fewestMeasured = 8;

/**
 * Are rich squares rich only because the deposit is thick there? Counts are regressed on thickness with the ground dug
 * as exposure; what is left is held to how much counts vary at all.
 *
 * Thickness may itself follow from what lies there (a heap of ballast holds sediment): what goes with thickness is not
 * thereby explained by it. Neighbouring squares are alike, which makes the interval too narrow.
 *
 * @returns null when the squares are too few or too alike, or nothing was counted
 * @see Wedderburn 1974, doi:10.1093/biomet/61.3.439 (quasi-likelihood)
 */
export function thicknessTrend(squares: MeasuredSquares, term: ThicknessTerm): ThicknessTrend | null {
  const { counts, exposure, thickness } = squares;
  const n = counts.length;
  if (n < fewestMeasured) return null;
  const value = thickness.map((t) => (term === 'thickness' ? t : naturalLog(t)));
  const middle = value.reduce((sum, v) => sum + v / n, 0);
  // thickness alike in all squares but for rounding tells nothing
  if (!value.some((v) => Math.abs(v - middle) > 1e-6)) return null;
  const design = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) design.set([1, value[i] - middle], 2 * i);
  const fit = poissonRegression({ design, terms: 2, counts, exposure });
  const before = pearsonSum(counts, exposure);
  if (fit === null || fit.dispersion === null || before === null) return null;
  const [, coefficient] = fit.coefficients;
  // counts more even than chance has it are taken as chance, not as certainty
  const scale = Math.max(1, fit.dispersion);
  const error = Math.sqrt(fit.covariance[3] * scale);
  const reach = studentReach(n - 2) * error;
  return {
    coefficient,
    low: coefficient - reach,
    high: coefficient + reach,
    pTwoSided: studentTwoSided(coefficient / error, n - 2),
    dispersionBefore: before.chi2 / before.df,
    dispersionAfter: fit.dispersion,
    expected: fit.means,
    residual: counts.map((count, i) => (count - fit.means[i]) / Math.sqrt(fit.means[i] * scale)),
  };
}

/** How many standard errors a 95 % interval reaches to either side. */
function studentReach(df: number): number {
  let low = 0;
  let high = 100;
  for (let round = 0; round < 60; round++) {
    const middle = (low + high) / 2;
    if (studentTwoSided(middle, df) > 0.05) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** By what the rate is multiplied over one step of thickness: a tenth of a metre, or a doubling. */
export function timesPerStep(coefficient: number, term: ThicknessTerm): number {
  return exponential(coefficient * (term === 'thickness' ? 0.1 : Math.LN2));
}
