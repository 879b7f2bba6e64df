import { naturalLog } from '../../src/math/elementary.js';
import { type RandomStream, randomStream } from '../../src/math/random.js';

/** The seed of the whole demo site: every file follows from it. */
export const demoSeed = 1797;

/** One stream for each subject, so that a change in one file leaves the others as they were. */
export const streams = {
  scatter: 1,
  jars: 2,
  concretions: 3,
  lines: 4,
  positions: 5,
  register: 6,
  levels: 7,
  survey: 8,
  bathymetry: 9,
  refits: 10,
  hull: 11,
  datum: 14,
} as const;

/** The random numbers of one subject. */
export function subject(name: keyof typeof streams): RandomStream {
  return randomStream(demoSeed, streams[name]);
}

/** A normal deviate, mean 0 and standard deviation 1 (polar method: Marsaglia and Bray 1964, doi:10.1137/1006063). */
export function normal(random: RandomStream): number {
  for (;;) {
    const u = 2 * random.next() - 1;
    const v = 2 * random.next() - 1;
    const s = u * u + v * v;
    if (s > 0 && s < 1) return u * Math.sqrt((-2 * naturalLog(s)) / s);
  }
}

/** Uniform between two bounds. */
export function between(random: RandomStream, low: number, high: number): number {
  return low + (high - low) * random.next();
}

/** One of a list. */
export function pick<T>(random: RandomStream, choices: readonly T[]): T {
  return choices[random.below(choices.length)];
}

/** The list in random order; the one given is left as it was. */
export function shuffled<T>(random: RandomStream, list: readonly T[]): T[] {
  const out = [...list];
  for (let i = out.length - 1; i > 0; i--) {
    const j = random.below(i + 1);
    [out[i], out[j]] = [out[j], out[i]];
  }
  return out;
}

/** A gamma deviate, shape at least 1 (Marsaglia and Tsang 2000, doi:10.1145/358407.358414). */
function gamma(random: RandomStream, shape: number): number {
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const x = normal(random);
    const v = 1 + c * x;
    if (v <= 0) continue;
    const cube = v * v * v;
    if (naturalLog(1 - random.next()) < 0.5 * x * x + d - d * cube + d * naturalLog(cube)) return d * cube;
  }
}

/** A Beta deviate in (0, 1), both shapes at least 1. */
export function beta(random: RandomStream, shapes: readonly [number, number]): number {
  const a = gamma(random, shapes[0]);
  return a / (a + gamma(random, shapes[1]));
}

/** Rounds to a number of decimals, without a negative zero. */
export function rounded(value: number, decimals: number): number {
  return Number(value.toFixed(decimals)) + 0;
}
