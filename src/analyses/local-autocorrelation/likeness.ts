import { normalTwoSided } from '../../math/distributions.js';
import { benjaminiHochberg, holm } from '../../math/false-discovery.js';
import {
  type Autocorrelation,
  expectedJoins,
  gearyC,
  getisOrdStar,
  type JoinCounts,
  joinCounts,
  localMoran,
  moranI,
} from '../../math/lattice-autocorrelation.js';
import { type DealtStatistics, dealtMoran, dealtStatistics } from '../../math/lattice-permutation.js';
import { middleRange } from '../../math/middle-range.js';
import { rankProbability } from '../../math/monte-carlo.js';
import type { SquareLinks } from '../../math/square-links.js';

/** One statistic with its p values; null where it does not exist. */
export interface TestedStatistic {
  readonly value: number | null;
  readonly expected: number | null;
  /** middle 95 % of the dealings */
  readonly low: number | null;
  readonly high: number | null;
  readonly pPermutation: number | null;
  readonly zRandomisation: number | null;
  readonly pRandomisation: number | null;
  readonly zNormality: number | null;
  readonly pNormality: number | null;
}

/** Everything said of one field of values over the squares. */
export interface Likeness {
  readonly moran: TestedStatistic;
  readonly geary: TestedStatistic;
  readonly joins: JoinCounts;
  readonly expectedJoins: JoinCounts | null;
  readonly joinP: { readonly more: number; readonly fewer: number; readonly twoSided: number } | null;
  /** dealings behind the p values */
  readonly simulations: number;
  /** square by square, [n]; null when every value is the same */
  readonly local: LocalLikeness | null;
}

/** [n] each; NaN where a square cannot be tested. */
export interface LocalLikeness {
  readonly moran: Float64Array;
  readonly star: Float64Array;
  /** two-sided, of the neighbours' sum: by dealing, or of Gi* by the normal law without simulations */
  readonly p: Float64Array;
  readonly pFdr: Float64Array;
  readonly pHolm: Float64Array;
  /** 1: the neighbours are high, −1: low */
  readonly side: Int8Array;
}

/** Tests one field of values. @param z [n] values @param present [n] 1 where there are finds */
export function likeness(
  z: Float64Array,
  present: Uint8Array,
  links: SquareLinks,
  plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void },
): Likeness {
  const moran = moranI(z, links);
  const geary = gearyC(z, links);
  const dealt = moran && plan.count > 0 ? dealtStatistics({ z, present, links }, plan) : null;
  const joins = joinCounts(present, links);
  const joinRank = dealt && rankProbability(joins.both, dealt.both);
  return {
    moran: tested(moran, dealt?.moran),
    geary: tested(geary, dealt?.geary),
    simulations: dealt === null ? 0 : plan.count,
    joins,
    expectedJoins: expectedJoins(present, links),
    joinP: joinRank && { more: joinRank.upper, fewer: joinRank.lower, twoSided: joinRank.twoSided },
    local: moran && localOf(z, links, dealt, plan.count),
  };
}

/** Moran's I of one field of values, for the many classes of a table. */
export function testedMoran(
  z: Float64Array,
  links: SquareLinks,
  plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void },
): TestedStatistic {
  const moran = moranI(z, links);
  return tested(moran, moran && plan.count > 0 ? dealtMoran(z, links, plan) : undefined);
}

function tested(found: Autocorrelation | null, dealt: Float64Array | undefined): TestedStatistic {
  const zBy = (variance: number | null | undefined) =>
    found === null || variance == null ? null : (found.value - found.expected) / Math.sqrt(variance);
  const zRandomisation = zBy(found?.varianceRandomisation);
  const zNormality = zBy(found?.varianceNormality);
  // the same dealing may be summed in another order: the last bits must tie
  const rounded = (v: number) => Number(v.toPrecision(12));
  const range = dealt && dealt.length > 0 ? middleRange(dealt) : null;
  return {
    value: found?.value ?? null,
    expected: found?.expected ?? null,
    low: range?.low ?? null,
    high: range?.high ?? null,
    pPermutation: found && dealt ? rankProbability(rounded(found.value), dealt.map(rounded)).twoSided : null,
    zRandomisation,
    pRandomisation: zRandomisation === null ? null : normalTwoSided(zRandomisation),
    zNormality,
    pNormality: zNormality === null ? null : normalTwoSided(zNormality),
  };
}

function localOf(
  z: Float64Array,
  links: SquareLinks,
  dealt: DealtStatistics | null,
  simulations: number,
): LocalLikeness | null {
  const moran = localMoran(z, links);
  const star = getisOrdStar(z, links);
  if (moran === null || star === null) return null;
  const p = star.map((score, i) =>
    dealt
      ? Math.min(1, (2 * (1 + Math.min(dealt.high[i], dealt.low[i]))) / (simulations + 1))
      : Number.isNaN(score)
        ? Number.NaN
        : normalTwoSided(score),
  );
  const side = Int8Array.from(star, (score, i) =>
    dealt ? Math.sign(dealt.low[i] - dealt.high[i]) : Math.sign(Number.isNaN(score) ? 0 : score),
  );
  return { moran, star, p, pFdr: benjaminiHochberg(p), pHolm: holm(p), side };
}
