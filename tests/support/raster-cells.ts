import type { Raster } from '../../src/domain/raster.js';

/** Cells of a raster that hold a number, with the place of their centre, metres of its space. */
export function cellsWhereNumber(raster: Raster | undefined): { x: number; y: number; value: number }[] {
  if (!raster) throw new Error('there is no raster');
  const { columns, corner, columnStep, rowStep } = raster;
  const out: { x: number; y: number; value: number }[] = [];
  raster.values.forEach((value, k) => {
    if (Number.isNaN(value)) return;
    const c = (k % columns) + 0.5;
    const r = Math.floor(k / columns) + 0.5;
    out.push({
      x: corner[0] + c * columnStep[0] + r * rowStep[0],
      y: corner[1] + c * columnStep[1] + r * rowStep[1],
      value,
    });
  });
  return out;
}
