import type { Raster } from '../../domain/raster.js';
import type { Sample } from '../../domain/sample.js';
import { differenceRamp, rampColour } from '../../figures/palette.js';
import { alongMapAxes, type CellFrame, cellFrame, cellsInside, framePlace } from '../../math/cell-frame.js';
import { type ContourArea, contourAreas } from '../../math/contour-areas.js';
import { contourField } from '../../math/contour-field.js';
import {
  aboutOne,
  denominatorSide,
  edgeFactor,
  heldRatio,
  mostLogRatio,
  numeratorSide,
} from '../../math/density-ratio.js';
import { kernelSums } from '../../math/kernel-sums.js';
import { type Region, shiftRegion } from '../../math/rings.js';
import { usualCell } from '../../math/usual-cell.js';
import { overallLevel } from './overall-level.js';
import type { Sides } from './sides.js';

/** The log ratio on cells along the map's axes. */
export interface RatioSurface {
  readonly frame: CellFrame;
  /** [rows × columns] also just beyond the ground compared */
  readonly logRatio: Float64Array;
  /** [rows × columns] 1 = on the ground compared and above the floor */
  readonly known: Uint8Array;
  /** the same ground with its true outline, site-grid metres */
  readonly ground: Region;
}

const back = (region: Region, [x, y]: readonly [number, number]) => shiftRegion(region, -x, -y);

/** cells to the longer side at least: a ratio is as smooth as its kernel */
const leastCells = 64;

/** Log ratio of the densities at the centres of cells, by direct sums. */
export function ratioSurface(
  sample: Sample,
  sides: Sides,
  how: { readonly sigmaM: number; readonly floorFinds: number; readonly cellM: number | null },
): RatioSurface {
  const { sigmaM, floorFinds } = how;
  const azimuthDeg = sample.mapAzimuthDeg;
  const shared = back(sides.shared, sides.origin);
  const turned: Region = { rings: shared.rings.map((ring) => alongMapAxes(ring, azimuthDeg)) };
  const frame = cellFrame(turned, how.cellM ?? usualCell(turned, sigmaM, leastCells), azimuthDeg);
  const inside = cellsInside(turned, frame);
  const weight = aboutOne(sides.weight);
  const xy = alongMapAxes(
    Float64Array.from(sides.member.flatMap((i) => [sample.xy[2 * i], sample.xy[2 * i + 1]])),
    azimuthDeg,
  );
  const sigmas = new Float64Array(weight.length).fill(sigmaM);
  const sumOf = (bit: number) => {
    const share = weight.map((w, i) => ((sides.side[i] & bit) === 0 ? 0 : w));
    return kernelSums({ xy, share, sigmaM: sigmas }, frame);
  };
  const above = sumOf(numeratorSide);
  const below = sumOf(denominatorSide);
  const level = overallLevel(sides);
  const edge = edgeOnCells(sides, frame, { inside, sigmaM });
  const logRatio = above.map((a, k) => heldRatio(Math.log(a) - Math.log(below[k]) - level + edge[k]));
  // finds in effect under the kernel: density × 4πσ²
  const support = below.map((b) => b * 4 * Math.PI * sigmaM * sigmaM);
  const known = inside.map((on, k) => (on === 1 && support[k] >= floorFinds ? 1 : 0));
  return { frame, logRatio, known, ground: aboveFloor({ frame, support, known, inside }, shared, floorFinds) };
}

/** The edge factor at cells on the ground and next to it; 0 elsewhere, where no value is shown. */
function edgeOnCells(
  sides: Sides,
  frame: CellFrame,
  at: { readonly inside: Uint8Array; readonly sigmaM: number },
): Float64Array {
  const { columns, rows } = frame;
  const out = new Float64Array(columns * rows);
  if (sides.windows === null) return out;
  const isNear = (k: number): boolean => {
    const c = k % columns;
    const r = (k - c) / columns;
    for (let y = Math.max(0, r - 1); y <= Math.min(rows - 1, r + 1); y++) {
      for (let x = Math.max(0, c - 1); x <= Math.min(columns - 1, c + 1); x++) {
        if (at.inside[y * columns + x] === 1) return true;
      }
    }
    return false;
  };
  const cells = Array.from(out.keys()).filter(isNear);
  const places = Float64Array.from(
    cells.flatMap((k) => {
      const [x, y] = framePlace(frame, k % columns, Math.floor(k / columns));
      return [x - sides.origin[0], y - sides.origin[1]];
    }),
  );
  edgeFactor({ windows: sides.windows, sigmaM: at.sigmaM }, places).forEach((factor, i) => {
    out[cells[i]] = factor;
  });
  return out;
}

function aboveFloor(
  surface: {
    readonly frame: CellFrame;
    readonly support: Float64Array;
    readonly known: Uint8Array;
    readonly inside: Uint8Array;
  },
  shared: Region,
  floorFinds: number,
): Region {
  if (surface.known.every((k, i) => k === surface.inside[i])) return shared;
  const highest = surface.support.reduce((most, v) => Math.max(most, v), floorFinds);
  const [first] = contourAreas(contourField(surface.frame, surface.support), shared, { at: [floorFinds], highest });
  return first?.region ?? { rings: [] };
}

/** The surface as published; no value beside the ground compared and where the denominator is too thin. */
export function coverageOf({ frame, logRatio, known }: RatioSurface): Raster {
  return {
    title: 'Log ratio of densities',
    unit: '1',
    columns: frame.columns,
    rows: frame.rows,
    corner: frame.corner,
    columnStep: frame.columnStep,
    rowStep: frame.rowStep,
    space: 'site-grid',
    values: Float32Array.from(logRatio, (v, k) => (known[k] === 1 ? v : Number.NaN)),
  };
}

/** Ratios that part the bands of the drawing, from low to high; between 0.8 and 1.25 the sides count as equal. */
const bandNames = [
  [0, 'below 1 : 8'],
  [1 / 8, '1 : 8 to 1 : 4'],
  [1 / 4, '1 : 4 to 1 : 2'],
  [1 / 2, '1 : 2 to 0.8'],
  [0.8, 'about equal, 0.8 to 1.25'],
  [1.25, '1.25 to 2 : 1'],
  [2, '2 : 1 to 4 : 1'],
  [4, '4 : 1 to 8 : 1'],
  [8, '8 : 1 and more'],
] as const;

/** A band of the drawing: ground with a ratio between two limits. */
export interface RatioBand extends Pick<ContourArea, 'level' | 'region'> {
  readonly name: string;
  readonly colour: string;
}

/** The ground between round ratios, low to high. */
export function ratioBands({ frame, logRatio, ground }: RatioSurface): RatioBand[] {
  if (ground.rings.length === 0) return [];
  const levels = bandNames.map(([ratio]) => (ratio === 0 ? -2 * mostLogRatio : Math.log(ratio)));
  const areas = contourAreas(contourField(frame, logRatio), ground, { at: levels, highest: 2 * mostLogRatio });
  return areas.map(({ level, region }) => {
    const k = levels.indexOf(level);
    return { level, region, name: bandNames[k][1], colour: rampColour(differenceRamp, k / (bandNames.length - 1)) };
  });
}
