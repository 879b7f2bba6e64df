/** How alike two classes are spread over squares. */
export interface SquareLikeness {
  /** [classes²] squares with both over squares with either, 0 to 1; NaN where neither is anywhere */
  readonly jaccard: Float64Array;
  /** [classes²] 200 less the differences of percentages: 0 no square in common, 200 the same shares everywhere; NaN where a class is nowhere */
  readonly robinsonBrainerd: Float64Array;
  /** [classes²] squares that hold both; on the diagonal squares that hold the class */
  readonly shared: Float64Array;
}

/** Compares classes by the squares they lie in; keeps its arrays, and overwrites the answer with the next call. */
export type SquareComparison = (label: Uint8Array) => SquareLikeness;

/** Finds in squares. */
export interface FindsInSquares {
  /** [n] 0-based square of each find; −1 = in none */
  readonly square: Int32Array;
  readonly squares: number;
  /** [n] what each find counts: 1, pieces, grams */
  readonly weight: Float64Array;
  readonly classes: number;
}

/**
 * Jaccard's share of squares and Robinson and Brainerd's coefficient for all pairs of classes.
 *
 * Both grow with the number of finds: two common classes share squares by number alone, so compare with names dealt
 * out anew. Larger squares make everything alike.
 *
 * @see Jaccard 1901, Bulletin de la Société Vaudoise des Sciences Naturelles 37, 547–579; Robinson 1951,
 *      doi:10.2307/276978; Brainerd 1951, doi:10.2307/276979
 */
export function squareComparison({ square, squares, weight, classes }: FindsInSquares): SquareComparison {
  const sums = new Float64Array(squares * classes);
  const total = new Float64Array(classes);
  const cells = classes * classes;
  const out = {
    jaccard: new Float64Array(cells),
    robinsonBrainerd: new Float64Array(cells),
    shared: new Float64Array(cells),
  };
  const present = new Uint8Array(classes);
  const share = new Float64Array(classes);
  return (label) => {
    sums.fill(0);
    total.fill(0);
    for (let i = 0; i < square.length; i++) {
      // a find that counts nothing is not seen to lie anywhere
      if (square[i] < 0 || !(weight[i] > 0)) continue;
      sums[square[i] * classes + label[i]] += weight[i];
      total[label[i]] += weight[i];
    }
    const { jaccard, robinsonBrainerd, shared } = out;
    robinsonBrainerd.fill(0);
    shared.fill(0);
    for (let s = 0; s < squares; s++) {
      let here = 0;
      for (let c = 0; c < classes; c++) {
        const sum = sums[s * classes + c];
        if (sum === 0) continue;
        share[here] = sum / total[c];
        present[here++] = c;
      }
      for (let a = 0; a < here; a++) {
        for (let b = 0; b <= a; b++) {
          const cell = present[a] * classes + present[b];
          shared[cell]++;
          robinsonBrainerd[cell] += Math.min(share[a], share[b]);
        }
      }
    }
    for (let i = 0; i < classes; i++) {
      for (let j = 0; j <= i; j++) {
        const cell = i * classes + j;
        const either = shared[i * classes + i] + shared[j * classes + j] - shared[cell];
        jaccard[cell] = either > 0 ? shared[cell] / either : Number.NaN;
        // Σ |a − b| = 2 − 2 Σ min(a, b), in percent
        robinsonBrainerd[cell] = total[i] > 0 && total[j] > 0 ? 200 * robinsonBrainerd[cell] : Number.NaN;
        if (j === i) continue;
        const mirror = j * classes + i;
        jaccard[mirror] = jaccard[cell];
        robinsonBrainerd[mirror] = robinsonBrainerd[cell];
        shared[mirror] = shared[cell];
      }
    }
    return out;
  };
}
