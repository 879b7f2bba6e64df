import type { DistanceLaw } from './distance-law.js';
import { normalTwoSided } from './distributions.js';

/** Berman's tests of whether finds lie nearer to something, or farther from it, than chance alone would put them. */
export interface Berman {
  /** below 0 nearer than chance, above 0 farther; the number of finds itself taken as random (Poisson) */
  readonly z1: number | null;
  /** two-sided */
  readonly p1: number | null;
  /** the same with the number of finds held fixed */
  readonly z1Conditional: number | null;
  readonly p1Conditional: number | null;
  /** from the shares of the window nearer than each find; below 0 nearer than chance */
  readonly z2: number | null;
  readonly p2: number | null;
}

/**
 * Berman's Z1 (mean distance) and Z2 (mean share of the window nearer than the find).
 *
 * All three lean on the normal law: with fewer than about ten finds read the simulated probability instead. Ground at
 * distance 0 (inside hull areas) is shared half and half, and the spread of Z2 is lessened to suit.
 *
 * @param distances  [n] metres; signed ones with the law of signed distances; left untouched
 * @param law        how far the window's ground lies
 * @returns          null where there are no finds, or where all ground lies equally far
 * @see Berman 1986, doi:10.2307/2347865
 */
export function berman(distances: Float64Array, law: DistanceLaw): Berman {
  const n = distances.length;
  const p = (z: number | null) => (z === null ? null : normalTwoSided(z));
  if (n === 0) return { z1: null, p1: null, z1Conditional: null, p1Conditional: null, z2: null, p2: null };
  let excess = 0;
  for (const d of distances) excess += d - law.mean;
  const over = (variance: number) => (variance > 1e-12 * law.secondMoment ? excess / Math.sqrt(n * variance) : null);
  const z1 = over(law.secondMoment);
  const z1Conditional = over(law.secondMoment - law.mean * law.mean);
  const shares = law.shares(distances);
  let rank = 0;
  shares.forEach((share, i) => {
    rank += (distances[i] === 0 ? share - law.atZero / 2 : share) - 0.5;
  });
  const spread = 1 - law.atZero ** 3;
  const z2 = z1 === null || spread <= 0 ? null : rank * Math.sqrt(12 / (n * spread));
  return { z1, p1: p(z1), z1Conditional, p1Conditional: p(z1Conditional), z2, p2: p(z2) };
}
