import { naturalLog } from './elementary.js';

/**
 * Seeded random numbers: one stream for each (seed, stream number), so that simulation 417 draws the same
 * numbers on whatever worker it runs. The generator is sfc32 (C. Doty-Humphrey's small fast counting generator,
 * public domain) started from a mix of both numbers; only 32-bit integer arithmetic, so every machine and every
 * Node line gives the same bits.
 */
export const generatorName = 'sfc32 keyed by (seed, stream)';

export interface RandomStream {
  /** uniform in [0, 1), 53 bits */
  next(): number;
  /** uniform whole number in [0, n), without bias; n from 1 to 2^32 − 1 */
  below(n: number): number;
}

/** Mixes one more number into a 32-bit key (finaliser of MurmurHash3, public domain). */
function mix(key: number, value: number): number {
  let h = Math.imul(key ^ value, 0x9e3779b1);
  h ^= h >>> 16;
  h = Math.imul(h, 0x85ebca6b);
  h ^= h >>> 13;
  h = Math.imul(h, 0xc2b2ae35);
  return (h ^ (h >>> 16)) >>> 0;
}

/**
 * The stream of one simulation.
 * @param seed    whole number, 0 to 2^53 − 1; printed in every result
 * @param stream  whole number, 0 to 2^32 − 1: the simulation, draw or permutation number
 */
export function randomStream(seed: number, stream: number): RandomStream {
  const low = seed >>> 0;
  const high = Math.floor(seed / 4294967296) >>> 0;
  let a = mix(mix(mix(0x243f6a88, low), high), stream >>> 0);
  let b = mix(mix(mix(0x85a308d3, low), high), stream >>> 0);
  let c = mix(mix(mix(0x13198a2e, low), high), stream >>> 0);
  let counter = 1;
  const step = (): number => {
    const t = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (c << 21) | (c >>> 11);
    c = (c + t) | 0;
    return t >>> 0;
  };
  for (let i = 0; i < 15; i++) step();
  return {
    next: () => ((step() >>> 5) * 67108864 + (step() >>> 6)) / 9007199254740992,
    below(n) {
      const limit = 4294967296 - (4294967296 % n);
      for (;;) {
        const v = step();
        if (v < limit) return v % n;
      }
    },
  };
}

/**
 * A number of the standard normal law, from two or more uniform ones. Own logarithm, so that every machine gives the
 * same bits.
 * @see Marsaglia & Bray 1964, SIAM Review 6, 260–264, doi:10.1137/1006063
 */
export function normalDeviate(random: RandomStream): number {
  for (;;) {
    const u = 2 * random.next() - 1;
    const v = 2 * random.next() - 1;
    const s = u * u + v * v;
    if (s > 0 && s < 1) return u * Math.sqrt((-2 * naturalLog(s)) / s);
  }
}

/** Puts `order` in random sequence in place (Fisher–Yates). */
export function shuffle(order: Uint32Array, random: RandomStream): void {
  for (let i = order.length - 1; i > 0; i--) {
    const j = random.below(i + 1);
    const kept = order[i];
    order[i] = order[j];
    order[j] = kept;
  }
}
