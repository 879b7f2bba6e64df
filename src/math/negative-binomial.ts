import { logGamma } from './distributions.js';
import { exponential, naturalLog } from './elementary.js';

/** How uneven counts are beyond chance: small k is uneven, large k near Poisson. */
export interface NegativeBinomialFit {
  /** most likely k; null = no upper end: the counts vary no more than chance would have them */
  readonly k: number | null;
  /** 95 % interval by the likelihood; null = has no end */
  readonly low: number | null;
  readonly high: number | null;
  /** twice the gain in log likelihood over Poisson counts, 0 or more */
  readonly likelihoodRatio: number;
}

/** 95 % point of χ² with one degree of freedom */
const chiSquare95 = 3.841458820694124;
/** range in which k is looked for, as logarithms */
const [lowestLogK, highestLogK] = [-9, 16];

/**
 * Fits counts by tile with a negative binomial law whose mean is in proportion to the ground dug: variance μ + μ² / k.
 *
 * The k of finds in one-metre squares says nothing of other squares: it changes with the size of the tile.
 *
 * @param counts    [m] whole numbers
 * @param exposure  [m] m², above 0
 * @returns         null with fewer than two tiles or nothing counted
 * @see Bliss & Fisher 1953, doi:10.2307/3001850
 */
export function negativeBinomialFit(
  counts: ArrayLike<number>,
  exposure: ArrayLike<number>,
): NegativeBinomialFit | null {
  const groups = grouped(counts, exposure);
  const total = groups.reduce((sum, g) => sum + g.times * g.count, 0);
  if (counts.length < 2 || !(total > 0)) return null;
  const likelihood = (logK: number) => profileLikelihood(groups, exponential(logK));
  const poisson = poissonLikelihood(groups);
  const best = highest(likelihood, lowestLogK, highestLogK);
  const gain = likelihood(best) - poisson;
  const level = Math.max(likelihood(best), poisson) - chiSquare95 / 2;
  const hasSummit = gain > 1e-9 && best < highestLogK - 0.01;
  const top = hasSummit ? best : highestLogK;
  return {
    k: hasSummit ? exponential(best) : null,
    low: likelihood(lowestLogK) > level ? null : exponential(crossing((x) => likelihood(x) - level, lowestLogK, top)),
    // a Poisson law within reach: no k is too large
    high: !hasSummit || poisson > level ? null : exponential(crossing((x) => level - likelihood(x), best, highestLogK)),
    likelihoodRatio: Math.max(0, 2 * gain),
  };
}

interface Group {
  readonly count: number;
  readonly exposure: number;
  readonly times: number;
}

/** Tiles of equal count and ground together: most squares of a dig are empty and whole. */
function grouped(counts: ArrayLike<number>, exposure: ArrayLike<number>): Group[] {
  const found = new Map<string, { count: number; exposure: number; times: number }>();
  for (let i = 0; i < counts.length; i++) {
    const key = `${counts[i]} ${exposure[i]}`;
    const group = found.get(key);
    if (group) group.times++;
    else found.set(key, { count: counts[i], exposure: exposure[i], times: 1 });
  }
  return [...found.values()];
}

function poissonLikelihood(groups: readonly Group[]): number {
  const total = groups.reduce((sum, g) => sum + g.times * g.count, 0);
  const ground = groups.reduce((sum, g) => sum + g.times * g.exposure, 0);
  return groups.reduce((sum, { count, exposure, times }) => {
    const mean = (exposure * total) / ground;
    return sum + times * (count * naturalLog(mean) - mean);
  }, 0);
}

/** Log likelihood at k, less Σ log count!, with the rate that suits this k best. */
function profileLikelihood(groups: readonly Group[], k: number): number {
  const rate = bestRate(groups, k);
  return groups.reduce((sum, { count, exposure, times }) => {
    const mean = rate * exposure;
    return sum + times * (risingPower(k, count) + count * naturalLog(mean) - (k + count) * logOnePlus(mean / k));
  }, 0);
}

/** log of k (k + 1) … (k + count − 1) / k^count */
function risingPower(k: number, count: number): number {
  if (count > 60 && k < 1e4) return logGamma(k + count) - logGamma(k) - count * naturalLog(k);
  let sum = 0;
  for (let j = 1; j < count; j++) sum += logOnePlus(j / k);
  return sum;
}

/** log (1 + x) without the loss of digits at small x. */
function logOnePlus(x: number): number {
  const sum = 1 + x;
  return sum === 1 ? x : (naturalLog(sum) * x) / (sum - 1);
}

/** The rate at which counts and means balance: Σ (count − mean) / (1 + mean / k) = 0. */
function bestRate(groups: readonly Group[], k: number): number {
  const balance = (rate: number) =>
    groups.reduce((sum, { count, exposure, times }) => {
      const mean = rate * exposure;
      return sum + (times * (mean - count)) / (1 + mean / k);
    }, 0);
  const rates = groups.map(({ count, exposure }) => count / exposure);
  const low = Math.min(...rates);
  const high = Math.max(...rates);
  return low === high ? low : crossing(balance, low, high);
}

/** Where a rising function crosses 0. */
function crossing(rising: (x: number) => number, from: number, upTo: number): number {
  let low = from;
  let high = upTo;
  for (let i = 0; i < 100 && high - low > 4e-16 * Math.abs(high); i++) {
    const middle = (low + high) / 2;
    if (rising(middle) < 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Highest point of a function with one summit: a coarse look, then golden sections. @see Kiefer 1953, doi:10.2307/2032161 */
function highest(of: (x: number) => number, from: number, upTo: number): number {
  const step = (upTo - from) / 50;
  let best = from;
  let value = of(from);
  for (let i = 1; i <= 50; i++) {
    const here = of(from + i * step);
    if (here > value) {
      best = from + i * step;
      value = here;
    }
  }
  const golden = (Math.sqrt(5) - 1) / 2;
  let low = Math.max(from, best - step);
  let high = Math.min(upTo, best + step);
  for (let i = 0; i < 45; i++) {
    const left = high - golden * (high - low);
    const right = low + golden * (high - low);
    if (of(left) >= of(right)) high = right;
    else low = left;
  }
  return (low + high) / 2;
}
