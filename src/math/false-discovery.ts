/**
 * Step-down Holm probabilities: below 0.05 where a test stands although all of them were made. NaN stays NaN and is
 * no test.
 *
 * @param p  [m] in any order; left untouched
 * @returns  [m] adjusted, at most 1
 * @see Holm 1979, Scandinavian Journal of Statistics 6, 65–70
 */
export function holm(p: ArrayLike<number>): Float64Array {
  const { order, adjusted } = smallestFirst(p);
  const m = order.length;
  let highest = 0;
  order.forEach((i, rank) => {
    highest = Math.max(highest, Math.min(1, (m - rank) * p[i]));
    adjusted[i] = highest;
  });
  return adjusted;
}

/**
 * Step-up Benjamini–Hochberg probabilities: of the tests below 0.05, one in twenty is expected to be false. Holds for
 * independent tests and for those that rise and fall together, as neighbouring squares do.
 *
 * @param p  [m] in any order; NaN stays NaN and is no test; left untouched
 * @returns  [m] adjusted, at most 1
 * @see Benjamini & Hochberg 1995, doi:10.1111/j.2517-6161.1995.tb02031.x
 */
export function benjaminiHochberg(p: ArrayLike<number>): Float64Array {
  const { order, adjusted } = smallestFirst(p);
  const m = order.length;
  let lowest = 1;
  for (let rank = m - 1; rank >= 0; rank--) {
    const i = order[rank];
    lowest = Math.min(lowest, (m * p[i]) / (rank + 1));
    adjusted[i] = lowest;
  }
  return adjusted;
}

function smallestFirst(p: ArrayLike<number>): { order: number[]; adjusted: Float64Array } {
  const order = Array.from(p, (_, i) => i)
    .filter((i) => !Number.isNaN(p[i]))
    .sort((a, b) => p[a] - p[b] || a - b);
  return { order, adjusted: new Float64Array(p.length).fill(Number.NaN) };
}
