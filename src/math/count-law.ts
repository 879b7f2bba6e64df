import { chiSquareUpperTail, incompleteBeta } from './distributions.js';
import { exponential, naturalLog } from './elementary.js';

/** A law of counts by its mean and variance: negative binomial where they vary more than chance has it, else Poisson. */
export interface CountLaw {
  /** above 0 */
  readonly mean: number;
  readonly variance: number;
}

/** below this share of excess variance the two laws agree to rounding */
const leastExcess = 1e-9;

/** k of the negative binomial law; null = Poisson. */
function sizeOf({ mean, variance }: CountLaw): number | null {
  return variance > mean * (1 + leastExcess) ? (mean * mean) / (variance - mean) : null;
}

/** Probability of a count of `count` or less. */
export function countLowerTail(law: CountLaw, count: number): number {
  if (count < 0) return 0;
  const k = sizeOf(law);
  const whole = Math.floor(count);
  if (k === null) return chiSquareUpperTail(2 * law.mean, 2 * whole + 2);
  return incompleteBeta({
    a: k,
    b: whole + 1,
    x: k / (k + law.mean),
    complement: law.mean / (k + law.mean),
  });
}

/** Probability of counting nothing. */
export function chanceOfNone(law: CountLaw): number {
  const k = sizeOf(law);
  return exponential(k === null ? -law.mean : k * naturalLog(k / (k + law.mean)));
}

/**
 * Smallest count that is reached with probability `share`.
 * @see Johnson, Kemp & Kotz 2005, Univariate Discrete Distributions, chapter 5
 */
export function countQuantile(law: CountLaw, share: number): number {
  if (countLowerTail(law, 0) >= share) return 0;
  let low = 0;
  let high = Math.max(1, Math.ceil(law.mean));
  while (countLowerTail(law, high) < share) {
    low = high;
    high *= 2;
  }
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (countLowerTail(law, middle) < share) low = middle;
    else high = middle;
  }
  return high;
}
