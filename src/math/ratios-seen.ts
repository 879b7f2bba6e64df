import { incompleteBeta } from './distributions.js';

/** How many finds in all lie on two grounds, areas above 0. */
export interface SplitGround {
  /** whole number, 0 or more; where finds heap, the number divided by their dispersion */
  readonly n: number;
  readonly area1: number;
  readonly area2: number;
}

/** Rates on the first ground over rates on the second that are seen; null = not even one without end would be. */
export interface RatiosSeen {
  /** smallest ratio above 1 */
  readonly above: number | null;
  /** largest ratio below 1 */
  readonly below: number | null;
}

/**
 * The smallest difference of rates that the exact test of a split would see at the two-sided 5 % level with the power
 * asked for, given as many finds in all. What a "no difference" can mean at most.
 *
 * @param power  0.8 when not given
 * @see Clopper & Pearson 1934, doi:10.1093/biomet/26.4.404 (given the total, the split is binomial)
 */
export function ratiosSeen({ n, area1, area2 }: SplitGround, power = 0.8): RatiosSeen {
  const seen = (own: number, other: number): number | null => {
    const least = criticalCount(n, own / (own + other));
    if (least === null) return null;
    // P(at least `least` on one's own ground) rises with the share that falls there
    let low = own / (own + other);
    let high = 1;
    for (let i = 0; i < 80; i++) {
      const middle = (low + high) / 2;
      if (atLeast(least, n, middle) < power) low = middle;
      else high = middle;
    }
    return (low / (1 - low)) * (other / own);
  };
  const above = seen(area1, area2);
  const below = seen(area2, area1);
  return { above, below: below === null ? null : 1 / below };
}

const tail = 0.025;

/** Smallest count that chance reaches in one case of forty or fewer; null = not even all n of them do. */
function criticalCount(n: number, share: number): number | null {
  if (n < 1 || atLeast(n, n, share) > tail) return null;
  let low = 0;
  let high = n;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (atLeast(middle, n, share) > tail) low = middle;
    else high = middle;
  }
  return high;
}

/** Probability that at least `count` of n fall where each falls with probability `share`. */
function atLeast(count: number, n: number, share: number): number {
  return count <= 0 ? 1 : incompleteBeta({ a: count, b: n - count + 1, x: share });
}
