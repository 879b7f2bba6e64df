import { randomStream } from './random.js';

/** Values sorted into blocks (squares), each with a label: what may be dealt anew inside a block and what stays. */
export interface BlockedValues {
  /** [n] 0-based number of the block */
  readonly block: Uint32Array;
  /** [n] 0-based label; labels without any value are allowed */
  readonly label: Uint32Array;
  readonly labels: number;
}

/** How many random dealings or resamplings, from which seed, and whom to tell. */
export interface BlockPlan {
  readonly count: number;
  readonly seed: number;
  /** number of the first stream */
  readonly first?: number;
  readonly progress?: (share: number) => void;
}

/** Rounds between two words to whoever waits: a hundredth of the work, but no more than some milliseconds. */
export function tellingStride(rounds: number, workEach: number): number {
  return Math.max(1, Math.min(Math.floor(rounds / 100), Math.floor(5e6 / Math.max(workEach, 1))));
}

/** Rows of each block, in the order of the values; blocks in the order they first come. */
export function blockRows(block: Uint32Array): Uint32Array[] {
  const rows = new Map<number, number[]>();
  block.forEach((b, i) => {
    const list = rows.get(b);
    if (list) list.push(i);
    else rows.set(b, [i]);
  });
  return [...rows.values()].map((list) => Uint32Array.from(list));
}

/**
 * Sums of values by label when the labels are dealt out anew inside each block, as if class had nothing to do with the
 * value: what differs between blocks is left as it is. Dealing 417 draws from stream 417 wherever it runs.
 *
 * @param values  lists of n values that share the labels
 * @returns       for each list [count × labels] sums, one dealing a row
 */
export function dealtSums(
  values: readonly Float64Array[],
  { block, label, labels }: BlockedValues,
  plan: BlockPlan,
): Float64Array[] {
  const deals = blockRows(block).map((rows) => dealOf(rows, label));
  const lists = values.map((list) => Float64Array.from(deals.flatMap(({ rows }) => Array.from(rows, (i) => list[i]))));
  // what the commonest label of each block would hold if it held everything; the others take theirs from it
  const whole = lists.map((list) => {
    const sums = new Float64Array(labels);
    let at = 0;
    for (const { rows, commonest } of deals) for (let k = 0; k < rows.length; k++) sums[commonest] += list[at++];
    return sums;
  });
  const starting = Uint32Array.from({ length: block.length }, (_, i) => i);
  const place = new Uint32Array(block.length);
  const out = lists.map(() => new Float64Array(plan.count * labels));
  const stride = tellingStride(plan.count, block.length);
  for (let s = 0; s < plan.count; s++) {
    if (plan.progress && s % stride === 0) plan.progress(s / plan.count);
    const random = randomStream(plan.seed, (plan.first ?? 0) + s);
    place.set(starting);
    for (let k = 0; k < lists.length; k++) out[k].set(whole[k], s * labels);
    let start = 0;
    for (const { rows, commonest, others } of deals) {
      for (let t = 0; t < others.length; t++) {
        const j = t + random.below(rows.length - t);
        const drawn = place[start + j];
        place[start + j] = place[start + t];
        place[start + t] = drawn;
        for (let k = 0; k < lists.length; k++) {
          const value = lists[k][drawn];
          out[k][s * labels + others[t]] += value;
          out[k][s * labels + commonest] -= value;
        }
      }
      start += rows.length;
    }
  }
  return out;
}

/** A block as it is dealt: its commonest label takes what the others leave. */
interface Deal {
  readonly rows: Uint32Array;
  readonly commonest: number;
  /** labels of all rows that do not carry the commonest */
  readonly others: Uint32Array;
}

function dealOf(rows: Uint32Array, label: Uint32Array): Deal {
  const counts = new Map<number, number>();
  for (const i of rows) counts.set(label[i], (counts.get(label[i]) ?? 0) + 1);
  const [[commonest]] = [...counts].sort((a, b) => b[1] - a[1] || a[0] - b[0]);
  return {
    rows,
    commonest,
    others: Uint32Array.from(Array.from(rows, (i) => label[i]).filter((c) => c !== commonest)),
  };
}

/**
 * Weights of a bootstrap inside blocks: each block is resampled for itself, one draw fewer than it has values and the
 * draws weighted up, so that sums vary as they should even in small blocks. Blocks of one value are pooled, else they
 * would seem to be known without error.
 *
 * @param use  called for each resampling with the weights [n] of the values; they are overwritten by the next
 * @see Rao & Wu 1988, doi:10.1080/01621459.1988.10478591
 */
export function resampleInBlocks(
  block: Uint32Array,
  plan: BlockPlan,
  use: (weight: Float64Array, index: number) => void,
): void {
  const all = blockRows(block);
  const alone = Uint32Array.from(all.filter((own) => own.length === 1).flatMap((own) => [...own]));
  const strata = [...all.filter((own) => own.length > 1), ...(alone.length > 0 ? [alone] : [])];
  const weight = new Float64Array(block.length);
  const stride = tellingStride(plan.count, block.length);
  for (let s = 0; s < plan.count; s++) {
    if (plan.progress && s % stride === 0) plan.progress(s / plan.count);
    const random = randomStream(plan.seed, (plan.first ?? 0) + s);
    weight.fill(0);
    for (const own of strata) {
      const m = own.length;
      if (m === 1) weight[own[0]] = 1;
      else for (let k = 1; k < m; k++) weight[own[random.below(m)]] += m / (m - 1);
    }
    use(weight, s);
  }
}

/**
 * Weights of a bootstrap of whole blocks: squares are drawn with replacement, with all that lies in them. For what
 * differs between squares rather than inside them.
 *
 * @param use  called for each resampling with the weights [n] of the values; they are overwritten by the next
 */
export function resampleBlocks(
  block: Uint32Array,
  plan: BlockPlan,
  use: (weight: Float64Array, index: number) => void,
): void {
  const rows = blockRows(block);
  const weight = new Float64Array(block.length);
  const stride = tellingStride(plan.count, block.length);
  for (let s = 0; s < plan.count; s++) {
    if (plan.progress && s % stride === 0) plan.progress(s / plan.count);
    const random = randomStream(plan.seed, (plan.first ?? 0) + s);
    weight.fill(0);
    for (let k = 0; k < rows.length; k++) for (const i of rows[random.below(rows.length)]) weight[i] += 1;
    use(weight, s);
  }
}

/** Ends of the middle 95 % of some resampled values; null where fewer than 39 could be told. */
export function middleInterval(values: ArrayLike<number>): { readonly low: number; readonly high: number } | null {
  const known = Float64Array.from(Array.from(values).filter((v) => Number.isFinite(v))).sort();
  const m = known.length;
  if (m < 39) return null;
  const k = Math.max(1, Math.floor(0.025 * (m + 1) + 1e-9));
  return { low: known[k - 1], high: known[m - k] };
}
