import { type ConvexPolygon, clipConvex, convexArea } from './convex-polygons.js';

/** Values at the four corners of a cell; inside, the surface is bilinear. */
export interface Corners {
  readonly sw: number;
  readonly se: number;
  readonly nw: number;
  readonly ne: number;
}

/** The whole cell, in cell units. */
export const wholeCell: ConvexPolygon = [0, 0, 1, 0, 1, 1, 0, 1];

/** What lies over and under zero. */
export interface ZeroSplit {
  /** ∫ max(t, 0) */
  readonly positive: number;
  /** ∫ min(t, 0), not above 0 */
  readonly negative: number;
  /** share of a cell where t > 0 */
  readonly positiveArea: number;
}

/** Bilinear value at a place of the cell, 0 to 1 each way. */
export function bilinear(t: Corners, u: number, v: number): number {
  return (1 - v) * ((1 - u) * t.sw + u * t.se) + v * ((1 - u) * t.nw + u * t.ne);
}

/**
 * How much each corner bears on a part of the cell: the integral of its bilinear weight, so that
 * Σ weight · corner is the integral of the surface; a quarter each over the whole cell.
 * @param polygon  convex, in cell units
 */
export function cornerWeights(polygon: ConvexPolygon): Corners {
  let [area, mx, my, mxy] = [0, 0, 0, 0];
  for (let i = 2; i + 3 < polygon.length; i += 2) {
    const x = [polygon[0], polygon[i], polygon[i + 2]];
    const y = [polygon[1], polygon[i + 1], polygon[i + 3]];
    const third = ((x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])) / 6;
    // the rule of the three edge middles is exact up to degree two
    for (let k = 0; k < 3; k++) {
      const px = (x[k] + x[(k + 1) % 3]) / 2;
      const py = (y[k] + y[(k + 1) % 3]) / 2;
      area += third;
      mx += third * px;
      my += third * py;
      mxy += third * px * py;
    }
  }
  return { sw: area - mx - my + mxy, se: mx - mxy, nw: my - mxy, ne: mxy };
}

/**
 * A bilinear surface over a part of its cell, parted where it crosses zero. Along each column of the part the surface
 * is straight, so its positive share is known exactly; the columns are then summed between the places where the
 * crossing enters or leaves, to the last digits.
 *
 * @param t        corner values
 * @param polygon  convex, anticlockwise, in cell units
 */
export function splitAtZero(t: Corners, polygon: ConvexPolygon): ZeroSplit {
  const weights = cornerWeights(polygon);
  const net = weights.sw * t.sw + weights.se * t.se + weights.nw * t.nw + weights.ne * t.ne;
  const area = weights.sw + weights.se + weights.nw + weights.ne;
  const low = Math.min(t.sw, t.se, t.nw, t.ne);
  const high = Math.max(t.sw, t.se, t.nw, t.ne);
  if (low >= 0) return { positive: net, negative: 0, positiveArea: high > 0 ? area : 0 };
  if (high <= 0) return { positive: 0, negative: net, positiveArea: 0 };
  let positive = 0;
  let positiveArea = 0;
  for (const slab of slabs(polygon)) {
    const ends = [slab.from, ...rootsOnLine(t, slab, 'low'), ...rootsOnLine(t, slab, 'high'), slab.to].sort(
      (a, b) => a - b,
    );
    for (let k = 0; k + 1 < ends.length; k++) {
      const [a, b] = [ends[k], ends[k + 1]];
      if (!(b > a)) continue;
      const column = (u: number) => positiveOfColumn(t, slab, u);
      positive += quadrature((u) => column(u).volume, a, b);
      positiveArea += quadrature((u) => column(u).height, a, b);
    }
  }
  return { positive, negative: net - positive, positiveArea };
}

/** A stretch of columns between two straight edges of a polygon. */
interface Slab {
  readonly from: number;
  readonly to: number;
  /** lower and upper edge, v = at + slope · (u − from) */
  readonly low: { readonly at: number; readonly slope: number };
  readonly high: { readonly at: number; readonly slope: number };
}

function slabs(polygon: ConvexPolygon): Slab[] {
  const columns = [...new Set(polygon.filter((_, i) => i % 2 === 0))].sort((a, b) => a - b);
  const out: Slab[] = [];
  for (let k = 0; k + 1 < columns.length; k++) {
    const [from, to] = [columns[k], columns[k + 1]];
    if (!(to - from > 1e-14)) continue;
    const edges = edgesOver(polygon, from, to);
    if (edges.length === 2) {
      edges.sort((a, b) => a.at + a.slope * (to - from) * 0.5 - (b.at + b.slope * (to - from) * 0.5));
      out.push({ from, to, low: edges[0], high: edges[1] });
    }
  }
  return out;
}

function edgesOver(polygon: ConvexPolygon, from: number, to: number): { at: number; slope: number }[] {
  const out: { at: number; slope: number }[] = [];
  const m = polygon.length;
  for (let i = 0, j = m - 2; i < m; j = i, i += 2) {
    const west = polygon[i] < polygon[j] ? i : j;
    const east = west === i ? j : i;
    if (!(polygon[west] <= from && polygon[east] >= to && polygon[east] > polygon[west])) continue;
    const slope = (polygon[east + 1] - polygon[west + 1]) / (polygon[east] - polygon[west]);
    out.push({ at: polygon[west + 1] + slope * (from - polygon[west]), slope });
  }
  return out;
}

/** Where the surface is zero along an edge of a slab: it is quadratic in u there. */
function rootsOnLine(t: Corners, slab: Slab, side: 'low' | 'high'): number[] {
  const { at, slope } = slab[side];
  const [b, c, d] = [t.se - t.sw, t.nw - t.sw, t.sw - t.se - t.nw + t.ne];
  // v = at + slope · s, u = from + s
  const constant = t.sw + b * slab.from + c * at + d * slab.from * at;
  const linear = b + c * slope + d * (at + slab.from * slope);
  const square = d * slope;
  return realRoots(square, linear, constant)
    .map((s) => slab.from + s)
    .filter((u) => u > slab.from && u < slab.to);
}

function realRoots(a: number, b: number, c: number): number[] {
  if (Math.abs(a) < 1e-14 * Math.max(Math.abs(b), Math.abs(c))) return b === 0 ? [] : [-c / b];
  const under = b * b - 4 * a * c;
  if (under < 0) return [];
  const q = -0.5 * (b + (b < 0 ? -1 : 1) * Math.sqrt(under));
  return q === 0 ? [0] : [q / a, c / q];
}

/** Positive part along one column: its integral and the height over which the surface is positive. */
function positiveOfColumn(t: Corners, slab: Slab, u: number): { volume: number; height: number } {
  const v0 = slab.low.at + slab.low.slope * (u - slab.from);
  const v1 = slab.high.at + slab.high.slope * (u - slab.from);
  const height = v1 - v0;
  const a = bilinear(t, u, v0);
  const b = bilinear(t, u, v1);
  if (a >= 0 && b >= 0) return { volume: ((a + b) / 2) * height, height };
  if (a <= 0 && b <= 0) return { volume: 0, height: 0 };
  const p = Math.max(a, b);
  const share = p / (p - Math.min(a, b));
  return { volume: (p / 2) * share * height, height: share * height };
}

// Gauss–Legendre nodes and weights for five and five points, on −1 to 1
const gauss = [
  [0.1488743389816312, 0.2955242247147529],
  [0.4333953941292472, 0.2692667193099963],
  [0.6794095682990244, 0.219086362515982],
  [0.8650633666889845, 0.1494513491505806],
  [0.9739065285171717, 0.0666713443086881],
] as const;

function gaussSum(f: (u: number) => number, a: number, b: number): number {
  const middle = (a + b) / 2;
  const half = (b - a) / 2;
  let sum = 0;
  for (const [node, weight] of gauss) sum += weight * (f(middle - half * node) + f(middle + half * node));
  return half * sum;
}

/** Integral of a function that is smooth inside, halved until ten points and twice ten agree. */
function quadrature(f: (u: number) => number, a: number, b: number, depth = 0): number {
  const whole = gaussSum(f, a, b);
  const middle = (a + b) / 2;
  const halves = gaussSum(f, a, middle) + gaussSum(f, middle, b);
  if (depth >= 40 || Math.abs(whole - halves) <= 1e-15 + 1e-14 * Math.abs(halves)) return halves;
  return quadrature(f, a, middle, depth + 1) + quadrature(f, middle, b, depth + 1);
}

/**
 * The same part of a cell as two triangles with flat tops, split at zero exactly.
 * @param diagonal  which corners the triangles share
 */
export function splitTriangles(t: Corners, polygon: ConvexPolygon, diagonal: 'sw-ne' | 'se-nw'): ZeroSplit {
  const r = Math.SQRT1_2;
  const cut = diagonal === 'sw-ne' ? { nx: r, ny: -r, c: 0 } : { nx: -r, ny: -r, c: -r };
  const across = { nx: -cut.nx, ny: -cut.ny, c: -cut.c };
  // flat tops: value at 0, 0 and slopes along u and v
  const planes =
    diagonal === 'sw-ne'
      ? [
          { at: t.sw, u: t.se - t.sw, v: t.ne - t.se },
          { at: t.sw, u: t.ne - t.nw, v: t.nw - t.sw },
        ]
      : [
          { at: t.sw, u: t.se - t.sw, v: t.nw - t.sw },
          { at: t.se + t.nw - t.ne, u: t.ne - t.nw, v: t.ne - t.se },
        ];
  let [positive, net, positiveArea] = [0, 0, 0];
  planes.forEach((plane, k) => {
    const half = clipConvex(polygon, k === 0 ? cut : across);
    if (half.length < 6) return;
    net += planeIntegral(half, plane);
    const slope = Math.sqrt(plane.u * plane.u + plane.v * plane.v);
    const above =
      slope > 0
        ? clipConvex(half, { nx: plane.u / slope, ny: plane.v / slope, c: -plane.at / slope })
        : plane.at > 0
          ? half
          : [];
    if (above.length < 6) return;
    positive += planeIntegral(above, plane);
    positiveArea += convexArea(above);
  });
  return { positive, negative: net - positive, positiveArea };
}

function planeIntegral(polygon: ConvexPolygon, plane: { at: number; u: number; v: number }): number {
  let sum = 0;
  for (let i = 2; i + 3 < polygon.length; i += 2) {
    const area =
      ((polygon[i] - polygon[0]) * (polygon[i + 3] - polygon[1]) -
        (polygon[i + 2] - polygon[0]) * (polygon[i + 1] - polygon[1])) /
      2;
    const u = (polygon[0] + polygon[i] + polygon[i + 2]) / 3;
    const v = (polygon[1] + polygon[i + 1] + polygon[i + 3]) / 3;
    sum += area * (plane.at + plane.u * u + plane.v * v);
  }
  return sum;
}
