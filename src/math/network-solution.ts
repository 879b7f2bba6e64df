import { confidenceFactor, errorEllipse } from './error-ellipse.js';
import { comeToRest, type NetworkPrecision, networkPrecision } from './network-adjustment.js';
import { dropReadings, type NetworkPart, networkParts, pruneLoose } from './network-parts.js';
import type { SurveyNetwork } from './network-reading.js';
import { apart, type Rest, solutionsFrom, withMirrored } from './network-search.js';

/** A part of a network at rest. */
export interface PartSolution {
  readonly part: NetworkPart;
  /** [points of the part · dimension] metres about the origin of the solution */
  readonly coordinates: Float64Array;
  readonly vtpv: number;
  readonly iterations: number;
  readonly precision: NetworkPrecision;
  /** where points lie in other solutions with the same vᵀPv, part coordinates; null = there is no other */
  readonly mirror: Float64Array | null;
  /** vᵀPv of the next best solution when that is not the same; null = none was found */
  readonly nextVtpv: number | null;
  /** vᵀPv of a better solution that the start values led past; null = none */
  readonly passedVtpv: number | null;
}

/** An adjusted network. */
export interface NetworkSolution {
  /** subtracted from all coordinates while computing */
  readonly origin: readonly number[];
  readonly parts: readonly PartSolution[];
  /** point → why it could not be placed */
  readonly loose: ReadonlyMap<number, string>;
  /** [readings] 1 = took part */
  readonly used: Uint8Array;
}

/** vᵀPv of two solutions counts as equal within this, in units of the readings' variances. */
const sameVtpv = 1e-6;

/**
 * Adjusts a survey network: parts that share no unknown point one by one, start values found where none are given,
 * points that the readings do not fix named instead of guessed.
 *
 * Where two places fit equally well (control in one line, in 3-D in one plane) the one left of the first → last fixed
 * point is taken, in 3-D the higher, and the other is kept as `mirror`; start values decide otherwise.
 *
 * @param coordinates  [n·dimension] metres: fixed points, and start values of others; NaN = not known
 * @param left         [readings] 1 = leave out
 */
export function solveNetwork(network: SurveyNetwork, coordinates: Float64Array, left?: Uint8Array): NetworkSolution {
  const origin = localOrigin(network, coordinates);
  const used = Uint8Array.from(network.readings, (_, i) => (left?.[i] === 1 ? 0 : 1));
  const loose = new Map<number, string>();
  const parts: PartSolution[] = [];
  pruneLoose(network, used, loose);
  const waiting = networkParts(network, used);
  for (let part = waiting.shift(); part; part = waiting.shift()) {
    const solved = solvePart(part, partStart(part, coordinates, origin));
    if (!('loosePoint' in solved)) {
      parts.push(solved);
      continue;
    }
    const own = Uint8Array.from(used, () => 0);
    for (const i of part.readings) own[i] = used[i];
    const before = own.slice();
    loose.set(part.points[solved.loosePoint], solved.reason);
    dropReadings(network, own, part.points[solved.loosePoint]);
    pruneLoose(restrictedTo(network, part), own, loose);
    for (const i of part.readings) if (before[i] === 1 && own[i] === 0) used[i] = 0;
    waiting.unshift(...networkParts(network, own));
  }
  for (let p = 0; p < network.fixed.length; p++) {
    if (network.fixed[p] === 0 && !loose.has(p) && !parts.some(({ part }) => part.points.includes(p)))
      loose.set(p, 'no reading leads to it');
  }
  return { origin, parts, loose, used };
}

/** The network with the points of other parts held, so that pruning one part leaves the others alone. */
function restrictedTo(network: SurveyNetwork, part: NetworkPart): SurveyNetwork {
  const own = new Set(part.points);
  return { ...network, fixed: Uint8Array.from(network.fixed, (fixed, p) => (own.has(p) ? fixed : 1)) };
}

/** Whole metres near the middle of the fixed points in plan: subtracting them is exact. Heights are small as they are. */
function localOrigin(network: SurveyNetwork, coordinates: Float64Array): number[] {
  const sums = new Array<number>(network.dimension).fill(0);
  let count = 0;
  network.fixed.forEach((fixed, p) => {
    if (fixed === 0) return;
    count++;
    for (let k = 0; k < network.dimension; k++) sums[k] += coordinates[p * network.dimension + k];
  });
  return sums.map((sum, k) => (k < 2 && count > 0 ? Math.round(sum / count) : 0));
}

/** What is known of a part's points before the adjustment. @returns [points of the part · dimension] about the origin */
export function partStart(part: NetworkPart, coordinates: Float64Array, origin: readonly number[]): Float64Array {
  const { dimension } = part.network;
  const out = new Float64Array(part.points.length * dimension);
  part.points.forEach((p, k) => {
    for (let d = 0; d < dimension; d++) out[k * dimension + d] = coordinates[p * dimension + d] - origin[d];
  });
  return out;
}

/**
 * The solution of one part.
 * @param coordinates  [points · dimension] about a local origin; NaN = no start value
 */
export function solvePart(
  part: NetworkPart,
  coordinates: Float64Array,
): PartSolution | { readonly loosePoint: number; readonly reason: string } {
  const { network } = part;
  const { dimension, fixed } = network;
  const firstUnknown = fixed.indexOf(0);
  if (firstUnknown < 0) {
    const rest = comeToRest(network, coordinates);
    const precision = networkPrecision(network, rest.coordinates) as NetworkPrecision;
    return { part, ...rest, precision, mirror: null, nextVtpv: null, passedVtpv: null };
  }
  if (!fixed.includes(1))
    return { loosePoint: firstUnknown, reason: 'no chain of readings leads from it to a control point' };

  const free = withMirrored(network, solutionsFrom(network, fixed, coordinates));
  const known = fixed.map((f, p) => (f === 1 || Number.isFinite(coordinates[p * dimension]) ? 1 : 0));
  const hasStart = known.some((k, p) => k === 1 && fixed[p] === 0);
  // start values decide between places; what they led past is kept to be told
  const led = hasStart ? solutionsFrom(network, known, coordinates) : free;
  const pool = hasStart ? [...led, ...free] : free;
  const least = Math.min(...led.map((rest) => rest.vtpv));
  const chosen = preferred(
    network,
    led.filter((rest) => rest.vtpv <= least + sameVtpv * Math.max(1, least)),
  );
  const precision = networkPrecision(network, chosen.coordinates);
  if ('loosePoint' in precision)
    return {
      loosePoint: precision.loosePoint,
      reason: 'its readings do not fix it: they do not meet, or cut too flat',
    };
  const vague = vaguestPoint(network, precision);
  if (vague >= 0)
    return {
      loosePoint: vague,
      reason: 'its readings cut so flat that its 95 % ellipse is longer than its longest reading',
    };

  const others = pool.filter((rest) => rest !== chosen && apart(rest, chosen) > 1e-4);
  const ties = others.filter((rest) => Math.abs(rest.vtpv - chosen.vtpv) <= sameVtpv * Math.max(1, chosen.vtpv));
  const worse = others.map((rest) => rest.vtpv).filter((v) => v > chosen.vtpv + sameVtpv * Math.max(1, chosen.vtpv));
  const better = others.map((rest) => rest.vtpv).filter((v) => v < chosen.vtpv - sameVtpv * Math.max(1, chosen.vtpv));
  return {
    part,
    ...chosen,
    precision,
    mirror: ties.length > 0 ? otherSides(network, chosen, ties) : null,
    nextVtpv: worse.length > 0 ? Math.min(...worse) : null,
    passedVtpv: better.length > 0 ? Math.min(...better) : null,
  };
}

/** Each point where it lies in the first of the equally good solutions that has it elsewhere. */
function otherSides(network: SurveyNetwork, chosen: Rest, ties: readonly Rest[]): Float64Array {
  const out = chosen.coordinates.slice();
  const { dimension } = network;
  for (let p = 0; p < network.fixed.length; p++) {
    const here = chosen.coordinates.subarray(p * dimension, (p + 1) * dimension);
    const place = (rest: Rest) => rest.coordinates.subarray(p * dimension, (p + 1) * dimension);
    const other = ties.find((rest) => place(rest).some((v, k) => Math.abs(v - here[k]) > 1e-4));
    if (other) out.set(place(other), p * dimension);
  }
  return out;
}

/** Of equally good solutions the higher one (3-D), else the one left of the first → last fixed point. */
function preferred(network: SurveyNetwork, equal: readonly Rest[]): Rest {
  const { dimension, fixed } = network;
  const height = (rest: Rest) =>
    dimension === 3 ? fixed.reduce((sum, f, p) => (f === 0 ? sum + rest.coordinates[3 * p + 2] : sum), 0) : 0;
  const first = fixed.indexOf(1);
  const last = fixed.lastIndexOf(1);
  const leftness = (rest: Rest) => {
    const c = rest.coordinates;
    const [ax, ay] = [c[first * dimension], c[first * dimension + 1]];
    const [bx, by] = [c[last * dimension] - ax, c[last * dimension + 1] - ay];
    return fixed.reduce(
      (sum, f, p) => (f === 0 ? sum + bx * (c[p * dimension + 1] - ay) - by * (c[p * dimension] - ax) : sum),
      0,
    );
  };
  return equal.reduce((best, rest) => {
    const higher = height(rest) - height(best);
    if (Math.abs(higher) > 1e-6) return higher > 0 ? rest : best;
    return leftness(rest) > leftness(best) ? rest : best;
  });
}

/** The point whose 95 % ellipse (or vertical range) is longest beside its readings, when longer than all of them; −1 = none. */
function vaguestPoint(network: SurveyNetwork, precision: NetworkPrecision): number {
  const { dimension, fixed } = network;
  const { cofactor, unknowns, unknownOf } = precision;
  const longest = new Float64Array(fixed.length);
  for (const reading of network.readings) {
    for (const p of [reading.from, reading.point])
      if (p >= 0) longest[p] = Math.max(longest[p], Math.abs(reading.value), 1);
  }
  const factor = confidenceFactor(0.95, null) as number;
  let worst = -1;
  let most = 1;
  for (let p = 0; p < fixed.length; p++) {
    const u = unknownOf[p];
    if (u < 0) continue;
    const at = (i: number, j: number) => cofactor[(u + i) * unknowns + u + j];
    const ellipse = errorEllipse({ xx: at(0, 0), yy: at(1, 1), xy: at(0, 1) });
    const reach = Math.max(factor * ellipse.semiMajorM, dimension === 3 ? 1.96 * Math.sqrt(at(2, 2)) : 0);
    if (reach / longest[p] > most) [worst, most] = [p, reach / longest[p]];
  }
  return worst;
}
