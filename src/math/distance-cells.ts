import {
  around,
  type ConvexPolygon,
  clipConvex,
  convexArea,
  convexPieces,
  distanceFrom,
  type HalfPlane,
  otherSide,
  type Point,
  pointReach,
} from './convex-polygons.js';
import { areaAround, type Pieces, pieceDistanceSquared } from './hull-distance.js';
import { type Region, regionBox } from './rings.js';

/**
 * A convex bit of the window in which the distance to the hull has a plain formula: the distance to a straight line
 * seen from one side, or to a point, or the less of the two.
 */
export interface DistanceCell {
  readonly polygon: ConvexPolygon;
  /** the cell lies where nx·x + ny·y ≥ c */
  readonly line: HalfPlane | null;
  readonly point: readonly [number, number] | null;
  readonly area: number;
  /** least and greatest distance in the cell are within these */
  readonly low: number;
  readonly high: number;
  readonly isInside: boolean;
}

/**
 * Cuts a window into cells in which it is decided which part of the hull is nearest.
 *
 * Cells are halved, and pieces of hull that cannot be nearest anywhere in them dropped (from the middle, d_min + 2ρ),
 * until few are left; then they are cut along the lines where the formula changes: square to a piece at its ends,
 * along the piece itself, and half way between two points or two lines. Nothing is left undecided, so the shares that follow are
 * exact but for rounding. Cost: cells grow with the number of hull pieces, some sixty a piece on a
 * crowded wreck (377 pieces: 22,700 cells, 0.2 s).
 *
 * @param window  metres from a local origin; left untouched
 * @param pieces  at least one; left untouched
 * @param inside  flat: distances inside areas are not wanted, such cells are only marked; deep: they are
 */
export function distanceCells(window: Region, pieces: Pieces, inside: 'flat' | 'deep'): DistanceCell[] {
  const [west, south, east, north] = regionBox(window);
  const extent = Math.max(east - west, north - south);
  const cutter = new CellCutter(pieces, extent, inside);
  for (const polygon of convexPieces(window)) cutter.cut(polygon, cutter.distinct);
  return cutter.cells;
}

class CellCutter {
  readonly cells: DistanceCell[] = [];
  /** pieces less those drawn twice */
  readonly distinct: readonly number[];
  private readonly pieces: Pieces;
  private readonly isFlatInside: boolean;
  /** [2s] numbers of the corners each piece starts and ends at: pieces that meet share one */
  private readonly corners: Uint32Array;
  /** lengths below this are nothing */
  private readonly slack: number;
  /** cells smaller than this are no longer halved: many pieces meet there */
  private readonly smallest: number;

  constructor(pieces: Pieces, extent: number, inside: 'flat' | 'deep') {
    this.pieces = pieces;
    this.isFlatInside = inside === 'flat';
    this.slack = 1e-11 * extent;
    this.smallest = extent / 4096;
    const e = pieces.ends;
    const numbers = new Map<string, number>();
    this.corners = Uint32Array.from({ length: e.length / 2 }, (_, i) => {
      const key = `${e[2 * i]} ${e[2 * i + 1]}`;
      const number = numbers.get(key) ?? numbers.size;
      numbers.set(key, number);
      return number;
    });
    const drawn = new Set<string>();
    this.distinct = [...pieces.owner.keys()].filter((s) => {
      const from = Math.min(this.corners[2 * s], this.corners[2 * s + 1]);
      const key = `${from} ${this.corners[2 * s] + this.corners[2 * s + 1] - from}`;
      const isNew = !drawn.has(key);
      drawn.add(key);
      return isNew;
    });
  }

  cut(polygon: ConvexPolygon, given: readonly number[]): void {
    if (polygon.length < 6) return;
    const { x, y, width, height, reach } = around(polygon);
    let least = Infinity;
    let nearest = -1;
    const distances = given.map((s) => {
      const d = Math.sqrt(pieceDistanceSquared(this.pieces, s, x, y));
      if (d < least) {
        least = d;
        nearest = s;
      }
      return d;
    });
    // no piece passes through the cell: all of it is inside an area, and nothing more need be known of it
    if (this.isFlatInside && least > reach * (1 + 1e-9) && areaAround(this.pieces, x, y) >= 0) {
      this.cells.push({ polygon, line: null, point: null, area: convexArea(polygon), low: 0, high: 0, isInside: true });
      return;
    }
    const limit = (least + 2 * reach) * (1 + 1e-9) + this.slack;
    let candidates = given.filter((_, i) => distances[i] <= limit);
    if (candidates.length > 1) candidates = this.withoutHiddenBySpot(polygon, candidates, nearest);
    if (candidates.length > 4 && reach > this.smallest) {
      const half: HalfPlane = width >= height ? { nx: 1, ny: 0, c: x } : { nx: 0, ny: 1, c: y };
      this.split(polygon, half, candidates);
    } else {
      const found = this.formulas(polygon, candidates);
      if ('change' in found) this.split(polygon, found.change, candidates);
      else this.keep(polygon, found.line, found.point);
    }
  }

  /**
   * Drops pieces that the piece nearest to the middle hides all over the cell: those of which only an end or only one
   * side can be nearest are held against the one spot of that piece that is nearest to the middle. Of several ends at
   * one corner one is kept.
   */
  private withoutHiddenBySpot(polygon: ConvexPolygon, candidates: readonly number[], nearest: number): number[] {
    const middle = around(polygon);
    const spot = this.spotOn(nearest, middle.x, middle.y);
    const seen = new Set<number>();
    return candidates.filter((s) => {
      if (s === nearest) return true;
      const [along, beyond, beside] = this.endsOf(s);
      const sideOfStart = this.sideOf(polygon, along);
      const sideOfEnd = this.sideOf(polygon, beyond);
      if (sideOfStart === -1 || sideOfEnd === 1) {
        const corner = sideOfStart === -1 ? 2 * s : 2 * s + 1;
        const number = this.corners[corner];
        if (seen.has(number)) return false;
        seen.add(number);
        const e = this.pieces.ends;
        return !this.isPointNearer(polygon, spot, [e[2 * corner], e[2 * corner + 1]]);
      }
      if (sideOfStart === 0 || sideOfEnd === 0) return true;
      const side = this.sideOf(polygon, beside);
      return side === 0 || !isHiddenBy(polygon, side === 1 ? beside : otherSide(beside), spot);
    });
  }

  /** The spot on piece s that is nearest to (x, y). */
  private spotOn(s: number, x: number, y: number): Point {
    const e = this.pieces.ends;
    const ux = e[4 * s + 2] - e[4 * s];
    const uy = e[4 * s + 3] - e[4 * s + 1];
    const length2 = ux * ux + uy * uy;
    const t = length2 > 0 ? ((x - e[4 * s]) * ux + (y - e[4 * s + 1]) * uy) / length2 : 0;
    const share = Math.min(1, Math.max(0, t));
    return [e[4 * s] + share * ux, e[4 * s + 1] + share * uy];
  }

  /** Lines square to a piece at its start and at its end, and its own line. */
  private endsOf(s: number): [along: HalfPlane, beyond: HalfPlane, beside: HalfPlane] {
    const e = this.pieces.ends;
    const dx = e[4 * s + 2] - e[4 * s];
    const dy = e[4 * s + 3] - e[4 * s + 1];
    const length = Math.sqrt(dx * dx + dy * dy);
    const ux = length > this.slack ? dx / length : 1;
    const uy = length > this.slack ? dy / length : 0;
    const start = ux * e[4 * s] + uy * e[4 * s + 1];
    return [
      { nx: ux, ny: uy, c: start },
      { nx: ux, ny: uy, c: start + length },
      { nx: -uy, ny: ux, c: ux * e[4 * s + 1] - uy * e[4 * s] },
    ];
  }

  private split(polygon: ConvexPolygon, along: HalfPlane, candidates: readonly number[]): void {
    this.cut(clipConvex(polygon, along), candidates);
    this.cut(clipConvex(polygon, otherSide(along)), candidates);
  }

  /** The first line inside the cell along which a candidate's formula changes; or, where there is none, the formulas. */
  private formulas(
    polygon: ConvexPolygon,
    candidates: readonly number[],
  ): { readonly change: HalfPlane } | { readonly line: HalfPlane | null; readonly point: Point | null } {
    const lines: HalfPlane[] = [];
    const points: Point[] = [];
    const e = this.pieces.ends;
    for (const s of candidates) {
      const a: Point = [e[4 * s], e[4 * s + 1]];
      const b: Point = [e[4 * s + 2], e[4 * s + 3]];
      const [along, beyond, beside] = this.endsOf(s);
      const sideOfStart = this.sideOf(polygon, along);
      const sideOfEnd = this.sideOf(polygon, beyond);
      if (sideOfStart === -1 || beyond.c - along.c <= this.slack) points.push(a);
      else if (sideOfEnd === 1) points.push(b);
      else if (sideOfStart === 0) return { change: along };
      else if (sideOfEnd === 0) return { change: beyond };
      else {
        const side = this.sideOf(polygon, beside);
        if (side === 0) return { change: beside };
        lines.push(side === 1 ? beside : otherSide(beside));
      }
    }
    const nearLines = withoutHidden(lines, (first, second) => this.isLineNearer(polygon, first, second));
    const nearPoints = withoutHidden(
      // a point on a line or behind it is never nearer than the line
      points.filter((point) => !nearLines.some((line) => distanceFrom(line, point[0], point[1]) <= this.slack)),
      (first, second) => this.isPointNearer(polygon, first, second),
    );
    if (nearPoints.length > 1) return { change: halfWay(nearPoints[0], nearPoints[1]) };
    const point = nearPoints[0] ?? null;
    const left = point ? nearLines.filter((line) => !isHiddenBy(polygon, line, point)) : nearLines;
    if (left.length > 1) return { change: betweenLines(left[0], left[1]) };
    return { line: left[0] ?? null, point };
  }

  /** 1: all of the cell where nx·x + ny·y ≥ c; −1: all on the other side; 0: on both. */
  private sideOf(polygon: ConvexPolygon, half: HalfPlane): -1 | 0 | 1 {
    let low = Infinity;
    let high = -Infinity;
    for (let i = 0; i < polygon.length; i += 2) {
      const d = distanceFrom(half, polygon[i], polygon[i + 1]);
      if (d < low) low = d;
      if (d > high) high = d;
    }
    if (low >= -this.slack) return 1;
    return high <= this.slack ? -1 : 0;
  }

  /** Whether the first line is nearer than the second all over the cell: the difference is an even slope, so the corners tell. */
  private isLineNearer(polygon: ConvexPolygon, first: HalfPlane, second: HalfPlane): boolean {
    for (let i = 0; i < polygon.length; i += 2) {
      const x = polygon[i];
      const y = polygon[i + 1];
      if (distanceFrom(first, x, y) - distanceFrom(second, x, y) > this.slack) return false;
    }
    return true;
  }

  /** The same for two points: the difference of squared distances is an even slope too. */
  private isPointNearer(polygon: ConvexPolygon, first: Point, second: Point): boolean {
    if (first[0] === second[0] && first[1] === second[1]) return true;
    return this.sideOf(polygon, halfWay(second, first)) === 1;
  }

  private keep(polygon: ConvexPolygon, line: HalfPlane | null, point: Point | null): void {
    const area = convexArea(polygon);
    if (!(area > 0)) return;
    let low = Infinity;
    let high = Infinity;
    if (line) {
      low = Infinity;
      high = 0;
      for (let i = 0; i < polygon.length; i += 2) {
        const d = Math.max(0, distanceFrom(line, polygon[i], polygon[i + 1]));
        if (d < low) low = d;
        if (d > high) high = d;
      }
    }
    if (point) {
      const reach = pointReach(polygon, point);
      low = Math.min(low, reach.low);
      high = Math.min(high, reach.high);
    }
    const middle = around(polygon);
    const isInside = areaAround(this.pieces, middle.x, middle.y) >= 0;
    this.cells.push({ polygon, line, point, area, low, high, isInside });
  }
}

/** Drops what another one still kept is nearer than; of equals the last stays. */
function withoutHidden<T>(all: readonly T[], isNearer: (first: T, second: T) => boolean): T[] {
  const kept = [...all];
  for (const one of all) {
    if (kept.some((other) => other !== one && isNearer(other, one))) kept.splice(kept.indexOf(one), 1);
  }
  return kept;
}

/** The side of the line half way between two points that is nearer to the second. */
function halfWay(first: Point, second: Point): HalfPlane {
  const dx = second[0] - first[0];
  const dy = second[1] - first[1];
  const length = Math.sqrt(dx * dx + dy * dy);
  const nx = dx / length;
  const ny = dy / length;
  return { nx, ny, c: (nx * (first[0] + second[0]) + ny * (first[1] + second[1])) / 2 };
}

/** The side of the line half way between two lines that is nearer to the second. */
function betweenLines(first: HalfPlane, second: HalfPlane): HalfPlane {
  const dx = first.nx - second.nx;
  const dy = first.ny - second.ny;
  const length = Math.sqrt(dx * dx + dy * dy);
  return { nx: dx / length, ny: dy / length, c: (first.c - second.c) / length };
}

/** Whether a point is nearer than a line all over a cell: the excess of the point's distance is hollow, so the corners tell. */
function isHiddenBy(polygon: ConvexPolygon, line: HalfPlane, point: Point): boolean {
  for (let i = 0; i < polygon.length; i += 2) {
    const x = polygon[i];
    const y = polygon[i + 1];
    if (distanceFrom(line, x, y) < Math.sqrt((x - point[0]) ** 2 + (y - point[1]) ** 2)) return false;
  }
  return true;
}
