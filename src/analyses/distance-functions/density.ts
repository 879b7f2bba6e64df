import { crossValidatedBandwidth, scottBandwidth } from '../../math/bandwidth.js';
import { inhomogeneousK } from '../../math/inhomogeneous-k.js';
import { leaveOneOutIntensity } from '../../math/kernels.js';
import type { Radii } from '../../math/radii.js';
import type { SetCovariance } from '../../math/set-covariance.js';
import type { Ground } from './ground.js';
import type { Parameters } from './schemas.js';

/**
 * The bandwidth of the density the finds of the first type follow, metres.
 * @throws Problem too-few-points, cannot-answer, too-much-work by the rule
 */
export function densityBandwidth(ground: Ground, asked: Parameters['bandwidth']): number {
  if (typeof asked === 'number') return asked;
  const { from: xy, window } = ground;
  if (asked === 'lcv') return crossValidatedBandwidth({ rule: 'lcv', xy, window }).sigmaM;
  return scottBandwidth({ xy, share: new Float64Array(xy.length / 2).fill(1) }).sigmaM;
}

/** Inhomogeneous K with densities by a kernel of this bandwidth, each find left out at its own place. */
export function densityCurves(
  ground: Ground,
  how: { readonly bandwidthM: number; readonly radii: Radii; readonly covariance: SetCovariance; tick(): void },
) {
  const intensityOf = (xy: Float64Array) =>
    leaveOneOutIntensity({
      xy,
      weight: new Float64Array(xy.length / 2).fill(1),
      window: ground.window,
      sigmaM: how.bandwidthM,
      edge: 'jones-diggle',
    });
  const from = intensityOf(ground.from);
  const to = ground.isCross ? intensityOf(ground.to) : from;
  return inhomogeneousK(ground, { from, to }, how);
}
