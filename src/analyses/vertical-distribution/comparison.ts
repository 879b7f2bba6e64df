import {
  type BlockedValues,
  type BlockPlan,
  blockRows,
  dealtSums,
  middleInterval,
  resampleBlocks,
  resampleInBlocks,
} from '../../math/blocks.js';
import { rankProbability } from '../../math/monte-carlo.js';
import { correlation, midRanks } from '../../math/ranks.js';

/** Finds gathered to what may be dealt out as one: a find, a concretion, the sherds of one pot in one square. */
export interface DepthUnits extends BlockedValues {
  /** [units] mean relative depth */
  readonly u: Float64Array;
}

/** A value with the middle 95 % of its resampled values. */
export interface Estimate {
  readonly value: number;
  readonly low: number | null;
  readonly high: number | null;
}

/** One label against all others. */
export interface AgainstRest {
  readonly units: number;
  readonly mean: number | null;
  readonly restMean: number | null;
  /** mean of the label less mean of the rest; null when either has nothing */
  readonly difference: Estimate | null;
  /** differences of the means of further values, in the order given */
  readonly further: readonly (Estimate | null)[];
  /** what the squares alone lead one to expect of the difference */
  readonly expected: number | null;
  /** null without simulations or where no square holds both */
  readonly p: { readonly lower: number; readonly upper: number; readonly twoSided: number } | null;
  /** smallest difference that such data would show with 80 % power at the two-sided 5 % level */
  readonly smallestSeen: number | null;
  /** squares that hold this label and another */
  readonly sharedBlocks: number;
}

/** whole steps in which depths are summed, so that equal sums are equal whatever their order: a hair of a millionth */
const steps = 2 ** 24;
/** of two normal quantiles, 0.975 and 0.8: a difference of so many standard deviations is seen four times in five */
const powerFactor = 1.959963984540054 + 0.8416212335729143;
/** resamplings carry an interval, not a tail: more than this add nothing */
const mostResamplings = 1999;
/** streams of resamplings, apart from those of the dealings */
export const resamplingStreams = 500_000_000;

/**
 * Each label against the rest: names are dealt out anew inside each square, so that a class that lies where the
 * deposit is different is not called deep for that.
 *
 * @param units    at least one
 * @param further  lists of values whose mean differences are wanted beside, [units] each
 * @see Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses, on restricted permutation
 */
export function labelsAgainstRest(units: DepthUnits, further: readonly Float64Array[], plan: BlockPlan): AgainstRest[] {
  const { label, labels } = units;
  const whole = units.u.map((v) => Math.round(v * steps));
  const counts = countsOf(label, labels);
  const n = label.length;
  const sums = sumsByLabel(whole, label, labels);
  const total = sums.reduce((sum, v) => sum + v, 0);
  const [dealt] = dealtSums([whole], units, plan);
  const expected = expectedSums(units, whole);
  const shared = sharedBlocks(units);
  const estimates = meanDifferences([units.u, ...further], units, plan);
  return Array.from({ length: labels }, (_, c) => {
    const own = counts[c];
    const rest = n - own;
    const asDifference = (sum: number) => (sum / own - (total - sum) / rest) / steps;
    const isPossible = own > 0 && rest > 0 && shared[c] > 0;
    const column = Float64Array.from({ length: plan.count }, (_, s) => dealt[s * labels + c]);
    const rank = isPossible && plan.count > 0 ? rankProbability(sums[c], column) : null;
    return {
      units: own,
      mean: own > 0 ? sums[c] / own / steps : null,
      restMean: rest > 0 ? (total - sums[c]) / rest / steps : null,
      difference: own > 0 && rest > 0 ? estimates[0][c] : null,
      further: estimates.slice(1).map((list) => (own > 0 && rest > 0 ? list[c] : null)),
      expected: own > 0 && rest > 0 ? asDifference(expected[c]) : null,
      p: rank,
      smallestSeen: rank && (powerFactor * spread(column) * (1 / own + 1 / rest)) / steps,
      sharedBlocks: shared[c],
    };
  });
}

function countsOf(label: Uint32Array, labels: number): Float64Array {
  const out = new Float64Array(labels);
  for (const c of label) out[c]++;
  return out;
}

function sumsByLabel(values: Float64Array, label: Uint32Array, labels: number): Float64Array {
  const out = new Float64Array(labels);
  label.forEach((c, i) => {
    out[c] += values[i];
  });
  return out;
}

/** Mean over all dealings of each label's sum: its count in each square times the mean of the square. */
function expectedSums({ block, label, labels }: BlockedValues, values: Float64Array): Float64Array {
  const out = new Float64Array(labels);
  for (const rows of blockRows(block)) {
    let mean = 0;
    for (const i of rows) mean += values[i] / rows.length;
    for (const i of rows) out[label[i]] += mean;
  }
  return out;
}

function sharedBlocks({ block, label, labels }: BlockedValues): Uint32Array {
  const out = new Uint32Array(labels);
  for (const rows of blockRows(block)) {
    const present = new Set(Array.from(rows, (i) => label[i]));
    if (present.size > 1) for (const c of present) out[c]++;
  }
  return out;
}

function spread(values: Float64Array): number {
  let mean = 0;
  for (const v of values) mean += v / values.length;
  let square = 0;
  for (const v of values) square += (v - mean) ** 2 / values.length;
  return Math.sqrt(square);
}

/** Difference of means of each list, each label against the rest, with intervals: [lists][labels]. */
function meanDifferences(
  lists: readonly Float64Array[],
  { block, label, labels }: BlockedValues,
  plan: BlockPlan,
): Estimate[][] {
  const differences = (weight: Float64Array | null, into: (list: number, c: number, value: number) => void) => {
    const w = new Float64Array(labels);
    for (let i = 0; i < label.length; i++) w[label[i]] += weight ? weight[i] : 1;
    const all = w.reduce((sum, v) => sum + v, 0);
    lists.forEach((values, k) => {
      const s = new Float64Array(labels);
      for (let i = 0; i < label.length; i++) s[label[i]] += (weight ? weight[i] : 1) * values[i];
      const total = s.reduce((sum, v) => sum + v, 0);
      for (let c = 0; c < labels; c++) into(k, c, s[c] / w[c] - (total - s[c]) / (all - w[c]));
    });
  };
  const count = Math.min(plan.count, mostResamplings);
  const resampled = lists.map(() => Array.from({ length: labels }, () => new Float64Array(count)));
  const again = { ...plan, count, first: (plan.first ?? 0) + resamplingStreams };
  resampleInBlocks(block, again, (weight, s) =>
    differences(weight, (k, c, value) => {
      resampled[k][c][s] = value;
    }),
  );
  const out = lists.map(() => new Array<Estimate>(labels));
  differences(null, (k, c, value) => {
    const ends = middleInterval(resampled[k][c]);
    out[k][c] = { value, low: ends?.low ?? null, high: ends?.high ?? null };
  });
  return out;
}

/** Mean of some values with the interval from resampling inside squares. */
export function meanInBlocks(u: Float64Array, block: Uint32Array, plan: BlockPlan): Estimate {
  const meanOf = (weight: Float64Array | null) => {
    let w = 0;
    let s = 0;
    for (let i = 0; i < u.length; i++) {
      w += weight ? weight[i] : 1;
      s += (weight ? weight[i] : 1) * u[i];
    }
    return s / w;
  };
  const count = Math.min(plan.count, mostResamplings);
  const values = new Float64Array(count);
  resampleInBlocks(block, { ...plan, count, first: (plan.first ?? 0) + resamplingStreams }, (weight, s) => {
    values[s] = meanOf(weight);
  });
  const ends = middleInterval(values);
  return { value: meanOf(null), low: ends?.low ?? null, high: ends?.high ?? null };
}

/** A rank correlation with interval and p. */
export interface Trend extends Estimate {
  readonly p: number | null;
}

/**
 * Rank correlation of depth with a property of the label (material density), names dealt out within squares.
 *
 * @param property  [labels] finite for every label that occurs
 * @returns         null when the property or the depth does not vary
 */
export function labelTrend(units: DepthUnits, property: readonly number[], plan: BlockPlan): Trend | null {
  const { u, block, label, labels } = units;
  const depth = midRanks(u).rank;
  const own = midRanks(Array.from(label, (c) => property[c])).rank;
  const value = correlation(depth, own);
  if (value === null) return null;
  // doubled ranks are whole numbers: equal sums are equal whatever their order
  const doubled = depth.map((v) => 2 * v);
  const score = new Float64Array(labels);
  label.forEach((c, i) => {
    score[c] = 2 * own[i];
  });
  const statistic = (sums: Float64Array) => sums.reduce((sum, v, c) => sum + v * score[c], 0);
  const [dealt] = dealtSums([doubled], units, plan);
  const simulated = Float64Array.from({ length: plan.count }, (_, s) =>
    statistic(dealt.subarray(s * labels, (s + 1) * labels)),
  );
  const isPossible = plan.count > 0 && sharedBlocks(units).some((shared) => shared > 0);
  const ends = correlationInterval(depth, own, { block, plan });
  return {
    value,
    ...ends,
    p: isPossible ? rankProbability(statistic(sumsByLabel(doubled, label, labels)), simulated).twoSided : null,
  };
}

function correlationInterval(
  a: Float64Array,
  b: Float64Array,
  { block, plan }: { readonly block: Uint32Array; readonly plan: BlockPlan },
) {
  const count = Math.min(plan.count, mostResamplings);
  const values = new Float64Array(count);
  resampleInBlocks(block, { ...plan, count, first: (plan.first ?? 0) + resamplingStreams }, (weight, s) => {
    values[s] = correlation(a, b, weight) ?? Number.NaN;
  });
  const ends = middleInterval(values);
  return { low: ends?.low ?? null, high: ends?.high ?? null };
}

/**
 * Slope of depth against a place (metres off the ship axis) by least squares; interval and p from drawing whole
 * squares anew, since finds of one square share their ground.
 *
 * @param x  [units] metres
 * @returns  null when x does not vary
 */
export function placeTrend(
  { u, block }: Pick<DepthUnits, 'u' | 'block'>,
  x: Float64Array,
  plan: BlockPlan,
): (Trend & { readonly rho: number | null }) | null {
  const slopeOf = (weight: Float64Array | null) => {
    let [w, mx, mu] = [0, 0, 0];
    for (let i = 0; i < u.length; i++) {
      const own = weight ? weight[i] : 1;
      w += own;
      mx += own * x[i];
      mu += own * u[i];
    }
    let [xx, xu] = [0, 0];
    for (let i = 0; i < u.length; i++) {
      const own = weight ? weight[i] : 1;
      xx += own * (x[i] - mx / w) ** 2;
      xu += own * (x[i] - mx / w) * (u[i] - mu / w);
    }
    return xx > 0 ? xu / xx : Number.NaN;
  };
  const value = slopeOf(null);
  if (Number.isNaN(value)) return null;
  const count = Math.min(plan.count, mostResamplings);
  const values = new Float64Array(count);
  resampleBlocks(block, { ...plan, count, first: (plan.first ?? 0) + resamplingStreams }, (weight, s) => {
    values[s] = slopeOf(weight);
  });
  const ends = middleInterval(values);
  return {
    value,
    low: ends?.low ?? null,
    high: ends?.high ?? null,
    p: ends
      ? rankProbability(
          0,
          values.filter((v) => !Number.isNaN(v)),
        ).twoSided
      : null,
    rho: correlation(midRanks(u).rank, midRanks(x).rank),
  };
}
