/**
 * How far the ground of a window lies from something: the share of the window's area within each distance.
 * It is what the distances of finds are held against: under chance alone the finds follow it.
 */
export interface DistanceLaw {
  /** Share of the window's area whose distance is at most each value. values [k] metres, any order → [k], 0 to 1. */
  shares(values: Float64Array): Float64Array;
  /** share of the window at distance 0 exactly (ground inside hull areas); 0 when there is none */
  readonly atZero: number;
  /** smallest and largest distance found in the window, metres */
  readonly least: number;
  readonly greatest: number;
  /** mean distance over the window, metres */
  readonly mean: number;
  /** mean squared distance over the window, m² */
  readonly secondMoment: number;
  /** largest possible error of a share, as a share of the window; 0 = exact but for rounding */
  readonly bound: number;
}

/**
 * The distance within which a share p of the window's ground lies → metres.
 * @param p  0 to 1; within the share at distance 0 it is 0
 */
export function lawQuantile(law: DistanceLaw, p: number): number {
  if (p <= 0) return law.least;
  if (p >= 1) return law.greatest;
  if (law.least === 0 && p <= law.atZero) return 0;
  let low = law.least;
  let high = law.greatest;
  const parts = 33;
  // each round asks 32 places at once: one pass over the window instead of five
  for (let round = 0; round < 12 && high - low > 1e-13 * (Math.abs(low) + Math.abs(high)); round++) {
    const step = (high - low) / parts;
    const places = Float64Array.from({ length: parts - 1 }, (_, i) => low + (i + 1) * step);
    const shares = law.shares(places);
    let below = 0;
    while (below < shares.length && shares[below] < p) below++;
    if (below < places.length) high = places[below];
    if (below > 0) low = places[below - 1];
  }
  return (low + high) / 2;
}
