import { chiSquareLowerTail, chiSquareUpperTail } from './distributions.js';

/** Counts of tiles against counts in proportion to the ground dug of each. */
export interface QuadratTest {
  /** Σ (count − expected)² / expected over tiles with ground */
  readonly chi2: number;
  /** tiles with ground, less one */
  readonly df: number;
  /** χ² / df: 1 for a random scatter, above clustered, below even; with equal tiles the variance over the mean */
  readonly dispersion: number;
  /** as large or larger: clustered */
  readonly pClustered: number;
  /** as small or smaller: evenly spread */
  readonly pRegular: number;
  /** twice the smaller of both, at most 1 */
  readonly pTwoSided: number;
  readonly smallestExpected: number;
}

/**
 * Pearson's test of counts by tile, each held to its own ground: the only form that holds where squares are partly dug.
 *
 * Below five finds expected in a tile the χ² law is a rough guide; it sees nothing smaller than a tile nor how tiles
 * lie to one another.
 *
 * @param counts    [m]
 * @param exposure  [m] m² dug; tiles without ground are left out, with whatever was counted there
 * @returns         null with fewer than two tiles with ground or nothing counted in them
 * @see Greig-Smith 1952, Annals of Botany 16, 293–316; Hodder & Orton 1976, Spatial Analysis in Archaeology
 */
export function quadratTest(counts: ArrayLike<number>, exposure: ArrayLike<number>): QuadratTest | null {
  const pearson = pearsonSum(counts, exposure);
  if (pearson === null) return null;
  const { chi2, df, smallestExpected } = pearson;
  const pClustered = chiSquareUpperTail(chi2, df);
  const pRegular = chiSquareLowerTail(chi2, df);
  return {
    chi2,
    df,
    dispersion: chi2 / df,
    pClustered,
    pRegular,
    pTwoSided: Math.min(1, 2 * Math.min(pClustered, pRegular)),
    smallestExpected,
  };
}

/** Σ (count − expected)² / expected without its tails, which simulations have no use for; null as for quadratTest. */
export function pearsonSum(
  counts: ArrayLike<number>,
  exposure: ArrayLike<number>,
): { chi2: number; df: number; smallestExpected: number } | null {
  let ground = 0;
  let total = 0;
  let tiles = 0;
  for (let k = 0; k < counts.length; k++) {
    if (!(exposure[k] > 0)) continue;
    ground += exposure[k];
    total += counts[k];
    tiles++;
  }
  if (tiles < 2 || !(total > 0)) return null;
  let chi2 = 0;
  let smallestExpected = Infinity;
  for (let k = 0; k < counts.length; k++) {
    if (!(exposure[k] > 0)) continue;
    const expected = (total * exposure[k]) / ground;
    smallestExpected = Math.min(smallestExpected, expected);
    chi2 += (counts[k] - expected) ** 2 / expected;
  }
  return { chi2, df: tiles - 1, smallestExpected };
}

/** Counts of tiles with ground, in their order. */
export function countsWithGround(counts: ArrayLike<number>, exposure: ArrayLike<number>): Float64Array {
  return Float64Array.from(counts).filter((_, k) => exposure[k] > 0);
}

/**
 * Variance of counts (divisor n − 1) over their mean: 1 for a random scatter. Meaningful only where all tiles have the
 * same ground; use χ² / df otherwise.
 * @returns null with fewer than two counts or when all are 0
 */
export function varianceMeanRatio(counts: ArrayLike<number>): number | null {
  const m = counts.length;
  let sum = 0;
  for (let k = 0; k < m; k++) sum += counts[k];
  if (m < 2 || !(sum > 0)) return null;
  const mean = sum / m;
  let squares = 0;
  for (let k = 0; k < m; k++) squares += (counts[k] - mean) ** 2;
  return squares / (m - 1) / mean;
}

/**
 * How many times likelier two finds drawn at random share a tile than if finds lay at random: 1 random, above
 * clustered. Like the variance ratio it takes tiles for equal.
 * @returns null with fewer than two finds
 * @see Morisita 1959, Memoirs of the Faculty of Science, Kyushu University, Series E 2, 215–235
 */
export function morisitaIndex(counts: ArrayLike<number>): number | null {
  let n = 0;
  let pairs = 0;
  for (let k = 0; k < counts.length; k++) {
    n += counts[k];
    pairs += counts[k] * (counts[k] - 1);
  }
  return n < 2 ? null : (counts.length * pairs) / (n * (n - 1));
}

/** Sums of tile values over blocks. @param blockOf [tiles] block of each tile, 0 to blocks − 1 */
export function blockSums(values: ArrayLike<number>, blockOf: Int32Array, blocks: number): Float64Array {
  const sums = new Float64Array(blocks);
  for (let k = 0; k < values.length; k++) sums[blockOf[k]] += values[k];
  return sums;
}
