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
  const { z, corners } = plain;
  const out: Isoline[] = [];
  const links = levels.map(() => new Map<number, number>());
  for (let k = 0; k < corners.length; k += 4) {
    const last = corners[k + 3] === noCorner ? k + 2 : k + 3;
    let low = Infinity;
    let high = -Infinity;
    for (let i = k; i <= last; i++) {
      const value = z[corners[i]];
      if (value < low) low = value;
      if (value > high) high = value;
    }
    for (let l = 0; l < levels.length; l++) {
      if (low < levels[l] && high >= levels[l]) linkAcross(plain, { first: k, last }, levels[l], links[l]);
    }
  }
  levels.forEach((level, k) => {
    for (const keys of chained(links[k])) {
      const points = straightened(keys.map((key) => crossing(plain, key, level)));
      if (points.length >= 4) out.push({ level, points });
    }
  });
  return out;
}

/** Where the corners of one cell stand in a mesh's list of corners. */
interface CellSpan {
  readonly first: number;
  readonly last: number;
}

/** The piece of a line that runs across one cell, from side to side. */
function linkAcross(mesh: CellMesh, { first, last }: CellSpan, level: number, next: Map<number, number>): void {
  const { z, corners } = mesh;
  let from = -1;
  let to = -1;
  for (let i = first; i <= last; i++) {
    const a = corners[i];
    const b = corners[i === last ? first : i + 1];
    const isAbove = z[a] >= level;
    if (isAbove === z[b] >= level) continue;
    // walking anticlockwise a line enters where the ground falls and leaves where it rises
    if (isAbove) from = sideKey(mesh, a, b);
    else to = sideKey(mesh, a, b);
  }
  if (from >= 0) next.set(from, to);
}

/** The ground between neighbouring levels, cell by cell, joined; ground below the first level is left out. */
export function isobands(mesh: CellMesh, levels: readonly number[]): Isoband[] {
  const plain = withoutSaddles(mesh);
  return levels.map((level, k) => ({ level, rings: outlineOf(plain, level, levels[k + 1] ?? Infinity) }));
}

/** Whether the high corners of a four-cornered cell face each other. */
function isSaddle({ z, corners }: CellMesh, k: number): boolean {
  if (corners[k + 3] === noCorner) return false;
  const a = z[corners[k]];
  const b = z[corners[k + 1]];
  const c = z[corners[k + 2]];
  const d = z[corners[k + 3]];
  return Math.min(a, c) > Math.max(b, d) || Math.max(a, c) < Math.min(b, d);
}

/** Saddles are cut into four triangles about their middle; the other cells stay as they are. */
function withoutSaddles(mesh: CellMesh): CellMesh {
  const { corners } = mesh;
  let saddles = 0;
  for (let k = 0; k < corners.length; k += 4) if (isSaddle(mesh, k)) saddles++;
  if (saddles === 0) return mesh;
  const n = mesh.x.length;
  const grown = (values: Float64Array) => {
    const out = new Float64Array(n + saddles);
    out.set(values);
    return out;
  };
  const x = grown(mesh.x);
  const y = grown(mesh.y);
  const z = grown(mesh.z);
  const cut = new Uint32Array(corners.length + 12 * saddles);
  let middle = n;
  let end = 0;
  for (let k = 0; k < corners.length; k += 4) {
    const own = corners.subarray(k, k + 4);
    if (!isSaddle(mesh, k)) {
      cut.set(own, end);
      end += 4;
      continue;
    }
    const [a, b, c, d] = own;
    x[middle] = (x[a] + x[b] + x[c] + x[d]) / 4;
    y[middle] = (y[a] + y[b] + y[c] + y[d]) / 4;
    z[middle] = (z[a] + z[b] + z[c] + z[d]) / 4;
    cut.set([a, b, middle, noCorner, b, c, middle, noCorner, c, d, middle, noCorner, d, a, middle, noCorner], end);
    middle++;
    end += 16;
  }
  return { x, y, z, corners: cut };
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

/** Room for the ids of one band's points: two of them make one number of 52 bits. */
const mostPoints = 2 ** 26;

/** Outline of the ground with level ≤ value < upper: cells are clipped, and sides that two of them share cancel. */
function outlineOf(mesh: CellMesh, level: number, upper: number): Float64Array[] {
  const { z, corners } = mesh;
  const points = bandPoints(mesh, level, upper);
  const sides = new Set<number>();
  // a three- or four-sided cell clipped twice has eight corners at most
  const ring = new Uint32Array(8);
  for (let k = 0; k < corners.length; k += 4) {
    const last = corners[k + 3] === noCorner ? k + 2 : k + 3;
    let end = 0;
    for (let i = k; i <= last; i++) {
      const a = corners[i];
      const b = corners[i === last ? k : i + 1];
      if (z[a] >= level && z[a] < upper) ring[end++] = points.corner(a);
      const isRising = z[a] < z[b];
      for (const atUpper of isRising ? risingLimits : fallingLimits) {
        const at = atUpper ? upper : level;
        if (Number.isFinite(at) && z[a] >= at !== z[b] >= at) ring[end++] = points.crossing(a, b, atUpper);
      }
    }
    for (let i = 0; i < end; i++) {
      const from = ring[i];
      const to = ring[i + 1 === end ? 0 : i + 1];
      if (from === to) continue;
      // two cells side by side walk their common side in opposite ways: it is no outline
      if (!sides.delete(to * mostPoints + from)) sides.add(from * mostPoints + to);
    }
  }
  return ringsOf(sides, points);
}

const risingLimits: readonly boolean[] = [false, true];
const fallingLimits: readonly boolean[] = [true, false];

/** Corners and crossings of one band, each with one number from 0, so that neighbouring cells name them alike. */
interface BandPoints {
  readonly x: readonly number[];
  readonly y: readonly number[];
  corner(a: number): number;
  crossing(a: number, b: number, atUpper: boolean): number;
}

function bandPoints(mesh: CellMesh, level: number, upper: number): BandPoints {
  const n = mesh.x.length;
  const x: number[] = [];
  const y: number[] = [];
  const numbers = new Map<number, number>();
  return {
    x,
    y,
    corner(a) {
      const found = numbers.get(a);
      if (found !== undefined) return found;
      numbers.set(a, x.length);
      y.push(mesh.y[a]);
      return x.push(mesh.x[a]) - 1;
    },
    crossing(a, b, atUpper) {
      const side = sideKey(mesh, a, b);
      const key = n + 2 * side + Number(atUpper);
      const found = numbers.get(key);
      if (found !== undefined) return found;
      numbers.set(key, x.length);
      const [px, py] = crossing(mesh, side, atUpper ? upper : level);
      y.push(py);
      return x.push(px) - 1;
    },
  };
}

/** Directed sides as rings. Where several meet in one corner any way round gives the same ground. */
function ringsOf(sides: ReadonlySet<number>, { x, y }: BandPoints): Float64Array[] {
  const from = new Uint32Array(sides.size);
  const to = new Uint32Array(sides.size);
  // sides that leave a point, the last first: −1 = no more
  const leaving = new Int32Array(x.length).fill(-1);
  const before = new Int32Array(sides.size);
  let side = 0;
  for (const key of sides) {
    from[side] = Math.floor(key / mostPoints);
    to[side] = key % mostPoints;
    before[side] = leaving[from[side]];
    leaving[from[side]] = side++;
  }
  const rings: Float64Array[] = [];
  for (const start of from) {
    const ring: [number, number][] = [];
    for (let at = start; leaving[at] >= 0; ) {
      const taken = leaving[at];
      leaving[at] = before[taken];
      ring.push([x[at], y[at]]);
      at = to[taken];
    }
    if (ring.length < 3) continue;
    const closed = straightened([...ring, ring[0]]);
    if (closed.length >= 8) rings.push(closed.slice(0, -2));
  }
  return rings;
}
