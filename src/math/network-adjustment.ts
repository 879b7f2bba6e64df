import { readingAt, type SurveyNetwork, valueAt } from './network-reading.js';
import { cofactors, factorNormals, solveNormals } from './normal-matrix.js';

/** Where the points of a network come to rest. */
export interface RestingPlace {
  /** [n·dimension] metres; fixed points as they were */
  readonly coordinates: Float64Array;
  /** vᵀPv: squared residuals over squared standard deviations, summed */
  readonly vtpv: number;
  readonly iterations: number;
  readonly converged: boolean;
}

/** How well an adjusted network is known; the standard deviations of the readings are taken at their word. */
export interface NetworkPrecision {
  /** [m·m] cofactors of the unknown coordinates, m² (N⁻¹) */
  readonly cofactor: Float64Array;
  readonly unknowns: number;
  /** [n] first unknown of each point; −1 = held fixed */
  readonly unknownOf: Int32Array;
  /** [readings] adjusted minus observed, metres */
  readonly residual: Float64Array;
  /** [readings] share of an error that shows in the reading's own residual, 0 to 1; they sum to the redundancy */
  readonly redundancyNumber: Float64Array;
}

/** First unknown of each point, in the order of the points; −1 = held fixed. */
export function unknownOffsets(network: SurveyNetwork): { unknownOf: Int32Array; unknowns: number } {
  let unknowns = 0;
  const unknownOf = Int32Array.from(network.fixed, (fixed) => {
    if (fixed === 1) return -1;
    unknowns += network.dimension;
    return unknowns - network.dimension;
  });
  return { unknownOf, unknowns };
}

interface Step {
  /** [m·m] lower triangle of AᵀPA */
  readonly normals: Float64Array;
  /** [m·m] the same with what the bend of tapes adds: the second derivatives of vᵀPv / 2; null when not asked for */
  readonly bent: Float64Array | null;
  /** [m] AᵀP(observed − computed) */
  readonly right: Float64Array;
  readonly vtpv: number;
}

/** The unknowns a reading depends on, with its derivatives after them. */
function activeUnknowns(
  reading: SurveyNetwork['readings'][number],
  of: { readonly unknownOf: Int32Array; readonly dimension: number },
  found: { readonly at: Int32Array; readonly from: Int32Array },
): number {
  let count = 0;
  const ends = [reading.from, reading.second, reading.point];
  for (let e = 0; e < 3; e++) {
    const first = ends[e] < 0 ? -1 : of.unknownOf[ends[e]];
    if (first < 0) continue;
    for (let k = 0; k < of.dimension; k++) {
      found.at[count] = first + k;
      found.from[count++] = 3 * e + k;
    }
  }
  return count;
}

/** What one step is written into, again and again. */
type Room = Omit<Step, 'vtpv'>;

function roomFor(unknowns: number, bend: 'with' | 'without'): Room {
  return {
    normals: new Float64Array(unknowns * unknowns),
    bent: bend === 'with' ? new Float64Array(unknowns * unknowns) : null,
    right: new Float64Array(unknowns),
  };
}

/** The step at a place; `room` is written over and handed back in it. */
function assemble(network: SurveyNetwork, coordinates: Float64Array, unknownOf: Int32Array, room: Room): Step {
  const { normals, bent, right } = room;
  const unknowns = right.length;
  const { dimension } = network;
  normals.fill(0);
  bent?.fill(0);
  right.fill(0);
  const partials = new Float64Array(9);
  const found = { at: new Int32Array(9), from: new Int32Array(9) };
  let vtpv = 0;
  for (const reading of network.readings) {
    const computed = readingAt(reading, coordinates, dimension, partials);
    const weight = 1 / (reading.sigma * reading.sigma);
    const misclosure = reading.value - computed;
    vtpv += weight * misclosure * misclosure;
    const count = activeUnknowns(reading, { unknownOf, dimension }, found);
    // a tape turns as its ends move: (1 − u uᵀ) / d times its residual
    const bend = reading.kind === 'distance' && computed > 0 ? (-weight * misclosure) / computed : 0;
    for (let i = 0; i < count; i++) {
      const row = found.at[i];
      const own = found.from[i];
      const weighted = weight * partials[own];
      right[row] += weighted * misclosure;
      for (let j = 0; j < count; j++) {
        if (found.at[j] > row) continue;
        const other = found.from[j];
        const cell = row * unknowns + found.at[j];
        normals[cell] += weighted * partials[other];
        if (bent && bend !== 0) {
          const along = own % 3 === other % 3 ? (own < 3 === other < 3 ? 1 : -1) : 0;
          bent[cell] += bend * (along - partials[own] * partials[other]);
        }
      }
    }
  }
  if (bent) for (let i = 0; i < bent.length; i++) bent[i] += normals[i];
  return { normals, bent, right, vtpv };
}

function misfit(network: SurveyNetwork, coordinates: Float64Array): number {
  let vtpv = 0;
  for (const reading of network.readings) {
    const v = (valueAt(reading, coordinates, network.dimension) - reading.value) / reading.sigma;
    vtpv += v * v;
  }
  return vtpv;
}

/**
 * Moves the unknown points to where vᵀPv is least near their start: Newton steps where vᵀPv is bowl-shaped, else
 * Gauss–Newton, held back (Levenberg–Marquardt) where a plain step would lead uphill.
 *
 * Converges to the nearest solution, which need not be the only one. Map coordinates cost digits: reduce them first.
 *
 * @param start  [n·dimension] metres, left untouched
 * @see Levenberg 1944, doi:10.1090/qam/10666; Marquardt 1963, doi:10.1137/0111030
 */
export function comeToRest(network: SurveyNetwork, start: Float64Array, mostIterations = 80): RestingPlace {
  const { unknownOf, unknowns } = unknownOffsets(network);
  let coordinates: Float64Array = start.slice();
  if (unknowns === 0) return { coordinates, vtpv: misfit(network, coordinates), iterations: 0, converged: true };
  let damping = 0;
  const room = roomFor(unknowns, 'with');
  for (let iterations = 1; iterations <= mostIterations; iterations++) {
    const step = assemble(network, coordinates, unknownOf, room);
    const tried = tryStep(network, coordinates, { step, unknownOf, damping });
    if (!tried) return { coordinates, vtpv: step.vtpv, iterations, converged: true };
    coordinates = tried.coordinates;
    damping = tried.damping;
    // a step that was held back is small for that reason alone
    if (tried.largest < 1e-10 && damping < 1e-4) {
      return { coordinates, vtpv: misfit(network, coordinates), iterations, converged: true };
    }
  }
  return { coordinates, vtpv: misfit(network, coordinates), iterations: mostIterations, converged: false };
}

/** The first step that does not lead uphill; null when none does. */
function tryStep(
  network: SurveyNetwork,
  coordinates: Float64Array,
  from: { readonly step: Step; readonly unknownOf: Int32Array; readonly damping: number },
): { coordinates: Float64Array; largest: number; damping: number } | null {
  const { step, unknownOf } = from;
  const unknowns = step.right.length;
  // rounding may lift the sum by a hair when nothing is left to gain
  const limit = step.vtpv * (1 + 1e-10) + 1e-18;
  const attempt = (matrix: Float64Array) => {
    const solved = factorNormals(matrix, unknowns);
    if (!('factor' in solved)) return null;
    const correction = solveNormals(solved.factor, step.right.slice());
    const moved = applied(coordinates, correction, { unknownOf, dimension: network.dimension });
    if (!(misfit(network, moved) <= limit)) return null;
    return { coordinates: moved, largest: correction.reduce((most, v) => Math.max(most, Math.abs(v)), 0) };
  };
  if (from.damping === 0 && step.bent) {
    const taken = attempt(step.bent);
    if (taken) return { ...taken, damping: 0 };
  }
  let damping = from.damping;
  for (let k = 0; k < 14; k++) {
    const damped = step.normals.slice();
    for (let i = 0; i < unknowns; i++) damped[i * unknowns + i] *= 1 + damping;
    const taken = attempt(damped);
    if (taken) return { ...taken, damping: damping < 1e-5 ? 0 : damping / 10 };
    damping = Math.max(10 * damping, 1e-5);
  }
  return null;
}

function applied(
  coordinates: Float64Array,
  step: Float64Array,
  of: { readonly unknownOf: Int32Array; readonly dimension: number },
): Float64Array {
  const moved = coordinates.slice();
  of.unknownOf.forEach((first, point) => {
    if (first < 0) return;
    for (let k = 0; k < of.dimension; k++) moved[point * of.dimension + k] += step[first + k];
  });
  return moved;
}

/**
 * Cofactors, residuals and redundancy numbers of a network at rest.
 * @returns  or the point that its readings do not fix
 * @see Baarda 1968, A testing procedure for use in geodetic networks, Netherlands Geodetic Commission 2(5)
 */
export function networkPrecision(
  network: SurveyNetwork,
  coordinates: Float64Array,
): NetworkPrecision | { readonly loosePoint: number } {
  const { unknownOf, unknowns } = unknownOffsets(network);
  const { normals } = assemble(network, coordinates, unknownOf, roomFor(unknowns, 'without'));
  const solved = factorNormals(normals, unknowns);
  if ('failedRow' in solved) {
    return {
      loosePoint: unknownOf.findIndex(
        (first) => first >= 0 && Math.floor(solved.failedRow / network.dimension) * network.dimension === first,
      ),
    };
  }
  const cofactor = cofactors(solved.factor);
  const n = network.readings.length;
  const residual = new Float64Array(n);
  const redundancyNumber = new Float64Array(n);
  const partials = new Float64Array(9);
  const found = { at: new Int32Array(9), from: new Int32Array(9) };
  const of = { unknownOf, dimension: network.dimension };
  network.readings.forEach((reading, i) => {
    residual[i] = readingAt(reading, coordinates, network.dimension, partials) - reading.value;
    const count = activeUnknowns(reading, of, found);
    let variance = 0;
    for (let a = 0; a < count; a++) {
      for (let b = 0; b < count; b++) {
        variance += partials[found.from[a]] * cofactor[found.at[a] * unknowns + found.at[b]] * partials[found.from[b]];
      }
    }
    const share = 1 - variance / (reading.sigma * reading.sigma);
    // what rounding leaves of nothing: such a reading is not checked by any other
    redundancyNumber[i] = share < 1e-9 ? 0 : share;
  });
  return { cofactor, unknowns, unknownOf, residual, redundancyNumber };
}
