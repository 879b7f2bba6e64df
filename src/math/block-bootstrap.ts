import { simulate } from './monte-carlo.js';
import { quantile } from './quantiles.js';

/** Values that fall into classes along some axis, each belonging to a block of neighbours. */
export interface BlockedValues {
  /** [n] */
  readonly value: Float64Array;
  /** [n] class along the axis, 0 to classes − 1 */
  readonly class: Int32Array;
  readonly classes: number;
  /** [n] any whole numbers: equal numbers belong together */
  readonly block: Int32Array;
}

export interface ClassMean {
  readonly n: number;
  readonly mean: number | null;
  /** 95 % band of the resamples; null without resamples, below four blocks, or when fewer than half of them hold the class */
  readonly low: number | null;
  readonly high: number | null;
}

/** fewer blocks than these say nothing about how blocks differ */
const leastBlocks = 4;

/**
 * Mean of each class with a band from drawing whole blocks with replacement, so that neighbours, which are alike,
 * do not count as independent.
 *
 * With few blocks the band is too narrow; it holds for one class at a time.
 *
 * @param plan  simulation k draws from stream k of the seed
 * @see Künsch 1989, doi:10.1214/aos/1176347265
 */
export function blockBootstrapMeans(
  values: BlockedValues,
  plan: { readonly count: number; readonly seed: number; readonly progress?: (share: number) => void },
): ClassMean[] {
  const { classes } = values;
  const blocks = [...new Set(values.block)].sort((a, b) => a - b);
  const sums = new Float64Array(blocks.length * classes);
  const counts = new Float64Array(blocks.length * classes);
  values.value.forEach((v, i) => {
    const at = blocks.indexOf(values.block[i]) * classes + values.class[i];
    sums[at] += v;
    counts[at] += 1;
  });
  const total = (list: Float64Array, k: number, drawn: readonly number[]) =>
    drawn.reduce((sum, b) => sum + list[b * classes + k], 0);
  const all = Array.from(blocks.keys());
  const resamples =
    blocks.length < leastBlocks ? [] : simulate(plan, (random) => all.map(() => random.below(blocks.length)));
  return Array.from({ length: classes }, (_, k) => {
    const n = total(counts, k, all);
    const means = resamples.flatMap((drawn) => {
      const count = total(counts, k, drawn);
      return count > 0 ? [total(sums, k, drawn) / count] : [];
    });
    const isHeld = means.length > 0 && 2 * means.length >= resamples.length;
    return {
      n,
      mean: n > 0 ? total(sums, k, all) / n : null,
      low: isHeld && n > 0 ? quantile(means, 0.025) : null,
      high: isHeld && n > 0 ? quantile(means, 0.975) : null,
    };
  });
}
