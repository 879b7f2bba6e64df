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

/**
 * Number of peaks: tops higher than half of the highest one that stand at least a twentieth of the highest value above
 * every saddle leading to higher ground, so that ripples do not count.
 *
 * Cells are flooded from the top down; two hills that meet end the lower one. Cells × logarithm of cells above half.
 *
 * @returns 0 when no cell counts or nothing rises above 0
 */
export function countPeaks(surface: MaskedSurface): number {
  const { values, inside, columns, rows } = surface;
  const top = highestCell(surface);
  if (top < 0 || !(values[top] > 0)) return 0;
  const least = values[top] / 2;
  const rise = values[top] / 20;
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
  let peaks = 0;
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
        if (values[lower] - values[cell] >= rise) peaks++;
        hill[lower] = higher;
      }
    }
  }
  // what was never drowned: the highest hill, and hills parted from it by ground below half
  for (const cell of order) if (hill[cell] === cell) peaks++;
  return peaks;
}
