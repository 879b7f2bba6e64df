import type { DistanceLaw } from '../../math/distance-law.js';
import { exponential, naturalLog } from '../../math/elementary.js';

/** How the number of finds per m² goes with distance: by a factor for each metre. */
export interface DistanceTrend {
  /** of log rate, for each metre further in */
  readonly perM: number;
  readonly low: number;
  readonly high: number;
}

const cells = 1024;
const steepest = 60;

/**
 * Log-linear trend of finds per m² with distance, by maximum likelihood over the true ground: the mean distance of the
 * finds must be that of the ground, weighted by the trend.
 *
 * A rate that rises and falls again has no such trend. The interval takes every find as fallen for itself.
 *
 * @param distances  [n] metres
 * @param law        how far the window's ground lies
 * @returns null with fewer than two finds, or when the finds lie as near, or as far, as ground can
 * @see Berman 1986, doi:10.2307/2347865 (of whose Z1 this is the trend)
 */
export function distanceTrend(distances: Float64Array, law: DistanceLaw): DistanceTrend | null {
  const n = distances.length;
  const step = (law.greatest - law.least) / cells;
  if (n < 2 || !(step > 0)) return null;
  const shares = law.shares(Float64Array.from({ length: cells + 1 }, (_, k) => law.least + k * step));
  const weight = Float64Array.from({ length: cells }, (_, k) => Math.max(0, shares[k + 1] - (k === 0 ? 0 : shares[k])));
  const middle = Float64Array.from({ length: cells }, (_, k) => (k + 0.5) * step);
  const wanted = distances.reduce((sum, d) => sum + (d - law.least) / n, 0);
  const tilted = (slope: number) => {
    let [mass, first, second] = [0, 0, 0];
    // from the richer end, so that no term grows beyond bounds
    const from = slope > 0 ? middle[cells - 1] : middle[0];
    for (let k = 0; k < cells; k++) {
      const w = weight[k] * exponential(slope * (middle[k] - from));
      mass += w;
      first += w * middle[k];
      second += w * middle[k] ** 2;
    }
    return { mean: first / mass, variance: second / mass - (first / mass) ** 2 };
  };
  const bound = steepest / (law.greatest - law.least);
  if (wanted <= tilted(-bound).mean || wanted >= tilted(bound).mean) return null;
  let [low, high] = [-bound, bound];
  for (let round = 0; round < 60; round++) {
    const slope = (low + high) / 2;
    if (tilted(slope).mean < wanted) low = slope;
    else high = slope;
  }
  const perM = (low + high) / 2;
  const reach = 1.959963984540054 / Math.sqrt(n * tilted(perM).variance);
  return { perM, low: perM - reach, high: perM + reach };
}

/** By what the rate is multiplied over one metre further in. */
export const timesPerMetre = (perM: number): number => exponential(perM);

/** Distance over which the rate halves or doubles, metres; null without any slope. */
export const doublingM = (perM: number): number | null => (perM === 0 ? null : naturalLog(2) / Math.abs(perM));
