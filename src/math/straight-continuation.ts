import { convexHull } from './convex-hull.js';
import type { Shape } from './hull-distance.js';
import type { Box } from './rings.js';

/** One end of a timber, and which way it points there. */
export interface TimberEnd {
  readonly x: number;
  readonly y: number;
  /** unit vector away from the timber */
  readonly dx: number;
  readonly dy: number;
}

/** length at a line's end that its direction is taken from: the last corner alone may be a wobble of the pencil */
const directionM = 0.3;

/**
 * Both ends of every line of a shape; of an area the two ends of its longest side's direction, on its middle.
 * A line of no length has none.
 */
export function timberEnds(shape: Shape): TimberEnd[] {
  return shape.parts.flatMap((part) => (shape.type === 'line' ? lineEnds(part) : areaEnds(part)));
}

function lineEnds(line: Float64Array): TimberEnd[] {
  const last = line.length / 2 - 1;
  if (last < 1) return [];
  return [
    [0, 1],
    [last, -1],
  ].flatMap(([from, step]) => {
    const [x, y] = [line[2 * from], line[2 * from + 1]];
    let k = from + step;
    while (k > 0 && k < last && Math.hypot(line[2 * k] - x, line[2 * k + 1] - y) < directionM) k += step;
    return endAt(x, y, [x - line[2 * k], y - line[2 * k + 1]]);
  });
}

function areaEnds(ring: Float64Array): TimberEnd[] {
  const hull = convexHull(ring);
  const m = hull.length / 2;
  if (m < 3) return [];
  let longest = 0;
  let ux = 0;
  let uy = 0;
  for (let i = 0; i < m; i++) {
    const j = (i + 1) % m;
    const dx = hull[2 * j] - hull[2 * i];
    const dy = hull[2 * j + 1] - hull[2 * i + 1];
    const length = Math.hypot(dx, dy);
    if (length <= longest) continue;
    longest = length;
    ux = dx / length;
    uy = dy / length;
  }
  const along = spread(hull, ux, uy);
  const across = spread(hull, -uy, ux);
  const middle = (across.low + across.high) / 2;
  const at = (t: number): [number, number] => [t * ux - middle * uy, t * uy + middle * ux];
  return [...endAt(...at(along.high), [ux, uy]), ...endAt(...at(along.low), [-ux, -uy])];
}

function spread(hull: Float64Array, ux: number, uy: number): { low: number; high: number } {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < hull.length; i += 2) {
    const t = hull[i] * ux + hull[i + 1] * uy;
    low = Math.min(low, t);
    high = Math.max(high, t);
  }
  return { low, high };
}

function endAt(x: number, y: number, [dx, dy]: readonly [number, number]): TimberEnd[] {
  const length = Math.hypot(dx, dy);
  return length > 0 ? [{ x, y, dx: dx / length, dy: dy / length }] : [];
}

/**
 * Where a timber would run through a square if it went straight on from its end.
 * @returns  metres from the end to where it enters and leaves; null when it misses the square, or only touches it
 * @see Liang & Barsky 1984, doi:10.1145/357332.357333
 */
export function straightThrough(
  end: TimberEnd,
  [west, south, east, north]: Box,
): { readonly entersM: number; readonly leavesM: number } | null {
  let enters = 0;
  let leaves = Infinity;
  for (const [start, step, low, high] of [
    [end.x, end.dx, west, east],
    [end.y, end.dy, south, north],
  ]) {
    if (Math.abs(step) < 1e-12) {
      if (start <= low || start >= high) return null;
      continue;
    }
    const a = (low - start) / step;
    const b = (high - start) / step;
    enters = Math.max(enters, Math.min(a, b));
    leaves = Math.min(leaves, Math.max(a, b));
  }
  return leaves - enters > 1e-9 ? { entersM: enters, leavesM: leaves } : null;
}

/** Distance from a place to a box; 0 inside. */
export function boxDistance(x: number, y: number, [west, south, east, north]: Box): number {
  return Math.hypot(Math.max(west - x, 0, x - east), Math.max(south - y, 0, y - north));
}
