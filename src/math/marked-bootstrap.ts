import { middleInterval } from './blocks.js';
import { simulate } from './monte-carlo.js';
import type { NearPairs } from './near-pairs.js';

/** Finds with classes, in blocks of ground, and the near pairs between them. */
export interface MarkedFinds {
  readonly pairs: NearPairs;
  /** [n] 0-based class */
  readonly label: Uint8Array;
  readonly classes: number;
  /** [n] 0-based block of ground */
  readonly block: Int32Array;
  readonly blocks: number;
}

/** Interval of a ratio; null where too few blocks hold the classes. */
export interface RatioInterval {
  readonly low: number;
  readonly high: number;
}

/** numbers held at once; more would not fit beside the simulations */
const mostMarks = 2e7;
/** fewer blocks than these with a find of the pair say nothing about how blocks differ */
const leastBlocks = 8;

/**
 * Interval of how many pairs two classes make, over the pairs that all finds make: blocks of ground are drawn anew with
 * all that was counted about the finds in them, so that a find brings its true neighbours along.
 *
 * With clusters as wide as the blocks, or few blocks, it is too narrow.
 *
 * @returns  of pair (i, j), i ≠ j, at a distance, the interval of K of the pair over K of all finds; null where it
 *           cannot be told. Cost: blocks × pairs of classes that meet in them × resamplings
 * @see Loh 2008, doi:10.1086/588631 (marked point bootstrap)
 */
export function pairRatioIntervals(
  finds: MarkedFinds,
  plan: {
    readonly count: number;
    readonly seed: number;
    readonly first: number;
    readonly progress?: (share: number) => void;
  },
): (pair: { readonly i: number; readonly j: number; readonly distance: number }) => RatioInterval | null {
  const { pairs, label, classes, block, blocks } = finds;
  const { distances } = pairs;
  const cells = classes * classes;
  const each = distances * cells;
  if (blocks * each > mostMarks || blocks < leastBlocks || plan.count === 0) return () => null;
  const marks = blockMarks(finds);
  const inBlock = new Float64Array(blocks * classes);
  for (let p = 0; p < label.length; p++) inBlock[block[p] * classes + label[p]]++;
  const total = new Float64Array(classes);
  for (let at = 0; at < inBlock.length; at++) total[at % classes] += inBlock[at];
  const n = label.length;

  const half = (classes * (classes - 1)) / 2;
  const pairAt = (i: number, j: number) => (i > j ? (i * (i - 1)) / 2 + j : (j * (j - 1)) / 2 + i);
  const ratios = Array.from({ length: distances * half }, () => new Float64Array(plan.count).fill(Number.NaN));
  const sums = new Float64Array(each);
  const drawn = new Float64Array(classes);
  const times = new Uint32Array(blocks);
  simulate(plan, (random, index) => {
    times.fill(0);
    for (let b = 0; b < blocks; b++) times[random.below(blocks)]++;
    sums.fill(0);
    drawn.fill(0);
    for (let b = 0; b < blocks; b++) {
      const w = times[b];
      if (w === 0) continue;
      for (let c = 0; c < classes; c++) drawn[c] += w * inBlock[b * classes + c];
      for (let e = marks.start[b]; e < marks.start[b + 1]; e++) sums[marks.cell[e]] += w * marks.value[e];
    }
    let drawnAll = 0;
    for (const d of drawn) drawnAll += d;
    for (let k = 0; k < distances; k++) {
      let all = 0;
      for (let c = 0; c < cells; c++) all += sums[k * cells + c];
      const mean = all / (drawnAll * (n - 1));
      for (let i = 1; i < classes; i++) {
        for (let j = 0; j < i; j++) {
          // seen from the finds of either class; the neighbours are those of the true pattern
          const fromI = sums[k * cells + i * classes + j] / (drawn[i] * total[j]);
          const fromJ = sums[k * cells + j * classes + i] / (drawn[j] * total[i]);
          ratios[k * half + pairAt(i, j)][index - plan.first] = (fromI + fromJ) / 2 / mean;
        }
      }
    }
  });
  return ({ i, j, distance }) => {
    let held = 0;
    for (let b = 0; b < blocks; b++) if (inBlock[b * classes + i] > 0 || inBlock[b * classes + j] > 0) held++;
    return held < leastBlocks ? null : middleInterval(ratios[distance * half + pairAt(i, j)]);
  };
}

/** What was counted about the finds of each block: weighted neighbours of class j about finds of class i, within each distance. */
function blockMarks({ pairs, label, classes, block, blocks }: MarkedFinds) {
  const { distances } = pairs;
  const cells = classes * classes;
  const each = distances * cells;
  const dense = new Float64Array(blocks * each);
  for (let at = 0; at < distances * pairs.finds; at++) {
    const a = at % pairs.finds;
    const ring = Math.floor(at / pairs.finds) * cells;
    for (let p = pairs.start[at]; p < pairs.start[at + 1]; p++) {
      const b = pairs.other[p];
      dense[block[a] * each + ring + label[a] * classes + label[b]] += pairs.weight[p];
      dense[block[b] * each + ring + label[b] * classes + label[a]] += pairs.weight[p];
    }
  }
  const start = new Uint32Array(blocks + 1);
  for (let at = 0; at < dense.length; at++) {
    if (at % each >= cells) dense[at] += dense[at - cells];
    if (dense[at] > 0) start[Math.floor(at / each) + 1]++;
  }
  for (let b = 0; b < blocks; b++) start[b + 1] += start[b];
  const cell = new Uint32Array(start[blocks]);
  const value = new Float64Array(start[blocks]);
  let e = 0;
  for (let at = 0; at < dense.length; at++) {
    if (dense[at] === 0) continue;
    cell[e] = at % each;
    value[e++] = dense[at];
  }
  return { start, cell, value };
}
