import { insideEvenOdd, ringArea } from '../math/rings.js';

/**
 * What is wrong with the rings of an area, in words; null when nothing is. Rings may touch in places, not run along
 * or across one another.
 * @param rings     outer rings anticlockwise, each followed by its holes
 * @param perPolygon how many of the rings each polygon has
 */
export function checkRings(perPolygon: readonly number[], rings: readonly Float64Array[]): string | null {
  for (const ring of rings) if (ringArea(ring) === 0) return 'a ring has no area';
  const edges = rings.flatMap((ring) => edgesOf(ring));
  for (let i = 0; i < edges.length; i++) {
    for (let j = 0; j < i; j++) {
      if (edgesCross(edges[i], edges[j]))
        return `two edges cross or lie on one another near ${edges[i][0]}, ${edges[i][1]}; draw the outline without crossing it`;
    }
  }
  let first = 0;
  const outers: { readonly outer: Float64Array; readonly all: readonly Float64Array[] }[] = [];
  for (const count of perPolygon) {
    const all = rings.slice(first, first + count);
    first += count;
    const [outer, ...holes] = all;
    for (const hole of holes) if (!liesIn(hole, [outer])) return 'a hole lies outside the ring it should be cut from';
    for (const other of outers) {
      if (liesIn(outer, other.all) || liesIn(other.outer, all)) return 'two polygons of a MultiPolygon overlap';
    }
    outers.push({ outer, all });
  }
  return null;
}

type Edge = readonly [number, number, number, number];

function edgesOf(ring: Float64Array): Edge[] {
  const edges: Edge[] = [];
  for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
    if (ring[i] === ring[j] && ring[i + 1] === ring[j + 1]) continue;
    edges.push([ring[j], ring[j + 1], ring[i], ring[i + 1]]);
  }
  return edges;
}

/** Sign of the turn a → b → c. */
function turn(ax: number, ay: number, bx: number, by: number, cx: number, cy: number): number {
  return Math.sign((bx - ax) * (cy - ay) - (by - ay) * (cx - ax));
}

/** Whether two edges share more than an end that touches the other. */
function edgesCross(p: Edge, q: Edge): boolean {
  if (
    Math.max(p[0], p[2]) < Math.min(q[0], q[2]) ||
    Math.max(q[0], q[2]) < Math.min(p[0], p[2]) ||
    Math.max(p[1], p[3]) < Math.min(q[1], q[3]) ||
    Math.max(q[1], q[3]) < Math.min(p[1], p[3])
  ) {
    return false;
  }
  const a = turn(...p, q[0], q[1]);
  const b = turn(...p, q[2], q[3]);
  const c = turn(...q, p[0], p[1]);
  const d = turn(...q, p[2], p[3]);
  if (a * b < 0 && c * d < 0) return true;
  if (a !== 0 || b !== 0) return false;
  // on one straight line: more than a place in common?
  const along = Math.abs(p[2] - p[0]) >= Math.abs(p[3] - p[1]) ? 0 : 1;
  const low = Math.max(Math.min(p[along], p[along + 2]), Math.min(q[along], q[along + 2]));
  const high = Math.min(Math.max(p[along], p[along + 2]), Math.max(q[along], q[along + 2]));
  return low < high;
}

/** Whether a ring lies inside others that it does not cross: by its first edge middle that is on none of theirs. */
function liesIn(ring: Float64Array, others: readonly Float64Array[]): boolean {
  const onEdge = (x: number, y: number) =>
    others.some((other) =>
      edgesOf(other).some(
        ([ax, ay, bx, by]) =>
          turn(ax, ay, bx, by, x, y) === 0 &&
          x >= Math.min(ax, bx) &&
          x <= Math.max(ax, bx) &&
          y >= Math.min(ay, by) &&
          y <= Math.max(ay, by),
      ),
    );
  for (let i = 0; i < ring.length; i += 2) {
    if (!onEdge(ring[i], ring[i + 1])) return insideEvenOdd({ rings: others }, ring[i], ring[i + 1]);
  }
  return false;
}
