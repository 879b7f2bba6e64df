import type { Radii } from './radii.js';

/** The half-width usually taken: 0.15 over the root of the finds per m², metres. @see Stoyan & Stoyan 1994, Fractals, Random Shapes and Point Fields, Wiley */
export const usualHalfWidth = (intensityPerM2: number): number => 0.15 / Math.sqrt(intensityPerM2);

type Weighting = 'none' | 'isotropic' | 'translation';

/** Sums of Epanechnikov kernels about pair distances, for several weightings of the same pairs. */
export interface PairCorrelationSums {
  add(weighting: Weighting, distanceM: number, weight: number): void;
  /** @param scaleM2  area over the number of ordered pairs @returns g at the radii; NaN at r = 0 */
  curve(weighting: Weighting, scaleM2: number): Float64Array;
}

/**
 * Pair correlation g(r): how often a distance occurs among the finds against a scatter without pattern, 1 for none.
 * Unlike K it looks at each distance by itself. Each pair is spread by an Epanechnikov kernel and summed as it is, not
 * counted into bins first.
 *
 * Near r = 0 the circle is so short that a few pairs throw the curve about; at r = 0 it is undefined.
 *
 * @param halfWidthM  half-width of the kernel; pairs up to the largest radius plus this must be added
 * @see Stoyan & Stoyan 1994, Fractals, Random Shapes and Point Fields, Wiley, ch. 15
 */
export function pairCorrelationSums(radii: Radii, halfWidthM: number): PairCorrelationSums {
  const { values } = radii;
  const count = values.length;
  const sums = {
    none: new Float64Array(count),
    isotropic: new Float64Array(count),
    translation: new Float64Array(count),
  };
  return {
    add(weighting, distanceM, weight) {
      const into = sums[weighting];
      const end = distanceM + halfWidthM;
      const begin = distanceM - halfWidthM;
      for (let k = begin <= 0 ? 0 : radii.from(begin); k < count && values[k] < end; k++) {
        const t = (values[k] - distanceM) / halfWidthM;
        into[k] += weight * (1 - t * t);
      }
    },
    curve: (weighting, scaleM2) =>
      sums[weighting].map((sum, k) => {
        const value = (0.75 * sum * scaleM2) / (halfWidthM * 2 * Math.PI * values[k]);
        return values[k] > 0 && Number.isFinite(value) ? value : Number.NaN;
      }),
  };
}
