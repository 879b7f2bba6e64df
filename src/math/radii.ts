import { Problem } from '../problems.js';

/**
 * A rising list of radii, and a quick way to find where a distance belongs: a distance d counts from the first radius
 * r with d ≤ r on.
 */
export interface Radii {
  /** [k] metres, rising, the first at least 0 */
  readonly values: Float64Array;
  /** Number of the first radius that is not below d; k when d is beyond all of them. */
  from(d: number): number;
  /** Number of the first radius above d, so that radii before it are at most d. */
  beyond(d: number): number;
}

/**
 * Prepares radii for many look-ups.
 * @throws Problem bad-parameter unless they are finite, not negative and rise
 */
export function radiiOf(values: ArrayLike<number>): Radii {
  const r = Float64Array.from(values);
  const count = r.length;
  if (count === 0) throw new Problem('bad-parameter', 'r must hold at least one radius in metres', { parameter: 'r' });
  for (let k = 0; k < count; k++) {
    if (!Number.isFinite(r[k]) || r[k] < 0) {
      throw new Problem('bad-parameter', `r: ${r[k]} is no radius; give metres, 0 or more`, { parameter: 'r' });
    }
    if (k > 0 && !(r[k] > r[k - 1])) {
      throw new Problem('bad-parameter', `r must rise: ${r[k]} follows ${r[k - 1]}; give each radius once, in order`, {
        parameter: 'r',
      });
    }
  }
  const last = r[count - 1];
  const shares = 4 * count;
  const perMetre = last > 0 ? shares / last : 0;
  // where to start looking for each of 4k equal stretches: one step more on average, however the radii are spaced
  const guide = new Uint32Array(shares + 1);
  for (let g = 1; g <= shares; g++) {
    let k = guide[g - 1];
    while (k < count && r[k] < (g / shares) * last) k++;
    guide[g] = k;
  }
  const from = (d: number): number => {
    if (d > last) return count;
    let k = guide[Math.floor(d * perMetre)];
    // the guide may be off by rounding: the comparisons decide
    while (k > 0 && r[k - 1] >= d) k--;
    while (r[k] < d) k++;
    return k;
  };
  return {
    values: r,
    from,
    beyond: (d) => {
      const k = from(d);
      return k < count && r[k] === d ? k + 1 : k;
    },
  };
}
