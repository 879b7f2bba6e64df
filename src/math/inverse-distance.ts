import type { SurfaceReader } from './lattice-surface.js';
import type { ValuedPlaces } from './triangle-surface.js';

/** How fast a reading loses weight with distance, and how many readings count. */
export interface InverseDistance {
  readonly power: number;
  /** the nearest so many, and all that are as near as the last of them; null = all */
  readonly neighbours: number | null;
}

/** readings as near as the last neighbour, but for rounding, count as well: on a grid the choice would be arbitrary */
const tieShare = 1e-9;

/**
 * Inverse-distance weighting: the mean of the readings with weights 1 / distance^power. Exact at a reading; never
 * above the highest or below the lowest of them, with a flat spot at each.
 *
 * @see Shepard 1968, doi:10.1145/800186.810616
 */
export function inverseDistanceSurface(places: ValuedPlaces, rule: InverseDistance): SurfaceReader {
  const weights = new Float64Array(places.x.length);
  return (xy) => {
    const n = xy.length / 2;
    const value = new Float64Array(n);
    const sigma = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const total = distanceWeights(places, rule, { x: xy[2 * i], y: xy[2 * i + 1], except: -1, weights });
      let sum = 0;
      let variance = 0;
      for (let k = 0; k < weights.length; k++) {
        if (weights[k] === 0) continue;
        sum += weights[k] * places.z[k];
        variance += (weights[k] * places.sigma[k]) ** 2;
      }
      value[i] = sum / total;
      sigma[i] = Math.sqrt(variance) / total;
    }
    return { value, sigma };
  };
}

/** What the other readings would have given at each reading; NaN when there is no other. [n] */
export function inverseDistanceLeftOut(places: ValuedPlaces, rule: InverseDistance): Float64Array {
  const weights = new Float64Array(places.x.length);
  return places.x.map((x, i) => {
    const total = distanceWeights(places, rule, { x, y: places.y[i], except: i, weights });
    let sum = 0;
    for (let k = 0; k < weights.length; k++) if (weights[k] !== 0) sum += weights[k] * places.z[k];
    return sum / total;
  });
}

interface WeightQuestion {
  readonly x: number;
  readonly y: number;
  /** this reading does not count; −1 = all do */
  readonly except: number;
  readonly weights: Float64Array;
}

function distanceWeights(
  { x, y }: ValuedPlaces,
  { power, neighbours }: InverseDistance,
  { x: px, y: py, except, weights }: WeightQuestion,
): number {
  const n = x.length;
  for (let k = 0; k < n; k++) weights[k] = k === except ? Infinity : (x[k] - px) ** 2 + (y[k] - py) ** 2;
  let reach = Infinity;
  if (neighbours !== null && neighbours < n) {
    reach = Float64Array.from(weights).sort()[neighbours - 1] * (1 + tieShare);
  }
  let total = 0;
  for (let k = 0; k < n; k++) {
    const squared = weights[k];
    if (squared === 0) {
      weights.fill(0);
      weights[k] = 1;
      return 1;
    }
    weights[k] = squared <= reach && squared < Infinity ? (power === 2 ? 1 / squared : squared ** (-power / 2)) : 0;
    total += weights[k];
  }
  return total;
}
