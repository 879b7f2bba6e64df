import { crossProduct, joinCounts, squaredDifferences } from './lattice-autocorrelation.js';
import { simulate } from './monte-carlo.js';
import { shuffle } from './random.js';
import type { SquareLinks } from './square-links.js';

/** Values dealt to the squares anew, and what the statistics then say. */
export interface DealtStatistics {
  /** [m] Moran's I */
  readonly moran: Float64Array;
  /** [m] Geary's C */
  readonly geary: Float64Array;
  /** [m] joins of two squares with the class */
  readonly both: Float64Array;
  /** [n] dealings in which the neighbours' sum was as large as seen or larger, and as small or smaller */
  readonly high: Uint32Array;
  readonly low: Uint32Array;
}

/**
 * Deals the values of the squares to the squares at random and computes the statistics again. For the local ones a
 * square keeps its own value and only its neighbours are dealt, from all other squares.
 *
 * It asks whether the places of the values matter, and takes squares for exchangeable: where some were dug in part or
 * otherwise recovered, they are not quite.
 *
 * @param z        [n] values, not all the same; left untouched
 * @param present  [n] 1 where the class is present
 * @see Anselin 1995, doi:10.1111/j.1538-4632.1995.tb00338.x (conditional permutation)
 */
export function dealtStatistics(
  given: { readonly z: Float64Array; readonly present: Uint8Array; readonly links: SquareLinks },
  plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void },
): DealtStatistics {
  const { z, present, links } = given;
  const { n, start, to, weight } = links;
  let mean = 0;
  for (const v of z) mean += v / n;
  let squares = 0;
  for (const v of z) squares += (v - mean) ** 2;
  let s0 = 0;
  for (const w of weight) s0 += w;
  const seen = new Float64Array(n);
  for (let i = 0; i < n; i++) for (let k = start[i]; k < start[i + 1]; k++) seen[i] += z[to[k]];
  // sums in another order may differ in the last bits: equal values must tie
  const slack = 1e-12 * Math.sqrt(squares);

  const order = new Uint32Array(n);
  const dealt = new Float64Array(n);
  const dealtPresence = new Uint8Array(n);
  const out = {
    moran: new Float64Array(plan.count),
    geary: new Float64Array(plan.count),
    both: new Float64Array(plan.count),
    high: new Uint32Array(n),
    low: new Uint32Array(n),
  };
  simulate(plan, (random, s) => {
    for (let i = 0; i < n; i++) order[i] = i;
    shuffle(order, random);
    for (let i = 0; i < n; i++) {
      dealt[i] = z[order[i]];
      dealtPresence[i] = present[order[i]];
    }
    out.moran[s] = (n / s0) * (crossProduct(dealt, links, mean) / squares);
    out.geary[s] = ((n - 1) * squaredDifferences(dealt, links)) / (2 * s0 * squares);
    out.both[s] = joinCounts(dealtPresence, links).both;
    for (let i = 0; i < n; i++) {
      const neighbours = start[i + 1] - start[i];
      let sum = 0;
      // the next ones of the shuffled row that are not the square itself: a random handful of the others
      for (let k = 0, at = i; k < neighbours; at++) {
        const j = order[at % n];
        if (j === i) continue;
        sum += z[j];
        k++;
      }
      if (sum >= seen[i] - slack) out.high[i]++;
      if (sum <= seen[i] + slack) out.low[i]++;
    }
  });
  return out;
}

/**
 * Moran's I of values dealt to the squares anew: the whole of `dealtStatistics` where only I is asked for, from the
 * same streams.
 * @param z  [n] values, not all the same; left untouched
 * @returns  [m]
 */
export function dealtMoran(
  z: Float64Array,
  links: SquareLinks,
  plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void },
): Float64Array {
  const { n } = links;
  let mean = 0;
  for (const v of z) mean += v / n;
  let squares = 0;
  for (const v of z) squares += (v - mean) ** 2;
  let s0 = 0;
  for (const w of links.weight) s0 += w;
  const order = new Uint32Array(n);
  const dealt = new Float64Array(n);
  return Float64Array.from(
    simulate(plan, (random) => {
      for (let i = 0; i < n; i++) order[i] = i;
      shuffle(order, random);
      for (let i = 0; i < n; i++) dealt[i] = z[order[i]];
      return (n / s0) * (crossProduct(dealt, links, mean) / squares);
    }),
  );
}
