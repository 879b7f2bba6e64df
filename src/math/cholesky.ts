import { Problem } from '../problems.js';

/**
 * Lower triangle of a symmetric matrix, row by row in a square of n × n numbers, with the column at which each row
 * begins: everything left of it is zero, and stays zero in the factor.
 */
export interface ProfileMatrix {
  readonly n: number;
  readonly values: Float64Array;
  readonly first: Int32Array;
}

/**
 * Cholesky factor L of a positive definite matrix, L·Lᵀ, written over it.
 * @throws Problem cannot-answer when the matrix is not positive definite to working precision
 */
export function choleskyInPlace({ n, values, first }: ProfileMatrix): void {
  for (let i = 0; i < n; i++) {
    const row = i * n;
    for (let j = first[i]; j < i; j++) {
      const from = Math.max(first[i], first[j]);
      values[row + j] = (values[row + j] - dot(values, { a: row, b: j * n, from, to: j })) / values[j * n + j];
    }
    const rest = values[row + i] - dot(values, { a: row, b: row, from: first[i], to: i });
    // rounding alone leaves this share of the diagonal: less is no information
    if (!(rest > 1e-13 * values[row + i])) {
      throw new Problem(
        'cannot-answer',
        'two levels lie so near each other that their difference drowns in rounding: give a nugget, or set one of them aside',
      );
    }
    values[row + i] = Math.sqrt(rest);
  }
}

interface Span {
  readonly a: number;
  readonly b: number;
  readonly from: number;
  readonly to: number;
}

/** Sum of products of two rows; four sums side by side, since one would wait for itself. */
function dot(values: Float64Array, { a, b, from, to }: Span): number {
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let k = from;
  for (; k + 3 < to; k += 4) {
    s0 += values[a + k] * values[b + k];
    s1 += values[a + k + 1] * values[b + k + 1];
    s2 += values[a + k + 2] * values[b + k + 2];
    s3 += values[a + k + 3] * values[b + k + 3];
  }
  for (; k < to; k++) s0 += values[a + k] * values[b + k];
  return s0 + s1 + (s2 + s3);
}

/** Solves L·Lᵀ·x = right; the right side [n] is written over. */
export function solveInPlace({ n, values, first }: ProfileMatrix, right: Float64Array): Float64Array {
  for (let i = 0; i < n; i++) {
    let sum = right[i];
    for (let k = first[i]; k < i; k++) sum -= values[i * n + k] * right[k];
    right[i] = sum / values[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    const x = right[i] / values[i * n + i];
    right[i] = x;
    for (let k = first[i]; k < i; k++) right[k] -= values[i * n + k] * x;
  }
  return right;
}

/** The inverse of L, a full lower triangle [n × n]. */
export function invertLower({ n, values, first }: ProfileMatrix): Float64Array {
  const inverse = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    const row = i * n;
    const own = inverse.subarray(row, row + i + 1);
    let k = first[i];
    // four rows at a time: the sums are then fetched and put back a quarter as often
    for (; k + 3 < i; k += 4) {
      const l0 = values[row + k];
      const l1 = values[row + k + 1];
      const l2 = values[row + k + 2];
      const l3 = values[row + k + 3];
      const r0 = k * n;
      const r1 = r0 + n;
      const r2 = r1 + n;
      const r3 = r2 + n;
      // above its diagonal a row holds zeros, so all four may run to the last one's end
      for (let j = 0; j <= k + 3; j++) {
        own[j] -= l0 * inverse[r0 + j] + l1 * inverse[r1 + j] + l2 * inverse[r2 + j] + l3 * inverse[r3 + j];
      }
    }
    for (; k < i; k++) {
      const l = values[row + k];
      for (let j = 0; j <= k; j++) own[j] -= l * inverse[k * n + j];
    }
    const d = 1 / values[row + i];
    for (let j = 0; j < i; j++) own[j] *= d;
    own[i] = d;
  }
  return inverse;
}

/** Lower triangle of Xᵀ·X for a lower triangle X [n × n]: with X = L⁻¹ the inverse of L·Lᵀ. */
export function inverseFromLower(x: Float64Array, n: number): Float64Array {
  const out = new Float64Array(n * n);
  let k = 0;
  for (; k + 3 < n; k += 4) {
    const r0 = k * n;
    const r1 = r0 + n;
    const r2 = r1 + n;
    const r3 = r2 + n;
    for (let i = 0; i <= k + 3; i++) {
      const a0 = x[r0 + i];
      const a1 = x[r1 + i];
      const a2 = x[r2 + i];
      const a3 = x[r3 + i];
      const row = i * n;
      for (let j = 0; j <= i; j++) out[row + j] += a0 * x[r0 + j] + a1 * x[r1 + j] + a2 * x[r2 + j] + a3 * x[r3 + j];
    }
  }
  for (; k < n; k++) {
    for (let i = 0; i <= k; i++) {
      const a = x[k * n + i];
      for (let j = 0; j <= i; j++) out[i * n + j] += a * x[k * n + j];
    }
  }
  return out;
}
