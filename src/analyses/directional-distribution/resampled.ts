import { middleInterval, resampleInBlocks } from '../../math/blocks.js';
import { deviationalEllipse } from '../../math/centre.js';
import { turnBetween } from '../../math/circular.js';

/** resamplings carry an interval, not a tail: more than this add nothing */
const mostResamplings = 999;
const resamplingStreams = 500_000_000;

/** Intervals of what is said of one set of finds, from drawing its finds anew; null where they cannot be told. */
export interface ResampledSpread {
  readonly bearingErrorDeg: number | null;
  readonly offAxis: { readonly low: number; readonly high: number } | null;
}

/**
 * @param xy       [2n] metres; left untouched
 * @param bearing  of the ellipse, degrees; null = it has none
 * @param offAxis  [n] metres; null = none
 */
export function resampledSpread(of: {
  readonly xy: Float64Array;
  readonly bearing: number | null;
  readonly offAxis: Float64Array | null;
  readonly simulations: number;
  readonly seed: number;
}): ResampledSpread {
  const { xy, bearing, offAxis } = of;
  const n = xy.length / 2;
  const count = n < 5 ? 0 : Math.min(of.simulations, mostResamplings);
  const turns = new Float64Array(bearing === null ? 0 : count).fill(Number.NaN);
  const offs = new Float64Array(offAxis === null ? 0 : count);
  resampleInBlocks(new Uint32Array(n), { count, seed: of.seed, first: resamplingStreams }, (weight, s) => {
    if (bearing !== null) {
      const own = deviationalEllipse(xy, weight).bearingDeg;
      if (own !== null) turns[s] = Math.abs(turnBetween(bearing, own, 'axial'));
    }
    if (offAxis !== null) {
      let sum = 0;
      let total = 0;
      for (let i = 0; i < n; i++) {
        sum += weight[i] * offAxis[i];
        total += weight[i];
      }
      offs[s] = sum / total;
    }
  });
  const sorted = turns.filter((t) => !Number.isNaN(t)).sort();
  return {
    bearingErrorDeg: sorted.length < 39 ? null : sorted[Math.ceil(0.95 * (sorted.length + 1)) - 1],
    offAxis: middleInterval(offs),
  };
}
