import { type ConvexPolygon, clipConvex, convexArea } from './convex-polygons.js';
import { findLattices, latticeOfGrid, type NodeLattice } from './lattice.js';

/** Nodes with cells between them: node (c, r) lies at origin + c·columnStep + r·rowStep, the steps square to each other. */
export interface CellLattice {
  readonly origin: readonly [number, number];
  readonly columnStep: readonly [number, number];
  /** to the left of columnStep */
  readonly rowStep: readonly [number, number];
  /** nodes, not cells */
  readonly columns: number;
  readonly rows: number;
  /** [rows × columns] number of the place that is this node; −1 = none */
  readonly node: Int32Array;
}

interface Places {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/**
 * The lattices some places lie on. With the node spacing of a site grid its own nodes come first, then re-laid grids;
 * without it the steps are read from the places, and may differ along and across when the grid lies along the axes.
 *
 * Where whole lines of nodes are missing everywhere, the step comes out as a multiple of the true one.
 *
 * @param spacingM  node spacing of the site grid; null = read it from the places
 * @returns  lattices, and how many places lie on none of them
 */
export function cellLattices(
  places: Places,
  spacingM: number | null,
): { readonly lattices: readonly CellLattice[]; readonly beside: number } {
  if (spacingM !== null) {
    const own = latticeOfGrid(places, spacingM);
    const more = findLattices(places, own.beside);
    const lattices = own.lattice ? [own.lattice, ...more.lattices] : more.lattices;
    return { lattices: lattices.map(squareCells), beside: more.beside.length };
  }
  const found = findLattices(
    places,
    Array.from(places.x, (_, i) => i),
  );
  if (found.lattices.length > 0) return { lattices: found.lattices.map(squareCells), beside: found.beside.length };
  const oblong = oblongCells(places);
  return oblong ? { lattices: [oblong], beside: 0 } : { lattices: [], beside: places.x.length };
}

function squareCells({ origin, along, columns, rows, node }: NodeLattice): CellLattice {
  return { origin, columnStep: along, rowStep: [-along[1], along[0]], columns, rows, node };
}

/** A lattice along the axes with different steps; null unless every place lies on it. */
function oblongCells({ x, y }: Places): CellLattice | null {
  const across = linesOf(x);
  const up = linesOf(y);
  if (!across || !up || across.count * up.count > 4_000_000) return null;
  const node = new Int32Array(across.count * up.count).fill(-1);
  for (let i = 0; i < x.length; i++) {
    const c = across.line(x[i]);
    const r = up.line(y[i]);
    if (c === null || r === null) return null;
    node[r * across.count + c] = i;
  }
  return {
    origin: [across.first, up.first],
    columnStep: [across.step, 0],
    rowStep: [0, up.step],
    columns: across.count,
    rows: up.count,
    node,
  };
}

/** Equal lines through some coordinates: the first, their smallest distance, and which line a coordinate lies on. */
function linesOf(values: Float64Array) {
  const sorted = values.slice().sort();
  const first = sorted[0];
  const extent = sorted[sorted.length - 1] - first;
  let step = Infinity;
  for (let i = 1; i < sorted.length; i++) {
    const gap = sorted[i] - sorted[i - 1];
    if (gap > 1e-5 * extent) step = Math.min(step, gap);
  }
  if (!(step < Infinity)) return null;
  const line = (v: number) => {
    const k = Math.round((v - first) / step);
    return Math.abs((v - first) / step - k) < 1.5e-3 ? k : null;
  };
  return { first, step, count: Math.round(extent / step) + 1, line };
}

/** A place counted in steps of a lattice. */
export function cellSteps({ origin, columnStep: c, rowStep: r }: CellLattice, x: number, y: number): [number, number] {
  const dx = x - origin[0];
  const dy = y - origin[1];
  return [(dx * c[0] + dy * c[1]) / (c[0] * c[0] + c[1] * c[1]), (dx * r[0] + dy * r[1]) / (r[0] * r[0] + r[1] * r[1])];
}

/** Steps → metres. */
export function cellPlace({ origin, columnStep: c, rowStep: r }: CellLattice, u: number, v: number): [number, number] {
  return [origin[0] + u * c[0] + v * r[0], origin[1] + u * c[1] + v * r[1]];
}

/** Area of one cell, m². */
export function cellAreaM2({ columnStep: c, rowStep: r }: CellLattice): number {
  return c[0] * r[1] - c[1] * r[0];
}

/** Numbers of the four places at a cell's corners: south-west, south-east, north-west, north-east; −1 = none. */
export function cellCorners(
  { columns, node }: CellLattice,
  column: number,
  row: number,
): [number, number, number, number] {
  const at = row * columns + column;
  return [node[at], node[at + 1], node[at + columns], node[at + columns + 1]];
}

/** The part of one cell that belongs to some ground. */
export interface CellPart {
  readonly column: number;
  readonly row: number;
  /** share of the cell, 0 to 1 */
  readonly share: number;
  /** convex parts in cell units, 0 to 1 each way; null = the whole cell */
  readonly polygons: readonly ConvexPolygon[] | null;
}

/** below this share of a cell a part is rounding */
const leastShare = 1e-11;
/** a corner nearer to a line of nodes than this lies on it, steps */
const onLineSteps = 1e-9;

/** Every cell of a lattice, whole. */
export function wholeCells({ columns, rows }: CellLattice): CellPart[] {
  const parts: CellPart[] = [];
  for (let row = 0; row + 1 < rows; row++) {
    for (let column = 0; column + 1 < columns; column++) parts.push({ column, row, share: 1, polygons: null });
  }
  return parts;
}

/**
 * Which part of each cell some ground covers, cut exactly.
 *
 * @param pieces   convex pieces of the ground that do not overlap, metres
 * @param beyond   area of ground beyond the outermost nodes goes to this counter, m²
 */
export function cellParts(
  lattice: CellLattice,
  pieces: readonly ConvexPolygon[],
  beyond: { areaM2: number } = { areaM2: 0 },
): CellPart[] {
  const found = new Map<number, { share: number; polygons: number[][] }>();
  const inner = { columns: lattice.columns - 1, rows: lattice.rows - 1 };
  for (const piece of pieces) {
    const steps = inSteps(lattice, piece);
    let outside = convexArea(steps);
    for (const { column, row, polygon, area } of cutByLines(steps)) {
      if (column < 0 || row < 0 || column >= inner.columns || row >= inner.rows) continue;
      outside -= area;
      const key = row * inner.columns + column;
      const part = found.get(key);
      if (part) {
        part.share += area;
        part.polygons.push(polygon);
      } else found.set(key, { share: area, polygons: [polygon] });
    }
    if (outside > leastShare) beyond.areaM2 += outside * cellAreaM2(lattice);
  }
  return [...found]
    .sort(([a], [b]) => a - b)
    .map(([key, { share, polygons }]) => {
      const column = key % inner.columns;
      const row = (key - column) / inner.columns;
      const isWhole = share > 1 - 1e-9;
      return { column, row, share: isWhole ? 1 : share, polygons: isWhole ? null : polygons };
    });
}

function inSteps(lattice: CellLattice, piece: ConvexPolygon): number[] {
  const out: number[] = [];
  const snapped = (v: number) => (Math.abs(v - Math.round(v)) <= onLineSteps ? Math.round(v) : v);
  for (let i = 0; i < piece.length; i += 2) out.push(...cellSteps(lattice, piece[i], piece[i + 1]).map(snapped));
  return out;
}

/** A convex polygon in steps, cut along the lines of nodes; polygons come out in units of their own cell. */
function* cutByLines(polygon: ConvexPolygon) {
  const [west, east] = reach(polygon, 0);
  for (let column = Math.floor(west); column < east; column++) {
    const strip = between(polygon, { axis: 0, from: column });
    if (strip.length < 6) continue;
    const [south, north] = reach(strip, 1);
    for (let row = Math.floor(south); row < north; row++) {
      const cut = between(strip, { axis: 1, from: row });
      if (cut.length < 6) continue;
      const own = cut.map((v, i) => v - (i % 2 === 0 ? column : row));
      const area = convexArea(own);
      if (area > leastShare) yield { column, row, polygon: own, area };
    }
  }
}

function between(polygon: ConvexPolygon, { axis, from }: { axis: 0 | 1; from: number }): number[] {
  const [nx, ny] = axis === 0 ? [1, 0] : [0, 1];
  return clipConvex(clipConvex(polygon, { nx, ny, c: from }), { nx: -nx, ny: -ny, c: -(from + 1) });
}

function reach(polygon: ConvexPolygon, axis: 0 | 1): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (let i = axis; i < polygon.length; i += 2) {
    low = Math.min(low, polygon[i]);
    high = Math.max(high, polygon[i]);
  }
  return [low, high];
}
