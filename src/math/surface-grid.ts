import { Problem } from '../problems.js';
import { alongMapAxes, type CellFrame, cellFrame, framePlace } from './cell-frame.js';
import { type CellMesh, cellsWhere } from './cell-mesh.js';
import { isolines } from './isolines.js';
import type { SurfaceNodes } from './level-nodes.js';
import { type LevelledGround, partsOfMesh, type ReadableSurface } from './levelled-ground.js';
import { contains, edgeSlack, type Region, regionBox } from './rings.js';
import { niceStep } from './round-steps.js';

/** A surface on cells along the map's axes; NaN = no value. */
export interface SurfaceGrid {
  readonly frame: CellFrame;
  readonly values: Float64Array;
  readonly sigma: Float64Array;
  /** 1 = beyond the ground that was levelled, 0 = not, NaN = no value; null = nothing beyond was asked for */
  readonly beyond: Float64Array | null;
  readonly cells: number;
  readonly cellsBeyond: number;
  readonly meanM: number | null;
}

/** Where a grid is made, and how fine. */
export interface GridRequest {
  readonly nodes: SurfaceNodes;
  readonly ground: LevelledGround;
  readonly window: Region;
  readonly azimuthDeg: number;
  readonly mask: 'three_nodes' | 'window' | 'none';
  /** null = a fifth of the node spacing */
  readonly cellM: number | null;
}

/** multiplications of one run: about a minute of kriging */
const mostWork = 1e11;
const mostCellsAcross = 512;

/**
 * Reads a surface at the cells of a raster that the mask leaves.
 * @throws Problem too-much-work when the cells are too many for the method
 */
export function surfaceGrid(
  surface: ReadableSurface,
  request: GridRequest,
  progress: (share: number) => void,
): SurfaceGrid {
  const { nodes, ground, window, azimuthDeg, mask } = request;
  const places = new Float64Array(2 * nodes.x.length);
  for (let i = 0; i < nodes.x.length; i++) {
    places[2 * i] = nodes.x[i];
    places[2 * i + 1] = nodes.y[i];
  }
  // the window widens the frame only where values beyond the nodes are asked for
  const rings = [places, ...(mask === 'none' ? window.rings : [])].map((ring) => alongMapAxes(ring, azimuthDeg));
  const frame = cellFrame({ rings }, request.cellM ?? usualCell(regionBox({ rings }), request), azimuthDeg);
  const slack = edgeSlack(window);
  const isWanted = (x: number, y: number): boolean =>
    mask === 'none' || (ground.isLevelled(x, y) && (mask === 'three_nodes' || contains(window, x, y, slack)));
  const wanted: number[] = [];
  const xy: number[] = [];
  for (let r = 0; r < frame.rows; r++) {
    for (let c = 0; c < frame.columns; c++) {
      const [x, y] = framePlace(frame, c, r);
      if (!isWanted(x, y)) continue;
      wanted.push(r * frame.columns + c);
      xy.push(x, y);
    }
  }
  if (wanted.length * surface.workPerPlace > mostWork) {
    throw new Problem(
      'too-much-work',
      `${wanted.length} cells of ${frame.cellM} m are too many for this method with ${nodes.x.length} levels; ask for a larger cell_m, or use the method tin`,
      { cells: wanted.length },
    );
  }
  const read = surface.read(Float64Array.from(xy), progress);
  const values = new Float64Array(frame.columns * frame.rows).fill(Number.NaN);
  const sigma = values.slice();
  const beyond = mask === 'none' ? values.slice() : null;
  let sum = 0;
  let cells = 0;
  let cellsBeyond = 0;
  wanted.forEach((cell, k) => {
    values[cell] = read.value[k];
    sigma[cell] = read.sigma[k];
    if (Number.isNaN(read.value[k])) return;
    sum += read.value[k] - nodes.z[0];
    cells++;
    if (beyond === null) return;
    beyond[cell] = ground.isLevelled(xy[2 * k], xy[2 * k + 1]) ? 0 : 1;
    cellsBeyond += beyond[cell];
  });
  return { frame, values, sigma, beyond, cells, cellsBeyond, meanM: cells === 0 ? null : nodes.z[0] + sum / cells };
}

function usualCell(
  [west, south, east, north]: readonly [number, number, number, number],
  { ground, nodes }: GridRequest,
): number {
  const longer = Math.max(east - west, north - south);
  const spacing = ground.lattices[0]?.stepM ?? Math.sqrt(((east - west) * (north - south)) / nodes.x.length);
  // all levels in one place or on a line along the map: any cell will do
  const usual = spacing > 0 ? spacing / 5 : longer > 0 ? longer / 50 : 0.2;
  return roundUp(Math.max(usual, longer / mostCellsAcross));
}

/** To two digits, upwards, so that cells of one site lie on one another whatever the last digits are. */
function roundUp(metres: number): number {
  const power = 10 ** (Math.floor(Math.log10(metres)) - 1);
  return Number((Math.ceil(metres / power - 1e-6) * power).toPrecision(2));
}

/** A contour line; `isBeyond` = drawn where nothing was levelled. */
export interface Contour {
  readonly level: number;
  readonly points: Float64Array;
  readonly isBeyond: boolean;
}

/** The usual step between contours: the round one (1, 2 or 5 times a power of ten) nearest to a tenth of the range. */
export function usualInterval(values: ArrayLike<number>): number {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < values.length; i++) {
    if (values[i] < low) low = values[i];
    if (values[i] > high) high = values[i];
  }
  // a level surface has no contours whatever the step
  return low < high ? niceStep(high - low, 10) : 0.1;
}

const mostLevels = 500;

/** Round levels inside a range of values, at whole multiples of a step. @throws Problem bad-parameter beyond 500 */
export function contourLevels(values: ArrayLike<number>, intervalM: number): number[] {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < values.length; i++) {
    if (values[i] < low) low = values[i];
    if (values[i] > high) high = values[i];
  }
  if (!(low < high)) return [];
  const first = Math.ceil(low / intervalM - 1e-9);
  const last = Math.floor(high / intervalM + 1e-9);
  if (last - first >= mostLevels) {
    throw new Problem(
      'bad-parameter',
      `contour_interval_m ${intervalM} makes ${last - first + 1} contours between ${low} and ${high} m; at most ${mostLevels} are drawn, give a larger interval`,
      { intervalM },
    );
  }
  return Array.from({ length: last - first + 1 }, (_, k) => Number(((first + k) * intervalM).toPrecision(12)) + 0);
}

/** A surface as cells to draw from, under the mask. */
export interface DrawnCells {
  readonly levelled: CellMesh;
  /** beyond the ground that was levelled; without cells unless values there were asked for */
  readonly beyond: CellMesh;
}

/** The lines of a surface, levelled ground and what lies beyond it apart. */
export function contoursOf(
  surface: ReadableSurface,
  grid: SurfaceGrid,
  request: GridRequest,
  levels: readonly number[],
): Contour[] {
  return contoursThrough(drawnCells(surface, grid, request), levels);
}

/** The lines through cells that were made before. */
export function contoursThrough({ levelled, beyond }: DrawnCells, levels: readonly number[]): Contour[] {
  const lines = (mesh: CellMesh, isBeyond: boolean) =>
    isolines(mesh, levels).map(({ level, points }): Contour => ({ level, points, isBeyond }));
  return [...lines(levelled, false), ...lines(beyond, true)];
}

/** The cells lines and bands are drawn from, under the mask. */
export function drawnCells(
  surface: ReadableSurface,
  grid: SurfaceGrid,
  { ground, mask, window }: GridRequest,
): DrawnCells {
  const { levelled, beyond } = partsOfMesh(surface.mesh(grid.frame, grid.values), ground);
  const slack = edgeSlack(window);
  const kept = mask === 'window' ? cellsWhere(levelled, (x, y) => contains(window, x, y, slack)) : levelled;
  return { levelled: kept, beyond: mask === 'none' ? beyond : { ...beyond, corners: new Uint32Array(0) } };
}
