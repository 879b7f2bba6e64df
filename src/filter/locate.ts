import { type Box, isRectangle } from '../math/rings.js';
import type { PlaneShape } from './plane-shape.js';

/** Where a place lies in a shape. */
export const inside = 0;
export const edge = 1;
export const outside = 2;
export type Place = typeof inside | typeof edge | typeof outside;

/**
 * Places nearer than this are one place: positions are handed out in tenths of a millimetre (nine decimals of a
 * degree), so a position read from an answer and sent back in a filter must find what it came from.
 */
export const sameM = 1e-4;

/** Where places lie in one shape; made once, asked often. */
export interface Locator {
  readonly shape: PlaneShape;
  /** ends of lines that are their boundary: x0, y0, … */
  readonly lineEnds: Float64Array;
  place(x: number, y: number): Place;
}

/** Whether two boxes are nowhere nearer than one place. */
export function boxesApart(a: Box, b: Box): boolean {
  return a[0] > b[2] + sameM || b[0] > a[2] + sameM || a[1] > b[3] + sameM || b[1] > a[3] + sameM;
}

/** Prepares a shape in a plane of metres. Cost of a question: edges in the place's strip of the shape. */
export function locatorOf(shape: PlaneShape): Locator {
  const [west, south, east, north] = shape.box.map((v, k) => v + (k < 2 ? -sameM : sameM));
  const beyond = (x: number, y: number) => !(x >= west && x <= east && y >= south && y <= north);
  if (shape.dimension === 0) {
    const [points] = shape.parts;
    return {
      shape,
      lineEnds: none,
      place: (x, y) => {
        if (beyond(x, y)) return outside;
        for (let i = 0; i < points.length; i += 2) if (samePlace(points[i], points[i + 1], x, y)) return inside;
        return outside;
      },
    };
  }
  if (shape.dimension === 2 && isRectangle({ rings: shape.parts })) {
    const [w, s, e, n] = shape.box;
    return {
      shape,
      lineEnds: none,
      place: (x, y) => {
        if (beyond(x, y)) return outside;
        return x > w + sameM && x < e - sameM && y > s + sameM && y < n - sameM ? inside : edge;
      },
    };
  }
  const strips = edgeStrips(shape);
  if (shape.dimension === 1) {
    const lineEnds = boundaryEnds(shape.parts);
    return {
      shape,
      lineEnds,
      place: (x, y) => {
        if (beyond(x, y)) return outside;
        for (let i = 0; i < lineEnds.length; i += 2) if (samePlace(lineEnds[i], lineEnds[i + 1], x, y)) return edge;
        return strips.touch(x, y) ? inside : outside;
      },
    };
  }
  return {
    shape,
    lineEnds: none,
    place: (x, y) => {
      if (beyond(x, y)) return outside;
      if (strips.touch(x, y)) return edge;
      return strips.covers(x, y) ? inside : outside;
    },
  };
}

const none = new Float64Array(0);

function samePlace(ax: number, ay: number, bx: number, by: number): boolean {
  return Math.abs(ax - bx) <= sameM && Math.abs(ay - by) <= sameM && Math.hypot(ax - bx, ay - by) <= sameM;
}

/** Ends of lines that an odd number of lines have: where two lines meet end to end there is no boundary. */
function boundaryEnds(lines: readonly Float64Array[]): Float64Array {
  const ends: { x: number; y: number; count: number }[] = [];
  for (const line of lines) {
    for (const i of [0, line.length - 2]) {
      const known = ends.find(({ x, y }) => samePlace(x, y, line[i], line[i + 1]));
      if (known) known.count++;
      else ends.push({ x: line[i], y: line[i + 1], count: 1 });
    }
  }
  return Float64Array.from(ends.filter(({ count }) => count % 2 === 1).flatMap(({ x, y }) => [x, y]));
}

/** Edges of lines and rings as ax, ay, bx, by. */
export function edgesOf({ dimension, parts }: PlaneShape): Float64Array {
  const edges: number[] = [];
  for (const part of parts) {
    const closed = dimension === 2;
    for (let i = closed ? 0 : 2; i < part.length; i += 2) {
      const j = i === 0 ? part.length - 2 : i - 2;
      if (part[i] !== part[j] || part[i + 1] !== part[j + 1]) edges.push(part[j], part[j + 1], part[i], part[i + 1]);
    }
  }
  return Float64Array.from(edges);
}

/** The edges of a shape in strips from south to north, so that a place asks only those beside it. */
function edgeStrips(shape: PlaneShape) {
  const edges = edgesOf(shape);
  const [, south, , north] = shape.box;
  const count = Math.max(1, Math.min(256, edges.length >> 3));
  const height = (north - south) / count || 1;
  const stripOf = (y: number) => Math.max(0, Math.min(count - 1, Math.floor((y - south) / height)));
  const lists: number[][] = Array.from({ length: count }, () => []);
  for (let i = 0; i < edges.length; i += 4) {
    const low = Math.min(edges[i + 1], edges[i + 3]) - sameM;
    const high = Math.max(edges[i + 1], edges[i + 3]) + sameM;
    for (let s = stripOf(low); s <= stripOf(high); s++) lists[s].push(...edges.subarray(i, i + 4));
  }
  const strips = lists.map((list) => Float64Array.from(list));
  return {
    /** whether the place lies on an edge */
    touch(x: number, y: number): boolean {
      const strip = strips[stripOf(y)];
      for (let i = 0; i < strip.length; i += 4) {
        if (nearEdge(strip, i, x, y)) return true;
      }
      return false;
    },
    /** whether a line from the place to the east meets the edges an odd number of times */
    covers(x: number, y: number): boolean {
      const strip = strips[stripOf(y)];
      let odd = false;
      for (let i = 0; i < strip.length; i += 4) {
        const ay = strip[i + 1];
        const by = strip[i + 3];
        if (ay > y === by > y) continue;
        if (x < ((strip[i + 2] - strip[i]) * (y - ay)) / (by - ay) + strip[i]) odd = !odd;
      }
      return odd;
    },
  };
}

function nearEdge(edges: Float64Array, i: number, x: number, y: number): boolean {
  const ax = edges[i];
  const ay = edges[i + 1];
  const bx = edges[i + 2];
  const by = edges[i + 3];
  if (ay < by ? y < ay - sameM || y > by + sameM : y < by - sameM || y > ay + sameM) return false;
  if (ax < bx ? x < ax - sameM || x > bx + sameM : x < bx - sameM || x > ax + sameM) return false;
  const ux = bx - ax;
  const uy = by - ay;
  const length2 = ux * ux + uy * uy;
  const t = Math.max(0, Math.min(1, ((x - ax) * ux + (y - ay) * uy) / length2));
  const dx = x - ax - t * ux;
  const dy = y - ay - t * uy;
  return dx * dx + dy * dy <= sameM * sameM;
}
