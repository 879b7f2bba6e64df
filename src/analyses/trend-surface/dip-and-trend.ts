import { studentTwoSided } from '../../math/distributions.js';
import type { SurfaceNodes } from '../../math/level-nodes.js';
import {
  type DipErrors,
  dipErrors,
  dipOf,
  type FittedPlane,
  fitPlane,
  type PlaneDip,
  seasonShifts,
  withSharedError,
} from '../../math/plane-dip.js';
import { fitTrend, type OrderTest, orderTests, type RobustTrend, robustTrend, type Trend } from '../../math/trend.js';
import { Problem } from '../../problems.js';

/** A plane with its errors, a trend of the order asked, and the same without the pull of far-off levels. */
export interface DipAndTrend {
  readonly plane: FittedPlane;
  readonly errors: DipErrors;
  /** half width of the 95 % interval of the dip, degrees; null with three levels */
  readonly halfWidthDeg: number | null;
  readonly season: SeasonError | null;
  readonly trend: Trend;
  readonly tests: readonly OrderTest[];
  readonly robust: { readonly dip: PlaneDip; readonly fit: RobustTrend } | null;
}

/** What errors shared by a season add. */
interface SeasonError {
  readonly sharedSigmaM: number;
  readonly isEstimated: boolean;
  readonly errors: DipErrors;
  readonly shifts: readonly {
    readonly season: string;
    readonly nodes: number;
    readonly shiftM: number;
    readonly seM: number;
  }[];
}

/**
 * Fits plane and trend to the nodes of a surface.
 * @param sharedSigmaM  standard deviation of a season's shared error; null = from the shifts between seasons
 * @throws Problem too-few-points below three nodes, or fewer than the order has terms; cannot-answer on one line
 */
export function dipAndTrend(nodes: SurfaceNodes, order: 1 | 2 | 3, sharedSigmaM: number | null): DipAndTrend {
  const n = nodes.x.length;
  const terms = ((order + 1) * (order + 2)) / 2;
  if (n < terms) {
    throw new Problem(
      'too-few-points',
      `a trend of order ${order} has ${terms} terms and needs at least as many levelled nodes; there ${n === 1 ? 'is 1' : `are ${n}`}`,
      { n, terms },
    );
  }
  const plane = fitPlane(nodes);
  const trend = fitTrend(nodes, order);
  if (plane === null || trend === null) {
    throw new Problem(
      'cannot-answer',
      plane === null
        ? `all ${n} levels lie on one line: how the ground slopes across it was not seen`
        : `the ${n} levels lie on too few lines for a trend of order ${order}; ask for a lower order`,
      { n },
    );
  }
  const errors = dipErrors(plane, plane.covariance);
  const robustPlane = n > 3 ? robustTrend(nodes, 1) : null;
  const fit = order === 1 ? robustPlane : n > terms ? robustTrend(nodes, order) : null;
  return {
    plane,
    errors,
    halfWidthDeg: errors.seDipDeg === null ? null : studentQuantile(n - 3) * errors.seDipDeg,
    season: seasonError(nodes, plane, sharedSigmaM),
    trend,
    tests: orderTests(nodes),
    robust: robustPlane && fit && { dip: slopeOf(robustPlane.trend, plane.centre), fit },
  };
}

function slopeOf(trend: Trend, [x, y]: readonly [number, number]): PlaneDip {
  const level = trend.at(x, y);
  return dipOf(trend.at(x + 1, y) - level, trend.at(x, y + 1) - level);
}

function seasonError(nodes: SurfaceNodes, plane: FittedPlane, given: number | null): SeasonError | null {
  const { seasonNames, seasonShare } = nodes;
  const seasons = { seasons: seasonNames.length, share: seasonShare };
  if (seasonNames.length < 2 || plane.covariance === null) return null;
  const shifts = seasonShifts(nodes, seasons);
  if (shifts === null && given === null) return null;
  const sharedSigmaM = given ?? shifts?.sigmaM ?? 0;
  const covariance = withSharedError(nodes, plane.covariance, { ...seasons, sharedSigmaM });
  return {
    sharedSigmaM,
    isEstimated: given === null,
    errors: dipErrors(plane, covariance),
    shifts:
      shifts === null
        ? []
        : seasonNames.map((season, s) => ({
            season,
            nodes: nodes.z.reduce((sum, _, i) => sum + seasonShare[i * seasonNames.length + s], 0),
            shiftM: shifts.shiftM[s],
            seM: shifts.seShiftM[s],
          })),
  };
}

/** t beyond which 2.5 % lie on either side, by halving. */
function studentQuantile(degreesOfFreedom: number): number {
  let low = 0;
  let high = 1000;
  for (let k = 0; k < 80; k++) {
    const middle = (low + high) / 2;
    if (studentTwoSided(middle, degreesOfFreedom) > 0.05) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
