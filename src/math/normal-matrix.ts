import { inverseFromLower, invertLower, type ProfileMatrix, solveInPlace } from './cholesky.js';

/** How small a pivot may be beside its diagonal before a row counts as hanging on those above it. */
const smallestPivot = 1e-11;

/** The normal matrix of a least-squares adjustment, or which row of it the rows above already fix. */
export type Factored = { readonly factor: ProfileMatrix } | { readonly failedRow: number };

/**
 * Cholesky factor of a normal matrix, written over it. Unlike the factor of a kriging system it says where a singular
 * matrix fails, so that the point which its readings do not fix can be named.
 *
 * @param values  [n·n] row by row, lower triangle; spoilt when a row fails
 */
export function factorNormals(values: Float64Array, n: number): Factored {
  for (let i = 0; i < n; i++) {
    const row = i * n;
    const diagonal = values[row + i];
    for (let j = 0; j < i; j++) {
      values[row + j] = (values[row + j] - rowProduct(values, row, { other: j * n, length: j })) / values[j * n + j];
    }
    const pivot = diagonal - rowProduct(values, row, { other: row, length: i });
    if (!(pivot > smallestPivot * diagonal)) return { failedRow: i };
    values[row + i] = Math.sqrt(pivot);
  }
  return { factor: { n, values, first: new Int32Array(n) } };
}

/** Sum of products of the beginnings of two rows; four sums side by side, since one would wait for itself. */
function rowProduct(
  values: Float64Array,
  row: number,
  along: { readonly other: number; readonly length: number },
): number {
  const { other, length } = along;
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let k = 0;
  for (; k + 3 < length; k += 4) {
    s0 += values[row + k] * values[other + k];
    s1 += values[row + k + 1] * values[other + k + 1];
    s2 += values[row + k + 2] * values[other + k + 2];
    s3 += values[row + k + 3] * values[other + k + 3];
  }
  for (; k < length; k++) s0 += values[row + k] * values[other + k];
  return s0 + s1 + (s2 + s3);
}

/** Corrections x of N x = right. @param right  [n], written over */
export function solveNormals(factor: ProfileMatrix, right: Float64Array): Float64Array {
  return solveInPlace(factor, right);
}

/** N⁻¹, the cofactors of the unknowns. @returns [n·n], both triangles filled */
export function cofactors(factor: ProfileMatrix): Float64Array {
  const { n } = factor;
  const inverse = inverseFromLower(invertLower(factor), n);
  for (let i = 0; i < n; i++) for (let j = 0; j < i; j++) inverse[j * n + i] = inverse[i * n + j];
  return inverse;
}
