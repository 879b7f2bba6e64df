import type { CellFrame } from './cell-frame.js';
import { type CellMesh, cellsParted, meshOfLattices } from './cell-mesh.js';
import { cornerCount, findLattices, latticeOfGrid, type NodeLattice, squaresWith } from './lattice.js';
import { bilinearSurface, type CornerRule, inGoodSquare, type SurfaceValues } from './lattice-surface.js';
import type { SurfaceNodes } from './level-nodes.js';
import { triangleMesh } from './triangle-mesh.js';
import { meshContains } from './triangle-surface.js';

/** The grids the nodes lie on, and where the ground counts as levelled. */
export interface LevelledGround {
  readonly lattices: readonly NodeLattice[];
  readonly besideGrid: number;
  readonly squaresFour: number;
  readonly squaresThree: number;
  readonly missingNodes: number;
  /** in a square with three nodes at least; without a grid within the outline of the levels */
  isLevelled(x: number, y: number): boolean;
}

/** A surface that can be read at places and drawn. */
export interface ReadableSurface {
  read(xy: Float64Array, progress?: (share: number) => void): SurfaceValues;
  /** cells to draw lines and bands from, given the values on a raster where the method has no cells of its own */
  mesh(frame: CellFrame, values: Float64Array): CellMesh;
  /** multiplications one place costs, about */
  readonly workPerPlace: number;
}

/**
 * Finds the grids that nodes lie on: the site's own, and any other from the nodes themselves (a re-laid grid, a plain
 * file).
 * @param stepM  node spacing of the site's grid, null on plain files
 */
export function levelledGround(nodes: SurfaceNodes, stepM: number | null): LevelledGround {
  const all = Array.from(nodes.x, (_, i) => i);
  const own = stepM === null ? { lattice: null, beside: all } : latticeOfGrid(nodes, stepM);
  const more = findLattices(nodes, own.beside);
  const lattices = [...(own.lattice === null ? [] : [own.lattice]), ...more.lattices];
  const count = (corners: number) => lattices.reduce((sum, lattice) => sum + squaresWith(lattice, corners), 0);
  const hasSquares = count(3) > 0;
  const mesh = hasSquares ? null : triangleMesh(nodes.x, nodes.y);
  const inOutline = mesh === null ? null : meshContains(mesh, nodes);
  return {
    lattices,
    besideGrid: lattices.length === 0 ? nodes.x.length : more.beside.length,
    squaresFour: count(4),
    squaresThree: count(3) - count(4),
    missingNodes: lattices.reduce((sum, lattice) => sum + missingNodes(lattice), 0),
    isLevelled: inOutline ?? ((x, y) => inGoodSquare(lattices, x, y)),
  };
}

function missingNodes(lattice: NodeLattice): number {
  let count = 0;
  for (let r = 0; r < lattice.rows; r++) {
    for (let c = 0; c < lattice.columns; c++) {
      if (lattice.node[r * lattice.columns + c] >= 0) continue;
      const around = [
        [c - 1, r - 1],
        [c, r - 1],
        [c - 1, r],
        [c, r],
      ];
      if (around.some(([dc, dr]) => cornerCount(lattice, dc, dr) === 3)) count++;
    }
  }
  return count;
}

/** The squares of levelled ground, bilinear between their nodes. */
export function bilinearGround(
  nodes: SurfaceNodes,
  { lattices }: LevelledGround,
  missingCorner: CornerRule,
): ReadableSurface {
  const read = bilinearSurface(lattices, nodes, missingCorner);
  return { read, mesh: () => meshOfLattices(lattices, { read, missingCorner, parts: 4 }), workPerPlace: 50 };
}

/** A mesh in two: the ground that was levelled, and what lies beyond it. */
export function partsOfMesh(mesh: CellMesh, ground: LevelledGround): { levelled: CellMesh; beyond: CellMesh } {
  const { kept, others } = cellsParted(mesh, ground.isLevelled);
  return { levelled: kept, beyond: others };
}
