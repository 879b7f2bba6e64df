import { leastShare, type PairPattern } from './k-function.js';
import { eachPair } from './pair-distances.js';
import type { Radii } from './radii.js';
import { rimShares } from './rim-share.js';
import type { SetCovariance } from './set-covariance.js';

/** How dense the finds lie where each of them lies. */
export interface PatternIntensity {
  /** [n] finds of the first type per m² at each of them, itself left out; left untouched */
  readonly from: Float64Array;
  /** [m] the same of the second type */
  readonly to: Float64Array;
}

/**
 * K when density itself varies over the ground: each pair counts one over the densities at its two ends, so that only
 * what goes beyond the slope of density is left. π r² where finds follow the density and nothing else.
 *
 * The density comes from the same finds. A narrow bandwidth takes the clusters into the density and leaves nothing;
 * a wide one leaves the slope in K. State the bandwidth.
 *
 * @returns  m²; NaN from the radius on where a pair has no density at an end
 * @see Baddeley, Møller & Waagepetersen 2000, doi:10.1111/1467-9574.00144
 */
export function inhomogeneousK(
  pattern: PairPattern,
  intensity: PatternIntensity,
  how: { readonly radii: Radii; readonly covariance: SetCovariance; readonly tick?: () => void },
): { readonly isotropic: Float64Array; readonly translation: Float64Array } {
  const { from, to, window, areaM2 } = pattern;
  const { radii, covariance, tick } = how;
  const count = radii.values.length;
  const reachM = radii.values[count - 1];
  const rim = rimShares(window, reachM);
  const sums = { isotropic: new Float64Array(count + 1), translation: new Float64Array(count + 1) };
  let centre = -1;
  eachPair({ from, to, reachM, order: 'both' }, (batch) => {
    tick?.();
    const { first, second, dx, dy, distance } = batch;
    for (let p = 0; p < batch.length; p++) {
      const i = first[p];
      if (i !== centre) {
        rim.centre(from[2 * i], from[2 * i + 1]);
        centre = i;
      }
      const at = radii.from(distance[p]);
      const perDensities = 1 / (intensity.from[i] * intensity.to[second[p]]);
      sums.isotropic[at] += perDensities / (areaM2 * Math.max(leastShare, rim.share(distance[p])));
      sums.translation[at] += perDensities / covariance(dx[p], dy[p]);
    }
  });
  const isDefined = from.length > 0 && to.length > 0;
  const curve = (values: Float64Array) => {
    let sum = 0;
    return radii.values.map((_, k) => {
      sum += values[k];
      return isDefined && Number.isFinite(sum) ? sum : Number.NaN;
    });
  };
  return { isotropic: curve(sums.isotropic), translation: curve(sums.translation) };
}
