import { pairCorrelationSums } from './pair-correlation.js';
import { eachPair, type PairBatch } from './pair-distances.js';
import type { Radii } from './radii.js';
import { rimShares } from './rim-share.js';
import { boundaryDistance, type Region } from './rings.js';
import type { SetCovariance } from './set-covariance.js';

/** How allowance is made for neighbours that lie beyond the edge of the dug area. */
export const edgeCorrections = ['none', 'border', 'isotropic', 'translation'] as const;
export type EdgeCorrectionOfK = (typeof edgeCorrections)[number];

/** A pattern, or two types of one, in the window it was looked for in. */
export interface PairPattern {
  /** [2n] metres from a local origin; left untouched */
  readonly from: Float64Array;
  /** [2m] the other type; the same array as `from`: one type, pairs of different finds. Left untouched */
  readonly to: Float64Array;
  readonly window: Region;
  /** area of the window, holes taken off, m² */
  readonly areaM2: number;
}

/** What is wanted of the pairs. */
export interface PairQuestions {
  readonly radii: Radii;
  readonly corrections: readonly EdgeCorrectionOfK[];
  /** overlap of the window with itself moved; wanted for the correction `translation` */
  readonly covariance: SetCovariance | null;
  /** half-width of the pair correlation's kernel, metres; none = no pair correlation */
  readonly halfWidthM?: number;
  /** called now and then; throws when the run was cancelled */
  readonly tick?: () => void;
}

/** Curves at the radii asked, one for each correction asked; NaN where a value is undefined. */
export interface PairCurves {
  readonly k: Readonly<Partial<Record<EdgeCorrectionOfK, Float64Array>>>;
  /** pair correlation; there is none for `border` */
  readonly pairCorrelation: Readonly<Partial<Record<EdgeCorrectionOfK, Float64Array>>>;
}

/** A pair whose circle shows less than a hundredth of its rim counts a hundredfold and no more. */
export const leastShare = 0.01;

/**
 * Ripley's K: how many further finds lie within r of a find on average, over the number per m². π r² for a scatter
 * without pattern, more where finds gather. Between two types: finds of the second about those of the first, with the
 * edge weight at the first.
 *
 * It adds up all distances below r: a cluster of 1 m still shows at 3 m. A slope of density looks like clustering.
 *
 * @returns  m², NaN where fewer than two finds, or no find far enough from the edge, leave it undefined. Cost: pairs
 *           within the largest radius; isotropic a few arcs for each pair whose circle crosses the edge
 * @see Ripley 1977, doi:10.1111/j.2517-6161.1977.tb01615.x (isotropic); Ohser 1983 (translation); Ripley 1988,
 *      Statistical Inference for Spatial Processes, ch. 3 (border)
 */
export function kFunctions(pattern: PairPattern, questions: PairQuestions): PairCurves {
  const { from, to, window, areaM2 } = pattern;
  const { radii, corrections, covariance, halfWidthM, tick } = questions;
  const isOne = from === to;
  const n = from.length / 2;
  const count = radii.values.length;
  const largest = radii.values[count - 1];
  const wants = (correction: EdgeCorrectionOfK) => corrections.includes(correction);
  const wantsBorder = wants('border');
  const wantsIsotropic = wants('isotropic');
  const wantsTranslation = wants('translation') && covariance !== null;
  // without weights of one end each pair need be met only once
  const order = isOne && !wantsBorder && !wantsIsotropic ? 'once' : 'both';
  const reachM = largest + (halfWidthM ?? 0);

  const plain = new Float64Array(count + 1);
  const isotropic = new Float64Array(count + 1);
  const translation = new Float64Array(count + 1);
  const border = wantsBorder ? borderSums(pattern, radii) : null;
  const smooth = halfWidthM === undefined ? null : pairCorrelationSums(radii, halfWidthM);
  const rim = wantsIsotropic ? rimShares(window, reachM) : null;
  const twice = order === 'once' ? 2 : 1;
  let centre = -1;
  eachPair({ from, to, reachM, order }, (batch: PairBatch) => {
    tick?.();
    const { first, second, dx, dy, distance } = batch;
    for (let p = 0; p < batch.length; p++) {
      const d = distance[p];
      const at = radii.from(d);
      const i = first[p];
      plain[at] += twice;
      border?.add(i, at);
      smooth?.add('none', d, twice);
      if (rim !== null) {
        if (i !== centre) {
          rim.centre(from[2 * i], from[2 * i + 1]);
          centre = i;
        }
        const weight = d <= rim.edgeM() ? 1 : 1 / Math.max(leastShare, rim.share(d));
        isotropic[at] += weight;
        smooth?.add('isotropic', d, weight);
      }
      // equal in either direction: of a pair met twice the second meeting is not computed again
      if (wantsTranslation && (order === 'once' || !isOne || i < second[p])) {
        const weight = ((isOne ? 2 : 1) * areaM2) / covariance(dx[p], dy[p]);
        translation[at] += weight;
        smooth?.add('translation', d, weight);
      }
    }
  });

  const pairs = isOne ? n * (n - 1) : n * (to.length / 2);
  const scale = pairs > 0 ? areaM2 / pairs : Number.NaN;
  const sums = { none: plain, isotropic, translation };
  const k: Partial<Record<EdgeCorrectionOfK, Float64Array>> = {};
  const pairCorrelation: Partial<Record<EdgeCorrectionOfK, Float64Array>> = {};
  for (const correction of corrections) {
    if (correction === 'border') {
      if (border) k.border = border.curve(pairs > 0 ? areaM2 / (to.length / 2) : Number.NaN);
      continue;
    }
    if (correction === 'translation' && !wantsTranslation) continue;
    k[correction] = cumulated(sums[correction], scale);
    if (smooth) pairCorrelation[correction] = smooth.curve(correction, scale);
  }
  return { k, pairCorrelation };
}

/** Sums up to each radius, scaled; what came to no finite weight leaves the rest undefined. */
function cumulated(sums: Float64Array, scale: number): Float64Array {
  const out = new Float64Array(sums.length - 1);
  let sum = 0;
  for (let k = 0; k < out.length; k++) {
    sum += sums[k];
    out[k] = Number.isFinite(sum) ? sum * scale : Number.NaN;
  }
  return out;
}

/** Counts of pairs about finds whose edge is at least r away, r by r. */
function borderSums(pattern: PairPattern, radii: Radii) {
  const { from, window } = pattern;
  const n = from.length / 2;
  const count = radii.values.length;
  const steps = new Float64Array(count + 1);
  const eligible = new Float64Array(count + 1);
  // radii before this one do not reach the edge
  const end = Uint32Array.from({ length: n }, (_, i) =>
    radii.beyond(boundaryDistance(window, from[2 * i], from[2 * i + 1])),
  );
  for (const k of end) {
    eligible[0]++;
    eligible[k]--;
  }
  return {
    add(i: number, at: number): void {
      if (at >= end[i]) return;
      steps[at]++;
      steps[end[i]]--;
    },
    curve(perIntensityM2: number): Float64Array {
      const out = new Float64Array(count);
      let pairs = 0;
      let finds = 0;
      for (let k = 0; k < count; k++) {
        pairs += steps[k];
        finds += eligible[k];
        out[k] = finds > 0 ? (pairs * perIntensityM2) / finds : Number.NaN;
      }
      return out;
    },
  };
}

/**
 * K with isotropic weights taken at the middle of each step between radii instead of at each distance: within about
 * 1e-4 of the exact one, at a cost that no longer grows with the number of pairs. For simulations, where observed and
 * simulated scatters are measured alike and the rank is therefore valid.
 *
 * @param radii  steps should be short against the largest radius
 */
export function isotropicBySteps(pattern: PairPattern, radii: Radii): Float64Array {
  const { from, to, window, areaM2 } = pattern;
  const isOne = from === to;
  const n = from.length / 2;
  const count = radii.values.length;
  const reachM = radii.values[count - 1];
  const pairsFrom = new Uint32Array(n * count);
  eachPair({ from, to, reachM, order: isOne ? 'once' : 'both' }, (batch) => {
    const { first, second, distance } = batch;
    for (let p = 0; p < batch.length; p++) {
      const at = radii.from(distance[p]);
      pairsFrom[first[p] * count + at]++;
      if (isOne) pairsFrom[second[p] * count + at]++;
    }
  });
  const middles = radii.values.map((r, k) => (k === 0 ? r / 2 : (r + radii.values[k - 1]) / 2));
  const rim = rimShares(window, reachM);
  const sums = new Float64Array(count + 1);
  for (let i = 0; i < n; i++) {
    rim.centre(from[2 * i], from[2 * i + 1]);
    const edgeM = rim.edgeM();
    for (let k = 0; k < count; k++) {
      const pairs = pairsFrom[i * count + k];
      if (pairs === 0) continue;
      sums[k] += middles[k] <= edgeM ? pairs : pairs / Math.max(leastShare, rim.share(middles[k]));
    }
  }
  const pairs = isOne ? n * (n - 1) : n * (to.length / 2);
  return cumulated(sums, pairs > 0 ? areaM2 / pairs : Number.NaN);
}

/** L = √(K / π): r for a scatter without pattern, and about equally uncertain at every r. @see Besag 1977, in the discussion of Ripley 1977 */
export function lFunction(k: Float64Array): Float64Array {
  return k.map((value) => Math.sqrt(value / Math.PI));
}
