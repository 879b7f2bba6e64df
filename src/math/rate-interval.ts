import { chiSquareLowerTail, chiSquareUpperTail } from './distributions.js';

/** A count and the interval that holds its mean with the confidence asked for. */
export interface CountInterval {
  readonly low: number;
  readonly high: number;
}

/**
 * Exact interval for the mean behind a count of things that fall independently of each other.
 *
 * Finds rarely do: where counts vary more than chance would have them, it is too narrow by the root of their
 * dispersion.
 *
 * @param count       whole number, 0 or more
 * @param confidence  0.95 when not given
 * @see Garwood 1936, doi:10.1093/biomet/28.3-4.437
 */
export function countInterval(count: number, confidence = 0.95): CountInterval {
  const tail = (1 - confidence) / 2;
  // P(at least count | mean) = P(χ² with 2 count < 2 mean); P(at most count | mean) = P(χ² with 2 count + 2 > 2 mean)
  return {
    low: count === 0 ? 0 : meanWhere((mean) => chiSquareLowerTail(2 * mean, 2 * count) - tail, count),
    high: meanWhere((mean) => tail - chiSquareUpperTail(2 * mean, 2 * count + 2), count),
  };
}

/** Where a rising function of the mean crosses 0. */
function meanWhere(rising: (mean: number) => number, near: number): number {
  let low = 0;
  let high = near + 1;
  while (rising(high) < 0) high *= 2;
  for (let i = 0; i < 80 && high - low > 1e-14 * high; i++) {
    const middle = (low + high) / 2;
    if (rising(middle) < 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Interval of counts, each worked out once: tables ask for the same few numbers over and over. */
export function countIntervals(): (count: number) => CountInterval {
  const known = new Map<number, CountInterval>();
  return (count) => {
    let interval = known.get(count);
    if (!interval) {
      interval = countInterval(count);
      known.set(count, interval);
    }
    return interval;
  };
}
