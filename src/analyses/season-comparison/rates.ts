import { negativeBinomialFit } from '../../math/negative-binomial.js';
import { pearsonSum } from '../../math/quadrats.js';
import { countInterval } from '../../math/rate-interval.js';
import { rateRatio } from '../../math/rate-ratio.js';
import { type RatiosSeen, ratiosSeen } from '../../math/ratios-seen.js';

/** Counts on squares with ground (m²) or deposit (m³), all [k]. */
export interface CountsOnGround {
  readonly counts: readonly number[];
  readonly exposure: readonly number[];
}

/** A rate with the interval of things that fall one by one, and one widened by how unevenly they lie over squares. */
export interface WidenedRate {
  readonly value: number | null;
  readonly exactLow: number | null;
  readonly exactHigh: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** χ² / df over squares: 1 as chance has it, above heaped; null with fewer than two squares or nothing counted */
  readonly dispersion: number | null;
}

const total = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0);

/**
 * Finds per unit of ground. Where squares differ more than chance would have it, the count is worth fewer independent
 * finds: it is divided by its dispersion before the exact interval is taken (quasi-Poisson).
 *
 * @param areIndependent  false for grams: they do not fall one by one, and have no interval
 * @see Garwood 1936, doi:10.1093/biomet/28.3-4.437; Wedderburn 1974, doi:10.1093/biomet/61.3.439
 */
export function widenedRate({ counts, exposure }: CountsOnGround, areIndependent: boolean): WidenedRate {
  const [count, ground] = [total(counts), total(exposure)];
  if (!(ground > 0)) return { value: null, exactLow: null, exactHigh: null, low: null, high: null, dispersion: null };
  const dispersion = areIndependent ? dispersionOf([{ counts, exposure }]) : null;
  const factor = Math.max(1, dispersion ?? 1);
  const exact = areIndependent ? countInterval(count) : null;
  const wide = areIndependent ? countInterval(count / factor) : null;
  return {
    value: count / ground,
    exactLow: exact && exact.low / ground,
    exactHigh: exact && exact.high / ground,
    low: wide && (wide.low * factor) / ground,
    high: wide && (wide.high * factor) / ground,
    dispersion,
  };
}

/** k of the negative binomial law of counts over squares; null = counts vary no more than chance would have them. */
export function negativeBinomialK({ counts, exposure }: CountsOnGround): number | null {
  return negativeBinomialFit(counts, exposure)?.k ?? null;
}

/** χ² / df of counts about the rate of their own group, all groups together; null without degrees of freedom. */
export function dispersionOf(groups: readonly CountsOnGround[]): number | null {
  let [chi2, df] = [0, 0];
  for (const { counts, exposure } of groups) {
    const own = pearsonSum(counts, exposure);
    if (own === null) continue;
    chi2 += own.chi2;
    df += own.df;
  }
  return df > 0 ? chi2 / df : null;
}

/** The rate of the second season over that of the first. */
export interface WidenedRatio {
  /** null where the first has nothing or there is no ground */
  readonly value: number | null;
  readonly exactLow: number | null;
  readonly exactHigh: number | null;
  readonly low: number | null;
  /** null where it has no end */
  readonly high: number | null;
  readonly dispersion: number | null;
  /** what a test of so many finds would see with 80 % */
  readonly seen: RatiosSeen;
}

/**
 * @param dispersion  of counts about what is expected, 1 or more to widen the interval; null = not known
 * @see Clopper & Pearson 1934, doi:10.1093/biomet/26.4.404 (given the total, the split is binomial)
 */
export function widenedRatio(
  first: CountsOnGround,
  second: CountsOnGround,
  of: { readonly dispersion: number | null; readonly areIndependent: boolean },
): WidenedRatio {
  const [n1, n2] = [total(first.counts), total(second.counts)];
  const [area1, area2] = [total(first.exposure), total(second.exposure)];
  const isRated = area1 > 0 && area2 > 0;
  const value = isRated && n1 > 0 ? n2 / area2 / (n1 / area1) : null;
  if (!of.areIndependent || !isRated) {
    return {
      value,
      exactLow: null,
      exactHigh: null,
      low: null,
      high: null,
      dispersion: null,
      seen: { above: null, below: null },
    };
  }
  const factor = Math.max(1, of.dispersion ?? 1);
  const exact = rateRatio({ n1: n2, area1: area2, n2: n1, area2: area1 });
  const wide = rateRatio({ n1: n2 / factor, area1: area2, n2: n1 / factor, area2: area1 });
  return {
    value,
    exactLow: exact?.low ?? null,
    exactHigh: exact?.high ?? null,
    low: wide?.low ?? null,
    high: wide?.high ?? null,
    dispersion: of.dispersion,
    seen: ratiosSeen({ n: Math.floor((n1 + n2) / factor), area1: area2, area2: area1 }),
  };
}

/**
 * χ² / df of how finds of each square split between two seasons about one ratio for all squares: what is uneven
 * between squares, but the same in both seasons, does not count. Null with fewer than two squares with finds.
 */
export function splitDispersion(first: CountsOnGround, second: CountsOnGround): number | null {
  const [n1, n2] = [total(first.counts), total(second.counts)];
  const [area1, area2] = [total(first.exposure), total(second.exposure)];
  if (!(n1 > 0 && n2 > 0 && area1 > 0 && area2 > 0)) return null;
  const ratio = n2 / area2 / (n1 / area1);
  let [chi2, squares] = [0, 0];
  first.counts.forEach((own, k) => {
    const both = own + second.counts[k];
    if (!(both > 0)) return;
    const share = (ratio * second.exposure[k]) / (ratio * second.exposure[k] + first.exposure[k]);
    chi2 += (second.counts[k] - both * share) ** 2 / (both * share * (1 - share));
    squares++;
  });
  return squares > 1 ? chi2 / (squares - 1) : null;
}
