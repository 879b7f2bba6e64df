/**
 * Share of pairs, one of each list, in which the first is larger, ties a half; with weights, as resampling needs it.
 * Sorted once, read as often as wanted.
 *
 * @param a  left untouched
 * @returns  the share for weights [n₁ + n₂] of both lists; NaN when a list weighs nothing. No weights = every value once
 * @see Mann & Whitney 1947, doi:10.1214/aoms/1177730491
 */
export function shareLarger(a: ArrayLike<number>, b: ArrayLike<number>): (weight?: ArrayLike<number>) => number {
  const values = Float64Array.from([...Array.from(a), ...Array.from(b)]);
  const order = Uint32Array.from(values.keys()).sort((i, j) => values[i] - values[j]);
  return (weight) => {
    let [below, pairs, first] = [0, 0, 0];
    let i = 0;
    while (i < order.length) {
      let [own, other] = [0, 0];
      let j = i;
      for (; j < order.length && values[order[j]] === values[order[i]]; j++) {
        const w = weight ? weight[order[j]] : 1;
        if (order[j] < a.length) own += w;
        else other += w;
      }
      pairs += own * (below + other / 2);
      first += own;
      below += other;
      i = j;
    }
    return first > 0 && below > 0 ? pairs / (first * below) : Number.NaN;
  };
}
