import { alongMapAxes, type CellFrame, cellFrame, cellsInside, regionAlongMapAxes } from '../../math/cell-frame.js';
import { type KernelLattice, kernelLattice, latticeOnGrid } from '../../math/kernel-grid.js';
import { type KernelInput, kernelIntensity } from '../../math/kernels.js';
import { contains, edgeSlack, type Region, regionBox } from '../../math/rings.js';
import { countPeaks, highestCell } from '../../math/surface-peaks.js';

/** A surface of finds per m² on cells along the map's axes. */
export interface IntensitySurface {
  readonly frame: CellFrame;
  /** [rows × columns] per m², also beyond the window, where it means nothing */
  readonly values: Float64Array;
  /** [rows × columns] 1 = the cell's centre was dug */
  readonly inside: Uint8Array;
}

/** A surface at one bandwidth, with what is read off it. */
export interface IntensityView {
  readonly sigmaM: number;
  readonly surface: IntensitySurface;
  readonly integral: number;
  /** highest value at a cell centre in the window, or between cells by parabolas through its neighbours */
  readonly peak: { readonly perM2: number; readonly x: number; readonly y: number } | null;
  readonly peaks: number;
  /** the same smoothing at other cells */
  onCells(cellM: number): IntensitySurface;
}

/**
 * The density of finds over the dug area at one bandwidth.
 *
 * @param input  site-grid metres; left untouched
 * @param cut    cells along the map's axes: azimuth of site_north, degrees
 * @throws Problem too-much-work when the bandwidth is far below what the window can show
 * @see Diggle 1985, doi:10.2307/2347366; Jones 1993, doi:10.1007/BF00147776
 */
export function intensityView(input: KernelInput, cut: { readonly azimuthDeg: number }): IntensityView {
  const { azimuthDeg } = cut;
  const window = regionAlongMapAxes(input.window, azimuthDeg);
  const lattice = kernelLattice({ ...input, window, xy: alongMapAxes(input.xy, azimuthDeg) });
  const onCells = (cellM: number) => surfaceOn({ lattice, window, cellM, azimuthDeg });
  const surface = onCells(defaultCell(window, input.sigmaM));
  const masked = { ...surface, columns: surface.frame.columns, rows: surface.frame.rows };
  return {
    sigmaM: input.sigmaM,
    surface,
    integral: lattice.integral,
    peak: peakOf(surface, input.window),
    peaks: countPeaks(masked),
    onCells,
  };
}

function surfaceOn(spec: {
  lattice: KernelLattice;
  window: Region;
  cellM: number;
  azimuthDeg: number;
}): IntensitySurface {
  const frame = cellFrame(spec.window, spec.cellM, spec.azimuthDeg);
  return { frame, values: latticeOnGrid(spec.lattice, frame), inside: cellsInside(spec.window, frame) };
}

/**
 * Cells a sixth of the bandwidth, at least 128 and at most 512 to the longer side, rounded down to 1, 2, 2.5 or 5 of a
 * power of ten.
 * @param window  along the map's axes, metres
 */
export function defaultCell(window: Region, sigmaM: number): number {
  const [west, south, east, north] = regionBox(window);
  const longer = Math.max(east - west, north - south);
  const fine = roundBelow(Math.min(sigmaM / 6, longer / 128));
  return fine >= longer / 512 ? fine : roundAbove(longer / 512);
}

const roundFigures = [1, 2, 2.5, 5, 10];

function roundBelow(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value) + 1e-12);
  return Number((power * (roundFigures.findLast((f) => f * power <= value * (1 + 1e-12)) ?? 1)).toPrecision(6));
}

function roundAbove(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value) + 1e-12);
  return Number((power * (roundFigures.find((f) => f * power >= value * (1 - 1e-12)) ?? 10)).toPrecision(6));
}

function peakOf({ frame, values, inside }: IntensitySurface, window: Region): IntensityView['peak'] {
  const { columns, rows } = frame;
  const top = highestCell({ values, inside, columns, rows });
  if (top < 0 || !(values[top] > 0)) return null;
  const c = top % columns;
  const r = (top - c) / columns;
  const place = (dc: number, dr: number): readonly [number, number] => [
    frame.corner[0] + (c + 0.5 + dc) * frame.columnStep[0] + (r + 0.5 + dr) * frame.rowStep[0],
    frame.corner[1] + (c + 0.5 + dc) * frame.columnStep[1] + (r + 0.5 + dr) * frame.rowStep[1],
  ];
  const [x, y] = place(0, 0);
  if (c > 0 && r > 0 && c < columns - 1 && r < rows - 1) {
    const across = vertex(values[top - 1], values[top], values[top + 1]);
    const down = vertex(values[top - columns], values[top], values[top + columns]);
    const [px, py] = place(across.at, down.at);
    if (contains(window, px, py, edgeSlack(window)))
      return { perM2: values[top] + across.rise + down.rise, x: px, y: py };
  }
  return { perM2: values[top], x, y };
}

/** Top of the parabola through three equal steps: where (steps from the middle, at most a half) and how much above the middle. */
function vertex(before: number, middle: number, after: number): { at: number; rise: number } {
  const bend = before - 2 * middle + after;
  if (!(bend < 0)) return { at: 0, rise: 0 };
  const at = Math.max(-0.5, Math.min(0.5, (before - after) / (2 * bend)));
  return { at, rise: 0.5 * (after - before) * at + 0.5 * bend * at * at };
}

/**
 * Density at given places by the full sum, null outside the window.
 * @param places  site-grid metres
 */
export function intensityAt(input: KernelInput, places: readonly (readonly [number, number])[]): (number | null)[] {
  const slack = edgeSlack(input.window);
  const values = kernelIntensity(input, Float64Array.from(places.flat()));
  return places.map(([x, y], k) => (contains(input.window, x, y, slack) ? values[k] : null));
}
