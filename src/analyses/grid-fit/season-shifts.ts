import { gridFrame } from '../../domain/grid.js';
import type { ControlPoint } from '../../domain/sample.js';
import type { GridRecord } from '../../domain/site.js';
import { halfCircle } from '../../math/norths.js';
import { fitSimilarity } from '../../math/similarity.js';
import type { Summary } from './schemas.js';

type Shift = Summary['season_shifts'][number];

/** Control points observed in two seasons. */
interface Pairing {
  readonly from: string;
  readonly to: string;
  readonly points: readonly { readonly name: string; readonly later: ControlPoint; readonly earlier: ControlPoint }[];
}

/** CP1-S3 of season S3 is CP1 observed again. */
const plainName = ({ name, season }: ControlPoint) =>
  season !== null && name.endsWith(`-${season}`) ? name.slice(0, -season.length - 1) : name;

/** Later seasons paired with the earliest season they share control points with, in the order control lists them. */
function pairings(control: readonly ControlPoint[]): Pairing[] {
  const bySeason = new Map<string, Map<string, ControlPoint>>();
  for (const point of control) {
    // detail points are found from the control, they do not carry a grid
    if (point.season === null || point.class === 'detail' || !Number.isFinite(point.x + point.y)) continue;
    const own = bySeason.get(point.season) ?? new Map<string, ControlPoint>();
    own.set(plainName(point), point);
    bySeason.set(point.season, own);
  }
  const seasons = [...bySeason.keys()];
  return seasons.flatMap((from, k): Pairing[] => {
    for (const to of seasons.slice(0, k)) {
      const points = [...(bySeason.get(from) ?? [])].flatMap(([name, later]) => {
        const earlier = bySeason.get(to)?.get(name);
        return earlier ? [{ name, later, earlier }] : [];
      });
      if (points.length > 0) return [{ from, to, points }];
    }
    return [];
  });
}

/**
 * How a grid laid anew lies to the one before, from control observed in both seasons: the later coordinates are turned
 * and shifted, not scaled.
 *
 * The same tapes and marks moved between the seasons look like a shifted grid too.
 *
 * @param grid  the declared first grid; null on plain files
 */
export function seasonShifts(control: readonly ControlPoint[], grid: GridRecord | null): Shift[] {
  return pairings(control).map(({ from, to, points }) => {
    const n = points.length;
    const source = Float64Array.from(points.flatMap(({ later }) => [later.x, later.y]));
    const target = Float64Array.from(points.flatMap(({ earlier }) => [earlier.x, earlier.y]));
    const mean = (of: (pair: (typeof points)[number]) => number, over = points) =>
      over.reduce((sum, pair) => sum + of(pair), 0) / over.length;
    const levelled = points.filter(({ later, earlier }) => Number.isFinite(later.z + earlier.z));
    const held = n < 2 ? null : fitSimilarity(source, target, 1);
    const free = n < 3 ? null : fitSimilarity(source, target);
    const meanX = mean(({ later, earlier }) => earlier.x - later.x);
    const meanY = mean(({ later, earlier }) => earlier.y - later.y);
    return {
      from_season: from,
      to_season: to,
      n,
      points: points.map(({ name }) => name),
      rotation_deg: held && halfCircle(held.rotationDeg),
      tx_m: held?.tx ?? meanX,
      ty_m: held?.ty ?? meanY,
      mean_shift_x_m: meanX,
      mean_shift_y_m: meanY,
      mean_shift_z_m: levelled.length === 0 ? null : mean(({ later, earlier }) => earlier.z - later.z, levelled),
      rms_m: held?.rmsM ?? null,
      sigma_shift_m: held?.sigma0M == null ? null : held.sigma0M / Math.sqrt(n),
      fitted_scale: free?.scale ?? null,
      grid: held && grid && carriesSeason(grid, to) ? laterGrid(grid, held) : null,
    };
  });
}

const carriesSeason = (grid: GridRecord, season: string) =>
  grid.valid_seasons.length === 0 || grid.valid_seasons.includes(season);

function laterGrid(grid: GridRecord, fit: { tx: number; ty: number; rotationDeg: number }): Shift['grid'] {
  const [easting, northing] = gridFrame(grid).toProjected(fit.tx, fit.ty);
  return {
    origin_easting: easting,
    origin_northing: northing,
    // turning anticlockwise takes from an azimuth
    azimuth_deg: halfCircle(grid.azimuth_deg - fit.rotationDeg),
  };
}
