import { Problem } from '../problems.js';
import { numberClusters } from './cluster-numbers.js';
import type { RandomStream } from './random.js';

/** Finds parted into k groups about their centres. */
export interface KMeansFit {
  /** sum of squared distances to the centre of the own group, m² */
  readonly sse: number;
  /** [n] number of the group, 1 = the largest */
  readonly cluster: Int32Array;
  readonly sizes: readonly number[];
  /** restarts that ended at this sum */
  readonly restartsAtBest: number;
}

/** a move must gain this share of the costs it weighs: rounding must not send a find to and fro */
const leastGain = 1e-11;
/** more passes were never needed; a bound against a mistake of ours */
const mostPasses = 500;
/** sums that differ by less are one sum */
const equalShare = 1e-9;

/**
 * Parts finds into k groups so that they lie near the centres of their groups: seeded by k-means++, then finds are
 * moved one at a time to whatever group lowers the sum of squares, until no move does; the best of several restarts.
 *
 * It always returns k groups, wherever there are clusters or not, round ones and of like size for choice: compare with
 * random points in the same window before believing them. The sum is a local optimum; the restarts make it a good one.
 *
 * @param xy       [2n] metres from a local origin; left untouched. The draw goes by row number: sort rows by place first
 *                 where the answer must not hang on the order of the file
 * @param asked.k  groups; at most the number of different places
 * @throws Problem too-few-points when there are fewer places than groups
 * @see Hartigan & Wong 1979, doi:10.2307/2346830; Arthur & Vassilvitskii 2007, SODA '07, 1027–1035
 */
export function kMeans(
  xy: Float64Array,
  { k, restarts }: { readonly k: number; readonly restarts: number },
  random: RandomStream,
): KMeansFit {
  const n = xy.length / 2;
  const local = aboutMean(xy);
  const label = new Int32Array(n);
  const best = new Int32Array(n);
  const sums: number[] = [];
  let least = Infinity;
  const rounds = k === 1 ? 1 : restarts;
  for (let r = 0; r < rounds; r++) {
    seed(local, { k, label }, random);
    const sse = improve(local, k, label);
    sums.push(sse);
    if (sse < least) {
      least = sse;
      best.set(label);
    }
  }
  const atBest = sums.filter((sse) => sse <= least * (1 + equalShare)).length;
  return { sse: least, ...numberClusters(best, xy), restartsAtBest: k === 1 ? restarts : atBest };
}

/** Least sum of squares found for 1, 2 … kMost groups. → [kMost] m² */
export function sseCurve(
  xy: Float64Array,
  asked: { readonly kMost: number; readonly restarts: number },
  random: RandomStream,
): Float64Array {
  return Float64Array.from(
    { length: asked.kMost },
    (_, i) => kMeans(xy, { k: i + 1, restarts: asked.restarts }, random).sse,
  );
}

function aboutMean(xy: Float64Array): Float64Array {
  const n = xy.length / 2;
  let x = 0;
  let y = 0;
  for (let i = 0; i < n; i++) {
    x += xy[2 * i] / n;
    y += xy[2 * i + 1] / n;
  }
  return xy.map((v, i) => v - (i % 2 === 0 ? x : y));
}

/** k-means++: each further seed is drawn with chance as its squared distance to the nearest seed so far; labels by nearest seed. */
function seed(
  xy: Float64Array,
  { k, label }: { readonly k: number; readonly label: Int32Array },
  random: RandomStream,
): void {
  const n = label.length;
  if (n === 0) throw tooFew(0, k);
  const toSeed = new Float64Array(n).fill(Infinity);
  let chosen = random.below(n);
  for (let c = 0; ; c++) {
    let total = 0;
    for (let i = 0; i < n; i++) {
      const dx = xy[2 * i] - xy[2 * chosen];
      const dy = xy[2 * i + 1] - xy[2 * chosen + 1];
      const d = dx * dx + dy * dy;
      if (d < toSeed[i]) {
        toSeed[i] = d;
        label[i] = c;
      }
      total += toSeed[i];
    }
    if (c + 1 === k) return;
    if (!(total > 0)) throw tooFew(c + 1, k);
    const pick = random.next() * total;
    let passed = 0;
    // the last place with any chance, should rounding carry the pick beyond the sum
    for (let i = 0; i < n; i++) {
      if (toSeed[i] === 0) continue;
      chosen = i;
      passed += toSeed[i];
      if (passed > pick) break;
    }
  }
}

const tooFew = (places: number, k: number) =>
  new Problem('too-few-points', `${k} groups need finds at ${k} different places, got ${places}`, { k, places });

/** Moves finds one at a time until no move lowers the sum of squares. → the sum */
function improve(xy: Float64Array, k: number, label: Int32Array): number {
  const n = label.length;
  const size = new Float64Array(k);
  const cx = new Float64Array(k);
  const cy = new Float64Array(k);
  // what a squared distance weighs when a find joins: size / (size + 1)
  const weight = new Float64Array(k);
  const centre = () => {
    size.fill(0);
    cx.fill(0);
    cy.fill(0);
    for (let i = 0; i < n; i++) {
      size[label[i]]++;
      cx[label[i]] += xy[2 * i];
      cy[label[i]] += xy[2 * i + 1];
    }
    for (let c = 0; c < k; c++) {
      cx[c] /= size[c];
      cy[c] /= size[c];
      weight[c] = size[c] / (size[c] + 1);
    }
  };
  centre();
  for (let pass = 0; pass < mostPasses; pass++) {
    let moved = 0;
    for (let i = 0; i < n; i++) {
      const own = label[i];
      if (size[own] === 1) continue;
      const x = xy[2 * i];
      const y = xy[2 * i + 1];
      // what the sum loses when the find leaves its group, and gains when it joins another
      const leave = ((x - cx[own]) ** 2 + (y - cy[own]) ** 2) * (size[own] / (size[own] - 1));
      let least = leave * (1 - leastGain);
      let other = -1;
      for (let c = 0; c < k; c++) {
        const dx = x - cx[c];
        const dy = y - cy[c];
        const join = (dx * dx + dy * dy) * weight[c];
        if (join < least && c !== own) {
          least = join;
          other = c;
        }
      }
      if (other < 0) continue;
      moved++;
      label[i] = other;
      cx[own] -= (x - cx[own]) / (size[own] - 1);
      cy[own] -= (y - cy[own]) / (size[own] - 1);
      size[own]--;
      size[other]++;
      cx[other] += (x - cx[other]) / size[other];
      cy[other] += (y - cy[other]) / size[other];
      weight[own] = size[own] / (size[own] + 1);
      weight[other] = size[other] / (size[other] + 1);
    }
    // the running centres gather rounding
    centre();
    if (moved === 0) break;
  }
  let sse = 0;
  for (let i = 0; i < n; i++) sse += (xy[2 * i] - cx[label[i]]) ** 2 + (xy[2 * i + 1] - cy[label[i]]) ** 2;
  return sse;
}
