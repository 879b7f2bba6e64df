import type { CellRaster } from './cell-raster.js';
import { nearestDistances } from './nearest.js';
import { quantile } from './quantiles.js';
import type { Box } from './rings.js';
import { triangleMesh } from './triangle-mesh.js';
import { triangleSurface } from './triangle-surface.js';

/** Soundings as columns, all [n], metres of one projected CRS; z up-positive. */
export interface Soundings {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/** Box around soundings: west, south, east, north. */
export function soundingsBox({ x, y }: Soundings): Box {
  const least = (values: Float64Array) => values.reduce((a, v) => Math.min(a, v), Infinity);
  const most = (values: Float64Array) => values.reduce((a, v) => Math.max(a, v), -Infinity);
  return [least(x), least(y), most(x), most(y)];
}

/** The soundings in a box, its edges included. */
export function soundingsIn({ x, y, z }: Soundings, [west, south, east, north]: Box): Soundings {
  const rows = Array.from(x.keys()).filter((i) => x[i] >= west && x[i] <= east && y[i] >= south && y[i] <= north);
  const pick = (values: Float64Array) => Float64Array.from(rows, (i) => values[i]);
  return { x: pick(x), y: pick(y), z: pick(z) };
}

/** triangles with a side longer than so many usual distances span ground that was not sounded */
const longestSides = 6;
/** more corners than this make the triangles slow without making the seabed truer */
const mostCorners = 40_000;

/**
 * Soundings on cells as wide as they usually lie apart: the mean of those in a cell, and between cells the plane of the
 * three around a place (Delaunay). Exact where soundings lie on the middles of cells. Nothing beyond their outline, and
 * nothing across gaps wider than six times their usual distance.
 *
 * @param mostCells  cells are made wider so that there are no more
 * @returns null when the soundings lie on one line
 */
export function soundingsRaster(soundings: Soundings, mostCells: number): CellRaster | null {
  const n = soundings.x.length;
  if (n < 3) return null;
  const [west, south, east, north] = soundingsBox(soundings);
  const wide = east - west;
  const high = north - south;
  const apart = usualDistance(soundings);
  if (!(wide > 0 && high > 0 && apart > 0)) return null;
  const cellM = Math.max(
    apart,
    Math.sqrt((wide * high) / Math.min(mostCells, mostCorners)),
    Math.max(wide, high) / 4000,
  );
  // middles of the outermost cells on the outermost soundings, so that gridded soundings stay where they are
  const columns = Math.round(wide / cellM) + 1;
  const rows = Math.round(high / cellM) + 1;
  const corner: [number, number] = [west - cellM / 2, north + cellM / 2];
  const binned = meansOfCells(soundings, { columns, rows, cellM, corner });
  const mesh = triangleMesh(binned.x, binned.y);
  if (mesh.corners.length === 0) return null;
  const kept = withoutLongSides(mesh.corners, binned, longestSides * Math.max(cellM, usualDistance(binned)));
  const read = triangleSurface({ ...mesh, corners: kept }, { ...binned, sigma: binned.z });
  const middles = new Float64Array(2 * columns * rows);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const at = 2 * (row * columns + column);
      middles[at] = column * cellM;
      middles[at + 1] = -row * cellM;
    }
  }
  return { columns, rows, corner, columnStep: [cellM, 0], rowStep: [0, -cellM], values: read(middles).value };
}

function usualDistance({ x, y }: Soundings): number {
  const xy = new Float64Array(2 * x.length);
  for (let i = 0; i < x.length; i++) {
    xy[2 * i] = x[i] - x[0];
    xy[2 * i + 1] = y[i] - y[0];
  }
  return (
    quantile(
      nearestDistances(xy).filter((d) => d > 0),
      0.5,
    ) ?? 0
  );
}

interface Cells {
  readonly columns: number;
  readonly rows: number;
  readonly cellM: number;
  readonly corner: readonly [number, number];
}

/** Mean place and value of the soundings in each cell, metres from the middle of the first cell. */
function meansOfCells({ x, y, z }: Soundings, { columns, rows, cellM, corner }: Cells): Soundings {
  const count = new Uint32Array(columns * rows);
  const sums = [0, 1, 2].map(() => new Float64Array(columns * rows));
  const [x0, y0] = [corner[0] + cellM / 2, corner[1] - cellM / 2];
  for (let i = 0; i < x.length; i++) {
    const column = Math.min(columns - 1, Math.max(0, Math.round((x[i] - x0) / cellM)));
    const row = Math.min(rows - 1, Math.max(0, Math.round((y0 - y[i]) / cellM)));
    const at = row * columns + column;
    count[at] += 1;
    sums[0][at] += x[i] - x0;
    sums[1][at] += y[i] - y0;
    sums[2][at] += z[i];
  }
  const known = Array.from(count.keys()).filter((at) => count[at] > 0);
  const mean = (sum: Float64Array) => Float64Array.from(known, (at) => sum[at] / count[at]);
  return { x: mean(sums[0]), y: mean(sums[1]), z: mean(sums[2]) };
}

function withoutLongSides(corners: Uint32Array, { x, y }: Soundings, longestM: number): Uint32Array {
  const kept: number[] = [];
  for (let t = 0; t < corners.length; t += 3) {
    const own = [corners[t], corners[t + 1], corners[t + 2]];
    const isShort = own.every((a, k) => {
      const b = own[(k + 1) % 3];
      return Math.hypot(x[a] - x[b], y[a] - y[b]) <= longestM;
    });
    if (isShort) kept.push(...own);
  }
  return Uint32Array.from(kept);
}
