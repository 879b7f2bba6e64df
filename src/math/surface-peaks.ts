/** Cell values of a surface and which of them count. */
export interface MaskedSurface {
  /** [rows × columns] */
  readonly values: Float64Array;
  /** [rows × columns] 1 = counts */
  readonly inside: Uint8Array;
  readonly columns: number;
  readonly rows: number;
}

/** Highest cell that counts; −1 when none does. */
export function highestCell({ values, inside }: MaskedSurface): number {
  let best = -1;
  for (let k = 0; k < values.length; k++) {
    if (inside[k] === 1 && (best < 0 || values[k] > values[best])) best = k;
  }
  return best;
}

/** Which tops count as peaks, as shares of the highest value. */
export interface PeakRule {
  /** a peak is higher than this share */
  readonly leastShare: number;
  /** and stands at least so much above every saddle leading to higher ground */
  readonly riseShare: number;
}

const usualRule: PeakRule = { leastShare: 1 / 2, riseShare: 1 / 20 };

/** Number of peaks by the usual rule. @returns 0 when no cell counts or nothing rises above 0 */
export function countPeaks(surface: MaskedSurface): number {
  return findPeaks(surface).length;
}

/**
 * Peaks of a surface, highest first, as cell numbers: tops higher than half of the highest one that stand at least a
 * twentieth of the highest value above every saddle leading to higher ground, so that ripples do not count.
 *
 * Cells are flooded from the top down; two hills that meet end the lower one. Cells × logarithm of cells above half.
 *
 * @returns empty when no cell counts or nothing rises above 0
 */
export function findPeaks(surface: MaskedSurface, rule: PeakRule = usualRule): number[] {
  const { values, inside, columns, rows } = surface;
  const top = highestCell(surface);
  if (top < 0 || !(values[top] > 0)) return [];
  const least = values[top] * rule.leastShare;
  const rise = values[top] * rule.riseShare;
  const order: number[] = [];
  for (let k = 0; k < values.length; k++) if (inside[k] === 1 && values[k] > least) order.push(k);
  order.sort((a, b) => values[b] - values[a] || a - b);
  const hill = new Int32Array(values.length).fill(-1);
  const summitOf = (cell: number): number => {
    let k = cell;
    while (hill[k] !== k) {
      hill[k] = hill[hill[k]];
      k = hill[k];
    }
    return k;
  };
  const peaks: number[] = [];
  for (const cell of order) {
    const c = cell % columns;
    const r = (cell - c) / columns;
    hill[cell] = cell;
    for (let dr = -1; dr <= 1; dr++) {
      for (let dc = -1; dc <= 1; dc++) {
        const near = cell + dr * columns + dc;
        if (c + dc < 0 || c + dc >= columns || r + dr < 0 || r + dr >= rows || hill[near] < 0) continue;
        const a = summitOf(cell);
        const b = summitOf(near);
        if (a === b) continue;
        const [higher, lower] = values[a] > values[b] || (values[a] === values[b] && a < b) ? [a, b] : [b, a];
        if (values[lower] - values[cell] >= rise) peaks.push(lower);
        hill[lower] = higher;
      }
    }
  }
  // what was never drowned: the highest hill, and hills parted from it by ground below the least height
  for (const cell of order) if (hill[cell] === cell) peaks.push(cell);
  return peaks.sort((a, b) => values[b] - values[a] || a - b);
}

/** A top between cell centres: its cell, how far it lies from the cell's centre in cells, and its height. */
export interface Summit {
  readonly column: number;
  readonly row: number;
  readonly across: number;
  readonly down: number;
  readonly height: number;
}

/** Where the top of a cell really lies, by parabolas through its neighbours; its own centre at the rim of the grid. */
export function summitAt({ values, columns, rows }: MaskedSurface, cell: number): Summit {
  const column = cell % columns;
  const row = (cell - column) / columns;
  if (column === 0 || row === 0 || column === columns - 1 || row === rows - 1) {
    return { column, row, across: 0, down: 0, height: values[cell] };
  }
  const across = vertex(values[cell - 1], values[cell], values[cell + 1]);
  const down = vertex(values[cell - columns], values[cell], values[cell + columns]);
  return { column, row, across: across.at, down: down.at, height: values[cell] + across.rise + down.rise };
}

/** Top of the parabola through three equal steps: where (steps from the middle, at most a half) and how much above the middle. */
function vertex(before: number, middle: number, after: number): { at: number; rise: number } {
  const bend = before - 2 * middle + after;
  if (!(bend < 0)) return { at: 0, rise: 0 };
  const at = Math.max(-0.5, Math.min(0.5, (before - after) / (2 * bend)));
  return { at, rise: 0.5 * (after - before) * at + 0.5 * bend * at * at };
}
