import { middleRange } from '../../math/middle-range.js';
import { rankProbability, simulate } from '../../math/monte-carlo.js';
import { blockSums, pearsonSum } from '../../math/quadrats.js';
import { shareSampler } from '../../math/share-sampler.js';
import type { BlockSize } from './counting.js';

/** Dispersion of random scatters, and where the observed one stands. */
export interface RandomCounts {
  readonly pClustered: number;
  readonly pRegular: number;
  readonly pTwoSided: number;
  /** of each block size: middle 95 % of χ² / df */
  readonly ranges: readonly { readonly low: number; readonly high: number }[];
}

/**
 * Drops the same finds on the same ground at random, each with all it counts for, and tests the counts again.
 *
 * A concretion or a pot vessel falls whole: it is one throw, however many pieces it counts.
 *
 * @param observed  χ² of single tiles
 * @param weights   [n] what each find counts
 * @param sizes     block sizes, single tiles first
 * @see Besag & Diggle 1977, doi:10.2307/2346974
 */
export function randomCounts(
  given: { readonly observed: number; readonly weights: Float64Array; readonly sizes: readonly BlockSize[] },
  plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void },
): RandomCounts {
  const { observed, weights, sizes } = given;
  const [single] = sizes;
  const draw = shareSampler(single.exposureM2);
  const counts = new Float64Array(single.exposureM2.length);
  const chi2 = new Float64Array(plan.count);
  const dispersions = sizes.map(() => new Float64Array(plan.count));
  simulate(plan, (random, s) => {
    counts.fill(0);
    for (const weight of weights) counts[draw(random)] += weight;
    sizes.forEach((size, k) => {
      const inBlocks = k === 0 ? counts : blockSums(counts, size.blockOf, size.blocks);
      const test = pearsonSum(inBlocks, size.exposureM2);
      if (test === null) return;
      dispersions[k][s] = test.chi2 / test.df;
      if (k === 0) chi2[s] = test.chi2;
    });
  });
  // the same sum in another order may differ in the last bits: equal counts must tie
  const rounded = (v: number) => Number(v.toPrecision(12));
  const rank = rankProbability(rounded(observed), chi2.map(rounded));
  return {
    pClustered: rank.upper,
    pRegular: rank.lower,
    pTwoSided: rank.twoSided,
    ranges: dispersions.map((values) => middleRange(values)),
  };
}
