import { kaplanMeierCurve } from '../../math/distance-estimators.js';
import { emptySpace, jFunction, type TestPlaces } from '../../math/empty-space.js';
import { type EdgeCorrectionOfK, isotropicBySteps, kFunctions, lFunction } from '../../math/k-function.js';
import type { Radii } from '../../math/radii.js';
import { type SetCovariance, tabulated } from '../../math/set-covariance.js';
import { halfWidthOf, nearestSeen, withShortSteps } from './curves.js';
import type { Ground } from './ground.js';
import type { TestedFunction } from './schemas.js';

/** One pattern of the two types; the same array twice when there is one type. */
export interface Pattern {
  readonly from: Float64Array;
  readonly to: Float64Array;
}

/** The curve of one pattern, by one and the same rule for the observed and every simulated one. */
export type Estimator = (pattern: Pattern) => Float64Array;

/** What the estimator works with. */
export interface EstimatorPlan {
  readonly function: TestedFunction;
  readonly edge: EdgeCorrectionOfK;
  readonly radii: Radii;
  readonly covariance: SetCovariance;
  /** reach of the covariance, metres */
  readonly reachM: number;
  readonly places: TestPlaces;
}

/**
 * The rule a test measures observed and simulated patterns by. Overlaps of the window come from a table and isotropic
 * weights from the middles of short steps: close to the printed curves and many times as fast; the ranks are valid as
 * every pattern is measured alike.
 */
export function estimatorOf(ground: Ground, plan: EstimatorPlan): Estimator {
  const { radii, places } = plan;
  switch (plan.function) {
    case 'K':
      return kEstimator(ground, plan);
    case 'L': {
      const k = kEstimator(ground, plan);
      return (pattern) => lFunction(k(pattern));
    }
    case 'pcf':
      return pairCorrelationEstimator(ground, plan);
    case 'G':
      return (pattern) => kaplanMeierCurve(nearestSeen({ ...pattern, window: ground.window }), radii);
    case 'F':
      return (pattern) => emptySpace(pattern.to, places, radii);
    case 'J':
      return (pattern) =>
        jFunction(
          kaplanMeierCurve(nearestSeen({ ...pattern, window: ground.window }), radii),
          emptySpace(pattern.to, places, radii),
        );
  }
}

function kEstimator(ground: Ground, plan: EstimatorPlan): Estimator {
  const { radii, edge } = plan;
  const { window, areaM2 } = ground;
  if (edge === 'isotropic') {
    const { fine, at } = withShortSteps(radii);
    return (pattern) => {
      const k = isotropicBySteps({ ...pattern, window, areaM2 }, fine);
      return Float64Array.from(at, (place) => k[place]);
    };
  }
  const questions = { radii, corrections: [edge], covariance: tableFor(plan) };
  return (pattern) => kFunctions({ ...pattern, window, areaM2 }, questions).k[edge] ?? new Float64Array(0);
}

function pairCorrelationEstimator(ground: Ground, plan: EstimatorPlan): Estimator {
  const { radii, edge } = plan;
  const { window, areaM2 } = ground;
  const halfWidthM = halfWidthOf(ground);
  const questions = {
    radii,
    corrections: [edge],
    covariance: tableFor(plan),
    ...(halfWidthM === null ? {} : { halfWidthM }),
  };
  return (pattern) =>
    kFunctions({ ...pattern, window, areaM2 }, questions).pairCorrelation[edge] ?? new Float64Array(0);
}

function tableFor({ edge, covariance, reachM }: EstimatorPlan): SetCovariance | null {
  return edge === 'translation' ? tabulated(covariance, reachM) : null;
}
