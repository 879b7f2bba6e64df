import type { DistanceLaw } from '../../math/distance-law.js';
import { bandRank, pointwiseBand, rankProbability, simulate } from '../../math/monte-carlo.js';
import { mean, median } from '../../math/quantiles.js';
import type { Region } from '../../math/rings.js';
import { uniformPoints } from '../../math/uniform-points.js';

/** One way of measuring how far from the hull: at a point, and over the window's ground. */
export interface Measure {
  /** metres, from the same local origin as the window */
  distance(x: number, y: number): number;
  readonly law: DistanceLaw;
}

/** Simulations asked for, their seed, and whom to tell the share done. */
export interface ChancePlan {
  readonly simulations: number;
  readonly seed: number;
  progress(share: number): void;
}

/** Chances of a mean distance as small, or as large, as the one observed. */
export interface ChanceOfMean {
  readonly pCloser: number;
  readonly pFarther: number;
  readonly pTwoSided: number;
}

/** Shares of finds within each distance, as chance alone spreads them at any ONE distance. */
export interface ChanceBand {
  readonly places: number[];
  readonly low: number[];
  readonly high: number[];
  readonly level: number;
}

const bandPlaces = 121;
const bandSimulations = 1999;

/**
 * Are the finds nearer to the hull, or farther from it, than the same number of points anywhere in the window?
 *
 * Nothing was stowed or broken at random, and finds of one heap move together: a small p says "not like rain", no more.
 *
 * @param observed  [n] distances of the finds, n ≥ 1, metres; left untouched
 * @see Besag & Diggle 1977, doi:10.2307/2346974
 */
export function againstWindow(
  observed: Float64Array,
  measure: Measure,
  scene: { readonly window: Region; readonly plan: ChancePlan },
): { chance: ChanceOfMean; band: ChanceBand } {
  const { window, plan } = scene;
  const n = observed.length;
  const draw = uniformPoints(window);
  const xy = new Float64Array(2 * n);
  const { least, greatest } = measure.law;
  const step = Math.max(greatest - least, 1e-9) / (bandPlaces - 1);
  const places = Array.from({ length: bandPlaces }, (_, k) => least + k * step);
  const kept = Math.min(plan.simulations, bandSimulations);
  const curves = new Float64Array(kept * bandPlaces);
  const means = simulate(
    { count: plan.simulations, seed: plan.seed, progress: (share) => plan.progress(share) },
    (random, index) => {
      draw(xy, random);
      const counts = new Uint32Array(bandPlaces);
      let sum = 0;
      for (let i = 0; i < n; i++) {
        const d = measure.distance(xy[2 * i], xy[2 * i + 1]);
        sum += d;
        counts[Math.min(bandPlaces - 1, Math.max(0, Math.ceil((d - least) / step)))]++;
      }
      if (index < kept) {
        let within = 0;
        for (let k = 0; k < bandPlaces; k++) {
          within += counts[k];
          curves[index * bandPlaces + k] = within / n;
        }
      }
      return sum / n;
    },
  );
  const band = pointwiseBand(curves, bandPlaces, bandRank(kept, 0.05));
  return {
    chance: chanceOf(observed, means),
    band: { places, low: [...band.low], high: [...band.high], level: band.level },
  };
}

/**
 * Are the finds of a class nearer to the hull than finds at large? Their names are dealt out anew over all finds, so
 * that what drew every find to the hull, or kept every find from it, is in both.
 *
 * @param observed  [n] distances of the finds chosen, n ≥ 1; left untouched
 * @param others    [k] distances of all other finds, k ≥ 1; left untouched
 * @returns         chances (null without simulations), and the difference of medians (chosen less others), metres
 */
export function againstOthers(
  observed: Float64Array,
  others: Float64Array,
  plan: ChancePlan,
): { chance: ChanceOfMean | null; medianDifferenceM: number } {
  const n = observed.length;
  const k = others.length;
  const pool = new Float64Array(n + k);
  pool.set(observed);
  pool.set(others, n);
  let total = 0;
  for (const d of pool) total += d;
  // dealing the smaller of the two hands is enough: the other is what remains
  const hand = Math.min(n, k);
  const places = new Uint32Array(hand);
  // streams after those of the random points
  const means = simulate(
    { count: plan.simulations, seed: plan.seed, first: plan.simulations, progress: (share) => plan.progress(share) },
    (random) => {
      let sum = 0;
      for (let i = 0; i < hand; i++) {
        const j = i + random.below(n + k - i);
        swap(pool, i, j);
        places[i] = j;
        sum += pool[i];
      }
      // back in order, so that every deal starts from the same pack
      for (let i = hand - 1; i >= 0; i--) swap(pool, i, places[i]);
      return (hand === n ? sum : total - sum) / n;
    },
  );
  return {
    chance: means.length === 0 ? null : chanceOf(observed, means),
    medianDifferenceM: (median(observed) ?? 0) - (median(others) ?? 0),
  };
}

function swap(pack: Float64Array, i: number, j: number): void {
  const taken = pack[j];
  pack[j] = pack[i];
  pack[i] = taken;
}

/** Rank probabilities; means that differ by rounding alone are ties, and ties count against significance. */
function chanceOf(observed: Float64Array, simulated: number[]): ChanceOfMean {
  const value = mean(observed) ?? 0;
  const same = 1e-11 * observed.reduce((most, d) => Math.max(most, Math.abs(d)), 0);
  const settled = simulated.map((other) => (Math.abs(other - value) <= same ? value : other));
  const { lower, upper, twoSided } = rankProbability(value, settled);
  return { pCloser: lower, pFarther: upper, pTwoSided: twoSided };
}
