import { randomStream, shuffle } from './random.js';

/** Counts on pieces of ground that belong to groups, all [k]. */
export interface GroupedCounts {
  readonly counts: ArrayLike<number>;
  /** ground searched of each, above 0 */
  readonly exposure: ArrayLike<number>;
  /** 0-based */
  readonly group: Uint32Array;
  readonly groups: number;
}

/** How many dealings, from which seed. */
export interface DealPlan {
  readonly count: number;
  readonly seed: number;
  /** number of the first stream */
  readonly first?: number;
}

/** sums in another order may differ in the last places: such dealings are ties */
const tieSlack = 1e-9;

/**
 * Σ (count − expected)² / expected over groups, expected in proportion to their ground: how unequal the rates of the
 * groups are. Groups without ground or anything counted give 0.
 */
export function unequalRates(counts: Float64Array, exposure: Float64Array): number {
  let [n, ground] = [0, 0];
  for (let g = 0; g < counts.length; g++) {
    n += counts[g];
    ground += exposure[g];
  }
  if (!(n > 0 && ground > 0)) return 0;
  let sum = 0;
  for (let g = 0; g < counts.length; g++) {
    const expected = (n * exposure[g]) / ground;
    if (expected > 0) sum += (counts[g] - expected) ** 2 / expected;
  }
  return sum;
}

function sumsByGroup({ counts, exposure, groups }: GroupedCounts, group: Uint32Array): [Float64Array, Float64Array] {
  const sums: [Float64Array, Float64Array] = [new Float64Array(groups), new Float64Array(groups)];
  for (let k = 0; k < group.length; k++) {
    sums[0][group[k]] += counts[k];
    sums[1][group[k]] += exposure[k];
  }
  return sums;
}

/**
 * How often groups come out as unequal as observed when whole squares, with all that was found in them, are dealt out
 * anew among them. Heaps inside a square do it no harm; squares that are alike because they lie side by side do.
 *
 * @returns  null without dealings, with fewer than two groups that have squares, or when nothing was counted
 * @see Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses, doi:10.1007/b138696
 */
export function dealtSquares(squares: GroupedCounts, plan: DealPlan): number | null {
  const used = new Set(squares.group).size;
  const observed = unequalRates(...sumsByGroup(squares, squares.group));
  if (plan.count === 0 || used < 2 || !Array.from(squares.counts).some((c) => c > 0)) return null;
  const least = observed * (1 - tieSlack);
  const order = new Uint32Array(squares.group.length);
  const dealt = new Uint32Array(squares.group.length);
  let asLarge = 1;
  for (let s = 0; s < plan.count; s++) {
    for (let k = 0; k < order.length; k++) order[k] = k;
    shuffle(order, randomStream(plan.seed, (plan.first ?? 0) + s));
    for (let k = 0; k < order.length; k++) dealt[k] = squares.group[order[k]];
    if (unequalRates(...sumsByGroup(squares, dealt)) >= least) asLarge++;
  }
  return asLarge / (plan.count + 1);
}

/** Counts of two seasons in the same squares, all [k]. */
export interface PairedCounts {
  readonly first: ArrayLike<number>;
  readonly second: ArrayLike<number>;
  readonly exposureFirst: ArrayLike<number>;
  readonly exposureSecond: ArrayLike<number>;
}

/** up to so many squares every swap is looked at */
const mostSquaresExact = 12;

/**
 * How often two seasons come out as unequal as observed when their names are swapped within squares: what lies in a
 * square, and how much was dug of it, goes along. The place is the same in every swap.
 *
 * @returns  null when nothing was counted, or without dealings where there are too many swaps to look at all
 */
export function swappedSquares(squares: PairedCounts, plan: DealPlan): number | null {
  const k = squares.first.length;
  const isExact = k <= mostSquaresExact;
  if (!isExact && plan.count === 0) return null;
  const statistic = (isSwapped: (i: number) => boolean): number => {
    const counts = new Float64Array(2);
    const exposure = new Float64Array(2);
    for (let i = 0; i < k; i++) {
      const own = isSwapped(i) ? 1 : 0;
      counts[own] += squares.first[i];
      counts[1 - own] += squares.second[i];
      exposure[own] += squares.exposureFirst[i];
      exposure[1 - own] += squares.exposureSecond[i];
    }
    return counts[0] + counts[1] > 0 ? unequalRates(counts, exposure) : Number.NaN;
  };
  const observed = statistic(() => false);
  if (Number.isNaN(observed)) return null;
  const least = observed * (1 - tieSlack);
  const swaps = isExact ? 2 ** k : plan.count;
  let asLarge = isExact ? 0 : 1;
  for (let s = 0; s < swaps; s++) {
    if (isExact) {
      if (statistic((i) => ((s >> i) & 1) === 1) >= least) asLarge++;
      continue;
    }
    const random = randomStream(plan.seed, (plan.first ?? 0) + s);
    if (statistic(() => random.next() < 0.5) >= least) asLarge++;
  }
  return asLarge / (isExact ? swaps : swaps + 1);
}
