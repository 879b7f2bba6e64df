import { type CellFrame, framePlace } from './cell-frame.js';
import type { ContourSurface } from './contour-areas.js';

/**
 * Cell values as contours are drawn from: with one more ring of cells that hold their neighbours' values, so that lines
 * run on beyond the window until they are cut at its edge.
 */
export function contourField(frame: CellFrame, values: Float64Array): ContourSurface {
  const columns = frame.columns + 2;
  const rows = frame.rows + 2;
  const wider = new Float64Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    const from = Math.min(frame.rows - 1, Math.max(0, r - 1)) * frame.columns;
    for (let c = 0; c < columns; c++) {
      wider[r * columns + c] = values[from + Math.min(frame.columns - 1, Math.max(0, c - 1))];
    }
  }
  const corner: [number, number] = [
    frame.corner[0] - frame.columnStep[0] - frame.rowStep[0],
    frame.corner[1] - frame.columnStep[1] - frame.rowStep[1],
  ];
  const around = { ...frame, columns, rows, corner };
  return { values: wider, columns, rows, place: (column, row) => framePlace(around, column, row) };
}
