import { mean as arithmeticMean, quantileSorted, sampleVariance } from 'simple-statistics';

/** Mean of some values; null when there are none. */
export function mean(values: ArrayLike<number>): number | null {
  return values.length === 0 ? null : arithmeticMean(Array.from(values));
}

/** Variance about the mean with divisor n − 1; null below two values. */
export function variance(values: ArrayLike<number>): number | null {
  return values.length < 2 ? null : sampleVariance(Array.from(values));
}

/** Standard deviation with divisor n − 1; null below two values. */
export function standardDeviation(values: ArrayLike<number>): number | null {
  const squared = variance(values);
  return squared === null ? null : Math.sqrt(squared);
}

/**
 * The value below which the share p of the values lies, interpolated between neighbours (type 7 of Hyndman & Fan).
 *
 * @param values  in any order; left untouched
 * @param p       0 to 1
 * @returns       null when there are no values
 * @see Hyndman & Fan 1996, doi:10.1080/00031305.1996.10473566
 */
export function quantile(values: ArrayLike<number>, p: number): number | null {
  return quantiles(values, [p])[0];
}

/** Several quantiles of the same values with one sorting. */
export function quantiles(values: ArrayLike<number>, shares: readonly number[]): (number | null)[] {
  if (values.length === 0) return shares.map(() => null);
  const sorted = Array.from(Float64Array.from(values).sort());
  return shares.map((p) => quantileSorted(sorted, p));
}

/** Middle value; null when there are none. */
export function median(values: ArrayLike<number>): number | null {
  return quantile(values, 0.5);
}
