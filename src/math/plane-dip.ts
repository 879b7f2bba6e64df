import { leastSquares } from './least-squares.js';
import type { LevelPlaces } from './trend.js';

/** A sloping plane: how steep, and which way down, with the errors of both. */
export interface PlaneDip {
  /** rise eastwards and northwards along the grid, metres per metre */
  readonly slopeX: number;
  readonly slopeY: number;
  readonly dipDeg: number;
  /** downslope, degrees clockwise from the y axis, 0 to 360; null for a level plane */
  readonly directionDeg: number | null;
}

/** Standard errors of dip and direction, degrees; null where they do not exist. */
export interface DipErrors {
  readonly seDipDeg: number | null;
  readonly seDirectionDeg: number | null;
}

/** A plane through levels with the covariance of its slopes. */
export interface FittedPlane extends PlaneDip {
  readonly levelAtCentre: number;
  readonly centre: readonly [number, number];
  /** residual standard deviation, metres; null with three levels */
  readonly sigmaM: number | null;
  /** variance of slopeX, covariance, variance of slopeY; null with three levels */
  readonly covariance: SlopeCovariance | null;
  readonly residual: Float64Array;
}

export type SlopeCovariance = readonly [number, number, number];

const degrees = 180 / Math.PI;

/** Dip and downslope direction of a plane from its slopes. */
export function dipOf(slopeX: number, slopeY: number): PlaneDip {
  const steepness = Math.hypot(slopeX, slopeY);
  const direction = steepness > 0 ? Math.atan2(-slopeX, -slopeY) * degrees : null;
  return {
    slopeX,
    slopeY,
    dipDeg: Math.atan(steepness) * degrees,
    directionDeg: direction === null ? null : (direction + 360) % 360,
  };
}

/**
 * The least-squares plane through levels.
 * @returns null for fewer than three levels, or when all lie on one line in plan
 */
export function fitPlane(places: LevelPlaces): FittedPlane | null {
  const n = places.x.length;
  const columns = planeColumns(places);
  const fit = columns && leastSquares(columns.columns, relative(places.z), null);
  if (!columns || !fit) return null;
  const variance = n > 3 ? fit.sumOfSquares / (n - 3) : null;
  return {
    ...dipOf(fit.coefficients[1], fit.coefficients[2]),
    levelAtCentre: places.z[0] + fit.coefficients[0],
    centre: columns.centre,
    sigmaM: variance === null ? null : Math.sqrt(variance),
    covariance:
      variance === null
        ? null
        : [variance * fit.covariance[4], variance * fit.covariance[5], variance * fit.covariance[8]],
    residual: fit.residual,
  };
}

/** First-order errors of dip and direction from the covariance of the slopes. */
export function dipErrors({ slopeX: b, slopeY: c }: PlaneDip, covariance: SlopeCovariance | null): DipErrors {
  const squared = b * b + c * c;
  if (covariance === null || !(squared > 0)) return { seDipDeg: null, seDirectionDeg: null };
  const [vb, vbc, vc] = covariance;
  const steepest = (b * b * vb + 2 * b * c * vbc + c * c * vc) / squared;
  const across = (c * c * vb - 2 * b * c * vbc + b * b * vc) / (squared * squared);
  return {
    seDipDeg: (Math.sqrt(Math.max(0, steepest)) / (1 + squared)) * degrees,
    seDirectionDeg: Math.sqrt(Math.max(0, across)) * degrees,
  };
}

/** Shifts between seasons beside one plane, and what they do to its slopes. */
export interface SeasonShifts {
  /** [seasons] shift of each season's levels from the mean of all seasons, metres */
  readonly shiftM: Float64Array;
  readonly seShiftM: Float64Array;
  /** standard deviation of a season's shared error by these shifts, metres */
  readonly sigmaM: number;
}

/** Which season each level belongs to: [n × seasons] shares that sum to one. */
export interface SeasonOfLevels {
  readonly seasons: number;
  readonly share: Float64Array;
}

/**
 * Shared errors of seasons (a datum, a tide) estimated beside one plane: their variance is what the shifts scatter
 * more than their own errors explain.
 *
 * With two or three seasons this is a rough guess; and a real change of ground between seasons counts as error.
 *
 * @returns null when seasons and slope cannot be told apart, or no degrees of freedom are left
 */
export function seasonShifts(places: LevelPlaces, { seasons, share }: SeasonOfLevels): SeasonShifts | null {
  const n = places.x.length;
  const plane = planeColumns(places);
  if (!plane || seasons < 2 || n <= 2 + seasons) return null;
  const ofSeason = Array.from({ length: seasons }, (_, s) =>
    Float64Array.from({ length: n }, (_, i) => share[i * seasons + s]),
  );
  const fit = leastSquares([...plane.columns.slice(1), ...ofSeason], relative(places.z), null);
  if (fit === null) return null;
  const k = 2 + seasons;
  const variance = fit.sumOfSquares / (n - k);
  const own = fit.coefficients.subarray(2);
  const mean = own.reduce((sum, v) => sum + v / seasons, 0);
  const shiftM = own.map((v) => v - mean);
  const covariance = (s: number, t: number) => variance * fit.covariance[(2 + s) * k + 2 + t];
  const row = (s: number) => ofSeason.reduce((sum, _, t) => sum + covariance(s, t) / seasons, 0);
  const all = ofSeason.reduce((sum, _, s) => sum + row(s) / seasons, 0);
  const varianceOfShift = ofSeason.map((_, s) => Math.max(0, covariance(s, s) - 2 * row(s) + all));
  const between = shiftM.reduce((sum, v, s) => sum + v * v - varianceOfShift[s], 0) / (seasons - 1);
  return {
    shiftM,
    seShiftM: Float64Array.from(varianceOfShift, Math.sqrt),
    sigmaM: Math.sqrt(Math.max(0, between)),
  };
}

/**
 * Covariance of the slopes with a shared error of every season added to the random one.
 * @param sharedSigmaM  standard deviation of the shared error, metres
 */
export function withSharedError(
  places: LevelPlaces,
  covariance: SlopeCovariance,
  { seasons, share, sharedSigmaM }: SeasonOfLevels & { readonly sharedSigmaM: number },
): SlopeCovariance {
  const columns = planeColumns(places)?.columns;
  if (!columns) return covariance;
  const n = places.x.length;
  let [vb, vbc, vc] = covariance;
  for (let s = 0; s < seasons; s++) {
    // what the plane would be through a shift of one metre of this season alone
    const lever = leastSquares(
      columns,
      Float64Array.from({ length: n }, (_, i) => share[i * seasons + s]),
      null,
    );
    if (lever === null) continue;
    const [, b, c] = lever.coefficients;
    vb += sharedSigmaM ** 2 * b * b;
    vbc += sharedSigmaM ** 2 * b * c;
    vc += sharedSigmaM ** 2 * c * c;
  }
  return [vb, vbc, vc];
}

function planeColumns({ x, y }: LevelPlaces): { columns: Float64Array[]; centre: [number, number] } | null {
  const n = x.length;
  if (n < 3) return null;
  const middle = (values: Float64Array) => values.reduce((sum, v) => sum + (v - values[0]) / n, 0) + values[0];
  const centre: [number, number] = [middle(x), middle(y)];
  return {
    columns: [new Float64Array(n).fill(1), x.map((v) => v - centre[0]), y.map((v) => v - centre[1])],
    centre,
  };
}

const relative = (z: Float64Array) => z.map((v) => v - z[0]);
