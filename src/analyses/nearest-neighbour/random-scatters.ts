import { simulate } from '../../math/monte-carlo.js';
import { nearestWorker } from '../../math/nearest.js';
import type { Region } from '../../math/rings.js';
import { uniformPoints } from '../../math/uniform-points.js';

/** Distances at which a distribution curve is read: 0, step, 2 step … */
export interface Places {
  readonly count: number;
  readonly stepM: number;
}

/** What to simulate. */
export interface ScatterPlan {
  /** finds in each scatter; at least 2 */
  readonly n: number;
  /** metres, from a local origin */
  readonly window: Region;
  readonly simulations: number;
  readonly seed: number;
  /** none = no curves */
  readonly places?: Places;
  readonly progress: (share: number) => void;
}

/** Mean nearest distances of random scatters, and how many distances of each lie within each place of the curve. */
export interface RandomScatters {
  /** [m] metres */
  readonly meansM: Float64Array;
  /** [m × places] counts; empty without places */
  readonly counts: Uint32Array;
}

/**
 * Scatters of the same number of finds at random in the true window: the only comparison that holds for excavated
 * shapes with holes.
 * @see Besag & Diggle 1977, doi:10.2307/2346974
 */
export function randomScatters(plan: ScatterPlan): RandomScatters {
  const { n, window, simulations, seed, places, progress } = plan;
  const sampler = uniformPoints(window);
  const distancesOf = nearestWorker(n);
  const xy = new Float64Array(2 * n);
  const width = places?.count ?? 0;
  const counts = new Uint32Array(simulations * width);
  const meansM = new Float64Array(simulations);
  simulate({ count: simulations, seed, progress }, (random, i) => {
    sampler(xy, random);
    const distances = distancesOf(xy);
    let sum = 0;
    for (let k = 0; k < n; k++) sum += distances[k];
    meansM[i] = sum / n;
    if (places) countWithin(distances, places, counts.subarray(i * width, (i + 1) * width));
  });
  return { meansM, counts };
}

/** Counts distances within 0, step, 2 step … (d ≤ r counts). counts [places] starts at 0 and is filled. */
export function countWithin(distances: Float64Array, places: Places, counts: Uint32Array): void {
  const { stepM, count } = places;
  for (const d of distances) {
    let at = Math.ceil(d / stepM);
    // the division may round across a place
    if (at * stepM < d) at++;
    else if (at > 0 && (at - 1) * stepM >= d) at--;
    if (at < count) counts[at]++;
  }
  for (let k = 1; k < count; k++) counts[k] += counts[k - 1];
}
