import { simulate } from '../../math/monte-carlo.js';
import { type NameDealer, nameDealer } from '../../math/name-dealing.js';
import {
  crossK,
  type NearPairs,
  type NearPairsSearch,
  namingsAtOnce,
  nearPairs,
  pairCounter,
} from '../../math/near-pairs.js';
import { type NearestOthers, nearestOthers } from '../../math/nearest-others.js';
import {
  type DixonLaw,
  dixonLaw,
  type NeighbourShape,
  neighbourShape,
  neighbourTable,
  pielouTest,
} from '../../math/neighbour-table.js';
import { type Radii, radiiOf } from '../../math/radii.js';
import type { Region } from '../../math/rings.js';
import { setCovariance, tabulated } from '../../math/set-covariance.js';
import { squareComparison } from '../../math/square-likeness.js';
import { Problem } from '../../problems.js';

/** Finds with classes, what ties them together, and where they lie. */
export interface ClassedFinds {
  readonly classes: readonly string[];
  /** [2n] metres from a local origin */
  readonly xy: Float64Array;
  /** [n + m] 0-based class; the last m have a square but no place */
  readonly label: Uint8Array;
  readonly group: Int32Array;
  readonly stratum: Int32Array;
  readonly square: Int32Array;
  readonly weight: Float64Array;
  readonly squares: number;
  readonly window: Region;
  readonly areaM2: number;
  readonly slackM: number;
}

/** How pairs are measured and names are dealt. */
export interface DealingPlan {
  readonly distances: readonly number[];
  readonly edge: 'translation' | 'none';
  readonly simulations: number;
  readonly seed: number;
  readonly progress: (share: number) => void;
}

/** Everything measured on one naming of the finds, in one row of numbers. */
export interface MeasureLayout {
  readonly classes: number;
  readonly distances: number;
  /** unordered pairs of classes, i > j */
  readonly half: number;
  /** cells of the neighbour table, row by row */
  cell(cell: number): number;
  /** K of a pair at a distance */
  k(pair: number, distance: number): number;
  jaccard(pair: number): number;
  robinsonBrainerd(pair: number): number;
  readonly chi2: number;
  readonly length: number;
}

/** Number of an unordered pair of classes, in either order. */
export function pairNumber(i: number, j: number): number {
  return i > j ? (i * (i - 1)) / 2 + j : (j * (j - 1)) / 2 + i;
}

function layoutOf(classes: number, distances: number): MeasureLayout {
  const cells = classes * classes;
  const half = (classes * (classes - 1)) / 2;
  const squaresAt = cells + half * distances;
  return {
    classes,
    distances,
    half,
    cell: (cell) => cell,
    k: (pair, distance) => cells + pair * distances + distance,
    jaccard: (pair) => squaresAt + pair,
    robinsonBrainerd: (pair) => squaresAt + half + pair,
    chi2: squaresAt + 2 * half,
    length: squaresAt + 2 * half + 1,
  };
}

/** The finds as they are, and as they are when names are dealt out. */
export interface Association {
  readonly layout: MeasureLayout;
  readonly observed: Float64Array;
  /** [measures] each [simulations] */
  readonly dealt: readonly Float64Array[];
  readonly dealer: NameDealer;
  readonly nearest: NearestOthers;
  readonly shape: NeighbourShape;
  readonly law: DixonLaw;
  readonly pairs: NearPairs;
  readonly radii: Radii;
  /** [classes] finds with a place */
  readonly count: Uint32Array;
  /** [distances] K of all finds together */
  readonly pooledK: Float64Array;
  /** unweighted pairs [distances × classes × classes], either order */
  readonly plainPairs: Float64Array;
  /** [classes²] squares that hold both */
  readonly sharedSquares: Float64Array;
}

/** numbers of all dealings held at once, and pairs counted by all of them: half a minute of work */
const mostNumbers = 2.5e7;
const mostPairCounts = 3e10;
/** dealings a share of about 5 % is told from, and their streams, apart from those of the other dealings */
const mostSizeDealings = 999;
const sizeStreams = 750_000_000;
/** a pair whose step leaves less than this share of the window in common counts a hundredfold and no more */
const leastShare = 0.01;

/** How pairs are looked for and weighed. @throws Problem too-much-work for a window of too many edges */
export function pairSearch(
  finds: Pick<ClassedFinds, 'xy' | 'window' | 'areaM2'>,
  how: {
    readonly radii: Radii;
    readonly edge: DealingPlan['edge'];
    /** overlaps of the window from a table, within 1e-4: for places that are only drawn */
    readonly overlaps: 'exact' | 'table';
    readonly tick: () => void;
  },
): NearPairsSearch {
  const { radii, edge, tick } = how;
  const base = { xy: finds.xy, distances: radii, tick };
  if (edge === 'none') return { ...base, weight: () => 1 };
  const reachM = radii.values[radii.values.length - 1];
  const exact = setCovariance(finds.window, reachM);
  const overlap = how.overlaps === 'exact' ? exact : tabulated(exact, reachM);
  const least = leastShare * finds.areaM2;
  return { ...base, weight: (dx, dy) => finds.areaM2 / Math.max(least, overlap(dx, dy)) };
}

/**
 * Measures neighbours, near pairs and shared squares of all classes, and the same with names dealt out anew: places,
 * squares and groups stay, dealing s draws from stream s of the seed.
 *
 * @throws Problem too-much-work
 */
export function associationOf(finds: ClassedFinds, plan: DealingPlan): Association {
  const n = finds.xy.length / 2;
  const classes = finds.classes.length;
  const cells = classes * classes;
  const radii = radiiOf(plan.distances);
  const layout = layoutOf(classes, plan.distances.length);
  const nearest = nearestOthers(finds.xy, finds.slackM);
  const count = new Uint32Array(classes);
  for (let i = 0; i < n; i++) count[finds.label[i]]++;
  const shape = n > 1 ? neighbourShape(nearest.index) : { n, mutual: 0, sharing: 0 };
  const law = dixonLaw(count, shape);
  const pairs = nearPairs(
    pairSearch(finds, { radii, edge: plan.edge, overlaps: 'exact', tick: () => plan.progress(0) }),
  );
  refuseTooMuch(plan.simulations, layout, pairs);

  const counter = pairCounter(pairs, classes);
  const compare = squareComparison({ ...finds, classes });
  /** measures one naming whose pairs are counted, and writes it as column `s` */
  const measure = (label: Uint8Array, pairSums: Float64Array, into: { of: readonly Float64Array[]; s: number }) => {
    const { of, s } = into;
    if (n > 1) {
      const table = neighbourTable({ label, classes, nearest: nearest.index });
      for (let cell = 0; cell < cells; cell++) of[layout.cell(cell)][s] = table[cell];
      of[layout.chi2][s] = law.chi2(table);
    }
    const k = crossK(pairSums, { count, areaM2: finds.areaM2 });
    const { jaccard, robinsonBrainerd } = compare(label);
    for (let i = 1; i < classes; i++) {
      for (let j = 0; j < i; j++) {
        const pair = pairNumber(i, j);
        const cell = i * classes + j;
        for (let d = 0; d < layout.distances; d++) of[layout.k(pair, d)][s] = k[d * cells + cell];
        of[layout.jaccard(pair)][s] = jaccard[cell];
        of[layout.robinsonBrainerd(pair)][s] = robinsonBrainerd[cell];
      }
    }
  };

  const dealer = nameDealer(finds);
  const dealt = Array.from({ length: layout.length }, () => new Float64Array(plan.simulations));
  const namings = Array.from({ length: namingsAtOnce }, () => new Uint8Array(finds.label.length));
  simulate({ count: plan.simulations, seed: plan.seed, progress: plan.progress }, (random, s) => {
    const at = s % namingsAtOnce;
    dealer.deal(namings[at], random);
    if (at < namingsAtOnce - 1 && s < plan.simulations - 1) return;
    const sums = counter(namings);
    for (let b = 0; b <= at; b++) measure(namings[b], sums[b], { of: dealt, s: s - at + b });
  });
  const observed = Array.from({ length: layout.length }, () => new Float64Array(1));
  measure(finds.label, counter([finds.label])[0], { of: observed, s: 0 });
  const plain = pairCounter({ ...pairs, weight: new Float64Array(pairs.weight.length).fill(1) }, classes);
  return {
    layout,
    observed: Float64Array.from(observed, ([value]) => value),
    dealt,
    dealer,
    nearest,
    shape,
    law,
    pairs,
    radii,
    count,
    pooledK: pooledK(counter([finds.label])[0], { classes, n, areaM2: finds.areaM2 }),
    plainPairs: plain([finds.label])[0].slice(),
    sharedSquares: compare(finds.label).shared.slice(),
  };
}

/**
 * K of all finds together at each distance: what every pair of classes has on average when names are dealt out find by
 * find.
 * @param sums  pairs by class, as from a pair counter
 */
export function pooledK(
  sums: Float64Array,
  { classes, n, areaM2 }: { readonly classes: number; readonly n: number; readonly areaM2: number },
): Float64Array {
  const cells = classes * classes;
  return Float64Array.from({ length: cells > 0 ? sums.length / cells : 0 }, (_, d) => {
    let sum = 0;
    for (let c = 0; c < cells; c++) sum += sums[d * cells + c];
    return (areaM2 * sum) / (n * (n - 1));
  });
}

/**
 * How often Pielou's test calls finds patterned at its 5 % level when names mean nothing: names dealt out find by find
 * over the very same neighbours.
 * @returns  null without dealings or where there is no test
 */
export function pielouSize(
  found: Pick<Association, 'nearest' | 'layout'>,
  label: Uint8Array,
  plan: { readonly simulations: number; readonly seed: number },
): number | null {
  const n = found.nearest.index.length;
  const { classes } = found.layout;
  const count = Math.min(plan.simulations, mostSizeDealings);
  const alone = nameDealer({
    label: label.subarray(0, n),
    group: new Int32Array(n).fill(-1),
    stratum: new Int32Array(n),
  });
  const dealt = new Uint8Array(n);
  const calls = simulate({ count, seed: plan.seed, first: sizeStreams }, (random) => {
    alone.deal(dealt, random);
    const test = pielouTest(neighbourTable({ label: dealt, classes, nearest: found.nearest.index }), classes);
    return test === null ? null : test.p <= 0.05;
  }).filter((call) => call !== null);
  return calls.length === 0 ? null : calls.filter((call) => call).length / calls.length;
}

/** @throws Problem too-much-work with what would fit */
function refuseTooMuch(simulations: number, layout: MeasureLayout, pairs: NearPairs): void {
  const held = simulations * layout.length;
  const counts = simulations * pairs.weight.length;
  if (held <= mostNumbers && counts <= mostPairCounts) return;
  const fit = Math.floor(simulations * Math.min(mostNumbers / held, mostPairCounts / counts));
  throw new Problem(
    'too-much-work',
    `${simulations} dealings over ${layout.classes} classes and ${pairs.weight.length} near pairs are too many for one run; at most ${fit} fit, or ask for fewer classes or smaller distances`,
    { simulations, fit },
  );
}
