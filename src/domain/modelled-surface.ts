import { type SurfaceNodes, surfaceNodes } from '../math/level-nodes.js';
import { bilinearGround, levelledGround } from '../math/levelled-ground.js';
import {
  type Contour,
  contourLevels,
  contoursOf,
  type GridRequest,
  surfaceGrid,
  usualInterval,
} from '../math/surface-grid.js';
import { Problem } from '../problems.js';
import type { Raster } from './raster.js';
import type { LevelReadings } from './sample.js';

/** The surfaces every site with levels publishes. */
export const publishedSurfaces = ['deposit_top', 'deposit_bottom', 'thickness'] as const;
export type PublishedSurface = (typeof publishedSurfaces)[number];

export const surfaceTitles: Readonly<Record<PublishedSurface, string>> = {
  deposit_top: 'Top of the deposit',
  deposit_bottom: 'Bottom of the deposit',
  thickness: 'Thickness of the deposit',
};

/** A surface between the nodes of some seasons, with its lines. */
export interface ModelledSurface {
  readonly surface: PublishedSurface;
  readonly nodes: SurfaceNodes;
  /** values and their random standard deviation, cells along the map's axes */
  readonly raster: Raster;
  readonly cellM: number;
  /** ground that has a value */
  readonly areaM2: number;
  readonly contours: readonly Contour[];
  readonly intervalM: number;
}

/** Which readings make surfaces, and where they lie. */
export interface SurfaceGround {
  /** of the seasons chosen */
  readonly levels: LevelReadings | null;
  /** all seasons of the site, oldest first */
  readonly seasons: readonly string[];
  readonly nodeSpacingM: number;
  readonly mapAzimuthDeg: number;
  readonly datumName: string;
}

/**
 * One surface as published: bilinear between the four nodes of each square, the newest season at every node, no value
 * in squares that lack a node. The same as the process deposit-surface gives without further inputs.
 *
 * @returns null when no square has its nodes
 */
export function modelledSurface(surface: PublishedSurface, ground: SurfaceGround): ModelledSurface | null {
  const nodes = nodesOrNull(ground.levels, { surface, seasons: ground.seasons });
  if (nodes === null) return null;
  const squares = levelledGround(nodes, ground.nodeSpacingM);
  if (squares.squaresFour === 0) return null;
  const read = bilinearGround(nodes, squares, 'none');
  const request: GridRequest = {
    nodes,
    ground: squares,
    window: { rings: [] },
    azimuthDeg: ground.mapAzimuthDeg,
    mask: 'three_nodes',
    cellM: null,
  };
  const grid = surfaceGrid(read, request, () => {});
  const intervalM = usualInterval(grid.values);
  const { frame } = grid;
  return {
    surface,
    nodes,
    cellM: frame.cellM,
    areaM2: grid.cells * frame.cellM ** 2,
    intervalM,
    contours: contoursOf(read, grid, request, contourLevels(grid.values, intervalM)),
    raster: {
      title:
        surface === 'thickness'
          ? `${surfaceTitles.thickness}, m`
          : `${surfaceTitles[surface]}, elevation in ${ground.datumName}, m`,
      unit: 'm',
      columns: frame.columns,
      rows: frame.rows,
      corner: frame.corner,
      columnStep: frame.columnStep,
      rowStep: frame.rowStep,
      space: 'site-grid',
      values: Float32Array.from(grid.values),
      sigma: Float32Array.from(grid.sigma),
    },
  };
}

/** The nodes of a surface or of the thickness, the newest season at each; null when nothing was levelled of it. */
export function nodesOrNull(
  levels: LevelReadings | null,
  of: { readonly surface: string; readonly seasons: readonly string[] },
): SurfaceNodes | null {
  try {
    return surfaceNodes(levels, { ...of, nodeValue: 'newest' });
  } catch (error) {
    if (error instanceof Problem && error.code === 'cannot-answer') return null;
    throw error;
  }
}
