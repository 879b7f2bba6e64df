import type { Region } from './rings.js';

/** Corners x0, y0, x1, y1, … of a convex polygon, anticlockwise, not closed, metres. */
export type ConvexPolygon = readonly number[];

/** The straight line through the points where nx·x + ny·y = c; (nx, ny) has length 1 and points to the kept side. */
export interface HalfPlane {
  readonly nx: number;
  readonly ny: number;
  readonly c: number;
}

/** x and y, metres. */
export type Point = readonly [number, number];

/** Signed distance from a half-plane's line, positive on its side. */
export function distanceFrom(half: HalfPlane, x: number, y: number): number {
  return half.nx * x + half.ny * y - half.c;
}

/** Area of a convex polygon → m². */
export function convexArea(polygon: ConvexPolygon): number {
  const x0 = polygon[0];
  const y0 = polygon[1];
  let twice = 0;
  for (let i = 2; i + 3 < polygon.length; i += 2) {
    twice += (polygon[i] - x0) * (polygon[i + 3] - y0) - (polygon[i + 2] - x0) * (polygon[i + 1] - y0);
  }
  return twice / 2;
}

/** The part of a convex polygon where nx·x + ny·y ≥ c; fewer than three corners = nothing left. */
export function clipConvex(polygon: ConvexPolygon, side: HalfPlane): number[] {
  const out: number[] = [];
  const m = polygon.length;
  if (m === 0) return out;
  let ax = polygon[m - 2];
  let ay = polygon[m - 1];
  let da = side.nx * ax + side.ny * ay - side.c;
  for (let i = 0; i < m; i += 2) {
    const bx = polygon[i];
    const by = polygon[i + 1];
    const db = side.nx * bx + side.ny * by - side.c;
    if (da < 0 !== db < 0) {
      const t = da / (da - db);
      out.push(ax + t * (bx - ax), ay + t * (by - ay));
    }
    if (db >= 0) out.push(bx, by);
    ax = bx;
    ay = by;
    da = db;
  }
  return out;
}

/** The opposite side of the same line. */
export function otherSide(side: HalfPlane): HalfPlane {
  return { nx: -side.nx, ny: -side.ny, c: -side.c };
}

/** Middle of a convex polygon's corners, its size, and how far its farthest corner lies from that middle. */
export function around(polygon: ConvexPolygon) {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  let x = 0;
  let y = 0;
  for (let i = 0; i < polygon.length; i += 2) {
    x += polygon[i];
    y += polygon[i + 1];
    west = Math.min(west, polygon[i]);
    east = Math.max(east, polygon[i]);
    south = Math.min(south, polygon[i + 1]);
    north = Math.max(north, polygon[i + 1]);
  }
  x /= polygon.length / 2;
  y /= polygon.length / 2;
  let reach2 = 0;
  for (let i = 0; i < polygon.length; i += 2) {
    reach2 = Math.max(reach2, (polygon[i] - x) ** 2 + (polygon[i + 1] - y) ** 2);
  }
  return { x, y, width: east - west, height: north - south, reach: Math.sqrt(reach2) };
}

/** Least and greatest distance from a point to a convex polygon; 0 when it lies inside. */
export function pointReach(polygon: ConvexPolygon, point: Point): { low: number; high: number } {
  const m = polygon.length;
  let high2 = 0;
  let low2 = Infinity;
  let isInside = true;
  for (let i = 0, j = m - 2; i < m; j = i, i += 2) {
    const ax = polygon[j] - point[0];
    const ay = polygon[j + 1] - point[1];
    const ux = polygon[i] - polygon[j];
    const uy = polygon[i + 1] - polygon[j + 1];
    high2 = Math.max(high2, ax * ax + ay * ay);
    if (ux * ay - uy * ax > 0) isInside = false;
    const length2 = ux * ux + uy * uy;
    const t = length2 > 0 ? Math.min(1, Math.max(0, -(ax * ux + ay * uy) / length2)) : 0;
    low2 = Math.min(low2, (ax + t * ux) ** 2 + (ay + t * uy) ** 2);
  }
  return { low: isInside ? 0 : Math.sqrt(low2), high: Math.sqrt(high2) };
}

/** Area of a disc around (x, y) inside a convex polygon → m². */
export function discArea(polygon: ConvexPolygon, x: number, y: number, radius: number): number {
  const r2 = radius * radius;
  const m = polygon.length;
  let sum = 0;
  let ax = polygon[m - 2] - x;
  let ay = polygon[m - 1] - y;
  for (let i = 0; i < m; i += 2) {
    const bx = polygon[i] - x;
    const by = polygon[i + 1] - y;
    sum += wedge(ax, ay, bx, by, r2);
    ax = bx;
    ay = by;
  }
  return sum;
}

const sector = (ax: number, ay: number, bx: number, by: number, r2: number) =>
  (r2 / 2) * Math.atan2(ax * by - ay * bx, ax * bx + ay * by);

/** Signed area common to the triangle (origin, a, b) and the disc of squared radius r2 around the origin. */
function wedge(ax: number, ay: number, bx: number, by: number, r2: number): number {
  const cross = ax * by - ay * bx;
  const a2 = ax * ax + ay * ay;
  const b2 = bx * bx + by * by;
  if (a2 <= r2 && b2 <= r2) return cross / 2;
  const ux = bx - ax;
  const uy = by - ay;
  const length2 = ux * ux + uy * uy;
  if (length2 === 0) return 0;
  // where the edge enters and leaves the circle, as shares of the edge
  const middle = -(ax * ux + ay * uy) / length2;
  const reach2 = (r2 - (cross * cross) / length2) / length2;
  if (reach2 <= 0) return sector(ax, ay, bx, by, r2);
  const reach = Math.sqrt(reach2);
  const enter = middle - reach;
  const leave = middle + reach;
  if (enter >= 1 || leave <= 0) return sector(ax, ay, bx, by, r2);
  let sum = 0;
  let px = ax;
  let py = ay;
  let qx = bx;
  let qy = by;
  if (enter > 0) {
    px = ax + enter * ux;
    py = ay + enter * uy;
    sum += sector(ax, ay, px, py, r2);
  }
  if (leave < 1) {
    qx = ax + leave * ux;
    qy = ay + leave * uy;
    sum += sector(qx, qy, bx, by, r2);
  }
  return sum + (px * qy - py * qx) / 2;
}

/**
 * Cuts a region with holes into convex pieces: level slabs between neighbouring corners, one trapezoid for each
 * stretch inside. n corners make at most n² pieces, in practice a few times n.
 */
export function convexPieces(region: Region): ConvexPolygon[] {
  const levels = [...new Set(region.rings.flatMap((ring) => [...ring].filter((_, i) => i % 2 === 1)))].sort(
    (p, q) => p - q,
  );
  const pieces: ConvexPolygon[] = [];
  for (let k = 0; k + 1 < levels.length; k++) {
    const south = levels[k];
    const north = levels[k + 1];
    const crossings: { south: number; north: number }[] = [];
    for (const ring of region.rings) {
      const m = ring.length;
      for (let i = 0, j = m - 2; i < m; j = i, i += 2) {
        const rising = ring[i + 1] > ring[j + 1];
        const low = rising ? j : i;
        const high = rising ? i : j;
        if (ring[low + 1] > south || ring[high + 1] < north || ring[low + 1] === ring[high + 1]) continue;
        const at = (y: number) => {
          if (y === ring[high + 1]) return ring[high];
          return ring[low] + ((y - ring[low + 1]) / (ring[high + 1] - ring[low + 1])) * (ring[high] - ring[low]);
        };
        crossings.push({ south: at(south), north: at(north) });
      }
    }
    crossings.sort((p, q) => p.south + p.north - (q.south + q.north));
    for (let i = 0; i + 1 < crossings.length; i += 2) {
      const west = crossings[i];
      const east = crossings[i + 1];
      const corners = [west.south, south, east.south, south, east.north, north, west.north, north];
      if (west.south === east.south) corners.splice(2, 2);
      if (west.north === east.north) corners.splice(corners.length - 2, 2);
      if (corners.length >= 6) pieces.push(corners);
    }
  }
  return pieces;
}
