import { type ChosenBandwidth, crossValidatedBandwidth, scottBandwidth } from '../../math/bandwidth.js';
import { denominatorSide, numeratorSide } from '../../math/density-ratio.js';
import { union } from '../../math/overlay.js';
import type { Parameters } from './schemas.js';
import type { Sides } from './sides.js';

/**
 * One bandwidth for both sides, from all finds pooled without their names, so that dealing names out anew cannot change
 * it. Scott's rule takes the spread of the pool and, for the number of finds, the geometric mean of both sides: the pool
 * alone would smooth a small class too little.
 *
 * @throws Problem too-few-points, cannot-answer, too-much-work
 * @see Davies, Marshall & Hazelton 2018, doi:10.1002/sim.7577 (pooled bandwidths of a ratio)
 */
export function commonBandwidth(
  { xy, side, windows, shared }: Sides,
  asked: Parameters['bandwidth'],
  progress: (share: number) => void,
): ChosenBandwidth {
  if (typeof asked === 'number') return { sigmaM: asked, atBoundary: false, criterion: null };
  const n = side.length;
  if (asked === 'scott') {
    const pooled = scottBandwidth({ xy, share: new Float64Array(n).fill(1) });
    const count = (bit: number) => side.reduce((sum, s) => sum + ((s & bit) === 0 ? 0 : 1), 0);
    const both = Math.sqrt(count(numeratorSide) * count(denominatorSide));
    return { ...pooled, sigmaM: pooled.sigmaM * (n / both) ** (1 / 6) };
  }
  const ground = windows ? union([windows.numerator, windows.denominator]) : shared;
  return crossValidatedBandwidth({ rule: asked, xy, window: ground, progress });
}
