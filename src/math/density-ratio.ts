import { Problem } from '../problems.js';
import { middleInterval, tellingStride } from './blocks.js';
import { exponential, naturalLog } from './elementary.js';
import { edgeMass } from './kernel-edge.js';
import { randomStream } from './random.js';
import { contains, edgeSlack, type Region, regionBox } from './rings.js';
import { type Lattice, windowShares } from './window-shares.js';

/** Sides of a ratio as bits: a find of both stands on either side, when one side is all finds. */
export const numeratorSide = 1;
export const denominatorSide = 2;

/** Two sets of finds whose densities are held against each other. */
export interface TwoSides {
  /** [2n] metres from a local origin */
  readonly xy: Float64Array;
  /** [n] what each counts for */
  readonly weight: Float64Array;
  /** [n] 1 = numerator, 2 = denominator, 3 = both */
  readonly side: Uint8Array;
  /** the ground both sides were looked for in: the ratio speaks of it alone */
  readonly shared: Region;
  /** where each side was dug, when not the same ground; null = both the shared ground, the edge factor cancels */
  readonly windows: { readonly numerator: Region; readonly denominator: Region } | null;
  /** common bandwidth: standard deviation of the kernel, metres */
  readonly sigmaM: number;
}

/** Places half a bandwidth apart at which a ratio is tested, each standing for some of the ground. */
export interface RatioPlaces {
  readonly lattice: Lattice;
  /** [rows × columns] number of the place; −1 = far from the ground */
  readonly number: Int32Array;
  /** [2g] metres */
  readonly xy: Float64Array;
  /** [g] ground each stands for, m²; they sum to the ground's area */
  readonly shareM2: Float64Array;
  /** [g] 1 = on the ground, 0 = just beyond its edge */
  readonly inside: Uint8Array;
}

/** kernels laid down once, finds × places: 160 MB of numbers */
const mostKernels = 2e7;
const mostPlaces = 4000;

/**
 * The test places of some ground: a square lattice half a bandwidth apart, wider when finds and places would be too
 * many for one run, but never wider than a bandwidth.
 * @throws Problem too-much-work with the least bandwidth that fits
 */
export function ratioPlaces(ground: Region, sigmaM: number, finds: number): RatioPlaces {
  const most = Math.min(mostPlaces, Math.floor(mostKernels / Math.max(1, finds)));
  for (let stepM = sigmaM / 2; stepM <= sigmaM * (1 + 1e-9); stepM *= 2 ** 0.25) {
    const places = placesAt(ground, stepM);
    if (places && places.shareM2.length <= most) return places;
  }
  throw new Problem(
    'too-much-work',
    `a bandwidth of ${Number(sigmaM.toPrecision(3))} m needs more than ${most} test places for ${finds} finds; ask for a larger bandwidth`,
    { sigmaM, most },
  );
}

function placesAt(ground: Region, stepM: number): RatioPlaces | null {
  const [west, south, east, north] = regionBox(ground);
  const columns = Math.ceil((east - west) / stepM) + 4;
  const rows = Math.ceil((north - south) / stepM) + 4;
  if (columns * rows > 1e6) return null;
  const lattice = { x: west - 1.5 * stepM, y: south - 1.5 * stepM, stepM, columns, rows };
  const shares = windowShares(ground, lattice);
  const number = new Int32Array(columns * rows).fill(-1);
  const xy: number[] = [];
  const shareM2: number[] = [];
  const slack = edgeSlack(ground);
  shares.forEach((share, k) => {
    // a share of rounding alone stands for no ground
    if (!(share > 1e-12 * stepM * stepM)) return;
    number[k] = shareM2.length;
    shareM2.push(share);
    const c = k % columns;
    xy.push(lattice.x + c * stepM, lattice.y + ((k - c) / columns) * stepM);
  });
  const inside = Uint8Array.from(shareM2, (_, g) => (contains(ground, xy[2 * g], xy[2 * g + 1], slack) ? 1 : 0));
  return { lattice, number, xy: Float64Array.from(xy), shareM2: Float64Array.from(shareM2), inside };
}

/** Ratios beyond 1000 : 1 are held there: far from every find of one side the logarithm has no end. */
export const mostLogRatio = naturalLog(1000);

/** A log ratio and what it rests on, all [g]. */
export interface RatioValues {
  readonly logRatio: Float64Array;
  /** the log ratio with half a find of the smaller side added to both: near 0 where hardly any find is expected */
  readonly steadied: Float64Array;
  /** finds of the denominator in effect under the kernel: density × 4πσ² before edge correction, weights about 1 */
  readonly support: Float64Array;
}

/** Measures ratios for one naming of the sides after another. */
export interface RatioField {
  readonly places: RatioPlaces;
  /** Writes the ratio when the sides are named so. @param side [n] with as many of each kind as were given at first */
  measure(side: Uint8Array, into: RatioValues): void;
}

/**
 * The log ratio of two kernel densities with a common bandwidth, ln(f / g), each density the sum of kernels divided at
 * the place by the share of the kernel inside that side's ground (`uniform` edge correction) and by the side's weight on
 * the shared ground. Above 0 the numerator lies thicker there than the denominator, relative to how many there are.
 *
 * Every find's kernel is laid down once on the test places; naming the sides anew only adds rows up.
 *
 * @see Bithell 1990, Statistics in Medicine 9, 691–701; Kelsall & Diggle 1995, doi:10.1002/sim.4780142106
 */
export function ratioField(sides: TwoSides, places: RatioPlaces): RatioField {
  const { xy, side, shared, sigmaM } = sides;
  const n = side.length;
  const g = places.shareM2.length;
  const weight = aboutOne(sides.weight);
  const kernels = new Float64Array(n * g);
  const total = new Float64Array(g);
  const perTwo = 1 / (2 * sigmaM * sigmaM);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < g; k++) {
      const dx = places.xy[2 * k] - xy[2 * i];
      const dy = places.xy[2 * k + 1] - xy[2 * i + 1];
      const kernel = weight[i] * exponential(-(dx * dx + dy * dy) * perTwo);
      kernels[i * g + k] = kernel;
      total[k] += kernel;
    }
  }
  const slack = edgeSlack(shared);
  const counts = Float64Array.from(weight, (w, i) => (contains(shared, xy[2 * i], xy[2 * i + 1], slack) ? w : 0));
  const edge = edgeFactor(sides, places.xy);
  const isParted = !side.includes(numeratorSide | denominatorSide);
  const sums = [new Float64Array(g), new Float64Array(g)];

  /** Sum of the rows of one side; the fewer rows are added, the more taken from the total. → weight on shared ground */
  const addRows = (named: Uint8Array, bit: number, into: Float64Array): number => {
    let members = 0;
    let onGround = 0;
    for (let i = 0; i < n; i++) {
      if ((named[i] & bit) === 0) continue;
      members++;
      onGround += counts[i];
    }
    const isFew = 2 * members <= n;
    into.fill(0);
    if (members < n) {
      for (let i = 0; i < n; i++) {
        if (((named[i] & bit) !== 0) !== isFew) continue;
        const row = i * g;
        for (let k = 0; k < g; k++) into[k] += kernels[row + k];
      }
    }
    // what rounding leaves of a difference is not below nothing
    if (!isFew) for (let k = 0; k < g; k++) into[k] = Math.max(0, total[k] - into[k]);
    return onGround;
  };

  return {
    places,
    measure(named, { logRatio, steadied, support }) {
      const [above, below] = sums;
      const numerator = addRows(named, numeratorSide, above);
      let denominator = 0;
      if (isParted) {
        for (let i = 0; i < n; i++) if ((named[i] & denominatorSide) !== 0) denominator += counts[i];
        for (let k = 0; k < g; k++) below[k] = Math.max(0, total[k] - above[k]);
      } else denominator = addRows(named, denominatorSide, below);
      const level = naturalLog(denominator) - naturalLog(numerator);
      // both sides as if they had as many finds as the smaller: finds in effect under the kernel, 2 Σ exp(−d²/2σ²)
      const smaller = Math.min(numerator, denominator);
      const [perNumerator, perDenominator] = [(2 * smaller) / numerator, (2 * smaller) / denominator];
      for (let k = 0; k < g; k++) {
        logRatio[k] = heldRatio(naturalLog(above[k]) - naturalLog(below[k]) + level + edge[k]);
        support[k] = 2 * below[k];
        const half = edge[k] === 0 ? 1 : exponential(edge[k] / 2);
        steadied[k] = naturalLog((perNumerator * above[k] * half + 0.5) / ((perDenominator * below[k]) / half + 0.5));
      }
    },
  };
}

/** A log ratio held inside ± ln 1000; nothing over nothing counts as equal. */
export function heldRatio(logRatio: number): number {
  if (Number.isNaN(logRatio)) return 0;
  return Math.max(-mostLogRatio, Math.min(mostLogRatio, logRatio));
}

/** Weights over their mean: finds of average weight count one. */
export function aboutOne(weight: Float64Array): Float64Array {
  const mean = weight.reduce((sum, w) => sum + w, 0) / weight.length;
  return mean > 0 ? weight.map((w) => w / mean) : weight;
}

/** ln(e of the denominator's ground / e of the numerator's) at places: what unequal ground does to the ratio. */
export function edgeFactor({ windows, sigmaM }: Pick<TwoSides, 'windows' | 'sigmaM'>, xy: Float64Array): Float64Array {
  const out = new Float64Array(xy.length / 2);
  if (windows === null) return out;
  const above = edgeMass(windows.numerator, sigmaM);
  const below = edgeMass(windows.denominator, sigmaM);
  for (let k = 0; k < out.length; k++) {
    const [x, y] = [xy[2 * k], xy[2 * k + 1]];
    out[k] = naturalLog(below(x, y)) - naturalLog(above(x, y));
  }
  return out;
}

/** How a ratio is tested. */
export interface RatioPlan {
  readonly count: number;
  readonly seed: number;
  /** fewer finds of the denominator in effect under the kernel: no value */
  readonly floorFinds: number;
  /** names the sides anew */
  deal(into: Uint8Array, random: ReturnType<typeof randomStream>): void;
  progress?(share: number): void;
}

/** The observed ratio among those of random labelling. */
export interface RatioTest extends RatioValues {
  /** [g] 1 = the denominator is too thin there: no value */
  readonly masked: Uint8Array;
  /** ∫ (steadied log ratio)² over the ground that has a value, m² */
  readonly statistic: number;
  /** rank of the statistic among all dealings, add-one; null without dealings */
  readonly p: number | null;
  /** [g] pointwise add-one ranks: as high as observed or higher, as low or lower; 1 without dealings */
  readonly upper: Float64Array;
  readonly lower: Float64Array;
  /** places of the highest and the lowest log ratio on the ground, −1 = none, with the middle 95 % of the dealings there */
  readonly highest: Extreme;
  readonly lowest: Extreme;
}

/** A place and what random labelling gives there. */
export interface Extreme {
  readonly place: number;
  /** ends of the middle 95 % of the log ratios dealt; null below 39 dealings */
  readonly dealt: { readonly low: number; readonly high: number } | null;
}

/** differences that rounding alone can make count as ties, and ties count against significance */
const rounding = 1e-9;

/**
 * Random labelling of a density ratio: the names of the sides are dealt out anew over places that stay. A rank at each
 * place makes the p-surface of tolerance contours, which holds for one place chosen beforehand; over the whole ground
 * the integrated squared log ratio is one test. It takes the steadied ratio: the plain one is largest where hardly any
 * find is expected, and such ground would drown all other.
 *
 * @see Hazelton & Davies 2009, doi:10.1002/bimj.200810495 (tolerance contours); Kelsall & Diggle 1995, doi:10.1002/sim.4780142106
 */
export function ratioTest(field: RatioField, side: Uint8Array, plan: RatioPlan): RatioTest {
  const { places } = field;
  const g = places.shareM2.length;
  const observed = emptyValues(g);
  field.measure(side, observed);
  const masked = Uint8Array.from(observed.support, (s) => (s >= plan.floorFinds ? 0 : 1));
  const statistic = squaredRatio(observed, places, plan.floorFinds);
  const [highest, lowest] = extremes(observed.logRatio, masked, places.inside);
  const asHigh = new Float64Array(g).fill(1);
  const asLow = new Float64Array(g).fill(1);
  const atHighest = new Float64Array(plan.count);
  const atLowest = new Float64Array(plan.count);
  const dealt = emptyValues(g);
  const named = new Uint8Array(side.length);
  const stride = tellingStride(plan.count, (g * side.length) / 4);
  let asExtreme = 1;
  for (let s = 0; s < plan.count; s++) {
    if (plan.progress && s % stride === 0) plan.progress(s / plan.count);
    plan.deal(named, randomStream(plan.seed, s));
    field.measure(named, dealt);
    if (squaredRatio(dealt, places, plan.floorFinds) >= statistic * (1 - rounding)) asExtreme++;
    for (let k = 0; k < g; k++) {
      if (dealt.logRatio[k] >= observed.logRatio[k] - rounding) asHigh[k]++;
      if (dealt.logRatio[k] <= observed.logRatio[k] + rounding) asLow[k]++;
    }
    atHighest[s] = dealt.logRatio[highest];
    atLowest[s] = dealt.logRatio[lowest];
  }
  const rank = (count: number) => (plan.count === 0 ? 1 : count / (plan.count + 1));
  return {
    ...observed,
    masked,
    statistic,
    p: plan.count === 0 ? null : asExtreme / (plan.count + 1),
    upper: asHigh.map(rank),
    lower: asLow.map(rank),
    highest: { place: highest, dealt: highest < 0 ? null : middleInterval(atHighest) },
    lowest: { place: lowest, dealt: lowest < 0 ? null : middleInterval(atLowest) },
  };
}

const emptyValues = (g: number): RatioValues => ({
  logRatio: new Float64Array(g),
  steadied: new Float64Array(g),
  support: new Float64Array(g),
});

function squaredRatio({ steadied, support }: RatioValues, { shareM2 }: RatioPlaces, floorFinds: number): number {
  let sum = 0;
  for (let k = 0; k < steadied.length; k++) {
    if (support[k] >= floorFinds) sum += shareM2[k] * steadied[k] * steadied[k];
  }
  return sum;
}

/** Places of the highest and lowest value, on the ground itself where any test place lies on it. */
function extremes(logRatio: Float64Array, masked: Uint8Array, inside: Uint8Array): [number, number] {
  const known = Array.from(masked.keys()).filter((k) => masked[k] === 0);
  const onGround = known.filter((k) => inside[k] === 1);
  let [high, low] = [-1, -1];
  for (const k of onGround.length > 0 ? onGround : known) {
    if (high < 0 || logRatio[k] > logRatio[high]) high = k;
    if (low < 0 || logRatio[k] < logRatio[low]) low = k;
  }
  return [high, low];
}
