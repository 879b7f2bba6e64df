import { normalTwoSided } from './distributions.js';
import { kolmogorovLimit } from './kolmogorov.js';
import { midRanks } from './ranks.js';

/** Mann and Whitney's comparison of two lists. */
export interface MannWhitney {
  /** pairs in which the first list has the larger value, ties a half */
  readonly u: number;
  readonly mean: number;
  /** with the correction for ties */
  readonly standardDeviation: number;
  readonly z: number;
  /** two-sided by the normal law, without and with the continuity correction of a half */
  readonly p: number;
  readonly pContinuity: number;
  /** two-sided over all ways to deal the values out, ties as they are; null beyond 40 values */
  readonly pExact: number | null;
  /** share of pairs in which the first is larger: U / (n₁ n₂); 0.5 = no difference */
  readonly shareLarger: number;
}

/**
 * Whether one list tends to larger values. Takes finds as independent: sherds of one pot are not.
 *
 * @param a  at least one value; left untouched
 * @returns  null when a list is empty or all values are equal
 * @see Mann & Whitney 1947, doi:10.1214/aoms/1177730491
 */
export function mannWhitney(a: ArrayLike<number>, b: ArrayLike<number>): MannWhitney | null {
  const [n1, n2] = [a.length, b.length];
  const n = n1 + n2;
  const { rank, ties } = midRanks([...Array.from(a), ...Array.from(b)]);
  let sum = 0;
  for (let i = 0; i < n1; i++) sum += rank[i];
  const u = sum - (n1 * (n1 + 1)) / 2;
  const mean = (n1 * n2) / 2;
  const tied = ties.reduce((total, t) => total + t * t * t - t, 0);
  const variance = ((n1 * n2) / 12) * (n + 1 - tied / (n * (n - 1)));
  if (!(variance > 0)) return null;
  const standardDeviation = Math.sqrt(variance);
  const gap = u - mean;
  const z = gap / standardDeviation;
  return {
    u,
    mean,
    standardDeviation,
    z,
    p: normalTwoSided(z),
    pContinuity: normalTwoSided((Math.sign(gap) * Math.max(0, Math.abs(gap) - 0.5)) / standardDeviation),
    pExact: n <= 40 ? exactRankSum(rank, n1, sum) : null,
    shareLarger: u / (n1 * n2),
  };
}

/** Two-sided p of a rank sum over all choices of n1 of the mid-ranks, by counting sums of doubled ranks. */
function exactRankSum(rank: Float64Array, n1: number, observed: number): number {
  const doubled = Array.from(rank, (r) => Math.round(2 * r));
  const most = doubled.reduce((sum, r) => sum + r, 0);
  // ways[k][s]: choices of k ranks with doubled sum s; below 2^53 for 40 values
  const ways = Array.from({ length: n1 + 1 }, () => new Float64Array(most + 1));
  ways[0][0] = 1;
  for (const r of doubled) {
    for (let k = n1; k >= 1; k--) for (let s = most; s >= r; s--) ways[k][s] += ways[k - 1][s - r];
  }
  const target = Math.round(2 * observed);
  let below = 0;
  let above = 0;
  let all = 0;
  ways[n1].forEach((count, s) => {
    all += count;
    if (s <= target) below += count;
    if (s >= target) above += count;
  });
  return Math.min(1, (2 * Math.min(below, above)) / all);
}

/** Kolmogorov and Smirnov's comparison of two lists. */
export interface TwoSampleGap {
  /** largest gap between both distribution functions */
  readonly d: number;
  /** by the limit law */
  readonly pLimit: number;
  /** over all ways to deal the values out, ties as they are; null beyond 10⁷ steps */
  readonly pExact: number | null;
}

/**
 * Whether two lists have the same distribution in any respect. Takes finds as independent.
 *
 * @returns null when a list is empty
 * @see Smirnov 1939; exact p by counting paths: Schröer & Trenkler 1995, doi:10.1016/0167-9473(94)00040-P
 */
export function twoSampleGap(a: ArrayLike<number>, b: ArrayLike<number>): TwoSampleGap | null {
  const [n1, n2] = [a.length, b.length];
  if (n1 === 0 || n2 === 0) return null;
  const all = [
    ...Array.from(a, (value) => ({ value: value + 0, first: 1 })),
    ...Array.from(b, (value) => ({ value: value + 0, first: 0 })),
  ].sort((p, q) => p.value - q.value);
  // gaps in units of 1 / (n1 n2), whole numbers: no tie with the observed gap is lost to rounding
  let gap = 0;
  let most = 0;
  const isEnd = new Uint8Array(all.length + 1);
  all.forEach(({ value, first }, i) => {
    gap += first === 1 ? n2 : -n1;
    if (i + 1 < all.length && all[i + 1].value === value) return;
    isEnd[i + 1] = 1;
    most = Math.max(most, Math.abs(gap));
  });
  const d = most / (n1 * n2);
  return {
    d,
    pLimit: kolmogorovLimit(Math.sqrt((n1 * n2) / (n1 + n2)) * d),
    pExact: n1 * n2 <= 1e7 ? exactGap({ n1, n2, most, isEnd }) : null,
  };
}

/** Share of dealing-outs whose gap reaches the observed one at the end of some group of ties. */
function exactGap(of: { n1: number; n2: number; most: number; isEnd: Uint8Array }): number {
  const { n1, n2, most, isEnd } = of;
  // inside[j]: share of the ways to (i, j) that never reached the gap, carried row by row as a probability
  let inside = new Float64Array(n2 + 1);
  for (let i = 0; i <= n1; i++) {
    const next = new Float64Array(n2 + 1);
    for (let j = 0; j <= n2; j++) {
      const k = i + j;
      if (isEnd[k] === 1 && Math.abs(i * n2 - j * n1) >= most) continue;
      if (k === 0) {
        next[0] = 1;
        continue;
      }
      // a uniformly chosen dealing-out reaches (i, j) from (i − 1, j) with share i / k of its own count
      next[j] = (i > 0 ? (i / k) * inside[j] : 0) + (j > 0 ? (j / k) * next[j - 1] : 0);
    }
    inside = next;
  }
  return Math.min(1, Math.max(0, 1 - inside[n2]));
}
