import type { SpatialRelation } from './expression.js';
import { boxesApart, edge, edgesOf, inside, type Locator, outside, type Place, sameM } from './locate.js';

/**
 * What two shapes have in common: for inside, edge and outside of the one (rows) and of the other (columns) the
 * dimension of what they share, −1 = nothing.
 * @see Clementini, Di Felice & van Oosterom 1993, doi:10.1007/3-540-56869-7_16
 */
export type Matrix = Int8Array;

const cell = (a: Place, b: Place): number => 3 * a + b;

/** Whether a relation holds by the matrix of two shapes of these dimensions. */
export function relationHolds(
  relation: SpatialRelation,
  matrix: Matrix,
  dimensions: readonly [0 | 1 | 2, 0 | 1 | 2],
): boolean {
  const [a, b] = dimensions;
  const shares = (one: Place, other: Place) => matrix[cell(one, other)] >= 0;
  const meets = shares(inside, inside) || shares(inside, edge) || shares(edge, inside) || shares(edge, edge);
  const within = shares(inside, inside) && !shares(inside, outside) && !shares(edge, outside);
  const contains = shares(inside, inside) && !shares(outside, inside) && !shares(outside, edge);
  switch (relation) {
    case 'intersects':
      return meets;
    case 'disjoint':
      return !meets;
    case 'within':
      return within;
    case 'contains':
      return contains;
    case 'equals':
      return within && contains;
    case 'touches':
      return meets && !shares(inside, inside);
    case 'crosses':
      if (a < b) return shares(inside, inside) && shares(inside, outside);
      if (a > b) return shares(inside, inside) && shares(outside, inside);
      return a === 1 && matrix[cell(inside, inside)] === 0;
    case 'overlaps':
      if (a !== b || !shares(inside, outside) || !shares(outside, inside)) return false;
      return a === 1 ? matrix[cell(inside, inside)] === 1 : shares(inside, inside);
  }
}

/**
 * The matrix of two shapes: every edge of the one is cut where the other meets it, and the middle of each piece is
 * looked up in the other. Cost: edges of the one times edges of the other.
 */
export function relate(a: Locator, b: Locator): Matrix {
  const matrix = new Int8Array(9).fill(-1);
  matrix[cell(outside, outside)] = 2;
  const apart = boxesApart(a.shape.box, b.shape.box);
  shareParts(a, b, { apart, note: (one, other, dimension) => keep(matrix, cell(one, other), dimension) });
  shareParts(b, a, { apart, note: (other, one, dimension) => keep(matrix, cell(one, other), dimension) });
  return matrix;
}

function keep(matrix: Matrix, index: number, dimension: number): void {
  if (dimension > matrix[index]) matrix[index] = dimension;
}

interface Found {
  readonly apart: boolean;
  note(own: Place, other: Place, dimension: 0 | 1 | 2): void;
}

/** Notes where the points, lines and edges of a shape lie in another. */
function shareParts(own: Locator, other: Locator, { apart, note }: Found): void {
  const { dimension } = own.shape;
  const lookUp = (x: number, y: number): Place => (apart ? outside : other.place(x, y));
  if (dimension === 0) {
    const [points] = own.shape.parts;
    for (let i = 0; i < points.length; i += 2) note(inside, lookUp(points[i], points[i + 1]), 0);
    return;
  }
  for (let i = 0; i < own.lineEnds.length; i += 2) {
    note(edge, lookUp(own.lineEnds[i], own.lineEnds[i + 1]), 0);
  }
  // an area is never used up by points or lines
  if (dimension === 2 && (other.shape.dimension < 2 || apart)) note(inside, outside, 2);
  const edges = edgesOf(own.shape);
  const others = other.shape.dimension === 0 || apart ? none : edgesOf(other.shape);
  const ownPlace = dimension === 1 ? inside : edge;
  for (let i = 0; i < edges.length; i += 4) {
    const cuts = cutPlaces(edges, i, others);
    for (let k = 0; k < cuts.length; k++) {
      const [x, y] = cuts[k];
      const place = lookUp(x, y);
      note(dimension === 1 && own.place(x, y) === edge ? edge : ownPlace, place, 0);
      if (k === 0) continue;
      const [px, py] = cuts[k - 1];
      if (Math.hypot(x - px, y - py) <= 2 * sameM) continue;
      const [mx, my] = [(x + px) / 2, (y + py) / 2];
      const middle = other.shape.dimension === 0 ? outside : lookUp(mx, my);
      note(ownPlace, middle, 1);
      if (dimension === 2 && other.shape.dimension === 2) besideEdge([px, py, x, y], { middle, others, note });
    }
  }
}

const none = new Float64Array(0);

/** What lies on both sides of a piece of an area's edge: its own inside to the left, its outside to the right. */
function besideEdge(
  piece: readonly [number, number, number, number],
  { middle, others, note }: { middle: Place; others: Float64Array; note: Found['note'] },
): void {
  if (middle !== edge) {
    note(inside, middle, 2);
    note(outside, middle, 2);
    return;
  }
  const [ax, ay, bx, by] = piece;
  const [mx, my] = [(ax + bx) / 2, (ay + by) / 2];
  for (let i = 0; i < others.length; i += 4) {
    const ux = others[i + 2] - others[i];
    const uy = others[i + 3] - others[i + 1];
    const t = ((mx - others[i]) * ux + (my - others[i + 1]) * uy) / (ux * ux + uy * uy);
    if (t < 0 || t > 1) continue;
    if (Math.hypot(mx - others[i] - t * ux, my - others[i + 1] - t * uy) > sameM) continue;
    if (ux * (bx - ax) + uy * (by - ay) > 0) note(inside, inside, 2);
    else {
      note(inside, outside, 2);
      note(outside, inside, 2);
    }
  }
}

/** Both ends of an edge and the places where others meet it, along the way. */
function cutPlaces(edges: Float64Array, i: number, others: Float64Array): (readonly [number, number])[] {
  const [ax, ay, bx, by] = edges.subarray(i, i + 4);
  const ux = bx - ax;
  const uy = by - ay;
  const length = Math.hypot(ux, uy);
  const shares: number[] = [0, 1];
  const west = Math.min(ax, bx) - sameM;
  const east = Math.max(ax, bx) + sameM;
  const south = Math.min(ay, by) - sameM;
  const north = Math.max(ay, by) + sameM;
  for (let j = 0; j < others.length; j += 4) {
    const cx = others[j];
    const cy = others[j + 1];
    const dx = others[j + 2];
    const dy = others[j + 3];
    if ((cx < west && dx < west) || (cx > east && dx > east)) continue;
    if ((cy < south && dy < south) || (cy > north && dy > north)) continue;
    // distance of both ends from this edge's straight line, left positive
    const fromC = (ux * (cy - ay) - uy * (cx - ax)) / length;
    const fromD = (ux * (dy - ay) - uy * (dx - ax)) / length;
    const along = (x: number, y: number) => ((x - ax) * ux + (y - ay) * uy) / (length * length);
    if (Math.abs(fromC) <= sameM) shares.push(along(cx, cy));
    if (Math.abs(fromD) <= sameM) shares.push(along(dx, dy));
    if (fromC * fromD < 0) {
      const t = fromC / (fromC - fromD);
      shares.push(along(cx + t * (dx - cx), cy + t * (dy - cy)));
    }
  }
  const slack = sameM / length;
  return shares
    .filter((t) => t >= -slack && t <= 1 + slack)
    .map((t) => Math.max(0, Math.min(1, t)))
    .sort((a, b) => a - b)
    .map((t) => [ax + t * ux, ay + t * uy] as const);
}
