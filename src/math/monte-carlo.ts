import { type RandomStream, randomStream } from './random.js';

/** How many simulations, from which seed, and whom to tell. */
export interface SimulationPlan {
  /** how many; 0 is allowed */
  readonly count: number;
  readonly seed: number;
  /** number of the first one, when several workers share the work; none = 0 */
  readonly first?: number;
  /** called about a hundred times with the share done; throws when the run was cancelled */
  readonly progress?: (share: number) => void;
}

/**
 * Runs simulations one after the other. Simulation 417 draws from stream 417 of the seed wherever it runs, so the
 * answers depend neither on how many workers there are nor on what ran before.
 *
 * @param draw  makes one simulated answer from its own stream; `index` counts from `first`
 */
export function simulate<T>(plan: SimulationPlan, draw: (random: RandomStream, index: number) => T): T[] {
  const { count, seed, first = 0, progress } = plan;
  const stride = Math.max(1, Math.floor(count / 100));
  const answers: T[] = [];
  for (let i = 0; i < count; i++) {
    if (progress && i % stride === 0) progress(i / count);
    answers.push(draw(randomStream(seed, first + i), first + i));
  }
  return answers;
}

/** Rank probabilities of an observed value among simulated ones. */
export interface RankProbability {
  /** as small as observed or smaller */
  readonly lower: number;
  /** as large as observed or larger */
  readonly upper: number;
  /** twice the smaller of the two, at most 1 */
  readonly twoSided: number;
}

/**
 * How often chance alone gives a value at least as extreme. The observed value counts as one of the draws, ties count
 * against significance: never 0, and with 19 simulations never below 1/20.
 *
 * @param simulated  [m] values of the same statistic, in any order; m = 0 gives 1
 * @see Besag & Diggle 1977, doi:10.2307/2346974; Phipson & Smyth 2010, doi:10.2202/1544-6115.1585
 */
export function rankProbability(observed: number, simulated: ArrayLike<number>): RankProbability {
  let below = 1;
  let above = 1;
  for (let i = 0; i < simulated.length; i++) {
    if (simulated[i] <= observed) below++;
    if (simulated[i] >= observed) above++;
  }
  const lower = below / (simulated.length + 1);
  const upper = above / (simulated.length + 1);
  return { lower, upper, twoSided: Math.min(1, 2 * Math.min(lower, upper)) };
}

/** Lowest and highest simulated values at each place of a curve. */
export interface PointwiseBand {
  /** [r] */
  readonly low: Float64Array;
  /** [r] */
  readonly high: Float64Array;
  /** share of random scatters that leave the band at ONE place; somewhere along the curve far more do */
  readonly level: number;
}

/** Which rank from either end gives a pointwise band of about this level: 25 for 999 simulations at 0.05, never below 1. */
export function bandRank(simulations: number, level: number): number {
  // a hair more, so that 0.025 × 1000 is 25 and not 24.999…
  return Math.max(1, Math.floor((level / 2) * (simulations + 1) + 1e-9));
}

/**
 * Band between the k-th smallest and the k-th largest simulated value at each place of a curve.
 *
 * It holds for one place chosen beforehand; read along the whole curve it is no test.
 *
 * @param curves  [m × places] one simulated curve a row; left untouched
 * @param places  values in each curve
 * @param rank    k, from 1 to m / 2
 * @see Baddeley et al. 2014, doi:10.1890/13-2042.1
 */
export function pointwiseBand(curves: ArrayLike<number>, places: number, rank: number): PointwiseBand {
  const m = curves.length / places;
  const low = new Float64Array(places);
  const high = new Float64Array(places);
  const column = new Float64Array(m);
  for (let r = 0; r < places; r++) {
    for (let i = 0; i < m; i++) column[i] = curves[i * places + r];
    column.sort();
    low[r] = column[rank - 1];
    high[r] = column[m - rank];
  }
  return { low, high, level: Math.min(1, (2 * rank) / (m + 1)) };
}
