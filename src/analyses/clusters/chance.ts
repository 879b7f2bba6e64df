import { type DensityClusters, type DensityRule, densityClusters } from '../../math/density-clusters.js';
import { exponential, naturalLog } from '../../math/elementary.js';
import { extremeRankLength } from '../../math/envelopes.js';
import { sseCurve } from '../../math/k-means.js';
import { middleRange } from '../../math/middle-range.js';
import { rankProbability, simulate } from '../../math/monte-carlo.js';
import type { Region } from '../../math/rings.js';
import { uniformPoints } from '../../math/uniform-points.js';

/** How finds are grouped, the observed ones and every random scatter alike. */
export interface Grouping {
  readonly rule: DensityRule;
  /** groups up to which k-means goes; 0 = left out */
  readonly kMost: number;
  readonly restarts: number;
}

/** What random scatters of as many points in the same window give. */
export interface RandomGroups {
  readonly simulations: number;
  /** [m] points in density clusters */
  readonly clustered: Float64Array;
  /** [m] see DensityClusters */
  readonly closeness: Float64Array;
  /** [m] */
  readonly clusters: Float64Array;
  /** [m × kMost] sums of squares, m² */
  readonly sse: Float64Array;
}

/** Lays out random scatters in the window and groups each as the finds are grouped. @param of.n  finds, 1 or more */
export function randomGroups(
  of: { readonly n: number; readonly window: Region; readonly grouping: Grouping },
  plan: { readonly simulations: number; readonly seed: number; tick(share: number): void },
): RandomGroups {
  const { n, window, grouping } = of;
  const { rule, kMost, restarts } = grouping;
  const m = plan.simulations;
  const clustered = new Float64Array(m);
  const closeness = new Float64Array(m);
  const clusters = new Float64Array(m);
  const sse = new Float64Array(m * kMost);
  const draw = uniformPoints(window);
  const xy = new Float64Array(2 * n);
  simulate({ count: m, seed: plan.seed }, (random, s) => {
    plan.tick(s / m);
    draw(xy, random);
    const found = densityClusters(xy, rule);
    clustered[s] = found.clustered;
    closeness[s] = found.closeness;
    clusters[s] = found.sizes.length;
    sse.set(sseCurve(xy, { kMost, restarts }, random), s * kMost);
  });
  return { simulations: m, clustered, closeness, clusters, sse };
}

/** The share of finds in density clusters beside that of random scatters. */
export interface DensityChance {
  readonly meanClustered: number;
  readonly lowClustered: number;
  readonly highClustered: number;
  readonly lowClusters: number;
  readonly highClusters: number;
  /** random scatters with as many points in clusters, or more */
  readonly pClustered: number;
}

/** Ranks the finds in clusters; of scatters with as many, the one with the nearer pairs counts as more clustered. @see Besag & Diggle 1977 */
export function densityChance(observed: DensityClusters, random: RandomGroups): DensityChance {
  const most = random.closeness.reduce((high, c) => Math.max(high, c), observed.closeness);
  // whole numbers, then the nearness of pairs as a fraction below 1
  const value = (clustered: number, closeness: number) => clustered + closeness / (1 + most);
  const values = random.clustered.map((count, s) => value(count, random.closeness[s]));
  const share = middleRange(random.clustered);
  const clusters = middleRange(random.clusters);
  return {
    meanClustered: random.clustered.reduce((sum, c) => sum + c / random.simulations, 0),
    lowClustered: share.low,
    highClustered: share.high,
    lowClusters: clusters.low,
    highClusters: clusters.high,
    pClustered: rankProbability(value(observed.clustered, observed.closeness), values).upper,
  };
}

/** One number of groups on the curve. */
export interface GapPlace {
  readonly k: number;
  readonly sse: number;
  /** geometric mean of the random scatters */
  readonly randomSse: number;
  /** log of random over observed: above 0 the finds lie nearer to their centres */
  readonly gap: number;
  /** its simulation error, √(1 + 1/m) times the standard deviation of the logs */
  readonly gapError: number;
  /** ends of the band over the whole curve; null with fewer than 19 simulations */
  readonly low: number | null;
  readonly high: number | null;
}

/** The curve of the gap, and how often chance leaves the band. */
export interface GapCurve {
  readonly places: readonly GapPlace[];
  /** of the whole curve: random scatters whose curve is as extreme anywhere */
  readonly p: number;
}

/** share of random scatters whose curve leaves the band somewhere */
const level = 0.05;

/**
 * The gap between the sums of squares of k-means on the finds and on random scatters in the same window, over 1, 2 …
 * groups, with a band that random scatters leave anywhere in one case out of twenty.
 * @returns null without simulations or groups
 * @see Kintigh & Ammerman 1982, doi:10.2307/280052; Tibshirani, Walther & Hastie 2001, doi:10.1111/1467-9868.00293; Myllymäki et al. 2017, doi:10.1111/rssb.12172
 */
export function gapCurve(sse: Float64Array, random: RandomGroups): GapCurve | null {
  const k = sse.length;
  const m = random.simulations;
  if (m === 0 || k === 0) return null;
  const observed = sse.map(naturalLog);
  const simulated = random.sse.map(naturalLog);
  const places = Float64Array.from({ length: k }, (_, i) => i + 1);
  const test = extremeRankLength({ places, observed, simulated }, level);
  if (test === null) return null;
  return {
    p: test.p,
    places: Array.from({ length: k }, (_, i) => {
      const logs = Float64Array.from({ length: m }, (_, s) => simulated[s * k + i]);
      const mean = logs.reduce((sum, v) => sum + v / m, 0);
      const squares = logs.reduce((sum, v) => sum + (v - mean) ** 2, 0);
      return {
        k: i + 1,
        sse: sse[i],
        randomSse: exponential(mean),
        gap: mean - observed[i],
        gapError: Math.sqrt((squares / m) * (1 + 1 / m)),
        low: test.band ? exponential(test.band.low[i]) : null,
        high: test.band ? exponential(test.band.high[i]) : null,
      };
    }),
  };
}

/** Whether the finds lie nearer to their centres than any but one in twenty random scatters would; null = no band. */
export function isBelowBand(place: GapPlace): boolean | null {
  return place.low === null ? null : place.sse < place.low * (1 - 1e-11);
}

/**
 * The number of groups the curve speaks for: the smallest below the band whose gap the next one does not better by
 * more than its error, else the one below the band with the widest gap; null when the curve never leaves the band.
 */
export function chosenGroups(curve: GapCurve): number | null {
  const below = curve.places.filter((place) => isBelowBand(place) === true);
  if (below.length === 0) return null;
  const settled = below.find((place) => {
    const next = curve.places[place.k];
    return next !== undefined && place.gap >= next.gap - next.gapError;
  });
  const widest = below.reduce((best, place) => (place.gap > best.gap ? place : best));
  return (settled ?? widest).k;
}
