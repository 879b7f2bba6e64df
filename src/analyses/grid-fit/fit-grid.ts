import type { CommonPoint, Sample } from '../../domain/sample.js';
import { fullCircle, halfCircle, norths } from '../../math/norths.js';
import { type FittedSimilarity, fitSimilarity } from '../../math/similarity.js';
import { Problem } from '../../problems.js';
import { type MapGrid, mapGridAt } from './map-norths.js';
import { likelySlips, turnedOver } from './reflections.js';
import type { Parameters, Summary } from './schemas.js';
import { seasonShifts } from './season-shifts.js';

/** The numbers of a fit with what drawing and sentences need beside them. */
export interface GridFit {
  readonly summary: Summary;
  readonly common: readonly CommonPoint[];
  readonly fit: FittedSimilarity | null;
  readonly mapGrid: MapGrid;
}

/**
 * Fits the site grid to the map and compares grids of several seasons.
 * @throws Problem too-few-points for one common point; cannot-answer when there are neither common points nor control
 *   observed in two seasons
 */
export function fitGrid(sample: Sample, own: Parameters): GridFit {
  const common = (sample.readings?.common ?? []).filter((point) =>
    [point.localX, point.localY, point.easting, point.northing].every(Number.isFinite),
  );
  const shifts = seasonShifts(sample.readings?.control ?? [], sample.grid);
  if (common.length === 0 && shifts.length === 0) {
    throw new Problem(
      'cannot-answer',
      'grid-fit needs common points (name, local_x, local_y, easting, northing), or control points observed in two seasons; there are none',
    );
  }
  const source = Float64Array.from(common.flatMap((point) => [point.localX, point.localY]));
  const target = Float64Array.from(common.flatMap((point) => [point.easting, point.northing]));
  const fit = common.length === 0 ? null : fitSimilarity(source, target, own.fixed_scale);
  const free = fit === null || own.fixed_scale === null ? fit : fitSimilarity(source, target);
  const mapGrid = mapGridAt(own, sample.grid, middleOf(source, sample));
  const siteNorthDeg = fit ? fullCircle(-fit.rotationDeg) : sample.grid ? fullCircle(sample.grid.azimuth_deg) : null;
  const declination = declinationOf(own, sample);
  const found = norths({
    siteNorthDeg,
    convergenceDeg: mapGrid.convergenceDeg ?? null,
    declinationDeg: declination.degrees,
  });
  return {
    common,
    fit,
    mapGrid,
    summary: {
      ...fitNumbers(common, { source, target, fit, free, own, pointScale: mapGrid.pointScale ?? null }),
      season_shifts: shifts,
      norths: {
        site_north_deg: found.siteNorthDeg,
        true_north_deg: found.trueNorthDeg,
        magnetic_north_deg: found.magneticNorthDeg,
        convergence_deg: mapGrid.convergenceDeg ?? null,
        declination_deg: declination.degrees,
        declination_date: declination.date,
      },
    },
  };
}

/** As given, else as the site states it. */
function declinationOf(own: Parameters, { norths: site }: Sample) {
  if (own.declination_deg !== null) return { degrees: own.declination_deg, date: own.declination_date };
  return { degrees: site?.declinationDeg ?? null, date: site?.declinationDate ?? null };
}

/** Middle of the common points, or of the site grid, in metres of the grid. */
function middleOf(source: Float64Array, sample: Sample): [number, number] {
  const n = source.length / 2;
  if (n > 0) {
    const mean = (k: number) => source.reduce((sum, v, i) => (i % 2 === k ? sum + v / n : sum), 0);
    return [mean(0), mean(1)];
  }
  const { grid } = sample;
  return grid ? [(grid.columns * grid.node_spacing) / 2, (grid.rows * grid.node_spacing) / 2] : [0, 0];
}

interface FitParts {
  readonly source: Float64Array;
  readonly target: Float64Array;
  readonly fit: FittedSimilarity | null;
  readonly free: FittedSimilarity | null;
  readonly own: Parameters;
  readonly pointScale: number | null;
}

function fitNumbers(common: readonly CommonPoint[], parts: FitParts): Omit<Summary, 'season_shifts' | 'norths'> {
  const { source, target, fit, free, own, pointScale } = parts;
  const extentM = extentOf(source);
  const residuals = common.map(({ name }, i) => {
    const [easting, northing] = fit ? [fit.residuals[2 * i], fit.residuals[2 * i + 1]] : [0, 0];
    return {
      name,
      easting_m: easting,
      northing_m: northing,
      length_m: Math.hypot(easting, northing),
      redundancy: Math.max(0, fit?.redundancyNumbers[i] ?? 0),
    };
  });
  const worst = residuals.reduce<Summary['worst']>(
    (most, { name, length_m }) => (most && most.length_m >= length_m ? most : { name, length_m }),
    null,
  );
  const plain = fit && { residuals: fit.residuals, rmsM: fit.rmsM, fixedScale: own.fixed_scale };
  const over = plain && turnedOver(source, target, plain);
  const other = (found: FittedSimilarity, note: string) => ({
    rms_m: found.rmsM,
    rotation_deg: found.rotationDeg,
    scale: found.scale,
    note,
  });
  return {
    n: common.length,
    rotation_deg: fit?.rotationDeg ?? null,
    scale: fit?.scale ?? null,
    tx: fit?.tx ?? null,
    ty: fit?.ty ?? null,
    rms_m: fit?.rmsM ?? null,
    rms_point_m: fit && fit.rmsM * Math.SQRT2,
    sigma0_m: fit?.sigma0M ?? null,
    sigma: fit?.sigma
      ? { rotation_deg: fit.sigma.rotationDeg, scale: fit.sigma.scale, tx: fit.sigma.txM, ty: fit.sigma.tyM }
      : null,
    redundancy: fit?.redundancy ?? null,
    scale_used: fit === null ? null : own.fixed_scale === null ? 'fitted' : 'fixed',
    fitted_scale: free?.scale ?? null,
    extent_m: fit && extentM,
    point_scale: pointScale,
    scale_departure_mm: free && pointScale !== null ? 1000 * extentM * (free.scale - pointScale) : null,
    residuals,
    worst: fit !== null && fit.redundancy > 0 ? worst : null,
    mirrored: over?.isBetter
      ? other(
          over.mirrored,
          `x counted the other way; its site_north would lie ${azimuth(over.mirrored)}° from map_grid_north`,
        )
      : null,
    swapped: over?.isBetter
      ? other(over.swapped, `x and y exchanged; its site_north would lie ${azimuth(over.swapped)}° from map_grid_north`)
      : null,
    mirrored_rms_m: over?.mirrored.rmsM ?? null,
    slips:
      plain && !over?.isBetter
        ? likelySlips(source, target, plain).map(({ points, kind, rmsM }) => ({
            points: points.map((i) => common[i].name),
            kind,
            rms_m: rmsM,
          }))
        : [],
  };
}

const azimuth = ({ rotationDeg }: FittedSimilarity) => halfCircle(-rotationDeg).toFixed(2);

/** Largest distance between two points. */
function extentOf(xy: Float64Array): number {
  let largest = 0;
  for (let i = 0; i < xy.length; i += 2) {
    for (let j = 0; j < i; j += 2) largest = Math.max(largest, Math.hypot(xy[i] - xy[j], xy[i + 1] - xy[j + 1]));
  }
  return largest;
}
