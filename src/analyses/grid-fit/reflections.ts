import { type FittedSimilarity, fitSimilarity } from '../../math/similarity.js';

/** A fit is better when its residuals are less than half: noise alone seldom halves them. */
const betterShare = 0.5;
/** A slip of one or two points explains most of the misfit when undoing it leaves a fifth. */
const slipShare = 0.2;
/** Points that are tried for slips, those with the largest residuals. */
const mostTried = 12;

/** The same points with the grid turned over in two ways. Both have the same residuals; the rotation tells them apart. */
export interface TurnedOver {
  /** x counted the other way */
  readonly mirrored: FittedSimilarity;
  /** x and y exchanged */
  readonly swapped: FittedSimilarity;
  readonly isBetter: boolean;
}

/**
 * Fits the mirrored grid and the one with exchanged axes; null for fewer than three points, which any fit can mirror.
 * @param source  [2n] and @param target  [2n]
 */
export function turnedOver(
  source: Float64Array,
  target: Float64Array,
  fit: { readonly rmsM: number; readonly fixedScale: number | null },
): TurnedOver | null {
  if (source.length < 6) return null;
  const mirrored = fitSimilarity(
    source.map((v, i) => (i % 2 === 0 ? -v : v)),
    target,
    fit.fixedScale,
  );
  const swapped = fitSimilarity(exchanged(source), target, fit.fixedScale);
  // points in one line fit mirrored as well as straight
  return { mirrored, swapped, isBetter: mirrored.rmsM < betterShare * fit.rmsM };
}

const exchanged = (xy: Float64Array) => xy.map((_, i) => xy[i % 2 === 0 ? i + 1 : i - 1]);

/** A slip in one or two points that would explain most of the misfit. */
export interface Slip {
  readonly points: readonly number[];
  readonly kind: 'x and y exchanged' | 'names exchanged';
  readonly rmsM: number;
}

/** Slips of writing that explain the misfit of a fit, the best first; none for fewer than four points. */
export function likelySlips(
  source: Float64Array,
  target: Float64Array,
  fit: { readonly residuals: Float64Array; readonly rmsM: number; readonly fixedScale: number | null },
): Slip[] {
  const n = source.length / 2;
  if (n < 4) return [];
  const size = (i: number) => Math.hypot(fit.residuals[2 * i], fit.residuals[2 * i + 1]);
  const worst = Array.from({ length: n }, (_, i) => i)
    .sort((a, b) => size(b) - size(a))
    .slice(0, mostTried);
  const found: Slip[] = [];
  const keep = (points: number[], kind: Slip['kind'], changed: Float64Array) => {
    const { rmsM } = fitSimilarity(changed, target, fit.fixedScale);
    if (rmsM < slipShare * fit.rmsM) found.push({ points, kind, rmsM });
  };
  for (const [k, i] of worst.entries()) {
    const one = source.slice();
    one.set([source[2 * i + 1], source[2 * i]], 2 * i);
    keep([i], 'x and y exchanged', one);
    for (const j of worst.slice(0, k)) {
      const two = source.slice();
      two.set(source.subarray(2 * i, 2 * i + 2), 2 * j);
      two.set(source.subarray(2 * j, 2 * j + 2), 2 * i);
      keep([i, j], 'names exchanged', two);
    }
  }
  return found.sort((a, b) => a.rmsM - b.rmsM);
}
