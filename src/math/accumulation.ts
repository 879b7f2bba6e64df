import { logGamma } from './distributions.js';
import { exponential, naturalLog } from './elementary.js';
import { type RandomStream, shuffle } from './random.js';

/** Which classes each square holds: square i holds classes[start[i]] … classes[start[i + 1] − 1], each once. */
export interface SquareClasses {
  readonly squares: number;
  /** number of classes that occur anywhere */
  readonly classCount: number;
  readonly start: Uint32Array;
  /** 0 to classCount − 1 */
  readonly classes: Uint32Array;
}

/**
 * Classes to be expected in 0, 1, 2 … all squares when squares are taken in random sequence, exactly.
 *
 * @returns [squares + 1]
 * @see Ugland, Gray & Ellingsen 2003, doi:10.1046/j.1365-2656.2003.00748.x
 */
export function expectedAccumulation(held: SquareClasses): Float64Array {
  const { squares, classCount, classes } = held;
  const occurrences = new Uint32Array(classCount);
  for (const c of classes) occurrences[c]++;
  const curve = new Float64Array(squares + 1);
  for (const m of occurrences) {
    for (let h = 0; h <= squares; h++) curve[h] += 1 - missChance(squares, m, h);
  }
  return curve;
}

/** Chance that h squares of s hold none of the m squares with a class. */
function missChance(s: number, m: number, h: number): number {
  if (h > s - m) return 0;
  return exponential(logGamma(s - m + 1) - logGamma(s - m - h + 1) - logGamma(s + 1) + logGamma(s - h + 1));
}

/** Classes met after 0, 1, 2 … all squares in one random sequence, written to curve [squares + 1]. */
export function dealAccumulation(held: SquareClasses, random: RandomStream, curve: Float64Array): void {
  const order = Uint32Array.from({ length: held.squares }, (_, i) => i);
  shuffle(order, random);
  const met = new Uint8Array(held.classCount);
  let count = 0;
  curve[0] = 0;
  order.forEach((square, i) => {
    for (let k = held.start[square]; k < held.start[square + 1]; k++) {
      if (met[held.classes[k]] === 0) {
        met[held.classes[k]] = 1;
        count++;
      }
    }
    curve[i + 1] = count;
  });
}

/** Classes there may be, seen or not. */
export interface UnseenClasses {
  /** lower bound for the number of classes on the site */
  readonly estimate: number;
  readonly low: number;
  readonly high: number;
  /** classes in one square only, and in two */
  readonly once: number;
  readonly twice: number;
}

/**
 * A lower bound for the number of classes from how many occur in one square only and how many in two.
 *
 * It takes unseen ground for like the ground dug: another part of the ship may hold classes no estimate knows of.
 *
 * @returns null with fewer than two squares or no class
 * @see Chao 1987, doi:10.2307/2531532
 */
export function unseenClasses(held: SquareClasses): UnseenClasses | null {
  const { squares: m, classCount, classes } = held;
  if (m < 2 || classCount === 0) return null;
  const occurrences = new Uint32Array(classCount);
  for (const c of classes) occurrences[c]++;
  const once = occurrences.reduce((sum, o) => sum + (o === 1 ? 1 : 0), 0);
  const twice = occurrences.reduce((sum, o) => sum + (o === 2 ? 1 : 0), 0);
  const seen = classCount;
  const share = (m - 1) / m;
  // the form without bias, which also stands when no class occurs in two squares
  const unseen = (share * once * (once - 1)) / (2 * (twice + 1));
  const variance =
    twice > 0
      ? (share * once * (once - 1)) / (2 * (twice + 1)) +
        (share * share * once * (2 * once - 1) ** 2) / (4 * (twice + 1) ** 2) +
        (share * share * once * once * twice * (once - 1) ** 2) / (4 * (twice + 1) ** 4)
      : (share * once * (once - 1)) / 2 +
        (share * share * once * (2 * once - 1) ** 2) / 4 -
        (share * share * once ** 4) / (4 * (seen + unseen));
  if (!(unseen > 0) || !(variance > 0)) return { estimate: seen + unseen, low: seen, high: seen + unseen, once, twice };
  const spread = exponential(1.959963984540054 * Math.sqrt(naturalLog(1 + variance / (unseen * unseen))));
  return { estimate: seen + unseen, low: seen + unseen / spread, high: seen + unseen * spread, once, twice };
}
