import { Problem } from '../problems.js';
import { eachPair } from './pair-distances.js';

export const variogramKinds = ['spherical', 'exponential', 'gaussian'] as const;
export type VariogramKind = (typeof variogramKinds)[number];

/**
 * How unlike two levels become with distance: γ(h) = nugget + sill·s(h / range), and γ(0) = 0, so that a level is
 * given back where it was taken. `sill` is the partial sill; `range` is the parameter a: beyond it a spherical model is
 * flat, an exponential one has come to 95 % at 3a, a Gaussian one at √3 a.
 */
export interface VariogramModel {
  readonly kind: VariogramKind;
  readonly nugget: number;
  readonly sill: number;
  readonly range: number;
}

/** Pairs of levels about so far apart: their number, mean distance and half the mean squared difference. */
export interface VariogramBin {
  readonly pairs: number;
  readonly distanceM: number;
  readonly gamma: number;
}

/** Share of the nugget a Gaussian model must have of its sill: with less its matrix cannot be solved. */
export const gaussianNuggetShare = 1e-6;

/** What is left of the likeness at a distance, 1 at 0: a model's covariance is sill × likeness. */
export function likeness(kind: VariogramKind, h: number, range: number): number {
  const u = h / range;
  switch (kind) {
    case 'spherical':
      return u >= 1 ? 0 : 1 - u * (1.5 - 0.5 * u * u);
    case 'exponential':
      return Math.exp(-u);
    case 'gaussian':
      return Math.exp(-u * u);
  }
}

/** γ(h) of a model, in square metres. */
export function gammaAt({ kind, nugget, sill, range }: VariogramModel, h: number): number {
  return h === 0 ? 0 : nugget + sill * (1 - likeness(kind, h, range));
}

/**
 * The empirical variogram: bin k holds the pairs with k·lag < h ≤ (k + 1)·lag. Bins without a pair are left out.
 *
 * @param xy  [2n] different places, metres; z [n]
 * @see Matheron 1963, doi:10.2113/gsecongeo.58.8.1246
 */
export function empiricalVariogram(
  xy: Float64Array,
  z: Float64Array,
  { lagM, cutoffM }: { readonly lagM: number; readonly cutoffM: number },
): VariogramBin[] {
  const bins = Math.max(1, Math.ceil(cutoffM / lagM - 1e-9));
  const pairs = new Float64Array(bins);
  const distance = new Float64Array(bins);
  const square = new Float64Array(bins);
  eachPair({ from: xy, to: xy, reachM: cutoffM, order: 'once' }, (batch) => {
    for (let p = 0; p < batch.length; p++) {
      const h = batch.distance[p];
      let k = Math.max(0, Math.ceil(h / lagM) - 1);
      // the division may have rounded over an edge; the edge itself decides
      if (h <= k * lagM && k > 0) k--;
      else if (h > (k + 1) * lagM) k++;
      if (k >= bins) k = bins - 1;
      pairs[k] += 1;
      distance[k] += h;
      square[k] += (z[batch.first[p]] - z[batch.second[p]]) ** 2;
    }
  });
  return Array.from(pairs, (count, k) => ({
    pairs: count,
    distanceM: distance[k] / count,
    gamma: (0.5 * square[k]) / count,
  })).filter((bin) => bin.pairs > 0);
}

/** Weighted sum of squares between bins and model, weights pairs / distance². */
export function weightedMisfit(bins: readonly VariogramBin[], model: VariogramModel): number {
  return bins.reduce(
    (sum, { pairs, distanceM, gamma }) => sum + (pairs / distanceM ** 2) * (gamma - gammaAt(model, distanceM)) ** 2,
    0,
  );
}

/** What is to be fitted: a number stands, null is found. */
export interface FitRequest {
  readonly kind: VariogramKind;
  readonly nugget: number | null;
  readonly sill: number | null;
  readonly range: number | null;
}

/** A fitted model, its misfit, and whether the range ran to the end of what was searched. */
export interface FittedVariogram {
  readonly model: VariogramModel;
  readonly misfit: number;
  readonly rangeAtBoundary: boolean;
}

/** ranges searched, as shares of the shortest and the longest bin distance */
const shortestShare = 0.25;
const longestShare = 3;
const triedRanges = 240;

/**
 * Fits a variogram model to bins by weighted least squares, weights pairs / distance². For each range the best nugget
 * and sill (neither below 0) are known in closed form, so only the range is searched, over all of it: the fit cannot
 * stick in a lesser valley, and needs no starting values.
 *
 * A range that ends at the boundary means that the levels go on becoming less alike as far as they reach (a slope).
 *
 * @throws Problem cannot-answer when there are too few bins, or all levels are equal
 * @see weights: Cressie 1985, doi:10.1007/BF01032109
 */
export function fitVariogram(bins: readonly VariogramBin[], request: FitRequest): FittedVariogram {
  const { nugget, sill, range } = request;
  const open = [nugget, sill, range].filter((v) => v === null).length;
  if (open === 0) {
    const model = { kind: request.kind, nugget: nugget ?? 0, sill: sill ?? 0, range: range ?? 1 };
    return { model, misfit: weightedMisfit(bins, model), rangeAtBoundary: false };
  }
  if (bins.length <= open) {
    throw new Problem(
      'cannot-answer',
      `a variogram cannot be fitted to ${bins.length} distance classes of levels: give nugget, sill and range, or use the method tin or inverse-distance`,
      { bins: bins.length },
    );
  }
  if (!bins.some((bin) => bin.gamma > 0)) {
    throw new Problem(
      'cannot-answer',
      'all levels are equal, so no variogram can be fitted: give nugget, sill and range, or use another method',
    );
  }
  const at = (a: number) => bestForRange(bins, request, a);
  if (range !== null) return { ...at(range), rangeAtBoundary: false };
  const low = Math.log(shortestShare * bins[0].distanceM);
  const high = Math.log(longestShare * bins[bins.length - 1].distanceM);
  const step = (high - low) / (triedRanges - 1);
  const misfits = Array.from({ length: triedRanges }, (_, k) => at(Math.exp(low + k * step)).misfit);
  let best = 0;
  for (let k = 1; k < triedRanges; k++) if (misfits[k] < misfits[best]) best = k;
  const found = goldenSection((t) => at(Math.exp(t)).misfit, {
    low: low + Math.max(best - 1, 0) * step,
    high: low + Math.min(best + 1, triedRanges - 1) * step,
  });
  return { ...at(Math.exp(found)), rangeAtBoundary: found < low + 1e-6 * step || found > high - 1e-3 * step };
}

function bestForRange(
  bins: readonly VariogramBin[],
  { kind, nugget, sill }: FitRequest,
  range: number,
): { model: VariogramModel; misfit: number } {
  // a Gaussian sill brings its least nugget with it
  const floor = kind === 'gaussian' && nugget === null ? gaussianNuggetShare : 0;
  let sw = 0;
  let ss = 0;
  let sss = 0;
  let sg = 0;
  let ssg = 0;
  for (const { pairs, distanceM, gamma } of bins) {
    const w = pairs / distanceM ** 2;
    const s = 1 - likeness(kind, distanceM, range) + floor;
    sw += w;
    ss += w * s;
    sss += w * s * s;
    sg += w * gamma;
    ssg += w * s * gamma;
  }
  const positive = (v: number) => Math.max(v, 0);
  const sillFor = (n: number) => positive((ssg - n * ss) / sss);
  const nuggetFor = (c: number) => positive((sg - c * ss) / sw);
  let n: number;
  let c: number;
  if (nugget !== null) {
    n = nugget;
    c = sill ?? sillFor(n);
  } else if (sill !== null) {
    c = sill;
    n = nuggetFor(c);
  } else {
    const spread = sw * sss - ss * ss;
    n = spread > 1e-12 * sw * sss ? (sss * sg - ss * ssg) / spread : 0;
    if (!(n > 0)) n = 0;
    c = sillFor(n);
    if (c === 0) n = nuggetFor(0);
  }
  const model: VariogramModel = { kind, nugget: n + floor * c, sill: c, range };
  return { model, misfit: weightedMisfit(bins, model) };
}

/** Lowest place of a function with one valley between two ends. @see Kiefer 1953, doi:10.2307/2032161 */
function goldenSection(f: (t: number) => number, ends: { readonly low: number; readonly high: number }): number {
  const share = (Math.sqrt(5) - 1) / 2;
  let { low, high } = ends;
  let a = high - share * (high - low);
  let b = low + share * (high - low);
  let fa = f(a);
  let fb = f(b);
  for (let k = 0; k < 60; k++) {
    if (fa <= fb) {
      high = b;
      b = a;
      fb = fa;
      a = high - share * (high - low);
      fa = f(a);
    } else {
      low = a;
      a = b;
      fa = fb;
      b = low + share * (high - low);
      fb = f(b);
    }
  }
  return (low + high) / 2;
}
