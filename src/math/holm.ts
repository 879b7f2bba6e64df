/**
 * Probabilities raised for the number of tests made, so that a false claim anywhere among them stays below the level.
 * @param p  in any order; null = no test was possible, and counts as none
 * @see Holm 1979, Scandinavian Journal of Statistics 6, 65–70
 */
export function holm(p: readonly (number | null)[]): (number | null)[] {
  const order = p.flatMap((value, i) => (value === null ? [] : [i])).sort((a, b) => (p[a] ?? 1) - (p[b] ?? 1));
  const out: (number | null)[] = p.map(() => null);
  let highest = 0;
  order.forEach((i, rank) => {
    highest = Math.max(highest, Math.min(1, (order.length - rank) * (p[i] ?? 1)));
    out[i] = highest;
  });
  return out;
}
