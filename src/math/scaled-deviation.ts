import { type RankProbability, rankProbability } from './monte-carlo.js';

/** One place of a statistic (a distance) against its simulated values. */
export interface PlaceDeviation extends RankProbability {
  /** mean of the simulated values */
  readonly mean: number;
  /** standard deviation of the simulated values */
  readonly deviation: number;
  /** middle 95 % of the simulated values */
  readonly low: number;
  readonly high: number;
  /** observed less mean, over the spread of chance on its side: beyond ±2 unusual at this one place */
  readonly scaled: number;
}

/** A statistic at several places, tested as one. */
export interface ScaledDeviation {
  /** share of simulations whose largest scaled deviation is as large, the observed one counted in: one p for all places */
  readonly p: number;
  /** place with the largest scaled deviation */
  readonly strongest: number;
  readonly places: readonly PlaceDeviation[];
}

/**
 * Tests a statistic at all its places at once: the largest deviation from the mean, measured on each side by how far
 * chance spreads on that side (its standard deviation, where both sides spread alike), so that places with few pairs and
 * lopsided laws count fairly.
 *
 * @param observed   [places]
 * @param simulated  [places] lists of equally many values; simulation s is the s-th of each list
 * @returns          null without simulations, or when nothing ever varies
 * @see Myllymäki et al. 2015, doi:10.1016/j.spasta.2014.11.004 (deviations scaled side by side); Besag & Diggle 1977,
 *      doi:10.2307/2346974
 */
export function scaledDeviation(
  observed: ArrayLike<number>,
  simulated: readonly Float64Array[],
): ScaledDeviation | null {
  const m = simulated.length > 0 ? simulated[0].length : 0;
  if (m === 0) return null;
  const largest = new Float64Array(m);
  let own = 0;
  let strongest = 0;
  let varies = false;
  const places = simulated.map((values, k): PlaceDeviation => {
    const law = lawOf(observed[k], values);
    varies ||= law.deviation > 0;
    for (let s = 0; s < m; s++) largest[s] = Math.max(largest[s], Math.abs(law.scaled(values[s])));
    const scaled = law.scaled(observed[k]);
    if (Math.abs(scaled) > own) {
      own = Math.abs(scaled);
      strongest = k;
    }
    return { ...rankProbability(observed[k], values), ...spreadOf(values), ...middle(values), scaled };
  });
  if (!varies) return null;
  let asLarge = 1;
  for (const value of largest) if (value >= own) asLarge++;
  return { p: asLarge / (m + 1), strongest, places };
}

/** Mean and scales over simulated and observed values alike: the observed one is one of them when names mean nothing. */
function lawOf(observed: number, values: Float64Array) {
  const all = new Float64Array(values.length + 1);
  all.set(values);
  all[values.length] = observed;
  const { mean, deviation } = spreadOf(all);
  let below = 0;
  let above = 0;
  for (const v of all) {
    if (v < mean) below += (2 * (v - mean) ** 2) / all.length;
    else above += (2 * (v - mean) ** 2) / all.length;
  }
  const [low, high] = [Math.sqrt(below), Math.sqrt(above)];
  return {
    deviation,
    scaled: (value: number) => (deviation > 0 ? (value - mean) / (value < mean ? low : high) : 0),
  };
}

/** Ends of the middle 95 % of some values, the outermost ones where there are few. */
function middle(values: Float64Array): { readonly low: number; readonly high: number } {
  const sorted = values.slice().sort();
  const k = Math.max(1, Math.floor(0.025 * (sorted.length + 1) + 1e-9));
  return { low: sorted[k - 1], high: sorted[sorted.length - k] };
}

function spreadOf(values: Float64Array): { mean: number; deviation: number } {
  const least = values.reduce((a, b) => Math.min(a, b), Infinity);
  const most = values.reduce((a, b) => Math.max(a, b), -Infinity);
  // rounding of a mean must not make equal values vary
  if (least === most) return { mean: least, deviation: 0 };
  let mean = 0;
  for (const v of values) mean += v / values.length;
  let square = 0;
  for (const v of values) square += (v - mean) ** 2 / values.length;
  return { mean, deviation: Math.sqrt(square) };
}
