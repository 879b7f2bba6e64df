import type { Snooped } from '../../math/data-snooping.js';
import { snoop } from '../../math/data-snooping.js';
import { type NetworkSolution, type PartSolution, solveNetwork } from '../../math/network-solution.js';
import { Problem } from '../../problems.js';
import { type CauseQuestion, likelyCauses } from './causes.js';
import type { Parameters } from './schemas.js';
import { listed, type NamedNetwork, networkOf, type ReadSurvey, withoutElevation } from './survey-network.js';

/** Unknown coordinates that one run adjusts: the work grows with their cube. */
const mostUnknowns = 1500;

/** A survey adjusted, its suspects named, and the parts its positions are taken from. */
export interface AdjustedSurvey {
  readonly named: NamedNetwork;
  readonly solution: NetworkSolution;
  readonly snooped: Snooped;
  /** with all readings, or without the suspects, as asked */
  readonly parts: readonly PartSolution[];
  /** [suspects] */
  readonly causes: readonly string[];
  /** [n] best angle of cut of each point's tapes, degrees; NaN = fewer than two */
  readonly bestCutDeg: Float64Array;
  /** why the adjustment is in plan although elevations are given; null = it is not */
  readonly planReason: string | null;
}

/**
 * Adjusts in the dimensions asked for. `auto` takes three when control has elevations, unless in plan more points can
 * be placed.
 * @throws Problem cannot-answer when 3 dimensions are asked for and control has no elevation; too-much-work
 */
export function adjustSurvey(survey: ReadSurvey, own: Parameters): AdjustedSurvey {
  const dimensions = String(own.dimensions);
  const levelless = withoutElevation(survey);
  if (dimensions === '3' && levelless.length > 0) {
    throw new Problem(
      'cannot-answer',
      `dimensions = 3 needs an elevation of every control point that readings touch; ${listed(levelless)} ${levelless.length === 1 ? 'has' : 'have'} none`,
      { points: levelless },
    );
  }
  const unknowns = (survey.names.length - survey.fixedCount) * (dimensions === '2' ? 2 : 3);
  if (unknowns > mostUnknowns) {
    throw new Problem(
      'too-much-work',
      `${survey.names.length - survey.fixedCount} points to be found are too many for one adjustment; at most ${Math.floor(mostUnknowns / 3)}: hold those found before as control`,
      { unknowns },
    );
  }
  if (dimensions === '2' || levelless.length > 0) return adjustIn(survey, own, { dimension: 2, planReason: null });
  const inSpace = adjustIn(survey, own, { dimension: 3, planReason: null });
  if (dimensions === '3' || inSpace.solution.loose.size === 0) return inSpace;
  const loose = [...inSpace.solution.loose.keys()].map((p) => inSpace.named.names[p]);
  const planReason = `in space the readings do not place ${listed(loose)}`;
  const inPlan = adjustIn(survey, own, { dimension: 2, planReason });
  return inPlan.solution.loose.size < inSpace.solution.loose.size ? inPlan : inSpace;
}

function adjustIn(
  survey: ReadSurvey,
  own: Parameters,
  how: { readonly dimension: 2 | 3; readonly planReason: string | null },
): AdjustedSurvey {
  const named = networkOf(survey, how.dimension);
  const { network, coordinates } = named;
  const solution = solveNetwork(network, coordinates);
  const alpha = own.alpha ?? (own.test === 'baarda' ? 0.001 : 0.05);
  const snooped = snoop({ network, coordinates, solution }, { test: own.test, alpha });
  const cleaned = placedCoordinates(named, snooped.parts, solution.origin);
  const bestCutDeg = bestCuts(named, cleaned);
  const question: CauseQuestion = {
    network,
    coordinates: cleaned,
    names: named.names,
    elevation: named.elevation,
    asRead: Float64Array.from(named.measurementOf, (m) => {
      const read = survey.measurements[m];
      return 'reason' in read ? Number.NaN : read.value;
    }),
    rows: named.measurementOf.map((m) => survey.measurements[m].measurement.row),
    bestCutDeg,
  };
  return {
    named,
    solution,
    snooped,
    parts: own.suspects === 'set_aside' ? snooped.parts : solution.parts,
    causes: likelyCauses(snooped.suspects, question),
    bestCutDeg,
    planReason: how.planReason,
  };
}

/** Where all points lie, in metres of the grid; NaN = not placed. @returns [n·dimension] */
export function placedCoordinates(
  named: NamedNetwork,
  parts: readonly PartSolution[],
  origin: readonly number[],
): Float64Array {
  const { dimension, fixed } = named.network;
  const out = named.coordinates.map((v, i) => (fixed[Math.floor(i / dimension)] === 1 ? v : Number.NaN));
  for (const { part, coordinates } of parts) {
    part.points.forEach((p, k) => {
      if (fixed[p] === 1) return;
      for (let d = 0; d < dimension; d++) out[p * dimension + d] = origin[d] + coordinates[k * dimension + d];
    });
  }
  return out;
}

/** The angle nearest to 90° at which two tapes of each point cut in plan; NaN for fewer than two tapes. */
function bestCuts(named: NamedNetwork, coordinates: Float64Array): Float64Array {
  const { dimension, readings, fixed } = named.network;
  const directions: number[][] = Array.from(fixed, () => []);
  for (const reading of readings) {
    if (reading.kind !== 'distance') continue;
    for (const [p, q] of [
      [reading.point, reading.from],
      [reading.from, reading.point],
    ]) {
      const dx = coordinates[q * dimension] - coordinates[p * dimension];
      const dy = coordinates[q * dimension + 1] - coordinates[p * dimension + 1];
      if (Number.isFinite(dx)) directions[p].push(Math.atan2(dy, dx));
    }
  }
  return Float64Array.from(directions, (angles) => {
    let best = Number.NaN;
    for (let i = 0; i < angles.length; i++) {
      for (let j = 0; j < i; j++) {
        const cut = (Math.asin(Math.min(1, Math.abs(Math.sin(angles[i] - angles[j])))) * 180) / Math.PI;
        if (!(cut <= best)) best = cut;
      }
    }
    return best;
  });
}
