import { circularSummary, rayleigh, turnBetween } from '../../math/circular.js';
import { rankProbability, simulate } from '../../math/monte-carlo.js';
import type { RandomStream } from '../../math/random.js';

/** streams of simulated directions, apart from those of dealt names */
const spacingStreams = 700_000_000;

/**
 * Rao's spacing statistic: half the summed difference between the gaps round the circle and an even gap, degrees. It
 * also sees several preferred directions, which Rayleigh's test does not.
 *
 * @param degrees  [n] of the full circle, n ≥ 1; left untouched
 * @see Rao 1976, Sankhyā B 38, 329–338
 */
export function raoSpacing(degrees: ArrayLike<number>): number {
  const n = degrees.length;
  const sorted = Float64Array.from(Array.from(degrees), (d) => ((d % 360) + 360) % 360).sort();
  let sum = 0;
  for (let i = 0; i < n; i++) {
    const gap = i + 1 < n ? sorted[i + 1] - sorted[i] : sorted[0] + 360 - sorted[n - 1];
    sum += Math.abs(gap - 360 / n);
  }
  return sum / 2;
}

/** Directions of long objects: mean, concentration and two tests of no preference. */
export function describeDirections(
  degrees: ArrayLike<number>,
  of: {
    readonly kind: 'axial' | 'directed';
    /** bearing of the ship axis; null = none */
    readonly shipAxisDeg: number | null;
    readonly simulations: number;
    readonly seed: number;
  },
) {
  const { kind } = of;
  const n = degrees.length;
  const fold = kind === 'axial' ? 2 : 1;
  const summary = circularSummary(degrees, kind);
  const test = rayleigh(summary);
  // what is left of a doubled angle beyond a millionth of a degree is how it was written down
  const spacing = Math.round(raoSpacing(Array.from(degrees, (d) => fold * d)) * 1e6) / 1e6;
  const drawn = (random: RandomStream) => raoSpacing(Float64Array.from({ length: n }, () => 360 * random.next()));
  const simulated = simulate({ count: n > 1 ? of.simulations : 0, seed: of.seed, first: spacingStreams }, drawn);
  return {
    n,
    axial: kind === 'axial',
    mean_direction_deg: summary.meanDeg,
    error_deg: summary.meanErrorDeg,
    rbar: summary.rBar,
    standard_deviation_deg: summary.standardDeviationDeg,
    rayleigh_z: test.z,
    rayleigh_p: test.p,
    rayleigh_p_series: test.pSeries,
    rao_u_deg: spacing,
    rao_p: simulated.length > 0 ? rankProbability(spacing, simulated).upper : null,
    from_ship_axis_deg:
      of.shipAxisDeg === null || summary.meanDeg === null ? null : turnBetween(of.shipAxisDeg, summary.meanDeg, kind),
  };
}
