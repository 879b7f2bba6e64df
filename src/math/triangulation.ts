import type { Region } from './rings.js';

/** A slanted or upright edge, lower end first. */
interface Edge {
  readonly lowX: number;
  readonly lowY: number;
  readonly highX: number;
  readonly highY: number;
}

/** An edge where it crosses a slab between two levels. */
interface Crossing {
  readonly below: number;
  readonly above: number;
}

/**
 * Cuts a region into triangles that cover it once: the region is sliced at the height of every corner, and what is
 * left between two slices are trapezoids. Rings may share corners and edges (unions of grid squares do); holes and
 * several outer rings count by the even-odd rule, as in insideEvenOdd.
 *
 * @param region  metres; left untouched
 * @returns       [6t] x, y of three corners a triangle, anticlockwise; empty for a region without area.
 *                Cost corners × edges crossed by one slice
 */
export function triangulate(region: Region): Float64Array {
  const edges = upwardEdges(region);
  const levels = [...new Set(edges.flatMap((edge) => [edge.lowY, edge.highY]))].sort((a, b) => a - b);
  edges.sort((a, b) => a.lowY - b.lowY);
  const triangles: number[] = [];
  let active: Edge[] = [];
  let next = 0;
  for (let k = 0; k + 1 < levels.length; k++) {
    const bottom = levels[k];
    const top = levels[k + 1];
    active = active.filter((edge) => edge.highY > bottom);
    while (next < edges.length && edges[next].lowY === bottom) active.push(edges[next++]);
    const crossings = active
      .map((edge): Crossing => ({ below: crossingX(edge, bottom), above: crossingX(edge, top) }))
      .sort((a, b) => a.below + a.above - (b.below + b.above));
    for (let i = 0; i + 1 < crossings.length; i += 2) {
      const left = crossings[i];
      const right = crossings[i + 1];
      if (right.below > left.below) {
        triangles.push(left.below, bottom, right.below, bottom, right.above, top);
      }
      if (right.above > left.above) {
        triangles.push(left.below, bottom, right.above, top, left.above, top);
      }
    }
  }
  return Float64Array.from(triangles);
}

function upwardEdges(region: Region): Edge[] {
  const edges: Edge[] = [];
  for (const ring of region.rings) {
    const m = ring.length;
    let ax = ring[m - 2];
    let ay = ring[m - 1];
    for (let i = 0; i < m; i += 2) {
      const bx = ring[i];
      const by = ring[i + 1];
      if (ay < by) edges.push({ lowX: ax, lowY: ay, highX: bx, highY: by });
      else if (by < ay) edges.push({ lowX: bx, lowY: by, highX: ax, highY: ay });
      ax = bx;
      ay = by;
    }
  }
  return edges;
}

/** Where an edge meets a level: its own corners exactly, so that neighbouring slabs fit. */
function crossingX(edge: Edge, y: number): number {
  if (y === edge.lowY) return edge.lowX;
  if (y === edge.highY) return edge.highX;
  return edge.lowX + ((edge.highX - edge.lowX) * (y - edge.lowY)) / (edge.highY - edge.lowY);
}

/** Area of each triangle. triangles [6t] as triangulate gives them, metres → [t] m². */
export function triangleAreas(triangles: Float64Array): Float64Array {
  const areas = new Float64Array(triangles.length / 6);
  for (let t = 0; t < areas.length; t++) {
    const [ax, ay, bx, by, cx, cy] = triangles.subarray(6 * t, 6 * t + 6);
    areas[t] = ((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2;
  }
  return areas;
}
