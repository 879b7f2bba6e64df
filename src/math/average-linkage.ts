import { correlation } from './ranks.js';

/** One joining of a cluster tree. */
export interface Joining {
  /** numbers of what is joined: below n a thing, n + k the outcome of joining k */
  readonly left: number;
  readonly right: number;
  /** mean distance between the members of both */
  readonly height: number;
  readonly members: number;
}

/** A cluster tree of n things. */
export interface ClusterTree {
  /** [n − 1] in the order made, heights never falling */
  readonly joinings: readonly Joining[];
  /** [n] things in an order in which no branches cross */
  readonly order: readonly number[];
  /** correlation of the distances with the heights at which pairs first join: 1 = the tree tells everything; null when either does not vary */
  readonly copheneticCorrelation: number | null;
}

/**
 * Cluster tree by average linkage: the two nearest clusters are joined again and again, the distance of clusters being
 * the mean over all pairs of their members. Of equally near ones the pair with the lowest numbers is joined first.
 *
 * A tree always joins everything: read the heights, and the cophenetic correlation, before speaking of groups.
 *
 * @param distance  [n × n] symmetric, all finite; left untouched. Cost n³
 * @see Sokal & Michener 1958, University of Kansas Science Bulletin 38, 1409–1438; Sokal & Rohlf 1962,
 *      doi:10.2307/1217208 (cophenetic correlation)
 */
export function averageLinkage(distance: Float64Array, n: number): ClusterTree {
  const between = distance.slice();
  // what stands in row i now: its number, its members
  const name = Array.from({ length: n }, (_, i) => i);
  const members = Array.from({ length: n }, (_, i) => [i]);
  const alive = Array.from({ length: n }, (_, i) => i);
  const joinings: Joining[] = [];
  const cophenetic = new Float64Array(n * n);
  while (alive.length > 1) {
    let [a, b] = [alive[0], alive[1]];
    for (let p = 0; p < alive.length; p++) {
      for (let q = p + 1; q < alive.length; q++) {
        if (between[alive[p] * n + alive[q]] < between[a * n + b]) [a, b] = [alive[p], alive[q]];
      }
    }
    // rounding of means must not let a tree sink
    const height = Math.max(between[a * n + b], joinings.at(-1)?.height ?? 0);
    for (const i of members[a]) {
      for (const j of members[b]) {
        cophenetic[i * n + j] = height;
        cophenetic[j * n + i] = height;
      }
    }
    joinings.push({ left: name[a], right: name[b], height, members: members[a].length + members[b].length });
    for (const c of alive) {
      if (c === a || c === b) continue;
      const mean =
        (members[a].length * between[a * n + c] + members[b].length * between[b * n + c]) /
        (members[a].length + members[b].length);
      between[a * n + c] = mean;
      between[c * n + a] = mean;
    }
    members[a] = [...members[a], ...members[b]];
    name[a] = n + joinings.length - 1;
    alive.splice(alive.indexOf(b), 1);
  }
  return {
    joinings,
    order: n > 0 ? members[alive[0]] : [],
    copheneticCorrelation: pairCorrelation(distance, cophenetic, n),
  };
}

function pairCorrelation(a: Float64Array, b: Float64Array, n: number): number | null {
  const pairs: number[] = [];
  for (let i = 0; i < n; i++) for (let j = 0; j < i; j++) pairs.push(i * n + j);
  const of = (values: Float64Array) => pairs.map((at) => values[at]);
  return pairs.length > 0 ? correlation(of(a), of(b)) : null;
}
