import { exponential, naturalLog } from './elementary.js';
import { cofactors, factorNormals, solveNormals } from './normal-matrix.js';

/** Counts with what they are explained by. */
export interface CountTable {
  /** [n × terms] row by row; the first term is 1 for an intercept */
  readonly design: Float64Array;
  readonly terms: number;
  /** [n] 0 or more */
  readonly counts: Float64Array;
  /** [n] ground searched, m², above 0 */
  readonly exposure: Float64Array;
}

/** A trend of counts: log rate is a sum of terms. */
export interface PoissonFit {
  /** [terms] */
  readonly coefficients: Float64Array;
  /** [terms × terms] of the coefficients under Poisson counts; times the dispersion where counts vary more */
  readonly covariance: Float64Array;
  /** [n] counts expected */
  readonly means: Float64Array;
  /** Pearson's Σ (y − μ)² / μ over n − terms: 1 where counts vary as chance has it; null without degrees of freedom */
  readonly dispersion: number | null;
  readonly deviance: number;
}

const mostRounds = 60;
/** a count beyond e to this power is a fit that runs away; far below a heap a log rate may fall very low */
const highestLink = 50;
const lowestLink = -600;
/** halvings of a step that overshoots */
const mostHalvings = 30;

/**
 * Fits counts by a log-linear trend with exposure. Counts that heap vary more than the Poisson law has it: multiply
 * the covariance by the dispersion (quasi-Poisson).
 *
 * A log-linear trend rises or falls without end beyond the ground it was fitted on.
 *
 * @returns  null when the terms cannot be told apart on these squares, when nothing was counted, or when a rate runs
 *           off to zero or without bound
 * @see Wedderburn 1974, doi:10.1093/biomet/61.3.439; McCullagh & Nelder 1989, Generalized Linear Models, chapter 6
 */
export function poissonRegression(table: CountTable): PoissonFit | null {
  const { terms: p, counts, exposure } = table;
  const n = counts.length;
  if (n < p || !counts.some((c) => c > 0)) return null;
  const offset = exposure.map((e) => naturalLog(e));
  const means = counts.map((c) => c + 0.1);
  const link = means.map((m) => naturalLog(m));
  const coefficients = new Float64Array(p);
  let deviance = Infinity;
  for (let round = 0; round < mostRounds; round++) {
    const { normal, right } = workingEquations(table, { means, link, offset });
    const factored = factorNormals(normal, p);
    if ('failedRow' in factored) return null;
    const step = solveNormals(factored.factor, right).map((v, t) => v - coefficients[t]);
    const before = deviance;
    for (let halving = 0; ; halving++) {
      if (halving > mostHalvings) return null;
      const tried = coefficients.map((v, t) => v + step[t] / 2 ** halving);
      const isTold = toldMeans(table, tried, { offset, link, means });
      deviance = isTold ? devianceOf(counts, means) : Infinity;
      // the first step comes from counts, not from coefficients: there is nothing to overshoot
      if (isTold && (deviance <= before * (1 + 1e-9) + 1e-9 || round === 0)) {
        coefficients.set(tried);
        break;
      }
    }
    if (Math.abs(before - deviance) <= 1e-13 * (Math.abs(deviance) + 0.1)) {
      // the matrix at the summit, not that of the last step towards it
      const last = factorNormals(workingEquations(table, { means, link, offset }).normal, p);
      if ('failedRow' in last) return null;
      const pearson = counts.reduce((sum, y, i) => sum + (y - means[i]) ** 2 / means[i], 0);
      return {
        coefficients,
        covariance: cofactors(last.factor),
        means,
        dispersion: n > p ? pearson / (n - p) : null,
        deviance,
      };
    }
  }
  return null;
}

/** Log counts and counts at some coefficients; false when one leaves all bounds. */
function toldMeans(
  { design, terms: p, counts }: CountTable,
  coefficients: Float64Array,
  into: { readonly offset: Float64Array; readonly link: Float64Array; readonly means: Float64Array },
): boolean {
  for (let i = 0; i < counts.length; i++) {
    let sum = into.offset[i];
    for (let t = 0; t < p; t++) sum += design[i * p + t] * coefficients[t];
    if (!(sum > lowestLink && sum < highestLink)) return false;
    into.link[i] = sum;
    into.means[i] = exponential(sum);
  }
  return true;
}

/** Weighted normal equations of one round of scoring. */
function workingEquations(
  { design, terms: p, counts }: CountTable,
  now: { readonly means: Float64Array; readonly link: Float64Array; readonly offset: Float64Array },
): { normal: Float64Array; right: Float64Array } {
  const { means, link, offset } = now;
  const normal = new Float64Array(p * p);
  const right = new Float64Array(p);
  for (let i = 0; i < counts.length; i++) {
    const weight = means[i];
    const wanted = link[i] - offset[i] + (counts[i] - means[i]) / means[i];
    for (let a = 0; a < p; a++) {
      const wa = weight * design[i * p + a];
      right[a] += wa * wanted;
      for (let b = 0; b <= a; b++) normal[a * p + b] += wa * design[i * p + b];
    }
  }
  return { normal, right };
}

function devianceOf(counts: Float64Array, means: Float64Array): number {
  return counts.reduce((sum, y, i) => sum + 2 * ((y > 0 ? y * naturalLog(y / means[i]) : 0) - (y - means[i])), 0);
}

/**
 * Log rate per m² at a place and the variance of that estimate under Poisson counts.
 * @param terms  [terms] of the place
 */
export function linkAt(
  fit: PoissonFit,
  terms: ArrayLike<number>,
): { readonly link: number; readonly variance: number } {
  const p = fit.coefficients.length;
  let link = 0;
  let variance = 0;
  for (let a = 0; a < p; a++) {
    link += fit.coefficients[a] * terms[a];
    for (let b = 0; b < p; b++) variance += terms[a] * terms[b] * fit.covariance[a * p + b];
  }
  return { link, variance };
}
