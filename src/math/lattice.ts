import { nearestDistances } from './nearest.js';

/**
 * Nodes that lie on a square lattice. Node column c, row r has its place at origin + c·along + r·across; `node` holds
 * its number, −1 where nothing was levelled.
 */
export interface NodeLattice {
  readonly origin: readonly [number, number];
  /** one step along the columns, metres; `across` is the same turned a quarter anticlockwise */
  readonly along: readonly [number, number];
  readonly stepM: number;
  /** nodes, not squares */
  readonly columns: number;
  readonly rows: number;
  /** [rows × columns] number of the node */
  readonly node: Int32Array;
}

interface Places {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/** share of a step by which a node may lie beside its lattice: a millimetre on a one-metre grid */
const besideShare = 1.5e-3;

/** A place counted in steps of the lattice: column and row, with fractions. */
export function latticePlace(lattice: NodeLattice, x: number, y: number): [number, number] {
  const { origin, along, stepM } = lattice;
  const dx = (x - origin[0]) / (stepM * stepM);
  const dy = (y - origin[1]) / (stepM * stepM);
  return [dx * along[0] + dy * along[1], dy * along[0] - dx * along[1]];
}

/** Column and row, with fractions → metres. */
export function latticePoint(lattice: NodeLattice, column: number, row: number): [number, number] {
  const { origin, along } = lattice;
  return [origin[0] + column * along[0] - row * along[1], origin[1] + column * along[1] + row * along[0]];
}

/** The nodes that lie on the site's own grid, and the numbers of those that do not; null when fewer than 3 lie on it. */
export function latticeOfGrid(
  places: Places,
  stepM: number,
): { readonly lattice: NodeLattice | null; readonly beside: readonly number[] } {
  const all = Array.from(places.x, (_, i) => i);
  return collect(places, all, { origin: [0, 0], along: [stepM, 0] });
}

/**
 * Lattices among the places, found from the places alone: the usual nearest distance is the step, the direction to
 * nearest neighbours the azimuth; both are then fitted to all nodes. A re-laid grid comes out as a second lattice.
 *
 * @param numbers  which places to look at
 */
export function findLattices(
  places: Places,
  numbers: readonly number[],
): { readonly lattices: readonly NodeLattice[]; readonly beside: readonly number[] } {
  const lattices: NodeLattice[] = [];
  let beside = numbers;
  // a site re-lays its grid once or twice, never nine times
  for (let k = 0; k < 8 && beside.length >= 4; k++) {
    const found = findOne(places, beside);
    if (found === null) break;
    lattices.push(found.lattice);
    beside = found.beside;
  }
  return { lattices, beside };
}

/** Squares of a lattice that have at least so many of their four nodes. */
export function squaresWith(lattice: NodeLattice, corners: number): number {
  let count = 0;
  for (let r = 0; r + 1 < lattice.rows; r++) {
    for (let c = 0; c + 1 < lattice.columns; c++) if (cornerCount(lattice, c, r) >= corners) count++;
  }
  return count;
}

/** How many of the four nodes of a square are there; 0 outside the lattice. */
export function cornerCount(lattice: NodeLattice, column: number, row: number): number {
  const { columns, rows, node } = lattice;
  if (column < 0 || row < 0 || column + 1 >= columns || row + 1 >= rows) return 0;
  const at = row * columns + column;
  return (
    Number(node[at] >= 0) +
    Number(node[at + 1] >= 0) +
    Number(node[at + columns] >= 0) +
    Number(node[at + columns + 1] >= 0)
  );
}

interface Frame {
  readonly origin: readonly [number, number];
  readonly along: readonly [number, number];
}

function findOne(
  places: Places,
  numbers: readonly number[],
): { lattice: NodeLattice; beside: readonly number[] } | null {
  const xy = new Float64Array(2 * numbers.length);
  numbers.forEach((i, k) => {
    xy[2 * k] = places.x[i] - places.x[numbers[0]];
    xy[2 * k + 1] = places.y[i] - places.y[numbers[0]];
  });
  const sorted = nearestDistances(xy).sort();
  const step = sorted[sorted.length >> 1];
  if (!(step > 0)) return null;
  const along = directionOf(xy, step);
  if (along === null) return null;
  let frame: Frame = { origin: [places.x[numbers[0]], places.y[numbers[0]]], along };
  // with a first azimuth the far nodes may be half a step off: take in the near ones first
  for (const reach of [6, 24, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY]) {
    frame = refit(places, numbers, { frame, reach }) ?? frame;
  }
  const { lattice, beside } = collect(places, numbers, frame);
  if (lattice === null || squaresWith(lattice, 3) === 0 || lattice.columns * lattice.rows > 4_000_000) return null;
  // scattered readings may chance to lie on a lattice of a few of them
  return numbers.length - beside.length >= Math.max(3, 0.5 * numbers.length) ? { lattice, beside } : null;
}

/** One step along the lattice, from the mean direction to neighbours at one step, folded to a quarter turn. */
function directionOf(xy: Float64Array, step: number): [number, number] | null {
  const cells = new Map<string, number[]>();
  const cell = (v: number) => Math.floor(v / step);
  for (let i = 0; i < xy.length; i += 2) {
    const key = `${cell(xy[i])} ${cell(xy[i + 1])}`;
    const list = cells.get(key);
    if (list) list.push(i);
    else cells.set(key, [i]);
  }
  let cos = 0;
  let sin = 0;
  for (let i = 0; i < xy.length; i += 2) {
    for (let dx = -1; dx <= 1; dx++) {
      for (let dy = -1; dy <= 1; dy++) {
        for (const j of cells.get(`${cell(xy[i]) + dx} ${cell(xy[i + 1]) + dy}`) ?? []) {
          const ax = xy[j] - xy[i];
          const ay = xy[j + 1] - xy[i + 1];
          if (j === i || Math.abs(Math.hypot(ax, ay) - step) > 0.02 * step) continue;
          const angle = 4 * Math.atan2(ay, ax);
          cos += Math.cos(angle);
          sin += Math.sin(angle);
        }
      }
    }
  }
  if (cos === 0 && sin === 0) return null;
  const angle = Math.atan2(sin, cos) / 4;
  return [step * Math.cos(angle), step * Math.sin(angle)];
}

/** Least-squares shift, turn and step from the nodes that lie near their lattice place. */
function refit(
  places: Places,
  numbers: readonly number[],
  { frame, reach }: { readonly frame: Frame; readonly reach: number },
): Frame | null {
  const like = latticeLike(frame);
  const used: [number, number, number, number][] = [];
  for (const i of numbers) {
    const [u, v] = latticePlace(like, places.x[i], places.y[i]);
    const c = Math.round(u);
    const r = Math.round(v);
    if (Math.abs(c) > reach || Math.abs(r) > reach || Math.hypot(u - c, v - r) > 0.1) continue;
    used.push([c, r, places.x[i] - frame.origin[0], places.y[i] - frame.origin[1]]);
  }
  if (used.length < 3) return null;
  const mean = (k: number) => used.reduce((sum, row) => sum + row[k], 0) / used.length;
  const [mc, mr, mx, my] = [mean(0), mean(1), mean(2), mean(3)];
  let a = 0;
  let b = 0;
  let size = 0;
  for (const [c, r, x, y] of used) {
    a += (c - mc) * (x - mx) + (r - mr) * (y - my);
    b += (c - mc) * (y - my) - (r - mr) * (x - mx);
    size += (c - mc) ** 2 + (r - mr) ** 2;
  }
  if (!(size > 0)) return null;
  const along: [number, number] = [a / size, b / size];
  return {
    origin: [
      frame.origin[0] + mx - mc * along[0] + mr * along[1],
      frame.origin[1] + my - mc * along[1] - mr * along[0],
    ],
    along,
  };
}

function latticeLike(frame: Frame): NodeLattice {
  const stepM = Math.hypot(frame.along[0], frame.along[1]);
  return { ...frame, stepM, columns: 0, rows: 0, node: new Int32Array(0) };
}

/** Puts the places that fit into a lattice just large enough for them. */
function collect(
  places: Places,
  numbers: readonly number[],
  frame: Frame,
): { lattice: NodeLattice | null; beside: readonly number[] } {
  const like = latticeLike(frame);
  const on: [number, number, number][] = [];
  const beside: number[] = [];
  for (const i of numbers) {
    const [u, v] = latticePlace(like, places.x[i], places.y[i]);
    const c = Math.round(u);
    const r = Math.round(v);
    if (Math.hypot(u - c, v - r) <= besideShare) on.push([i, c, r]);
    else beside.push(i);
  }
  if (on.length < 3) return { lattice: null, beside: numbers };
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const [, c, r] of on) {
    west = Math.min(west, c);
    east = Math.max(east, c);
    south = Math.min(south, r);
    north = Math.max(north, r);
  }
  const columns = east - west + 1;
  const rows = north - south + 1;
  if (columns * rows > 4_000_000) return { lattice: null, beside: numbers };
  const node = new Int32Array(columns * rows).fill(-1);
  for (const [i, c, r] of on) node[(r - south) * columns + c - west] = i;
  return { lattice: { ...like, origin: latticePoint(like, west, south), columns, rows, node }, beside };
}
