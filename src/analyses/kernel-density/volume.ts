import type { Sample } from '../../domain/sample.js';
import { framePlace } from '../../math/cell-frame.js';
import type { SurfaceReader } from '../../math/lattice-surface.js';
import { regionBox } from '../../math/rings.js';
import { thicknessSurface } from '../../math/thickness-surface.js';
import { Problem } from '../../problems.js';
import { type IntensitySurface, type IntensityView, viewOf } from './intensity.js';

/** a deposit thinner than so many of its errors gives no finds per m³ */
export const leastThicknessSigmas = 3;

/** Thickness of the deposit at site-grid places. @throws Problem cannot-answer without levels of top and bottom */
export function thicknessOf(sample: Sample, unstatedSigmaM: number): SurfaceReader {
  const { levels, grid } = sample;
  const stepM = grid?.node_spacing ?? null;
  // a site grid has its origin at 0, 0; plain metres may be as large as map coordinates
  const [west, south] = stepM === null ? regionBox(sample.window) : [0, 0];
  const local = levels && { ...levels, x: levels.x.map((v) => v - west), y: levels.y.map((v) => v - south) };
  const seasons = sample.seasons.filter((season) => levels?.season.includes(season));
  const read = thicknessSurface(local, { seasons, stepM, unstatedSigmaM });
  return (xy) => read(xy.map((v, k) => v - (k % 2 === 0 ? west : south)));
}

/** Finds per m³ on cells, and the ground they stand on. */
export interface VolumeSurface extends IntensitySurface {
  readonly measuredCells: number;
  readonly thinCells: number;
  readonly unknownCells: number;
  /** over the cells measured: finds per m² and thickness, summed */
  readonly sumPerM2: number;
  readonly sumThicknessM: number;
}

/** A surface per m² divided by the thickness of the deposit; no value where that is thin or not known. */
function perVolume({ frame, values, inside }: IntensitySurface, thickness: SurfaceReader): VolumeSurface {
  const cells = Array.from(inside.keys()).filter((k) => inside[k] === 1);
  const places = cells.flatMap((k) => framePlace(frame, k % frame.columns, Math.floor(k / frame.columns)));
  const { value, sigma } = thickness(Float64Array.from(places));
  const out = new Float64Array(values.length);
  const stands = new Uint8Array(values.length);
  let [measuredCells, thinCells, unknownCells, sumPerM2, sumThicknessM] = [0, 0, 0, 0, 0];
  cells.forEach((cell, i) => {
    if (Number.isNaN(value[i])) unknownCells++;
    else if (!isThick(value[i], sigma[i])) thinCells++;
    else {
      out[cell] = values[cell] / value[i];
      stands[cell] = 1;
      measuredCells++;
      sumPerM2 += values[cell];
      sumThicknessM += value[i];
    }
  });
  runOnBeyond({ frame, values: out, inside }, stands);
  return { frame, values: out, inside: stands, measuredCells, thinCells, unknownCells, sumPerM2, sumThicknessM };
}

/** Cells just outside the window take the mean of their neighbours, so that contours run on until they are cut at its edge. */
function runOnBeyond({ frame, values, inside }: IntensitySurface, stands: Uint8Array): void {
  const { columns, rows } = frame;
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      if (inside[r * columns + c] === 1) continue;
      let [sum, count] = [0, 0];
      for (let y = Math.max(0, r - 1); y <= Math.min(rows - 1, r + 1); y++) {
        for (let x = Math.max(0, c - 1); x <= Math.min(columns - 1, c + 1); x++) {
          if (stands[y * columns + x] === 0) continue;
          sum += values[y * columns + x];
          count++;
        }
      }
      if (count > 0) values[r * columns + c] = sum / count;
    }
  }
}

const isThick = (thicknessM: number, sigmaM: number): boolean =>
  thicknessM > 0 && thicknessM >= leastThicknessSigmas * sigmaM;

/** A view per m³. */
export interface VolumeView extends IntensityView {
  readonly surface: VolumeSurface;
}

/** The same view per m³. */
export function volumeView(view: IntensityView, thickness: SurfaceReader, sample: Sample): VolumeView {
  const surface = perVolume(view.surface, thickness);
  const onCells = (cellM: number) => perVolume(view.onCells(cellM), thickness);
  return { ...viewOf({ ...view, surface, onCells }, sample.window), surface };
}

/** @throws Problem cannot-answer when no ground is thick enough */
export function refuseAllThin({ surface }: VolumeView): void {
  if (surface.measuredCells > 0) return;
  throw new Problem(
    'cannot-answer',
    surface.unknownCells > 0
      ? 'finds per m³ need top and bottom of the deposit levelled inside the window; nowhere in it are both known and three errors apart'
      : 'nowhere in the window is the deposit thicker than three of its errors; ask for finds per m² (per = m2)',
  );
}

/** Densities per m² at places → per m³; null where the thickness is thin or not known. */
export function atPerVolume(
  at: readonly (number | null)[],
  places: readonly (readonly [number, number])[],
  thickness: SurfaceReader,
): (number | null)[] {
  const { value, sigma } = thickness(Float64Array.from(places.flat()));
  return at.map((perM2, k) => (perM2 !== null && isThick(value[k], sigma[k]) ? perM2 / value[k] : null));
}
