import { type CellFrame, framePlace } from './cell-frame.js';
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
  const { x, y, corners } = mesh;
  const kept: number[] = [];
  for (let k = 0; k < corners.length; k += 4) {
    const own = Array.from(corners.subarray(k, k + 4));
    const real = own.filter((i) => i !== noCorner);
    const middle = (values: Float64Array) => real.reduce((sum, i) => sum + values[i], 0) / real.length;
    if (isKept(middle(x), middle(y))) kept.push(...own);
  }
  return { ...mesh, corners: Uint32Array.from(kept) };
}

/** Cells between the centres of a raster's cells, those with all four values. */
export function meshOfFrame(frame: CellFrame, values: Float64Array): CellMesh {
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
  const inEarlier = (lattice: NodeLattice) => {
    const earlier = lattices.slice(0, lattices.indexOf(lattice));
    return (x: number, y: number) => earlier.some((other) => coversPlace(other, needed, [x, y]));
  };
  for (const lattice of lattices) {
    const isTaken = inEarlier(lattice);
    const vertices = new Map<number, number>();
    const width = (lattice.columns - 1) * parts + 1;
    const vertex = (c: number, r: number): number => {
      const key = r * width + c;
      let found = vertices.get(key);
      if (found === undefined) {
        found = xy.length / 2;
        vertices.set(key, found);
        xy.push(...latticePoint(lattice, c / parts, r / parts));
      }
      return found;
    };
    for (let r = 0; r + 1 < lattice.rows; r++) {
      for (let c = 0; c + 1 < lattice.columns; c++) {
        if (cornerCount(lattice, c, r) < needed) continue;
        for (let dr = 0; dr < parts; dr++) {
          for (let dc = 0; dc < parts; dc++) {
            const [u, v] = [c * parts + dc, r * parts + dr];
            const [mx, my] = latticePoint(lattice, (u + 0.5) / parts, (v + 0.5) / parts);
            if (isTaken(mx, my)) continue;
            corners.push(vertex(u, v), vertex(u + 1, v), vertex(u + 1, v + 1), vertex(u, v + 1));
          }
        }
      }
    }
  }
  const { value } = read(Float64Array.from(xy));
  const known: number[] = [];
  for (let k = 0; k < corners.length; k += 4) {
    const own = corners.slice(k, k + 4).filter((i) => !Number.isNaN(value[i]));
    // half a cell along the diagonal where a square has three nodes only
    if (own.length === 4) known.push(...own);
    else if (own.length === 3) known.push(...own, noCorner);
  }
  return {
    x: Float64Array.from({ length: xy.length / 2 }, (_, i) => xy[2 * i]),
    y: Float64Array.from({ length: xy.length / 2 }, (_, i) => xy[2 * i + 1]),
    z: value,
    corners: Uint32Array.from(known),
  };
}

function coversPlace(lattice: NodeLattice, corners: number, [x, y]: readonly [number, number]): boolean {
  const [column, row] = latticePlace(lattice, x, y);
  return cornerCount(lattice, Math.floor(column), Math.floor(row)) >= corners;
}
