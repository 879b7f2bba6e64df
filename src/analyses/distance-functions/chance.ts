import {
  deviationTests,
  extremeRankLength,
  firstOutside,
  type GlobalBand,
  meanOf,
  testedPlaces,
} from '../../math/envelopes.js';
import { bandRank, pointwiseBand, simulate } from '../../math/monte-carlo.js';
import type { Radii } from '../../math/radii.js';
import type { Estimator, Pattern } from './estimator.js';
import type { NullPatterns } from './nulls.js';

/** Level of the bands drawn. */
const bandLevel = 0.05;

/** A curve held against those of simulated patterns. */
export interface Chance {
  readonly observed: Float64Array;
  readonly mean: Float64Array;
  readonly pointwise: { readonly low: Float64Array; readonly high: Float64Array; readonly level: number } | null;
  readonly tested: readonly number[];
  readonly tests: {
    readonly mad: { readonly p: number; readonly statistic: number; readonly band: GlobalBand | null };
    readonly dclf: { readonly p: number; readonly statistic: number };
    readonly extremeRankLength: { readonly p: number; readonly band: GlobalBand | null };
  } | null;
}

/**
 * Simulates patterns of the null model and holds the observed curve against theirs.
 *
 * Deviations are counted from the mean of all other curves, so that the observed one is treated as one of all: exact for
 * every function and edge correction, also where its expectation under the null model is not known.
 *
 * @see Baddeley et al. 2014, doi:10.1890/13-2042.1; Myllymäki et al. 2017, doi:10.1111/rssb.12172
 */
export function againstChance(
  pattern: Pattern,
  scene: { readonly estimator: Estimator; readonly nulls: NullPatterns; readonly radii: Radii },
  plan: { readonly simulations: number; readonly seed: number; progress(share: number): void },
): Chance {
  const { estimator, nulls, radii } = scene;
  const k = radii.values.length;
  const m = plan.simulations;
  const observed = estimator(pattern);
  const simulated = new Float64Array(m * k);
  simulate({ count: m, seed: plan.seed, progress: (share) => plan.progress(share) }, (random, i) => {
    simulated.set(estimator(nulls.draw(random)), i * k);
  });
  const set = { places: radii.values, observed, simulated };
  const deviations = deviationTests(set, 'mean_of_others', bandLevel);
  const ranks = extremeRankLength(set, bandLevel);
  return {
    observed,
    mean: meanOf(simulated, k),
    pointwise: m < 2 ? null : pointwiseOf(simulated, k),
    tested: testedPlaces(set),
    tests: deviations && ranks ? { ...deviations, extremeRankLength: ranks } : null,
  };
}

function pointwiseOf(simulated: Float64Array, k: number) {
  const m = simulated.length / k;
  const band = pointwiseBand(simulated, k, Math.min(bandRank(m, bandLevel), Math.floor(m / 2)));
  const { low, high } = band;
  for (let at = 0; at < k; at++) {
    // undefined for some of the patterns: no band there
    let isDefined = true;
    for (let row = at; row < simulated.length; row += k) isDefined &&= Number.isFinite(simulated[row]);
    if (isDefined) continue;
    low[at] = Number.NaN;
    high[at] = Number.NaN;
  }
  return band;
}

/** Where the observed curve first leaves a band. */
export function leaves(chance: Chance, radii: Radii, band: GlobalBand | null) {
  return band === null ? null : firstOutside(radii.values, chance.observed, band);
}
