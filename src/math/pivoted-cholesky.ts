/** The independent part of a covariance matrix, factored. */
export interface PivotedFactor {
  /** independent directions: degrees of freedom */
  readonly rank: number;
  /** [rank] rows of the matrix that span it, in the order taken */
  readonly pivots: Uint32Array;
  /** [rank × rank] lower triangle L with L·Lᵀ = the matrix of those rows */
  readonly lower: Float64Array;
}

/** A covariance matrix of standardised values. */
export interface SemidefiniteMatrix {
  /** [size × size] symmetric, diagonal about 1; left untouched */
  readonly values: Float64Array;
  readonly size: number;
}

/** what is left of a diagonal of 1 when only rounding is */
const nothingLeft = 1e-8;

/**
 * Factors a covariance matrix that may hold sums known beforehand (rows of a table that always add up): the row with
 * most left to explain is taken until nothing is, and the number of rows taken is the degrees of freedom. Cost
 * size × rank².
 * @see Higham 2002, Accuracy and Stability of Numerical Algorithms, 2nd ed., section 10.3
 */
export function pivotedCholesky({ values, size }: SemidefiniteMatrix): PivotedFactor {
  const rest = Float64Array.from({ length: size }, (_, i) => values[i * size + i]);
  const rows = new Float64Array(size * size);
  const pivots: number[] = [];
  const isTaken = new Uint8Array(size);
  for (let k = 0; k < size; k++) {
    let best = -1;
    for (let i = 0; i < size; i++) if (isTaken[i] === 0 && (best < 0 || rest[i] > rest[best])) best = i;
    if (!(rest[best] > nothingLeft)) break;
    isTaken[best] = 1;
    pivots.push(best);
    const root = Math.sqrt(rest[best]);
    rows[best * size + k] = root;
    for (let i = 0; i < size; i++) {
      if (isTaken[i] === 1) continue;
      let sum = values[i * size + best];
      const own = i * size;
      const other = best * size;
      for (let j = 0; j < k; j++) sum -= rows[own + j] * rows[other + j];
      rows[own + k] = sum / root;
      rest[i] -= rows[own + k] * rows[own + k];
    }
  }
  const rank = pivots.length;
  const lower = new Float64Array(rank * rank);
  pivots.forEach((pivot, k) => {
    lower.set(rows.subarray(pivot * size, pivot * size + k + 1), k * rank);
  });
  return { rank, pivots: Uint32Array.from(pivots), lower };
}

/**
 * Deviation' · inverse · deviation over the independent rows: a χ² where deviations are near normal.
 * @param deviation  of row i of the matrix, in the same scale
 */
export function quadraticForm({ rank, pivots, lower }: PivotedFactor, deviation: (row: number) => number): number {
  const solved = new Float64Array(rank);
  let sum = 0;
  for (let k = 0; k < rank; k++) {
    let value = deviation(pivots[k]);
    const row = k * rank;
    for (let j = 0; j < k; j++) value -= lower[row + j] * solved[j];
    solved[k] = value / lower[row + k];
    sum += solved[k] * solved[k];
  }
  return sum;
}
