/** A distribution function that rises in steps. */
export interface ProductLimit {
  /** [k] distances at which it rises, metres, each larger than the one before */
  readonly at: Float64Array;
  /** [k] its value from there on, 0 to 1 */
  readonly value: Float64Array;
  /** its last value: below 1 when the largest distances all ended at the edge of the window */
  readonly mass: number;
}

/**
 * Distribution of distances when some may be cut short by the edge of the window: a find whose edge is nearer than its
 * neighbour only tells that the distance is at least that. Where both are equal the neighbour counts as seen.
 *
 * @param distances   [n] to the nearest neighbour, metres; left untouched
 * @param boundaries  [n] to the nearest edge of the window, those of holes included, metres; left untouched
 * @see Kaplan & Meier 1958, doi:10.1080/01621459.1958.10501452; Baddeley & Gill 1997, doi:10.1214/aos/1034276629
 */
export function productLimit(distances: Float64Array, boundaries: Float64Array): ProductLimit {
  const n = distances.length;
  const seen = distances.filter((d, i) => d <= boundaries[i] && d < Infinity).sort();
  const times = distances.map((d, i) => Math.min(d, boundaries[i])).sort();
  const at: number[] = [];
  const value: number[] = [];
  let survival = 1;
  let before = 0;
  for (let i = 0; i < seen.length; ) {
    const time = seen[i];
    let deaths = 0;
    while (i < seen.length && seen[i] === time) {
      deaths++;
      i++;
    }
    while (times[before] < time) before++;
    survival *= 1 - deaths / (n - before);
    at.push(time);
    value.push(1 - survival);
  }
  return { at: Float64Array.from(at), value: Float64Array.from(value), mass: 1 - survival };
}

/** Value at one distance, by d ≤ r. */
export function productLimitAt(curve: ProductLimit, r: number): number {
  let low = 0;
  let high = curve.at.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (curve.at[middle] <= r) low = middle + 1;
    else high = middle;
  }
  return low === 0 ? 0 : curve.value[low - 1];
}

/**
 * Mean of the distribution: Σ u dG(u) / Σ dG(u).
 * @returns metres; null when no distance was seen to its end
 */
export function productLimitMean(curve: ProductLimit): number | null {
  let sum = 0;
  let mass = 0;
  for (let i = 0; i < curve.at.length; i++) {
    const rise = curve.value[i] - (i === 0 ? 0 : curve.value[i - 1]);
    sum += curve.at[i] * rise;
    mass += rise;
  }
  return mass > 0 ? sum / mass : null;
}
