import type { Point } from './grids.js';

/** Closed rings of a polygon: the outer one anticlockwise, then its holes clockwise. */
export type Polygon = readonly (readonly Point[])[];

const key = (column: number, row: number) => `${column},${row}`;

/** Rings around a set of grid squares that touch along edges; corners on a straight run are left out. */
export function outline(squares: readonly (readonly [number, number])[]): Polygon {
  const members = new Set(squares.map(([c, r]) => key(c, r)));
  // each free edge once, with the square on its left, keyed by its start
  const next = new Map<string, Point>();
  const addEdge = (from: Point, to: Point) => {
    if (next.has(key(...from))) throw new Error(`squares touch at a corner only, at ${key(...from)}`);
    next.set(key(...from), to);
  };
  for (const [c, r] of squares) {
    if (!members.has(key(c, r - 1))) addEdge([c, r], [c + 1, r]);
    if (!members.has(key(c + 1, r))) addEdge([c + 1, r], [c + 1, r + 1]);
    if (!members.has(key(c, r + 1))) addEdge([c + 1, r + 1], [c, r + 1]);
    if (!members.has(key(c - 1, r))) addEdge([c, r + 1], [c, r]);
  }
  const rings: Point[][] = [];
  while (next.size > 0) {
    const start = [...next.keys()][0];
    const ring: Point[] = [];
    let at = start;
    do {
      const to = next.get(at)!;
      next.delete(at);
      ring.push(at.split(',').map(Number) as unknown as Point);
      at = key(...to);
    } while (at !== start);
    rings.push(withoutStraightCorners(ring));
  }
  rings.sort((a, b) => twiceArea(b) - twiceArea(a));
  if (rings.filter((ring) => twiceArea(ring) > 0).length !== 1) throw new Error('the squares are not one piece');
  return rings.map((ring) => [...ring, ring[0]]);
}

function withoutStraightCorners(ring: readonly Point[]): Point[] {
  return ring.filter((point, i) => {
    const before = ring[(i + ring.length - 1) % ring.length];
    const after = ring[(i + 1) % ring.length];
    return (point[0] - before[0]) * (after[1] - point[1]) !== (point[1] - before[1]) * (after[0] - point[0]);
  });
}

function twiceArea(ring: readonly Point[]): number {
  let sum = 0;
  ring.forEach(([x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length];
    sum += x * ny - nx * y;
  });
  return sum;
}
