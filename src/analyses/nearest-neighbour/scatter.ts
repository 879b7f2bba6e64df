import { rankProbability } from '../../math/monte-carlo.js';
import { nearestDistances } from '../../math/nearest.js';
import { boundaryDistance, type Region } from '../../math/rings.js';
import { clarkEvans, donnelly, kaplanMeierRatio, meanDistance, type RatioTest } from './clark-evans.js';
import { type Places, type RandomScatters, randomScatters } from './random-scatters.js';

/** The window once, for the pooled finds and for every class. */
export interface MeasuredWindow {
  /** metres, from a local origin */
  readonly region: Region;
  readonly areaM2: number;
  readonly perimeterM: number;
  readonly isRectangular: boolean;
}

/** Everything said of one set of finds; null where there are fewer than two. */
export interface MeasuredScatter {
  readonly n: number;
  /** [n] metres; Infinity for a lone find */
  readonly distances: Float64Array;
  /** [n] metres to the nearest edge */
  readonly boundaries: Float64Array;
  readonly meanDistanceM: number | null;
  readonly clarkEvans: RatioTest | null;
  readonly donnelly: RatioTest | null;
  readonly kaplanMeier: { readonly ratio: number; readonly meanDistanceM: number } | null;
}

/** Measures one set of finds. xy [2n] metres, from the window's local origin; left untouched. */
export function measureScatter(xy: Float64Array, window: MeasuredWindow): MeasuredScatter {
  const { areaM2, perimeterM } = window;
  const n = xy.length / 2;
  const distances = nearestDistances(xy);
  const boundaries = distances.map((_, i) => boundaryDistance(window.region, xy[2 * i], xy[2 * i + 1]));
  const meanDistanceM = meanDistance(distances);
  if (meanDistanceM === null) {
    return { n, distances, boundaries, meanDistanceM, clarkEvans: null, donnelly: null, kaplanMeier: null };
  }
  return {
    n,
    distances,
    boundaries,
    meanDistanceM,
    clarkEvans: clarkEvans({ n, meanDistanceM, areaM2 }),
    donnelly: window.isRectangular ? donnelly({ n, meanDistanceM, areaM2, perimeterM }) : null,
    kaplanMeier: kaplanMeierRatio(distances, boundaries, areaM2),
  };
}

/** Ratio, z and p under one edge correction; null where it cannot say. */
export function ratioUnder(
  edge: 'none' | 'donnelly' | 'kaplan_meier',
  scatter: MeasuredScatter,
): { ratio: number | null; z: number | null; p: number | null } {
  if (edge === 'kaplan_meier') return { ratio: scatter.kaplanMeier?.ratio ?? null, z: null, p: null };
  const test = edge === 'none' ? scatter.clarkEvans : scatter.donnelly;
  return test ? { ratio: test.ratio, z: test.z, p: test.p } : { ratio: null, z: null, p: null };
}

/** Rank probabilities of the observed mean distance, with the scatters they rest on. */
export interface SimulatedTest {
  readonly p: { readonly p_clustered: number; readonly p_regular: number; readonly p_two_sided: number };
  readonly scatters: RandomScatters;
}

/**
 * Compares the observed mean distance with random scatters of as many finds in the same window.
 * @returns null without simulations or with fewer than two finds
 */
export function simulateScatter(
  scatter: MeasuredScatter,
  window: MeasuredWindow,
  how: { simulations: number; seed: number; places?: Places; progress: (share: number) => void },
): SimulatedTest | null {
  if (scatter.meanDistanceM === null || how.simulations === 0) return null;
  const scatters = randomScatters({ n: scatter.n, window: window.region, ...how });
  const rank = rankProbability(scatter.meanDistanceM, scatters.meansM);
  return { p: { p_clustered: rank.lower, p_regular: rank.upper, p_two_sided: rank.twoSided }, scatters };
}
