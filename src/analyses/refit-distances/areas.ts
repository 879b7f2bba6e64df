import { middleInterval } from '../../math/blocks.js';
import { rankProbability, simulate } from '../../math/monte-carlo.js';
import { groupNumbers, nameDealer } from '../../math/name-dealing.js';
import { randomStream, shuffle } from '../../math/random.js';

/** Joins of finds that lie in areas. Area −1 = in none. */
export interface JoinsInAreas {
  /** [n] 0-based */
  readonly area: Int32Array;
  readonly areas: number;
  /** [joins] */
  readonly a: Uint32Array;
  readonly b: Uint32Array;
  /** finds that may trade places, circle by circle */
  readonly circles: readonly Uint32Array[];
}

/** Joins across areas, against finds that trade places. */
export interface AcrossAreas {
  /** joins with both ends in an area, and those of them between two areas */
  readonly within: number;
  readonly across: number;
  readonly expected: number | null;
  readonly ends: { readonly low: number; readonly high: number } | null;
  readonly p: { readonly lower: number; readonly upper: number; readonly twoSided: number } | null;
}

/** How many dealings, from which seed and stream. */
interface DealPlan {
  readonly count: number;
  readonly seed: number;
  readonly first: number;
  readonly progress: (share: number) => void;
}

const crossing = ({ area, a, b }: JoinsInAreas, place: ArrayLike<number>): number => {
  let across = 0;
  for (let k = 0; k < a.length; k++) {
    const from = area[place[a[k]]];
    const to = area[place[b[k]]];
    if (from >= 0 && to >= 0 && from !== to) across++;
  }
  return across;
};

/**
 * How many joins tie two areas, and how many would if finds traded places within their class or pot. One join across
 * is proof that both hold parts of one thing; few joins across are no proof of two ships.
 * @see Schiffer 1987, Formation Processes of the Archaeological Record
 */
export function joinsAcross(joins: JoinsInAreas, plan: DealPlan): AcrossAreas {
  const n = joins.area.length;
  const still = Uint32Array.from({ length: n }, (_, i) => i);
  const place = new Uint32Array(n);
  const across = crossing(joins, still);
  const within = Array.from(joins.a).filter((a, k) => joins.area[a] >= 0 && joins.area[joins.b[k]] >= 0).length;
  const dealt = new Float64Array(within === 0 ? 0 : plan.count);
  for (let s = 0; s < dealt.length; s++) {
    if (s % 64 === 0) plan.progress(s / dealt.length);
    const random = randomStream(plan.seed, plan.first + s);
    place.set(still);
    for (const circle of joins.circles) {
      const order = circle.slice();
      shuffle(order, random);
      circle.forEach((find, k) => {
        place[find] = order[k];
      });
    }
    dealt[s] = crossing(joins, place);
  }
  const isDealt = dealt.length > 0;
  return {
    within,
    across,
    expected: isDealt ? dealt.reduce((sum, v) => sum + v, 0) / dealt.length : null,
    ends: isDealt ? middleInterval(dealt) : null,
    p: isDealt ? rankProbability(across, dealt) : null,
  };
}

/** Finds by area and class, names dealt anew. */
export interface ClassMix {
  /** [areas × classes] row by row */
  readonly counts: Float64Array;
  readonly expected: Float64Array;
  readonly chi2: number;
  readonly df: number;
  /** √(χ² / (n (smaller of rows and columns − 1))): 0 the same mix, 1 no class in common */
  readonly cramersV: number;
  readonly p: number | null;
  /** finds, pots and concretions dealt as wholes */
  readonly units: number;
}

/**
 * Do areas hold the classes in the same proportions? Class names are dealt out anew over the finds in them, pots and
 * concretions whole among their like.
 *
 * @param given.classOf  [n] 0-based class of each find
 * @param given.group    [n] pot or concretion; null = by itself
 * @returns null when fewer than two areas or classes have finds
 */
export function classMix(
  given: {
    readonly area: Int32Array;
    readonly areas: number;
    readonly classOf: Uint32Array;
    readonly classes: number;
    readonly group: readonly (string | null)[];
  },
  plan: DealPlan,
): ClassMix | null {
  const { areas, classes } = given;
  const finds = [...given.area.keys()].filter((i) => given.area[i] >= 0);
  const row = Int32Array.from(finds, (i) => given.area[i]);
  const column = Uint32Array.from(finds, (i) => given.classOf[i]);
  const n = finds.length;
  const tally = (names: ArrayLike<number>) => {
    const counts = new Float64Array(areas * classes);
    for (let i = 0; i < n; i++) counts[row[i] * classes + names[i]]++;
    return counts;
  };
  const counts = tally(column);
  const rows = new Float64Array(areas);
  const columns = new Float64Array(classes);
  counts.forEach((v, k) => {
    rows[Math.floor(k / classes)] += v;
    columns[k % classes] += v;
  });
  const used = [rows, columns].map((margin) => margin.reduce((sum, v) => sum + (v > 0 ? 1 : 0), 0));
  if (Math.min(...used) < 2) return null;
  const expected = counts.map((_, k) => (rows[Math.floor(k / classes)] * columns[k % classes]) / n);
  const chiSquare = (of: Float64Array) =>
    of.reduce((sum, v, k) => sum + (expected[k] > 0 ? (v - expected[k]) ** 2 / expected[k] : 0), 0);
  const group = groupNumbers(finds.map((i) => given.group[i]));
  const dealer = nameDealer({ label: column, group, stratum: new Int32Array(n) });
  const names = new Uint32Array(n);
  // sums in another order may differ in the last places: such deals are ties
  const rounded = (v: number) => Number(v.toPrecision(11));
  const dealt = simulate(plan, (random) => {
    dealer.deal(names, random);
    return rounded(chiSquare(tally(names)));
  });
  const chi2 = chiSquare(counts);
  return {
    counts,
    expected,
    chi2,
    df: (used[0] - 1) * (used[1] - 1),
    cramersV: Math.sqrt(chi2 / (n * (Math.min(...used) - 1))),
    p: dealt.length === 0 ? null : rankProbability(rounded(chi2), dealt).upper,
    units: dealer.units,
  };
}
