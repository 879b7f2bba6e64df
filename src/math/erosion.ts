import { distanceDistribution } from './distance-distribution.js';
import type { SeenDistances } from './distance-estimators.js';
import { straightPieces } from './hull-distance.js';
import type { Radii } from './radii.js';
import { isRectangle, type Region, regionArea, regionBox } from './rings.js';

/**
 * Area of the part of a window that lies farther than d from every edge, holes included, for several distances.
 * Exact but for rounding: the round strips about corners and holes are cut out as circles.
 *
 * @param distances  [k] metres, 0 or more; left untouched
 * @returns          [k] m²
 */
export function erodedAreas(window: Region, distances: Float64Array): Float64Array {
  if (isRectangle(window)) {
    const [west, south, east, north] = regionBox(window);
    return distances.map((d) => Math.max(0, east - west - 2 * d) * Math.max(0, north - south - 2 * d));
  }
  // closed lines and not areas: ground inside is meant
  const parts = window.rings.map((ring) => Float64Array.of(...ring, ring[0], ring[1]));
  const law = distanceDistribution(window, straightPieces([{ type: 'line', parts }]), 'distance');
  const areaM2 = regionArea(window);
  return law.shares(distances).map((share) => areaM2 * (1 - share));
}

/**
 * Hanisch's distribution of nearest distances: only finds nearer to their neighbour than to the edge, each weighed by
 * one over the ground where such a find could lie.
 *
 * @returns  share within each radius; NaN when no find is nearer to its neighbour than to the edge
 * @see Hanisch 1984, Mathematische Operationsforschung und Statistik, Series Statistics 15, 409–414
 */
export function hanischCurve(window: Region, { distances, boundaries }: SeenDistances, radii: Radii): Float64Array {
  const seen = distances.filter((d, i) => d <= boundaries[i]).sort();
  const areas = erodedAreas(window, seen);
  const sums = new Float64Array(radii.values.length + 1);
  let total = 0;
  seen.forEach((d, i) => {
    total += 1 / areas[i];
    sums[radii.from(d)] += 1 / areas[i];
  });
  let sum = 0;
  return radii.values.map((_, k) => {
    sum += sums[k];
    return total > 0 && total < Infinity ? sum / total : Number.NaN;
  });
}
