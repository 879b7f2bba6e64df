import {
  type AdaptiveBandwidths,
  abramsonBandwidths,
  adaptiveIntensity,
  adaptiveSurface,
} from '../../math/adaptive-kernels.js';
import { alongMapAxes, type CellFrame, cellFrame, cellsInside, regionAlongMapAxes } from '../../math/cell-frame.js';
import { kernelLattice, latticeOnGrid } from '../../math/kernel-grid.js';
import { type KernelInput, kernelIntensity } from '../../math/kernels.js';
import type { PlacedPeak } from '../../math/paired-peaks.js';
import { contains, edgeSlack, type Region } from '../../math/rings.js';
import { findPeaks, highestCell, type PeakRule, summitAt } from '../../math/surface-peaks.js';
import { usualCell } from '../../math/usual-cell.js';

/** A surface of finds per m² or m³ on cells along the map's axes. */
export interface IntensitySurface {
  readonly frame: CellFrame;
  /** [rows × columns] also beyond the window, where it means nothing */
  readonly values: Float64Array;
  /** [rows × columns] 1 = the cell's centre was dug, and the value stands */
  readonly inside: Uint8Array;
}

/** A surface at one bandwidth, with what is read off it. */
export interface IntensityView {
  readonly sigmaM: number;
  readonly surface: IntensitySurface;
  /** what the surface per m² holds over the window */
  readonly integral: number;
  /** highest value at a cell centre in the window, or between cells by parabolas through its neighbours */
  readonly peak: PlacedPeak | null;
  readonly peaks: number;
  /** tops, highest first */
  tops(rule?: PeakRule): PlacedPeak[];
  /** kernels of their own; null when all are alike */
  readonly kernels: AdaptiveBandwidths | null;
  /** the same smoothing at other cells */
  onCells(cellM: number): IntensitySurface;
}

/** What a view is made of before anything is read off it. */
type BareView = Pick<IntensityView, 'sigmaM' | 'integral' | 'surface' | 'kernels' | 'onCells'>;

/** Reads peaks off a surface. */
export function viewOf(bare: BareView, window: Region): IntensityView {
  const { surface } = bare;
  const { columns, rows } = surface.frame;
  const masked = { ...surface, columns, rows };
  const top = highestCell(masked);
  const tops = (rule?: PeakRule) => findPeaks(masked, rule).map((cell) => placedTop(surface, cell, window));
  return {
    ...bare,
    peak: top < 0 || !(surface.values[top] > 0) ? null : placedTop(surface, top, window),
    peaks: findPeaks(masked).length,
    tops,
  };
}

function placedTop({ frame, values }: IntensitySurface, cell: number, window: Region): PlacedPeak {
  const { column, row, across, down, height } = summitAt({ values, inside: noMask, ...frame }, cell);
  const place = (dc: number, dr: number): readonly [number, number] => [
    frame.corner[0] + (column + 0.5 + dc) * frame.columnStep[0] + (row + 0.5 + dr) * frame.rowStep[0],
    frame.corner[1] + (column + 0.5 + dc) * frame.columnStep[1] + (row + 0.5 + dr) * frame.rowStep[1],
  ];
  const [px, py] = place(across, down);
  if (contains(window, px, py, edgeSlack(window))) return { x: px, y: py, height };
  const [x, y] = place(0, 0);
  return { x, y, height: values[cell] };
}

const noMask = new Uint8Array(0);

/** Cells along the map's axes: azimuth of site_north, degrees. */
interface Cut {
  readonly azimuthDeg: number;
}

/**
 * The density of finds over the dug area at one bandwidth.
 *
 * @param input  site-grid metres; left untouched
 * @throws Problem too-much-work when the bandwidth is far below what the window can show
 * @see Diggle 1985, doi:10.2307/2347366; Jones 1993, doi:10.1007/BF00147776
 */
export function intensityView(input: KernelInput, { azimuthDeg }: Cut): IntensityView {
  const window = regionAlongMapAxes(input.window, azimuthDeg);
  const lattice = kernelLattice({ ...input, window, xy: alongMapAxes(input.xy, azimuthDeg) });
  const onCells = (cellM: number): IntensitySurface => {
    const frame = cellFrame(window, cellM, azimuthDeg);
    return { frame, values: latticeOnGrid(lattice, frame), inside: cellsInside(window, frame) };
  };
  const surface = onCells(usualCell(window, input.sigmaM));
  const { sigmaM } = input;
  return viewOf({ sigmaM, integral: lattice.integral, surface, kernels: null, onCells }, input.window);
}

/** Finds and how many each position stands for: sub-points of one find share it. */
export interface SharedInput extends KernelInput {
  readonly share: Float64Array;
}

/**
 * The same with a kernel of its own for each find, their geometric mean the bandwidth given.
 *
 * @throws Problem too-much-work
 * @see Abramson 1982, doi:10.1214/aos/1176345986
 */
export function adaptiveView(input: SharedInput, { azimuthDeg }: Cut): IntensityView {
  const kernels = abramsonBandwidths(input, input.share);
  const window = regionAlongMapAxes(input.window, azimuthDeg);
  const turned = { ...input, window, xy: alongMapAxes(input.xy, azimuthDeg), sigmas: kernels.sigmaM };
  const drawn = (cellM: number) => {
    const frame = cellFrame(window, cellM, azimuthDeg);
    const { values, integral } = adaptiveSurface(turned, frame);
    return { integral, surface: { frame, values, inside: cellsInside(window, frame) } };
  };
  const { sigmaM } = input;
  const usual = drawn(usualCell(window, kernels.smallestM));
  return viewOf({ sigmaM, ...usual, kernels, onCells: (cellM) => drawn(cellM).surface }, input.window);
}

/**
 * Density at given places by the full sum, null outside the window.
 * @param places  site-grid metres
 * @param sigmas  kernels of their own, metres; null = all alike
 */
export function intensityAt(
  input: KernelInput,
  sigmas: Float64Array | null,
  places: readonly (readonly [number, number])[],
): (number | null)[] {
  const slack = edgeSlack(input.window);
  const at = Float64Array.from(places.flat());
  const values = sigmas === null ? kernelIntensity(input, at) : adaptiveIntensity({ ...input, sigmas }, at);
  return places.map(([x, y], k) => (contains(input.window, x, y, slack) ? values[k] : null));
}
