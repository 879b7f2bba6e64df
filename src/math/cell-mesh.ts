import { framePlace, type PlacedCells } from './cell-frame.js';
import { cornerCount, latticePlace, latticePoint, type NodeLattice } from './lattice.js';
import type { CornerRule, SurfaceReader } from './lattice-surface.js';
import type { TriangleMesh } from './triangle-mesh.js';

/** A surface as small cells with values at their corners, from which lines and bands are drawn. */
export interface CellMesh {
  /** [v] places and values of the corners, metres */
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  /** [4 × cells] corners anticlockwise; the fourth is `noCorner` in a triangle */
  readonly corners: Uint32Array;
}

export const noCorner = 0xffff_ffff;

/** The triangles of a triangulation. */
export function meshOfTriangles(
  { corners }: TriangleMesh,
  places: { readonly x: Float64Array; readonly y: Float64Array; readonly z: Float64Array },
): CellMesh {
  const cells = new Uint32Array((corners.length / 3) * 4).fill(noCorner);
  for (let t = 0; t < corners.length / 3; t++) cells.set(corners.subarray(3 * t, 3 * t + 3), 4 * t);
  return { x: places.x, y: places.y, z: places.z, corners: cells };
}

/** The cells of a mesh whose middle is kept. */
export function cellsWhere(mesh: CellMesh, isKept: (x: number, y: number) => boolean): CellMesh {
  return cellsParted(mesh, isKept).kept;
}

/** A mesh in two: the cells whose middle is kept, and the others. */
export function cellsParted(
  mesh: CellMesh,
  isKept: (x: number, y: number) => boolean,
): { readonly kept: CellMesh; readonly others: CellMesh } {
  const { x, y, corners } = mesh;
  const kept = new Uint32Array(corners.length);
  const others = new Uint32Array(corners.length);
  let keptEnd = 0;
  let othersEnd = 0;
  for (let k = 0; k < corners.length; k += 4) {
    const a = corners[k];
    const b = corners[k + 1];
    const c = corners[k + 2];
    const d = corners[k + 3];
    const isTriangle = d === noCorner;
    const middleX = isTriangle ? (x[a] + x[b] + x[c]) / 3 : (x[a] + x[b] + x[c] + x[d]) / 4;
    const middleY = isTriangle ? (y[a] + y[b] + y[c]) / 3 : (y[a] + y[b] + y[c] + y[d]) / 4;
    if (isKept(middleX, middleY)) {
      for (let i = k; i < k + 4; i++) kept[keptEnd++] = corners[i];
    } else {
      for (let i = k; i < k + 4; i++) others[othersEnd++] = corners[i];
    }
  }
  return {
    kept: { ...mesh, corners: kept.slice(0, keptEnd) },
    others: { ...mesh, corners: others.slice(0, othersEnd) },
  };
}

/** Cells between the centres of a raster's cells, those with all four values. */
export function meshOfFrame(frame: PlacedCells, values: Float64Array): CellMesh {
  const { columns, rows } = frame;
  const x = new Float64Array(columns * rows);
  const y = new Float64Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const [px, py] = framePlace(frame, c, r);
      x[r * columns + c] = px;
      y[r * columns + c] = py;
    }
  }
  const corners: number[] = [];
  for (let r = 0; r + 1 < rows; r++) {
    for (let c = 0; c + 1 < columns; c++) {
      const at = r * columns + c;
      // row 0 is the northernmost: down, along and up again is anticlockwise
      const own = [at, at + columns, at + columns + 1, at + 1];
      if (own.every((k) => !Number.isNaN(values[k]))) corners.push(...own);
    }
  }
  return { x, y, z: values, corners: Uint32Array.from(corners) };
}

/** How lattices become a mesh. */
export interface LatticeMeshRequest {
  readonly read: SurfaceReader;
  readonly missingCorner: CornerRule;
  /** each square is cut into parts × parts cells, so that lines follow the bend of a bilinear square */
  readonly parts: number;
}

/**
 * Squares of lattices cut into cells read off the surface; nodes keep their exact values. Where lattices overlap the
 * squares of the first are drawn.
 */
export function meshOfLattices(lattices: readonly NodeLattice[], request: LatticeMeshRequest): CellMesh {
  const { read, parts } = request;
  const needed = request.missingCorner === 'none' ? 4 : 3;
  const xy: number[] = [];
  const corners: number[] = [];
  lattices.forEach((lattice, place) => {
    const earlier = lattices.slice(0, place);
    const width = (lattice.columns - 1) * parts + 1;
    const vertices = new Map<number, number>();
    const vertex = (c: number, r: number): number => {
      const key = r * width + c;
      const found = vertices.get(key);
      if (found !== undefined) return found;
      const [x, y] = latticePoint(lattice, c / parts, r / parts);
      vertices.set(key, xy.length / 2);
      return xy.push(x, y) / 2 - 1;
    };
    const cutSquare = (c: number, r: number): void => {
      for (let dr = 0; dr < parts; dr++) {
        for (let dc = 0; dc < parts; dc++) {
          const u = c * parts + dc;
          const v = r * parts + dr;
          if (earlier.length > 0) {
            const middle = latticePoint(lattice, (u + 0.5) / parts, (v + 0.5) / parts);
            if (earlier.some((other) => coversPlace(other, needed, middle))) continue;
          }
          corners.push(vertex(u, v), vertex(u + 1, v), vertex(u + 1, v + 1), vertex(u, v + 1));
        }
      }
    };
    for (let r = 0; r + 1 < lattice.rows; r++) {
      for (let c = 0; c + 1 < lattice.columns; c++) if (cornerCount(lattice, c, r) >= needed) cutSquare(c, r);
    }
  });
  const { value } = read(Float64Array.from(xy));
  return {
    x: Float64Array.from(value, (_, i) => xy[2 * i]),
    y: Float64Array.from(value, (_, i) => xy[2 * i + 1]),
    z: value,
    corners: knownCells(corners, value),
  };
}

/** Cells with a value at all corners, and the three-cornered half of those that lack one. */
function knownCells(corners: readonly number[], value: Float64Array): Uint32Array {
  const known = new Uint32Array(corners.length);
  let end = 0;
  for (let k = 0; k < corners.length; k += 4) {
    const start = end;
    for (let i = k; i < k + 4; i++) if (!Number.isNaN(value[corners[i]])) known[end++] = corners[i];
    // half a cell along the diagonal where a square has three nodes only
    if (end - start === 3) known[end++] = noCorner;
    else if (end - start < 4) end = start;
  }
  return known.slice(0, end);
}

function coversPlace(lattice: NodeLattice, corners: number, [x, y]: readonly [number, number]): boolean {
  const [column, row] = latticePlace(lattice, x, y);
  return cornerCount(lattice, Math.floor(column), Math.floor(row)) >= corners;
}
