import type { SquareLinks } from './square-links.js';

/** A statistic of likeness between neighbours with what chance would make of it. */
export interface Autocorrelation {
  readonly value: number;
  readonly expected: number;
  /** variance if values came from a normal law; null where it does not exist */
  readonly varianceNormality: number | null;
  /** variance over all ways of dealing these values to the squares; null where it does not exist */
  readonly varianceRandomisation: number | null;
}

interface Moments {
  readonly n: number;
  readonly mean: number;
  /** Σ (z − mean)² */
  readonly squares: number;
  /** fourth moment over squared second: how long the tails are */
  readonly kurtosis: number;
  readonly s0: number;
  readonly s1: number;
  readonly s2: number;
}

/**
 * Values of squares with what weights make of them; null where no answer exists: fewer than two squares, no
 * neighbours, or the same value everywhere (rounding counts as the same).
 */
function momentsOf(z: ArrayLike<number>, links: SquareLinks): Moments | null {
  const { n, start, to, weight } = links;
  let mean = 0;
  let largest = 0;
  for (let i = 0; i < n; i++) {
    mean += z[i] / n;
    largest = Math.max(largest, Math.abs(z[i]));
  }
  let squares = 0;
  let fourth = 0;
  for (let i = 0; i < n; i++) {
    const d = z[i] - mean;
    squares += d * d;
    fourth += d * d * d * d;
  }
  if (n < 2 || to.length === 0 || !(squares > n * (1e-13 * largest) ** 2)) return null;
  let s0 = 0;
  let s1 = 0;
  const total = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    for (let k = start[i]; k < start[i + 1]; k++) {
      const w = weight[k];
      s0 += w;
      // neighbours are mutual: the way back weighs what its own square gives it
      const back = weightBack(links, to[k], i);
      s1 += 0.5 * (w + back) ** 2;
      total[i] += w;
      total[to[k]] += w;
    }
  }
  let s2 = 0;
  for (const t of total) s2 += t * t;
  return { n, mean, squares, kurtosis: (n * fourth) / (squares * squares), s0, s1, s2 };
}

function weightBack({ start, to, weight }: SquareLinks, from: number, target: number): number {
  for (let k = start[from]; k < start[from + 1]; k++) if (to[k] === target) return weight[k];
  return 0;
}

/**
 * Whether neighbouring squares are alike: about 0 by chance, towards 1 like beside like, below 0 like a chessboard.
 *
 * The normal law is a rough guide for skewed counts; permutation is not. It sees likeness between squares only, not
 * heaps inside one.
 *
 * @param z  [n] values of the squares, in the order of the links; left untouched
 * @returns  null when undefined: no neighbours, or every value the same
 * @see Moran 1950, doi:10.1093/biomet/37.1-2.17; moments: Cliff & Ord 1981, Spatial Processes
 */
export function moranI(z: ArrayLike<number>, links: SquareLinks): Autocorrelation | null {
  const m = momentsOf(z, links);
  if (m === null) return null;
  const { n, s0, s1, s2, kurtosis } = m;
  const expected = -1 / (n - 1);
  const byNormality = (n * n * s1 - n * s2 + 3 * s0 * s0) / ((n * n - 1) * s0 * s0) - expected * expected;
  const byRandomisation =
    (n * ((n * n - 3 * n + 3) * s1 - n * s2 + 3 * s0 * s0) - kurtosis * ((n * n - n) * s1 - 2 * n * s2 + 6 * s0 * s0)) /
      ((n - 1) * (n - 2) * (n - 3) * s0 * s0) -
    expected * expected;
  return {
    value: (n / s0) * (crossProduct(z, links, m.mean) / m.squares),
    expected,
    varianceNormality: positive(byNormality),
    varianceRandomisation: n > 3 ? positive(byRandomisation) : null,
  };
}

const positive = (variance: number): number | null => (variance > 0 ? variance : null);

/** Σ w (z_i − mean)(z_j − mean) over all links: the part of Moran's I that dealing the values anew changes. */
export function crossProduct(z: ArrayLike<number>, { n, start, to, weight }: SquareLinks, mean: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) {
    let around = 0;
    for (let k = start[i]; k < start[i + 1]; k++) around += weight[k] * (z[to[k]] - mean);
    sum += (z[i] - mean) * around;
  }
  return sum;
}

/**
 * How different neighbours are: 1 by chance, towards 0 like beside like, above 1 unlike; more easily moved by a few
 * extreme squares than Moran's I.
 * @returns  null when undefined, as for Moran's I
 * @see Geary 1954, doi:10.2307/2986645; moments: Cliff & Ord 1981, Spatial Processes
 */
export function gearyC(z: ArrayLike<number>, links: SquareLinks): Autocorrelation | null {
  const m = momentsOf(z, links);
  if (m === null) return null;
  const { n, s0, s1, s2, kurtosis: b } = m;
  const byNormality = ((2 * s1 + s2) * (n - 1) - 4 * s0 * s0) / (2 * (n + 1) * s0 * s0);
  const byRandomisation =
    ((n - 1) * s1 * (n * n - 3 * n + 3 - (n - 1) * b) -
      0.25 * (n - 1) * s2 * (n * n + 3 * n - 6 - (n * n - n + 2) * b) +
      s0 * s0 * (n * n - 3 - (n - 1) ** 2 * b)) /
    (n * (n - 2) * (n - 3) * s0 * s0);
  return {
    value: ((n - 1) * squaredDifferences(z, links)) / (2 * s0 * m.squares),
    expected: 1,
    varianceNormality: positive(byNormality),
    varianceRandomisation: n > 3 ? positive(byRandomisation) : null,
  };
}

/** Σ w (z_i − z_j)² over all links. */
export function squaredDifferences(z: ArrayLike<number>, { n, start, to, weight }: SquareLinks): number {
  let sum = 0;
  for (let i = 0; i < n; i++) {
    for (let k = start[i]; k < start[i + 1]; k++) sum += weight[k] * (z[i] - z[to[k]]) ** 2;
  }
  return sum;
}

/** Sides (or corners) between squares with the class, with and without, and both without; each counted once. */
export interface JoinCounts {
  readonly both: number;
  readonly mixed: number;
  readonly neither: number;
}

/** Counts joins by presence. @param present [n] 1 or 0. @see Moran 1948, doi:10.1111/j.2517-6161.1948.tb00012.x */
export function joinCounts(present: ArrayLike<number>, { n, start, to }: SquareLinks): JoinCounts {
  let both = 0;
  let mixed = 0;
  let neither = 0;
  for (let i = 0; i < n; i++) {
    for (let k = start[i]; k < start[i + 1]; k++) {
      const sum = present[i] + present[to[k]];
      if (sum === 2) both++;
      else if (sum === 1) mixed++;
      else neither++;
    }
  }
  return { both: both / 2, mixed: mixed / 2, neither: neither / 2 };
}

/** Joins expected of each kind when the squares with the class are dealt at random. */
export function expectedJoins(present: ArrayLike<number>, links: SquareLinks): JoinCounts | null {
  const { n } = links;
  if (n < 2) return null;
  let black = 0;
  for (let i = 0; i < n; i++) black += present[i];
  const joins = links.to.length / 2;
  const pairs = n * (n - 1);
  const white = n - black;
  return {
    both: (joins * black * (black - 1)) / pairs,
    mixed: (joins * 2 * black * white) / pairs,
    neither: (joins * white * (white - 1)) / pairs,
  };
}

/**
 * Moran's I square by square: positive where a square is like its neighbours (both high or both low), negative where
 * it stands out.
 * @returns [n] divisor n in the variance; NaN for a square without neighbours; null when every value is the same
 * @see Anselin 1995, doi:10.1111/j.1538-4632.1995.tb00338.x
 */
export function localMoran(z: ArrayLike<number>, links: SquareLinks): Float64Array | null {
  const m = momentsOf(z, links);
  if (m === null) return null;
  const { n, start, to, weight } = links;
  const local = new Float64Array(n).fill(Number.NaN);
  for (let i = 0; i < n; i++) {
    if (start[i] === start[i + 1]) continue;
    let around = 0;
    for (let k = start[i]; k < start[i + 1]; k++) around += weight[k] * (z[to[k]] - m.mean);
    local[i] = ((z[i] - m.mean) / (m.squares / n)) * around;
  }
  return local;
}

/**
 * Hot and cold spots: how far the sum over a square and its neighbours lies above (hot) or below (cold) what squares
 * dealt at random would give, in standard deviations. Neighbours weigh 1 and the square itself 1, whatever the style.
 *
 * The normal law behind it is rough for skewed counts and few neighbours.
 *
 * @returns [n]; NaN for a square without neighbours, or whose neighbours are all other squares; null when constant
 * @see Ord & Getis 1995, doi:10.1111/j.1538-4632.1995.tb00912.x, eq. 14
 */
export function getisOrdStar(z: ArrayLike<number>, links: SquareLinks): Float64Array | null {
  const m = momentsOf(z, links);
  if (m === null) return null;
  const { n, start, to } = links;
  const deviation = Math.sqrt(m.squares / n);
  const scores = new Float64Array(n).fill(Number.NaN);
  for (let i = 0; i < n; i++) {
    const w = start[i + 1] - start[i] + 1;
    if (w === 1 || w === n) continue;
    let sum = z[i] - m.mean;
    for (let k = start[i]; k < start[i + 1]; k++) sum += z[to[k]] - m.mean;
    scores[i] = sum / (deviation * Math.sqrt((n * w - w * w) / (n - 1)));
  }
  return scores;
}
