import { chiSquareUpperTail, normalTwoSided, studentTwoSided } from './distributions.js';

/** Ranks from 1, ties sharing their middle rank, and what the tie corrections need. */
export interface MidRanks {
  /** [n] */
  readonly rank: Float64Array;
  /** sizes of the groups of equal values larger than 1 */
  readonly ties: readonly number[];
}

/** Ranks values; equal ones (−0 and 0 alike) get the middle of their ranks. */
export function midRanks(values: ArrayLike<number>): MidRanks {
  const n = values.length;
  const order = Uint32Array.from({ length: n }, (_, i) => i).sort((a, b) => values[a] - values[b]);
  const rank = new Float64Array(n);
  const ties: number[] = [];
  for (let i = 0; i < n; ) {
    let j = i + 1;
    while (j < n && values[order[j]] === values[order[i]]) j++;
    for (let k = i; k < j; k++) rank[order[k]] = (i + j + 1) / 2;
    if (j - i > 1) ties.push(j - i);
    i = j;
  }
  return { rank, ties };
}

/** A correlation and its two-sided p; null where one of the two lists does not vary. */
export interface RankCorrelation {
  readonly value: number | null;
  readonly p: number | null;
}

/**
 * Spearman's rank correlation: Pearson's of the mid-ranks, p from t with n − 2 degrees of freedom. Takes the pairs as
 * independent: finds of one square are not.
 * @see Spearman 1904, doi:10.2307/1412159
 */
export function spearman(a: ArrayLike<number>, b: ArrayLike<number>): RankCorrelation {
  const value = correlation(midRanks(a).rank, midRanks(b).rank);
  if (value === null) return { value, p: null };
  const df = a.length - 2;
  if (df < 1) return { value, p: null };
  if (Math.abs(value) === 1) return { value, p: 0 };
  return { value, p: studentTwoSided(value * Math.sqrt(df / ((1 - value) * (1 + value))), df) };
}

/** Pearson's correlation, weighted when weights are given; null where a list does not vary. */
export function correlation(a: ArrayLike<number>, b: ArrayLike<number>, weight?: ArrayLike<number>): number | null {
  let total = 0;
  let ma = 0;
  let mb = 0;
  for (let i = 0; i < a.length; i++) {
    const w = weight ? weight[i] : 1;
    total += w;
    ma += w * a[i];
    mb += w * b[i];
  }
  ma /= total;
  mb /= total;
  let aa = 0;
  let bb = 0;
  let ab = 0;
  for (let i = 0; i < a.length; i++) {
    const w = weight ? weight[i] : 1;
    aa += w * (a[i] - ma) ** 2;
    bb += w * (b[i] - mb) ** 2;
    ab += w * (a[i] - ma) * (b[i] - mb);
  }
  if (!(aa > 0 && bb > 0)) return null;
  return Math.max(-1, Math.min(1, ab / Math.sqrt(aa * bb)));
}

/**
 * Kendall's tau-b with its tie-corrected normal p, no continuity correction; n log n steps.
 * @see Kendall 1938, doi:10.1093/biomet/30.1-2.81; Knight 1966, doi:10.1080/01621459.1966.10480879
 */
export function kendall(a: ArrayLike<number>, b: ArrayLike<number>): RankCorrelation {
  const n = a.length;
  const order = Uint32Array.from({ length: n }, (_, i) => i).sort((i, j) => a[i] - a[j] || b[i] - b[j]);
  const pairs = (t: number) => (t * (t - 1)) / 2;
  let both = 0;
  for (let i = 0; i < n; ) {
    let j = i + 1;
    while (j < n && a[order[j]] === a[order[i]] && b[order[j]] === b[order[i]]) j++;
    both += pairs(j - i);
    i = j;
  }
  const tiesA = midRanks(a).ties;
  const tiesB = midRanks(b).ties;
  const sum = (ties: readonly number[], of: (t: number) => number) => ties.reduce((total, t) => total + of(t), 0);
  const discordant = inversions(Float64Array.from(order, (i) => b[i]));
  const all = pairs(n);
  const tiedA = sum(tiesA, pairs);
  const tiedB = sum(tiesB, pairs);
  const s = all - tiedA - tiedB + both - 2 * discordant;
  if (all === tiedA || all === tiedB) return { value: null, p: null };
  const value = s / Math.sqrt((all - tiedA) * (all - tiedB));
  const v = (t: number) => t * (t - 1) * (2 * t + 5);
  const triple = (t: number) => t * (t - 1) * (t - 2);
  const variance =
    (n * (n - 1) * (2 * n + 5) - sum(tiesA, v) - sum(tiesB, v)) / 18 +
    (2 * tiedA * tiedB) / (n * (n - 1)) +
    (n > 2 ? (sum(tiesA, triple) * sum(tiesB, triple)) / (9 * triple(n)) : 0);
  return { value, p: variance > 0 ? normalTwoSided(s / Math.sqrt(variance)) : null };
}

/** Pairs in the wrong order, by merging; ties are in order. Changes the list. */
function inversions(values: Float64Array): number {
  let from: Float64Array = values;
  let to: Float64Array = new Float64Array(values.length);
  let count = 0;
  for (let width = 1; width < values.length; width *= 2) {
    for (let low = 0; low < values.length; low += 2 * width) {
      const middle = Math.min(low + width, values.length);
      const high = Math.min(low + 2 * width, values.length);
      let i = low;
      let j = middle;
      for (let k = low; k < high; k++) {
        if (i < middle && (j >= high || from[i] <= from[j])) to[k] = from[i++];
        else {
          count += middle - i;
          to[k] = from[j++];
        }
      }
    }
    [from, to] = [to, from];
  }
  return count;
}

/** Kruskal and Wallis' test that several groups share one law. */
export interface KruskalWallis {
  readonly h: number;
  readonly df: number;
  readonly p: number;
}

/**
 * Whether some group tends to larger values than others, with tie correction. Takes finds as independent.
 * @param groups  lists of values, each with at least one
 * @returns       null with fewer than two groups or when all values are equal
 * @see Kruskal & Wallis 1952, doi:10.1080/01621459.1952.10483441
 */
export function kruskalWallis(groups: readonly ArrayLike<number>[]): KruskalWallis | null {
  const present = groups.filter((g) => g.length > 0);
  const all = present.flatMap((g) => Array.from(g));
  const n = all.length;
  const { rank, ties } = midRanks(all);
  const correction = 1 - ties.reduce((sum, t) => sum + t * t * t - t, 0) / (n * n * n - n);
  if (present.length < 2 || !(correction > 0)) return null;
  let at = 0;
  let sum = 0;
  for (const group of present) {
    let own = 0;
    for (let i = 0; i < group.length; i++) own += rank[at++];
    sum += (own * own) / group.length;
  }
  const h = ((12 / (n * (n + 1))) * sum - 3 * (n + 1)) / correction;
  const df = present.length - 1;
  return { h, df, p: chiSquareUpperTail(Math.max(0, h), df) };
}
