import { randomStream } from './random.js';

/** Finds per m² of two seasons at the same places, all [k]. */
export interface PairedDensities {
  readonly x: ArrayLike<number>;
  readonly y: ArrayLike<number>;
  readonly first: ArrayLike<number>;
  readonly second: ArrayLike<number>;
}

/** Syrjala's comparison of where two populations lie, whatever their numbers. */
export interface Syrjala {
  /** Ψ: mean over the four corners of Σ (difference of both cumulative distributions)² */
  readonly psi: number;
  /** south-west, south-east, north-west, north-east */
  readonly psiByCorner: readonly [number, number, number, number];
  /** mean over the corners of the largest difference */
  readonly ks: number;
  /** share of swaps whose Ψ is as large */
  readonly p: number;
  readonly pKs: number;
  /** swaps looked at, without the observed one where they were drawn */
  readonly swaps: number;
  /** true: all swaps there are; false: drawn at random, the observed one counted as one of them */
  readonly isExact: boolean;
}

/** up to so many places every swap is looked at */
const mostPlacesExact = 12;
/** sums in another order may differ in the last places: such swaps are ties */
const tieSlack = 1e-12;

/**
 * Whether two populations are spread alike over the same places. Each is brought to a sum of 1, so that one season may
 * have found ten times as much; p by swapping both values within places: all 2^k swaps up to 12 places, else as many
 * random ones as asked for.
 *
 * It says that they lie differently, not where; a place dug in one season only has no part in it. A few rich places
 * decide it.
 *
 * @param places  left untouched
 * @returns       null when either has nothing anywhere, or when nothing may be drawn and there are too many swaps
 * @see Syrjala 1996, doi:10.2307/2265656
 */
export function syrjala(
  places: PairedDensities,
  plan: { readonly count: number; readonly seed: number; readonly first?: number },
): Syrjala | null {
  const k = places.x.length;
  const [total1, total2] = [sumOf(places.first), sumOf(places.second)];
  const isExact = k <= mostPlacesExact;
  if (!(total1 > 0 && total2 > 0) || (!isExact && plan.count === 0)) return null;
  const difference = Float64Array.from({ length: k }, (_, i) => places.first[i] / total1 - places.second[i] / total2);
  const measure = cornerSums(places);
  const observed = measure(difference);
  const swaps = isExact ? 2 ** k : plan.count;
  const swapped = new Float64Array(k);
  let [asLarge, asLargeKs] = isExact ? [0, 0] : [1, 1];
  for (let s = 0; s < swaps; s++) {
    if (isExact) for (let i = 0; i < k; i++) swapped[i] = (s >> i) & 1 ? -difference[i] : difference[i];
    else {
      const random = randomStream(plan.seed, (plan.first ?? 0) + s);
      for (let i = 0; i < k; i++) swapped[i] = random.next() < 0.5 ? -difference[i] : difference[i];
    }
    const found = measure(swapped);
    if (found.psi >= observed.psi - tieSlack) asLarge++;
    if (found.ks >= observed.ks - tieSlack) asLargeKs++;
  }
  const of = isExact ? swaps : swaps + 1;
  return { ...observed, p: asLarge / of, pKs: asLargeKs / of, swaps, isExact };
}

function sumOf(values: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i];
  return sum;
}

/** Sums over all places beyond a place as seen from each corner, by one table of sums from the south-west. */
function cornerSums({ x, y }: Pick<PairedDensities, 'x' | 'y'>) {
  const [column, columns] = ranked(x);
  const [row, rows] = ranked(y);
  const width = columns + 1;
  const table = new Float64Array(width * (rows + 1));
  const k = x.length;
  return (difference: Float64Array): Pick<Syrjala, 'psi' | 'psiByCorner' | 'ks'> => {
    table.fill(0);
    for (let i = 0; i < k; i++) table[row[i] * width + column[i]] += difference[i];
    for (let r = 1; r <= rows; r++) {
      let line = 0;
      for (let c = 1; c <= columns; c++) {
        line += table[r * width + c];
        table[r * width + c] = line + table[(r - 1) * width + c];
      }
    }
    const all = table[rows * width + columns];
    const squares: [number, number, number, number] = [0, 0, 0, 0];
    const largest = [0, 0, 0, 0];
    for (let i = 0; i < k; i++) {
      const [c, r] = [column[i], row[i]];
      const upToColumn = table[rows * width + c - 1];
      const upToRow = table[(r - 1) * width + columns];
      const sums = [
        table[r * width + c],
        table[r * width + columns] - table[r * width + c - 1],
        table[rows * width + c] - table[(r - 1) * width + c],
        all - upToColumn - upToRow + table[(r - 1) * width + c - 1],
      ];
      sums.forEach((sum, corner) => {
        squares[corner] += sum * sum;
        largest[corner] = Math.max(largest[corner], Math.abs(sum));
      });
    }
    return {
      psi: sumOf(squares) / 4,
      psiByCorner: squares,
      ks: sumOf(largest) / 4,
    };
  };
}

/** Place of each value among the different ones, from 1, and how many there are. */
function ranked(values: ArrayLike<number>): [Uint32Array, number] {
  const different = [...new Set(Array.from(values))].sort((a, b) => a - b);
  const place = new Map(different.map((value, i) => [value, i + 1]));
  return [Uint32Array.from(Array.from(values), (value) => place.get(value) ?? 0), different.length];
}
