import { incompleteBeta } from './distributions.js';

/** Finds on two stretches of dug ground. Areas in m², both above 0. */
export interface TwoGrounds {
  readonly n1: number;
  readonly area1: number;
  readonly n2: number;
  readonly area2: number;
}

/** Finds per m² on the first ground over those on the second, with a 95 % interval; null where it has no end. */
export interface RateRatio {
  readonly ratio: number | null;
  readonly low: number;
  readonly high: number | null;
  /** two-sided exact probability of a split at least as uneven when both grounds are equally rich */
  readonly p: number;
}

/**
 * How much richer in finds one ground is than another, each held to its own dug area.
 *
 * The interval takes every find as fallen for itself: heaps of finds (a broken jar, a concretion) make it too narrow.
 *
 * @returns null when there are no finds or one ground has no area
 * @see Clopper & Pearson 1934, doi:10.1093/biomet/26.4.404 (given the total, the split is binomial)
 */
export function rateRatio(grounds: TwoGrounds): RateRatio | null {
  const { n1, area1, n2, area2 } = grounds;
  const n = n1 + n2;
  if (n === 0 || !(area1 > 0) || !(area2 > 0)) return null;
  const ratioOf = (share: number) => (share / (1 - share)) * (area2 / area1);
  const fair = area1 / (area1 + area2);
  // at least n1 and at most n1 of n finds on the first ground when each falls there with probability `share`
  const atLeast = (share: number) => (n1 === 0 ? 1 : incompleteBeta({ a: n1, b: n2 + 1, x: share }));
  const atMost = (share: number) => (n2 === 0 ? 1 : incompleteBeta({ a: n2, b: n1 + 1, x: 1 - share }));
  return {
    ratio: n2 === 0 ? null : n1 / area1 / (n2 / area2),
    low: n1 === 0 ? 0 : ratioOf(solve((share) => atLeast(share) - 0.025)),
    high: n2 === 0 ? null : ratioOf(solve((share) => 0.025 - atMost(share))),
    p: Math.min(1, 2 * Math.min(atLeast(fair), atMost(fair))),
  };
}

/** Where a rising function of a share crosses 0. */
function solve(rising: (share: number) => number): number {
  let low = 0;
  let high = 1;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (rising(middle) < 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
