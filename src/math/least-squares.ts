/** A linear least-squares fit, with what is needed for its errors. */
export interface LinearFit {
  readonly coefficients: Float64Array;
  /** [k × k] covariance of the coefficients for errors of variance 1 */
  readonly covariance: Float64Array;
  /** [n] value less fit, unweighted */
  readonly residual: Float64Array;
  /** weighted sum of squared residuals */
  readonly sumOfSquares: number;
}

/** below this share of its length a column says nothing the earlier ones do not */
const dependentShare = 1e-9;

/**
 * Least squares by making the columns orthogonal one after the other, twice over, so that nearly dependent columns
 * (powers of coordinates) cost no digits.
 *
 * @param columns  k arrays [n]; left untouched
 * @param weights  [n] each at least 0; null = all 1
 * @returns        null when there are fewer rows than columns or a column depends on the earlier ones
 * @see modified Gram–Schmidt: Björck 1967, doi:10.1007/BF01934122
 */
export function leastSquares(
  columns: readonly Float64Array[],
  values: Float64Array,
  weights: Float64Array | null,
): LinearFit | null {
  const n = values.length;
  const k = columns.length;
  if (n < k) return null;
  const root = weights === null ? null : weights.map(Math.sqrt);
  const weighted = (column: Float64Array) => (root === null ? column.slice() : column.map((v, i) => v * root[i]));
  const basis: Float64Array[] = [];
  const upper = new Float64Array(k * k);
  for (let j = 0; j < k; j++) {
    const q = weighted(columns[j]);
    const length = Math.sqrt(product(q, q));
    for (let pass = 0; pass < 2; pass++) {
      basis.forEach((earlier, i) => {
        const share = product(earlier, q);
        upper[i * k + j] += share;
        for (let r = 0; r < n; r++) q[r] -= share * earlier[r];
      });
    }
    const rest = Math.sqrt(product(q, q));
    if (!(rest > dependentShare * length)) return null;
    upper[j * k + j] = rest;
    basis.push(q.map((v) => v / rest));
  }
  const left = weighted(values);
  const shares = basis.map((q) => {
    const share = product(q, left);
    for (let r = 0; r < n; r++) left[r] -= share * q[r];
    return share;
  });
  const inverse = inverseOfUpper(upper, k);
  const coefficients = new Float64Array(k);
  const covariance = new Float64Array(k * k);
  for (let i = 0; i < k; i++) {
    for (let j = i; j < k; j++) coefficients[i] += inverse[i * k + j] * shares[j];
    for (let m = 0; m < k; m++) {
      for (let j = Math.max(i, m); j < k; j++) covariance[i * k + m] += inverse[i * k + j] * inverse[m * k + j];
    }
  }
  const residual = values.map((v, r) => columns.reduce((rest, column, j) => rest - coefficients[j] * column[r], v));
  return { coefficients, covariance, residual, sumOfSquares: product(left, left) };
}

function product(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

function inverseOfUpper(upper: Float64Array, k: number): Float64Array {
  const out = new Float64Array(k * k);
  for (let j = k - 1; j >= 0; j--) {
    out[j * k + j] = 1 / upper[j * k + j];
    for (let i = j - 1; i >= 0; i--) {
      let sum = 0;
      for (let m = i + 1; m <= j; m++) sum += upper[i * k + m] * out[m * k + j];
      out[i * k + j] = -sum / upper[i * k + i];
    }
  }
  return out;
}
