import { productLimit, productLimitAt } from './product-limit.js';
import type { Radii } from './radii.js';

/** Distances to something, and to the edge of the window, for the same places. */
export interface SeenDistances {
  /** [n] metres; Infinity = there is nothing to measure to. Left untouched */
  readonly distances: Float64Array;
  /** [n] metres to the nearest edge of the window, holes included; left untouched */
  readonly boundaries: Float64Array;
}

/** Share of places within each radius; NaN where undefined. */
export interface DistanceCurves {
  readonly raw: Float64Array;
  readonly reducedSample: Float64Array;
  readonly kaplanMeier: Float64Array;
}

/**
 * Distribution of distances up to each radius, three ways: as counted (too low, as neighbours beyond the edge are not
 * seen), among the places at least r from the edge only (may fall as r grows), and with places nearer to the edge than
 * to their neighbour counted as cut short.
 *
 * @returns  d ≤ r counts, and an edge at r is far enough; NaN without places, and for the reduced sample where no place is
 * @see Ripley 1988, Statistical Inference for Spatial Processes; Baddeley & Gill 1997, doi:10.1214/aos/1034276629
 */
export function distanceCurves({ distances, boundaries }: SeenDistances, radii: Radii): DistanceCurves {
  const n = distances.length;
  const count = radii.values.length;
  const within = new Float64Array(count + 1);
  const farWithin = new Float64Array(count + 1);
  const far = new Float64Array(count + 1);
  for (let i = 0; i < n; i++) {
    const at = radii.from(distances[i]);
    const end = radii.beyond(boundaries[i]);
    within[at]++;
    far[0]++;
    far[end]--;
    if (at < end) {
      farWithin[at]++;
      farWithin[end]--;
    }
  }
  const raw = new Float64Array(count);
  const reducedSample = new Float64Array(count);
  let sum = 0;
  let seen = 0;
  let eligible = 0;
  for (let k = 0; k < count; k++) {
    sum += within[k];
    seen += farWithin[k];
    eligible += far[k];
    raw[k] = n > 0 ? sum / n : Number.NaN;
    reducedSample[k] = eligible > 0 ? seen / eligible : Number.NaN;
  }
  return { raw, reducedSample, kaplanMeier: kaplanMeierCurve({ distances, boundaries }, radii) };
}

/** The Kaplan–Meier curve alone, as simulations want it. */
export function kaplanMeierCurve({ distances, boundaries }: SeenDistances, radii: Radii): Float64Array {
  if (distances.length === 0) return new Float64Array(radii.values.length).fill(Number.NaN);
  const limit = productLimit(distances, boundaries);
  return radii.values.map((r) => productLimitAt(limit, r));
}
