import type { DistanceLaw } from './distance-law.js';
import { logGamma } from './distributions.js';
import { exponential, naturalLog } from './elementary.js';

/**
 * Largest gap between the shares of finds and the shares of the window's ground within each distance.
 *
 * @param distances  [n] metres, n ≥ 1; left untouched
 * @param law        how far the window's ground lies
 * @see Kolmogorov 1933; Smirnov 1939
 */
export function kolmogorovGap(distances: Float64Array, law: DistanceLaw): number {
  const sorted = distances.slice().sort();
  const shares = law.shares(sorted);
  const n = sorted.length;
  let gap = 0;
  for (let i = 0, next = 0; i < n; i = next) {
    next = i + 1;
    while (next < n && sorted[next] === sorted[i]) next++;
    // the ground at distance 0 (inside hull areas) comes all at once, as the finds there do
    const before = sorted[i] === 0 ? shares[i] - law.atZero : shares[i];
    gap = Math.max(gap, Math.abs(next / n - shares[i]), Math.abs(i / n - before));
  }
  return gap;
}

/**
 * Probability of a gap as large as d or larger when finds follow the law, for exactly n finds.
 *
 * Where n d² is at most 5 it comes from Durbin's walk between two slanted walls, as Marsaglia, Tsang & Wang set it out;
 * where the probability is below 1e-4, as twice the one-sided one (Birnbaum & Tingey), the two agreeing there to
 * 1e-13. Above 20,000 finds the limit law with Vrbik's correction is used, good to 1e-5 of the probability.
 * Distances that tie, or ground at distance 0, make the true probability smaller than this.
 *
 * @param n  finds, 1 or more
 * @param d  gap, 0 to 1
 * @see Marsaglia, Tsang & Wang 2003, doi:10.18637/jss.v008.i18; Simard & L'Ecuyer 2011, doi:10.18637/jss.v039.i11
 */
export function kolmogorovExact(n: number, d: number): number {
  if (d <= 0.5 / n) return 1;
  if (d >= 1) return 0;
  if (n * d * d > 5) return Math.min(1, 2 * oneSidedTail(n, d));
  if (n > 20_000) {
    const root = Math.sqrt(n);
    return kolmogorovLimit(d * root + 1 / (6 * root) + (d * root - 1) / (4 * n));
  }
  return Math.min(1, Math.max(0, 1 - walkBetweenWalls(n, d)));
}

/** Kolmogorov's limit law: probability that √n·D is at least x. @see Kolmogorov 1933 */
export function kolmogorovLimit(x: number): number {
  if (x <= 0) return 1;
  let sum = 0;
  if (x < 1) {
    // the theta series turned over: the plain one needs ever more terms near 0
    const step = (Math.PI * Math.PI) / (8 * x * x);
    for (let k = 1; k < 60; k += 2) sum += exponential(-k * k * step);
    return 1 - (Math.sqrt(2 * Math.PI) / x) * sum;
  }
  for (let k = 1; k < 20; k++) sum += (k % 2 === 1 ? 2 : -2) * exponential(-2 * k * k * x * x);
  return sum;
}

/** P(D⁺ ≥ d), a sum of positive terms. @see Birnbaum & Tingey 1951, doi:10.1214/aoms/1177729550 */
function oneSidedTail(n: number, d: number): number {
  const last = Math.floor(n * (1 - d));
  const logFactorial = logGamma(n + 1);
  let sum = 0;
  for (let j = 0; j <= last; j++) {
    const left = 1 - d - j / n;
    if (left <= 0) continue;
    const choose = logFactorial - logGamma(j + 1) - logGamma(n - j + 1);
    sum += exponential(choose + (j - 1) * naturalLog(d + j / n) + (n - j) * naturalLog(left));
  }
  return d * sum;
}

/** P(D < d): n steps of the matrix of Marsaglia, Tsang & Wang, on one row only; entries beyond 1/30! do not count. */
function walkBetweenWalls(n: number, d: number): number {
  const k = Math.floor(n * d) + 1;
  const h = k - n * d;
  const m = 2 * k - 1;
  const reach = Math.min(m, 30);
  const inverse = new Float64Array(m + 2);
  inverse[0] = 1;
  for (let j = 1; j < inverse.length; j++) inverse[j] = inverse[j - 1] / j;
  // first column and last row: steps that start or end at a wall
  const wall = new Float64Array(m);
  let power = 1;
  for (let i = 0; i < m; i++) {
    power *= h;
    wall[i] = (1 - power) * inverse[i + 1];
  }
  const corner = (1 - 2 * h ** m + (2 * h > 1 ? (2 * h - 1) ** m : 0)) * inverse[m];
  let row: Float64Array = new Float64Array(m);
  row[k - 1] = 1;
  let next: Float64Array = new Float64Array(m);
  let share = 1;
  let shift = 0;
  for (let step = 1; step <= n; step++) {
    for (let j = 0; j < m; j++) {
      // column j: entries i ≥ j − 1 hold 1/(i − j + 1)!
      let sum = 0;
      if (j === 0) {
        for (let i = 0; i < Math.min(m - 1, reach); i++) sum += row[i] * wall[i];
        sum += row[m - 1] * corner;
      } else {
        const end = Math.min(m - 1, j + reach);
        for (let i = j - 1; i < end; i++) sum += row[i] * inverse[i - j + 1];
        sum += row[m - 1] * wall[m - 1 - j];
      }
      next[j] = sum;
    }
    [row, next] = [next, row];
    // numbers grow as eⁿ and the factor n!/nⁿ falls as fast: both are kept near 1 by whole powers of two
    share *= step / n;
    if (share < 1e-100) {
      share *= 2 ** 300;
      shift -= 300;
    }
    if (row[k - 1] > 1e100) {
      for (let j = 0; j < m; j++) row[j] *= 2 ** -300;
      shift += 300;
    }
  }
  return row[k - 1] * share * 2 ** shift;
}
