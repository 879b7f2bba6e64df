import { isBefore, numberClusters } from './cluster-numbers.js';
import { chiSquareLowerTail } from './distributions.js';
import { eachPair } from './pair-distances.js';

/** What makes finds a cluster. */
export interface DensityRule {
  /** two finds this near are neighbours, metres; above 0 */
  readonly reachM: number;
  /** finds within the reach, the find itself counted, that make it a core; 2 or more */
  readonly minFinds: number;
}

/** Finds grouped by how densely they lie. */
export interface DensityClusters {
  /** [n] number of the cluster, 1 = the largest; 0 = in none */
  readonly cluster: Int32Array;
  /** [n] 2 core, 1 border, 0 in no cluster */
  readonly role: Uint8Array;
  /** finds of each cluster, falling */
  readonly sizes: readonly number[];
  /** finds in clusters */
  readonly clustered: number;
  /** Σ 1 − (d / reach)² over pairs within the reach: tells apart scatters of equal share */
  readonly closeness: number;
}

/** distances that differ by less than this share are one distance, written down with rounding */
const equalShare = 1e-9;

/**
 * Density clusters: finds with enough neighbours within a reach are cores, cores within the reach of each other are
 * one cluster, and a find near a core but not one itself stands on the border of the cluster whose core is nearest.
 *
 * Which cluster a border find joins is left open in the source; here the nearest core decides, of equally near ones
 * the one furthest west, then south. So the answer does not hang on the order of the file.
 *
 * Only pairs within the reach are looked at; none is kept but those of border finds.
 *
 * @param xy  [2n] metres from a local origin; left untouched
 * @see Ester, Kriegel, Sander & Xu 1996, KDD-96, 226–231
 */
export function densityClusters(xy: Float64Array, { reachM, minFinds }: DensityRule): DensityClusters {
  const n = xy.length / 2;
  // a distance equal to the reach but for rounding is within it
  const search = { from: xy, to: xy, reachM: reachM * (1 + equalShare), order: 'once' } as const;
  const within = new Uint32Array(n).fill(1);
  let closeness = 0;
  eachPair(search, ({ length, first, second, distance }) => {
    for (let p = 0; p < length; p++) {
      within[first[p]]++;
      within[second[p]]++;
      const share = distance[p] / reachM;
      closeness += 1 - share * share;
    }
  });

  const parent = Int32Array.from({ length: n }, (_, i) => i);
  const rootOf = (i: number): number => {
    let root = i;
    while (parent[root] !== root) {
      parent[root] = parent[parent[root]];
      root = parent[root];
    }
    return root;
  };
  const isCore = (i: number) => within[i] >= minFinds;
  const borders: { readonly find: number; readonly core: number; readonly distance: number }[] = [];
  const nearest = new Float64Array(n).fill(Infinity);
  eachPair(search, ({ length, first, second, distance }) => {
    for (let p = 0; p < length; p++) {
      const a = first[p];
      const b = second[p];
      const isCoreA = isCore(a);
      if (isCoreA !== isCore(b)) {
        const find = isCoreA ? b : a;
        borders.push({ find, core: isCoreA ? a : b, distance: distance[p] });
        nearest[find] = Math.min(nearest[find], distance[p]);
      } else if (isCoreA) {
        const rootA = rootOf(a);
        const rootB = rootOf(b);
        parent[Math.max(rootA, rootB)] = Math.min(rootA, rootB);
      }
    }
  });

  const coreOf = new Int32Array(n).fill(-1);
  for (const { find, core, distance } of borders) {
    if (distance > nearest[find] * (1 + equalShare)) continue;
    if (coreOf[find] < 0 || isBefore(xy, core, coreOf[find])) coreOf[find] = core;
  }
  const role = Uint8Array.from(coreOf, (core, i) => (isCore(i) ? 2 : core >= 0 ? 1 : 0));
  const label = Int32Array.from(coreOf, (core, i) => (isCore(i) ? rootOf(i) : core >= 0 ? rootOf(core) : -1));
  return {
    ...numberClusters(label, xy),
    role,
    clustered: role.reduce((sum, r) => sum + (r > 0 ? 1 : 0), 0),
    closeness,
  };
}

/**
 * The reach within which chance alone would make only a few finds cores: among finds lying at random, `share` of them
 * would have min_finds − 1 or more others so near (Poisson law, edge left aside).
 *
 * It depends on the number of finds and the area alone, not on how they lie: a test at this reach stays honest.
 *
 * @param perM2  finds per m², above 0
 * @param share  0.01 = one find in a hundred
 * @returns      metres
 */
export function reachOfChance(perM2: number, minFinds: number, share: number): number {
  const coreShare = (expected: number) => chiSquareLowerTail(2 * expected, 2 * (minFinds - 1));
  let low = 0;
  let high = minFinds;
  while (coreShare(high) < share) high *= 2;
  for (let i = 0; i < 100 && high - low > 1e-14 * high; i++) {
    const middle = (low + high) / 2;
    if (coreShare(middle) < share) low = middle;
    else high = middle;
  }
  return Math.sqrt((low + high) / 2 / (Math.PI * perM2));
}
