import type { PlacedCells } from './cell-frame.js';

/** Values on equal cells; the cells may be turned, but their sides stand square to each other. */
export interface CellRaster extends PlacedCells {
  /** [rows × columns] at the middles of the cells, row by row; NaN = no value */
  readonly values: ArrayLike<number>;
}

/** beyond the outermost middles by less than this many cells a place still lies on them */
const slackCells = 1e-9;

/**
 * Reads a raster between the middles of its cells, bilinearly; nothing is guessed past a cell without a value or
 * beyond the outermost middles. On the line between two middles these two are enough.
 *
 * @param xy  [2n] places, metres of the raster's space
 * @returns [n] NaN = no value there
 */
export function readRaster(raster: CellRaster, xy: Float64Array): Float64Array {
  const { columns, rows, corner, columnStep: c, rowStep: r, values } = raster;
  const turn = c[0] * r[1] - c[1] * r[0];
  const out = new Float64Array(xy.length / 2).fill(Number.NaN);
  for (let i = 0; i < out.length; i++) {
    const dx = xy[2 * i] - corner[0];
    const dy = xy[2 * i + 1] - corner[1];
    // counted in cells from the middle of the first
    const u = (dx * r[1] - dy * r[0]) / turn - 0.5;
    const v = (dy * c[0] - dx * c[1]) / turn - 0.5;
    if (!(u >= -slackCells && v >= -slackCells && u <= columns - 1 + slackCells && v <= rows - 1 + slackCells))
      continue;
    const column = Math.min(Math.max(Math.floor(u), 0), Math.max(columns - 2, 0));
    const row = Math.min(Math.max(Math.floor(v), 0), Math.max(rows - 2, 0));
    const fu = snapped(u - column);
    const fv = snapped(v - row);
    const at = row * columns + column;
    let sum = 0;
    for (const [share, k] of [
      [(1 - fu) * (1 - fv), at],
      [fu * (1 - fv), at + 1],
      [(1 - fu) * fv, at + columns],
      [fu * fv, at + columns + 1],
    ]) {
      if (share > 0) sum += share * values[k];
    }
    out[i] = sum;
  }
  return out;
}

const snapped = (f: number) =>
  Math.abs(f) <= slackCells ? 0 : Math.abs(f - 1) <= slackCells ? 1 : Math.min(Math.max(f, 0), 1);

/**
 * A raster on cells so many times as wide: each the mean of the cells it covers, those without a value left out. A
 * wide cell of which less than half is known has no value. Cells that do not fill a wide one at the far edges are
 * dropped.
 */
export function widerCells(raster: CellRaster, times: number): CellRaster {
  if (times <= 1) return raster;
  const columns = Math.max(1, Math.floor(raster.columns / times));
  const rows = Math.max(1, Math.floor(raster.rows / times));
  const across = Math.min(times, raster.columns);
  const down = Math.min(times, raster.rows);
  const values = new Float64Array(columns * rows);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      let sum = 0;
      let count = 0;
      for (let dr = 0; dr < down; dr++) {
        for (let dc = 0; dc < across; dc++) {
          const value = raster.values[(row * times + dr) * raster.columns + column * times + dc];
          if (Number.isNaN(value)) continue;
          sum += value;
          count++;
        }
      }
      values[row * columns + column] = 2 * count < across * down ? Number.NaN : sum / count;
    }
  }
  return {
    columns,
    rows,
    corner: raster.corner,
    columnStep: [raster.columnStep[0] * across, raster.columnStep[1] * across],
    rowStep: [raster.rowStep[0] * down, raster.rowStep[1] * down],
    values,
  };
}
