import type { Bathymetry } from '../../src/domain/bathymetry.js';

/** A bathymetry of half-metre cells over −5 to 25 metres each way, for tests. */
export function bathymetryOf(
  field: (x: number, y: number) => number,
  more: Partial<Omit<Bathymetry, 'cells'>> = {},
): Bathymetry {
  const [columns, rows] = [60, 60];
  const values = Float64Array.from({ length: columns * rows }, (_, k) =>
    field(-5 + ((k % columns) + 0.5) * 0.5, 25 - (Math.floor(k / columns) + 0.5) * 0.5),
  );
  return {
    cells: () => ({ columns, rows, corner: [-5, 25], columnStep: [0.5, 0], rowStep: [0, -0.5], values }),
    verticalDatum: 'mean sea level',
    error: { sigmaM: 0.1 },
    errorInWords: 'σ 0.1 m',
    tie: { offsetM: -14, sigmaM: 0.05 },
    ...more,
  };
}
