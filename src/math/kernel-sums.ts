import { Problem } from '../problems.js';
import type { CellGrid } from './kernel-grid.js';

/** Finds, each smoothed as far as it wants. */
export interface SmoothedFinds {
  /** [2n] metres, in the coordinates of the grid */
  readonly xy: Float64Array;
  /** [n] what each adds to the sum, its edge correction included */
  readonly share: Float64Array;
  /** [n] standard deviation of each find's kernel, metres */
  readonly sigmaM: Float64Array;
}

/** beyond 8 bandwidths a kernel holds 1e-14 of its centre */
const cutSigmas = 8;
const mostSteps = 6e9;

/**
 * Gaussian kernels of different widths summed at the centres of a grid: exact to the last digits. Rows and columns of
 * exponentials are made once for each find, so that a find costs its cells in products alone.
 *
 * @param grid  steps of either sign
 * @returns     [rows × columns] per m², without division at the place
 * @throws Problem too-much-work beyond six thousand million cells, all finds together
 */
export function kernelSums({ xy, share, sigmaM }: SmoothedFinds, grid: CellGrid): Float64Array {
  const { columns, rows } = grid;
  let steps = 0;
  for (const sigma of sigmaM) {
    const side = 2 * cutSigmas * sigma;
    steps += Math.min(columns, side / Math.abs(grid.stepX) + 1) * Math.min(rows, side / Math.abs(grid.stepY) + 1);
  }
  if (steps > mostSteps) {
    throw new Problem(
      'too-much-work',
      `${share.length} kernels on ${columns} × ${rows} cells are too many sums for one run; ask for larger cells or a smaller bandwidth`,
      { finds: share.length, columns, rows },
    );
  }
  const out = new Float64Array(columns * rows);
  const across = new Float64Array(columns);
  for (let i = 0; i < share.length; i++) {
    if (share[i] === 0) continue;
    const sigma = sigmaM[i];
    const perTwo = 1 / (2 * sigma * sigma);
    const [c0, c1] = reach((xy[2 * i] - grid.x) / grid.stepX, (cutSigmas * sigma) / Math.abs(grid.stepX), columns);
    const [r0, r1] = reach((xy[2 * i + 1] - grid.y) / grid.stepY, (cutSigmas * sigma) / Math.abs(grid.stepY), rows);
    for (let c = c0; c <= c1; c++) across[c] = Math.exp(-((grid.x + c * grid.stepX - xy[2 * i]) ** 2) * perTwo);
    const height = (share[i] * perTwo) / Math.PI;
    for (let r = r0; r <= r1; r++) {
      const down = height * Math.exp(-((grid.y + r * grid.stepY - xy[2 * i + 1]) ** 2) * perTwo);
      const row = r * columns;
      for (let c = c0; c <= c1; c++) out[row + c] += down * across[c];
    }
  }
  return out;
}

/** First and last cell within a distance of a place, both counted in cells. */
function reach(at: number, distance: number, count: number): [number, number] {
  return [Math.max(0, Math.ceil(at - distance)), Math.min(count - 1, Math.floor(at + distance))];
}
