import { type CellMesh, noCorner } from './cell-mesh.js';

/** A line of one level: its corners [2m], metres; the first again at the end where it closes. */
export interface Isoline {
  readonly level: number;
  readonly points: Float64Array;
}

/** The ground between two levels, as rings [2m]: outer ones anticlockwise, holes clockwise. */
export interface Isoband {
  readonly level: number;
  readonly rings: readonly Float64Array[];
}

/**
 * Lines of equal value through a mesh, by its cells: on every side of a cell the crossing is where the straight line
 * between its two corners has the level, so that lines meet the corners' values exactly and a plane gives straight
 * lines. Higher ground lies to the left of a line. Corners that have exactly the level count as above it.
 *
 * @see marching squares: Lorensen & Cline 1987, doi:10.1145/37402.37422, in two dimensions
 */
export function isolines(mesh: CellMesh, levels: readonly number[]): Isoline[] {
  const plain = withoutSaddles(mesh);
  const out: Isoline[] = [];
  for (const level of levels) {
    const next = new Map<number, number>();
    eachCell(plain, (corners) => {
      let from = -1;
      let to = -1;
      corners.forEach((a, k) => {
        const b = corners[(k + 1) % corners.length];
        const isAbove = plain.z[a] >= level;
        if (isAbove === plain.z[b] >= level) return;
        // walking anticlockwise a line enters where the ground falls and leaves where it rises
        if (isAbove) from = sideKey(plain, a, b);
        else to = sideKey(plain, a, b);
      });
      if (from >= 0) next.set(from, to);
    });
    for (const keys of chained(next)) {
      const points = straightened(keys.map((key) => crossing(plain, key, level)));
      if (points.length >= 4) out.push({ level, points });
    }
  }
  return out;
}

/** The ground between neighbouring levels, cell by cell, joined; ground below the first level is left out. */
export function isobands(mesh: CellMesh, levels: readonly number[]): Isoband[] {
  const plain = withoutSaddles(mesh);
  return levels.map((level, k) => {
    const upper = levels[k + 1] ?? Infinity;
    const sides = new Map<string, [Point, Point]>();
    eachCell(plain, (corners) => {
      const ring = clipped(plain, corners, { level, upper });
      ring.forEach((from, i) => {
        const to = ring[(i + 1) % ring.length];
        if (from.key === to.key) return;
        // two cells side by side walk their common side in opposite ways: it is no outline
        if (!sides.delete(`${to.key}>${from.key}`)) sides.set(`${from.key}>${to.key}`, [from, to]);
      });
    });
    return { level, rings: ringsOf([...sides.values()]) };
  });
}

interface Point {
  readonly key: string;
  readonly x: number;
  readonly y: number;
}

function eachCell({ corners }: CellMesh, visit: (corners: number[]) => void): void {
  for (let k = 0; k < corners.length; k += 4) {
    const own = [corners[k], corners[k + 1], corners[k + 2]];
    if (corners[k + 3] !== noCorner) own.push(corners[k + 3]);
    visit(own);
  }
}

/** Four-cornered cells whose high corners face each other are cut into four about their middle, where a saddle lies. */
function withoutSaddles(mesh: CellMesh): CellMesh {
  const middles: number[] = [];
  const corners: number[] = [];
  const n = mesh.x.length;
  eachCell(mesh, (own) => {
    const [a, b, c, d] = own.map((i) => mesh.z[i]);
    const isSaddle = own.length === 4 && (Math.min(a, c) > Math.max(b, d) || Math.max(a, c) < Math.min(b, d));
    if (!isSaddle) {
      corners.push(...own, ...(own.length === 3 ? [noCorner] : []));
      return;
    }
    const middle = n + middles.length / 3;
    const mean = (values: Float64Array) => own.reduce((sum, i) => sum + values[i], 0) / 4;
    middles.push(mean(mesh.x), mean(mesh.y), mean(mesh.z));
    own.forEach((i, k) => {
      corners.push(i, own[(k + 1) % 4], middle, noCorner);
    });
  });
  if (middles.length === 0) return mesh;
  const longer = (values: Float64Array, part: number) => {
    const out = new Float64Array(n + middles.length / 3);
    out.set(values);
    for (let k = part; k < middles.length; k += 3) out[n + (k - part) / 3] = middles[k];
    return out;
  };
  return {
    x: longer(mesh.x, 0),
    y: longer(mesh.y, 1),
    z: longer(mesh.z, 2),
    corners: Uint32Array.from(corners),
  };
}

/** One number for a side, whichever way it is walked. */
function sideKey({ x }: CellMesh, a: number, b: number): number {
  return Math.min(a, b) * x.length + Math.max(a, b);
}

function crossing({ x, y, z }: CellMesh, key: number, level: number): [number, number] {
  const a = Math.floor(key / x.length);
  const b = key % x.length;
  const share = (level - z[a]) / (z[b] - z[a]);
  return [x[a] + share * (x[b] - x[a]), y[a] + share * (y[b] - y[a])];
}

/** Links from side to side as chains; closed ones end where they began. */
function chained(next: Map<number, number>): number[][] {
  const arrivals = new Set(next.values());
  const chains: number[][] = [];
  const follow = (start: number) => {
    const chain = [start];
    for (let at = next.get(start); at !== undefined; at = next.get(at)) {
      next.delete(chain[chain.length - 1]);
      chain.push(at);
      if (at === start) break;
    }
    chains.push(chain);
  };
  // open lines first, from their beginnings; what is left are rings
  for (const start of [...next.keys()]) if (!arrivals.has(start)) follow(start);
  for (const start of [...next.keys()]) if (next.has(start)) follow(start);
  return chains;
}

/** Without repeated corners and those that lie on the line between their fellows. */
function straightened(points: readonly (readonly [number, number])[]): Float64Array {
  const kept: (readonly [number, number])[] = [];
  for (const point of points) {
    const last = kept[kept.length - 1];
    if (last && Math.hypot(point[0] - last[0], point[1] - last[1]) < 1e-9) continue;
    const before = kept[kept.length - 2];
    if (before && isBetween(last, before, point)) kept.pop();
    kept.push(point);
  }
  return Float64Array.from(kept.flat());
}

function isBetween(p: readonly [number, number], a: readonly [number, number], b: readonly [number, number]): boolean {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const length = Math.hypot(dx, dy);
  const isOn = Math.abs((p[0] - a[0]) * dy - (p[1] - a[1]) * dx) < 1e-9 * length;
  return isOn && (p[0] - a[0]) * dx + (p[1] - a[1]) * dy > 0 && (p[0] - b[0]) * dx + (p[1] - b[1]) * dy < 0;
}

/** The part of a cell with level ≤ value < upper; its corners are named so that neighbours name them alike. */
function clipped(
  mesh: CellMesh,
  corners: readonly number[],
  { level, upper }: { readonly level: number; readonly upper: number },
): Point[] {
  const { x, y, z } = mesh;
  const out: Point[] = [];
  const cut = (a: number, b: number, at: number): Point => {
    const [low, high] = a < b ? [a, b] : [b, a];
    const [px, py] = crossing(mesh, low * x.length + high, at);
    return { key: `${low}/${high}/${at}`, x: px, y: py };
  };
  corners.forEach((a, k) => {
    const b = corners[(k + 1) % corners.length];
    if (z[a] >= level && z[a] < upper) out.push({ key: String(a), x: x[a], y: y[a] });
    const limits = z[a] < z[b] ? [level, upper] : [upper, level];
    for (const at of limits) {
      if (Number.isFinite(at) && z[a] >= at !== z[b] >= at) out.push(cut(a, b, at));
    }
  });
  return out;
}

/** Directed sides as rings. Where several meet in one corner any way round gives the same ground. */
function ringsOf(sides: readonly [Point, Point][]): Float64Array[] {
  const from = new Map<string, [Point, Point][]>();
  for (const side of sides) {
    const list = from.get(side[0].key);
    if (list) list.push(side);
    else from.set(side[0].key, [side]);
  }
  const rings: Float64Array[] = [];
  for (const first of sides) {
    const ring: (readonly [number, number])[] = [];
    let side = take(from, first[0].key);
    while (side) {
      ring.push([side[0].x, side[0].y]);
      side = take(from, side[1].key);
    }
    if (ring.length >= 3) {
      const closed = straightened([...ring, ring[0]]);
      if (closed.length >= 8) rings.push(closed.slice(0, -2));
    }
  }
  return rings;
}

function take(from: Map<string, [Point, Point][]>, key: string): [Point, Point] | undefined {
  const list = from.get(key);
  const side = list?.pop();
  if (list?.length === 0) from.delete(key);
  return side;
}
