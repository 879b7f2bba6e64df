import { Problem } from '../problems.js';
import { eachPair } from './pair-distances.js';
import type { Radii } from './radii.js';

/** Pairs of finds within a reach, each once, by the first distance that holds them and then by one of the two finds. */
export interface NearPairs {
  readonly finds: number;
  readonly distances: number;
  /** [distances × finds + 1] pairs of find i beyond distance k − 1 but within distance k: from start[k × finds + i] to the next */
  readonly start: Uint32Array;
  /** [pairs] the other find */
  readonly other: Uint32Array;
  /** [pairs] edge weight, 1 or more; the same in either direction */
  readonly weight: Float64Array;
}

/** What pairs are wanted of. */
export interface NearPairsSearch {
  /** [2n] metres from a local origin; left untouched */
  readonly xy: Float64Array;
  readonly distances: Radii;
  /** edge weight by the step from one find to the other */
  weight(dx: number, dy: number): number;
  /** called now and then; throws when the run was cancelled */
  readonly tick?: () => void;
}

/** as many fit into memory beside everything else */
const mostPairs = 8_000_000;

/**
 * Gathers all pairs within the largest distance, so that names can be dealt over them again and again without measuring
 * anew. d ≤ r counts.
 * @throws Problem too-much-work beyond eight million pairs
 */
export function nearPairs({ xy, distances, weight, tick }: NearPairsSearch): NearPairs {
  const finds = xy.length / 2;
  const count = distances.values.length;
  const reachM = distances.values[count - 1];
  // one place further on, so that after gathering each entry stands at its own begin
  const at = new Uint32Array(count * finds + 2);
  let pairs = 0;
  eachPair({ from: xy, to: xy, reachM, order: 'once' }, (batch) => {
    tick?.();
    pairs += batch.length;
    if (pairs > mostPairs) throw tooMany(reachM);
    for (let p = 0; p < batch.length; p++) at[distances.from(batch.distance[p]) * finds + batch.first[p] + 2]++;
  });
  for (let k = 1; k < at.length; k++) at[k] += at[k - 1];
  const other = new Uint32Array(pairs);
  const weights = new Float64Array(pairs);
  eachPair({ from: xy, to: xy, reachM, order: 'once' }, (batch) => {
    tick?.();
    for (let p = 0; p < batch.length; p++) {
      const place = at[distances.from(batch.distance[p]) * finds + batch.first[p] + 1]++;
      other[place] = batch.second[p];
      weights[place] = weight(batch.dx[p], batch.dy[p]);
    }
  });
  return { finds, distances: count, start: at.subarray(0, count * finds + 1), other, weight: weights };
}

function tooMany(reachM: number): Problem {
  return new Problem(
    'too-much-work',
    `more than ${mostPairs} pairs of finds lie within ${Number(reachM.toPrecision(3))} m of each other; ask for smaller distances`,
    { reach: reachM },
  );
}

/** Namings counted side by side: one look at a pair serves all of them. */
export const namingsAtOnce = 4;

/**
 * A counter of pairs by class that keeps its arrays: dealings call it a thousand times.
 *
 * @returns  of up to four namings [finds] of 0-based classes at once, for each the weighted pairs within each distance
 *           between each two classes [distances × classes × classes], in either order: [i, j] = [j, i], and one class
 *           among itself counts each pair twice. Overwritten by the next call
 */
export function pairCounter(
  pairs: NearPairs,
  classes: number,
): (namings: readonly Uint8Array[]) => readonly Float64Array[] {
  const { finds, distances, start, other, weight } = pairs;
  const cells = classes * classes;
  const sums = Array.from({ length: namingsAtOnce }, () => new Float64Array(distances * cells));
  const packed = new Uint32Array(finds);
  const [s0, s1, s2, s3] = sums;
  return (namings) => {
    // too few namings: the last one again
    const [n0, n1 = n0, n2 = n1, n3 = n2] = namings;
    for (let i = 0; i < finds; i++) packed[i] = n0[i] | (n1[i] << 8) | (n2[i] << 16) | (n3[i] << 24);
    for (const sum of sums) sum.fill(0);
    for (let k = 0; k < distances; k++) {
      for (let i = 0; i < finds; i++) {
        const end = start[k * finds + i + 1];
        const r0 = k * cells + n0[i] * classes;
        const r1 = k * cells + n1[i] * classes;
        const r2 = k * cells + n2[i] * classes;
        const r3 = k * cells + n3[i] * classes;
        for (let p = start[k * finds + i]; p < end; p++) {
          const names = packed[other[p]];
          const w = weight[p];
          s0[r0 + (names & 255)] += w;
          s1[r1 + ((names >>> 8) & 255)] += w;
          s2[r2 + ((names >>> 16) & 255)] += w;
          s3[r3 + (names >>> 24)] += w;
        }
      }
    }
    for (const sum of sums) cumulate(sum, { distances, classes });
    return sums;
  };
}

/** Adds either order, and each distance to the next. */
function cumulate(sums: Float64Array, { distances, classes }: { distances: number; classes: number }): void {
  const cells = classes * classes;
  for (let k = 0; k < distances; k++) {
    const ring = k * cells;
    for (let i = 0; i < classes; i++) {
      for (let j = 0; j <= i; j++) {
        const both = sums[ring + i * classes + j] + sums[ring + j * classes + i];
        sums[ring + i * classes + j] = both;
        sums[ring + j * classes + i] = both;
      }
    }
    if (k > 0) for (let c = 0; c < cells; c++) sums[ring + c] += sums[ring - cells + c];
  }
}

/**
 * The same for one naming, without gathering the pairs: for places that are looked at once.
 * @throws Problem too-much-work beyond eight million pairs
 */
export function pairsByClass(
  { xy, distances, weight, tick }: NearPairsSearch,
  { label, classes }: { readonly label: Uint8Array; readonly classes: number },
): Float64Array {
  const count = distances.values.length;
  const reachM = distances.values[count - 1];
  const cells = classes * classes;
  const sums = new Float64Array(count * cells);
  let pairs = 0;
  eachPair({ from: xy, to: xy, reachM, order: 'once' }, (batch) => {
    tick?.();
    pairs += batch.length;
    if (pairs > mostPairs) throw tooMany(reachM);
    const { first, second, dx, dy, distance } = batch;
    for (let p = 0; p < batch.length; p++) {
      sums[distances.from(distance[p]) * cells + label[first[p]] * classes + label[second[p]]] += weight(dx[p], dy[p]);
    }
  });
  cumulate(sums, { distances: count, classes });
  return sums;
}

/**
 * K between classes from weighted pairs: finds of j within r of a find of i, over the number of j per m²; among all
 * finds together when names mean nothing.
 *
 * @param sums   as from a pair counter
 * @param count  [classes] finds of each class
 * @returns      [distances × classes × classes] m²; NaN where a class has too few finds
 * @see Lotwick & Silverman 1982, doi:10.1111/j.2517-6161.1982.tb01221.x; Ohser 1983 (translation weights)
 */
export function crossK(
  sums: Float64Array,
  { count, areaM2 }: { readonly count: ArrayLike<number>; readonly areaM2: number },
): Float64Array {
  const classes = count.length;
  return sums.map((sum, at) => {
    const i = Math.floor(at / classes) % classes;
    const j = at % classes;
    const pairs = count[i] * (count[j] - (i === j ? 1 : 0));
    return pairs > 0 ? (areaM2 * sum) / pairs : Number.NaN;
  });
}
