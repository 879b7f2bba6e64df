import { middleInterval, resampleBlocks } from '../../math/blocks.js';
import { bearingOf } from '../../math/circular.js';
import { rankProbability } from '../../math/monte-carlo.js';
import { randomStream, shuffle } from '../../math/random.js';
import type { CentreOnGround } from './centres.js';

/** How far the centre of the second season lies from that of the first. */
export interface CentreShift {
  readonly shiftM: number;
  /** from site_north; null when both centres coincide */
  readonly bearingDeg: number | null;
  /** middle 95 % of shifts when whole squares of each season are drawn anew */
  readonly lowM: number | null;
  readonly highM: number | null;
  /** between the middles of the ground both dug: what the choice of squares alone makes */
  readonly groundShiftM: number | null;
  /** as far from the shift of the ground as observed, or farther, when finds lie at random in each window */
  readonly p: number | null;
}

/** resamplings carry an interval, not a tail: more than this add nothing */
const mostResamplings = 999;

/**
 * Centres of a season when its squares are drawn anew with all that lies in them: [2m], none with fewer than two
 * squares with finds.
 * @param square  [n] number of the square of each position
 */
export function resampledCentres(
  xy: Float64Array,
  square: Uint32Array,
  plan: { readonly count: number; readonly seed: number; readonly first: number },
): Float64Array {
  if (new Set(square).size < 2) return new Float64Array(0);
  const count = Math.min(plan.count, mostResamplings);
  const centres = new Float64Array(2 * count);
  resampleBlocks(square, { ...plan, count }, (weight, s) => {
    let [total, x, y] = [0, 0, 0];
    for (let i = 0; i < weight.length; i++) {
      total += weight[i];
      x += weight[i] * xy[2 * i];
      y += weight[i] * xy[2 * i + 1];
    }
    centres[2 * s] = x / total;
    centres[2 * s + 1] = y / total;
  });
  return centres;
}

/** What a season brings to a shift. */
export interface ShiftSide {
  readonly place: CentreOnGround;
  readonly resampled: Float64Array;
}

/** Null when a season has no positions. */
export function centreShift(first: ShiftSide, second: ShiftSide): CentreShift | null {
  const [a, b] = [first.place, second.place];
  if (a.centre === null || b.centre === null) return null;
  const [dx, dy] = [b.centre.x - a.centre.x, b.centre.y - a.centre.y];
  const ground =
    a.groundCentre && b.groundCentre
      ? ([b.groundCentre[0] - a.groundCentre[0], b.groundCentre[1] - a.groundCentre[1]] as const)
      : null;
  const differences = (one: Float64Array, other: Float64Array, of: (x: number, y: number) => number) =>
    Float64Array.from({ length: Math.min(one.length, other.length) / 2 }, (_, s) =>
      of(other[2 * s] - one[2 * s], other[2 * s + 1] - one[2 * s + 1]),
    );
  const interval = middleInterval(differences(first.resampled, second.resampled, (x, y) => Math.sqrt(x * x + y * y)));
  const off = (x: number, y: number) => (ground ? (x - ground[0]) ** 2 + (y - ground[1]) ** 2 : 0);
  const chance = differences(a.simulatedCentres, b.simulatedCentres, off);
  return {
    shiftM: Math.sqrt(dx * dx + dy * dy),
    bearingDeg: dx === 0 && dy === 0 ? null : bearingOf(dx, dy),
    lowM: interval?.low ?? null,
    highM: interval?.high ?? null,
    groundShiftM: ground && Math.sqrt(ground[0] ** 2 + ground[1] ** 2),
    p: ground && chance.length > 0 ? rankProbability(off(dx, dy), chance).upper : null,
  };
}

/** Positions on ground that both seasons dug. */
export interface SharedPlaces {
  /** [2n] metres */
  readonly xy: Float64Array;
  /** [n] 0 = first season, 1 = second */
  readonly season: Uint8Array;
  /** [n] positions of one name keep together; null = by itself */
  readonly group: readonly (string | null)[];
}

/**
 * Shift of the centre on ground dug in both seasons, against season names dealt out over the things that lie there,
 * pots and concretions whole.
 * @returns null when a season has no position there
 */
export function dealtShift(
  { xy, season, group }: SharedPlaces,
  plan: { readonly count: number; readonly seed: number; readonly first: number },
): { readonly shiftM: number; readonly p: number | null } | null {
  const units = new Map<string, number>();
  const sums: { n: number; x: number; y: number; season: number }[] = [];
  season.forEach((own, i) => {
    const key = group[i] ?? `alone ${i}`;
    let u = units.get(key);
    if (u === undefined) {
      u = sums.length;
      units.set(key, u);
      sums.push({ n: 0, x: 0, y: 0, season: own });
    }
    sums[u].n++;
    sums[u].x += xy[2 * i];
    sums[u].y += xy[2 * i + 1];
  });
  const squared = (names: ArrayLike<number>): number => {
    const [n, x, y] = [
      [0, 0],
      [0, 0],
      [0, 0],
    ];
    sums.forEach((unit, u) => {
      n[names[u]] += unit.n;
      x[names[u]] += unit.x;
      y[names[u]] += unit.y;
    });
    return (x[1] / n[1] - x[0] / n[0]) ** 2 + (y[1] / n[1] - y[0] / n[0]) ** 2;
  };
  const names = Uint8Array.from(sums, (unit) => unit.season);
  if (!names.includes(0) || !names.includes(1)) return null;
  const observed = squared(names);
  const order = new Uint32Array(names.length);
  const dealt = new Uint8Array(names.length);
  const chance = Float64Array.from({ length: plan.count }, (_, s) => {
    for (let u = 0; u < order.length; u++) order[u] = u;
    shuffle(order, randomStream(plan.seed, plan.first + s));
    for (let u = 0; u < order.length; u++) dealt[u] = names[order[u]];
    const value = squared(dealt);
    // sums in another order may differ in the last places: such dealings are ties
    return Math.abs(value - observed) <= 1e-9 * observed ? observed : value;
  });
  return { shiftM: Math.sqrt(observed), p: plan.count > 0 ? rankProbability(observed, chance).upper : null };
}
