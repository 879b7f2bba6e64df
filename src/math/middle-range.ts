/**
 * Ends of the middle 95 % of simulated values: with 999 of them the 25th from either end.
 * @param values  [m], m ≥ 1, in any order; left untouched
 */
export function middleRange(values: ArrayLike<number>): { readonly low: number; readonly high: number } {
  const sorted = Float64Array.from(values).sort();
  // a hair more, so that 0.025 × 1000 is 25 and not 24.999…
  const skip = Math.max(0, Math.floor(0.025 * (sorted.length + 1) + 1e-9) - 1);
  return { low: sorted[skip], high: sorted[sorted.length - 1 - skip] };
}
