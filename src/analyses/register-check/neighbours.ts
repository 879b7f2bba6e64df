import { median } from '../../math/quantiles.js';

/** A value at a node of a lattice, column and row in steps. */
export interface LatticeValue {
  readonly column: number;
  readonly row: number;
  readonly value: number;
  readonly sigma: number;
}

/** makes the median absolute deviation of normal values their standard deviation */
const normalShare = 1.4826;

/** Middle of values and their median absolute deviation about it, scaled to a standard deviation. @see Rousseeuw & Croux 1993, doi:10.1080/01621459.1993.10476408 */
function robustSpread(values: readonly number[]): { readonly middle: number; readonly sigma: number } {
  const middle = median(values) ?? 0;
  return { middle, sigma: normalShare * (median(values.map((v) => Math.abs(v - middle))) ?? 0) };
}

/** What the neighbours say of a node, and how far it is from that. */
interface Spike {
  /** number of the value */
  readonly index: number;
  readonly residual: number;
  /** robust standard deviation it is judged by */
  readonly scale: number;
}

const directions = [
  [1, 0],
  [0, 1],
  [1, 1],
  [1, -1],
] as const;

/**
 * Values that stand out from their neighbours. Each line through a node foretells it: as the mean of the two on either
 * side or, at an edge, straight on from the two on one side; the median of these is what the neighbours say. The scale
 * is the largest of the stated error, the spread of all such differences, and the disagreement of the lines there, so
 * that rough ground beside a hull is no spike.
 */
export function neighbourSpikes(values: readonly LatticeValue[], sigmas: number): Spike[] {
  const at = new Map(values.map((v) => [`${v.column} ${v.row}`, v.value]));
  const foretold = values.map((v) => foretell((dc, dr) => at.get(`${v.column + dc} ${v.row + dr}`)));
  const residuals = foretold.map((f, i) => (f === null ? Number.NaN : values[i].value - f.middle));
  const all = robustSpread(residuals.filter((r) => !Number.isNaN(r)));
  const out: Spike[] = [];
  foretold.forEach((f, index) => {
    if (f === null) return;
    const scale = f.widening * Math.max(values[index].sigma * Math.SQRT2, all.sigma, f.sigma);
    if (Math.abs(residuals[index]) > sigmas * scale && scale > 0)
      out.push({ index, residual: residuals[index], scale });
  });
  return out;
}

function foretell(
  near: (dc: number, dr: number) => number | undefined,
): { readonly middle: number; readonly sigma: number; readonly widening: number } | null {
  const between: number[] = [];
  const onward: number[] = [];
  for (const [dc, dr] of directions) {
    const [a, b] = [near(dc, dr), near(-dc, -dr)];
    if (a !== undefined && b !== undefined) between.push((a + b) / 2);
    for (const side of [1, -1]) {
      const [one, two] = [near(side * dc, side * dr), near(2 * side * dc, 2 * side * dr)];
      if (one !== undefined && two !== undefined) onward.push(2 * one - two);
    }
  }
  // straight on from two values carries about twice the error of a mean between two
  if (between.length >= 2) return { ...robustSpread(between), widening: 1 };
  const both = [...between, ...onward];
  return both.length >= 3 ? { ...robustSpread(both), widening: 2 } : null;
}

/** reach of the values a series is compared with, steps */
const reachSteps = 2.6;
const fewestCompared = 5;

/** One series of readings against the others around it. */
interface SeriesOffset {
  readonly compared: number;
  /** metres; null with too few neighbours of other series */
  readonly offset: number | null;
  readonly sigma: number | null;
}

/**
 * Median difference between the values of a series and a plane through the values of others within 2.6 steps, each
 * surface for itself, then weighted by their robust errors.
 *
 * @param surfaces  values of each surface: those of the series, and those of others
 */
export function seriesOffset(
  surfaces: readonly { readonly own: readonly LatticeValue[]; readonly others: readonly LatticeValue[] }[],
): SeriesOffset {
  let [compared, weights, sum] = [0, 0, 0];
  for (const { own, others } of surfaces) {
    const residuals = own.flatMap((v) => {
      const expected = planeAt(v, others);
      return expected === null ? [] : [v.value - expected];
    });
    if (residuals.length < fewestCompared) continue;
    const stated = meanSigma(own);
    const { middle, sigma } = robustSpread(residuals);
    // a median has π/2 times the variance of a mean
    const variance = ((Math.PI / 2) * Math.max(sigma, stated, 1e-6) ** 2) / residuals.length;
    compared += residuals.length;
    weights += 1 / variance;
    sum += middle / variance;
  }
  if (weights === 0) return { compared, offset: null, sigma: null };
  return { compared, offset: sum / weights, sigma: Math.sqrt(1 / weights) };
}

const meanSigma = (values: readonly LatticeValue[]) => values.reduce((sum, v) => sum + v.sigma / values.length, 0);

/** Value at a node of the plane through others near it, near ones weighing more; null where they fix no plane. */
function planeAt(node: LatticeValue, others: readonly LatticeValue[]): number | null {
  let [w0, wx, wy, wxx, wxy, wyy, wz, wxz, wyz, used] = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (const other of others) {
    const x = other.column - node.column;
    const y = other.row - node.row;
    const squared = x * x + y * y;
    if (squared > reachSteps * reachSteps) continue;
    const w = 1 / Math.max(squared, 0.25);
    used++;
    w0 += w;
    wx += w * x;
    wy += w * y;
    wxx += w * x * x;
    wxy += w * x * y;
    wyy += w * y * y;
    wz += w * other.value;
    wxz += w * x * other.value;
    wyz += w * y * other.value;
  }
  if (used < 4) return null;
  const [sxx, sxy, syy] = [wxx - (wx * wx) / w0, wxy - (wx * wy) / w0, wyy - (wy * wy) / w0];
  const [sxz, syz] = [wxz - (wx * wz) / w0, wyz - (wy * wz) / w0];
  const determinant = sxx * syy - sxy * sxy;
  if (!(determinant > 0.02 * (sxx + syy) ** 2)) return null;
  const slopeX = (sxz * syy - syz * sxy) / determinant;
  const slopeY = (syz * sxx - sxz * sxy) / determinant;
  return (wz - slopeX * wx - slopeY * wy) / w0;
}
