import { baardaCritical, normalisedResidual, tauCritical } from './blunder-tests.js';
import { comeToRest, networkPrecision } from './network-adjustment.js';
import type { NetworkPart } from './network-parts.js';
import { type NetworkReading, pointsOf, readingAt, type SurveyNetwork } from './network-reading.js';
import { type NetworkSolution, type PartSolution, partStart, solvePart } from './network-solution.js';

/** Which test calls a reading suspect, and how often it may wrong a good one. */
export interface SnoopingRule {
  /** baarda: standard deviations trusted; pope: the variance factor estimated from the readings themselves */
  readonly test: 'baarda' | 'pope';
  readonly alpha: number;
}

/** A reading that does not fit the others. */
export interface Suspect {
  readonly reading: number;
  /** observed less what the others say, metres: how much too long, too high */
  readonly errorM: number;
  /** standard deviation of that difference */
  readonly errorSigmaM: number;
  /** others that fit as badly: which of them is wrong cannot be told */
  readonly apart: boolean;
}

/** A network, what was known of its points, and its adjustment with all readings. */
export interface SnoopedSurvey {
  readonly network: SurveyNetwork;
  /** [n·dimension] fixed points and start values, metres; NaN = not known */
  readonly coordinates: Float64Array;
  readonly solution: NetworkSolution;
}

/** The network after the suspect readings were taken out one by one. */
export interface Snooped {
  readonly suspects: readonly Suspect[];
  /** parts without the suspects that could be told apart */
  readonly parts: readonly PartSolution[];
  readonly critical: number | null;
}

/** vᵀPv and redundancy over some parts. */
export function wholeFit(parts: readonly PartSolution[]): { vtpv: number; redundancy: number; readings: number } {
  let vtpv = 0;
  let redundancy = 0;
  let readings = 0;
  for (const { part, vtpv: own, precision } of parts) {
    vtpv += own;
    readings += part.readings.length;
    redundancy += part.readings.length - precision.unknowns;
  }
  return { vtpv, redundancy, readings };
}

/** Readings of one part that explain its misfit equally well, the best first. */
interface Accused {
  /** places in the part's list of readings */
  readonly readings: readonly number[];
  /** the part without each of them; null when it would fall apart */
  readonly healed: readonly (PartSolution | null)[];
}

/** Unknowns up to which a part is adjusted anew without each likely reading. */
const smallPart = 12;

/** Two explanations whose vᵀPv differ by less cannot be told apart at 5 % (χ² with 1 degree of freedom). */
const clearDifference = 3.84;

/**
 * Data snooping: the reading with the largest normalised residual beyond the critical value is taken out, its part
 * adjusted anew, and so on until none is left. Where several residuals are equally large (one redundancy) the gross
 * error is seen but not located: all are named, none is taken out.
 *
 * Two gross errors that agree with each other can hide, or throw suspicion on a good reading.
 *
 * @see Baarda 1968; Pope 1976
 */
export function snoop(survey: SnoopedSurvey, rule: SnoopingRule): Snooped {
  const parts = [...survey.solution.parts];
  const settled = new Set<number>();
  const removed: { reading: number; apart: boolean }[] = [];
  const unclear: Suspect[] = [];
  const first = wholeFit(parts);
  while (removed.length <= first.redundancy / 2) {
    const { vtpv, redundancy } = wholeFit(parts);
    const critical = criticalValue(rule, redundancy);
    if (critical === null) break;
    const variance = rule.test === 'pope' ? vtpv / redundancy : 1;
    const limit = critical * Math.sqrt(variance);
    const at = worstPart(parts, settled, limit);
    if (at < 0) break;
    const judge = { limit, difference: clearDifference * variance };
    const verdict =
      parts[at].precision.unknowns > smallPart
        ? judgeLarge(survey, parts[at], judge)
        : judgeSmall(survey, parts[at], judge);
    for (const k of verdict.unclear) unclear.push(suspectOf(parts[at], k));
    const apart = verdict.unclear.length === 0;
    for (const k of verdict.taken) removed.push({ reading: parts[at].part.readings[k], apart });
    if (verdict.after) parts[at] = verdict.after;
    else settled.add(at);
  }
  const clear = removed.map(({ reading, apart }) => ({ ...predicted(survey.network, reading, parts), apart }));
  const named = new Set(removed.map(({ reading }) => reading));
  const doubtful = unclear.filter(({ reading }) => !named.has(reading) && named.add(reading));
  return { suspects: [...clear, ...doubtful], parts, critical: criticalValue(rule, first.redundancy) };
}

interface Judge {
  readonly limit: number;
  /** of vᵀPv, below which two explanations count as equal */
  readonly difference: number;
}

/** Places in the part's list of readings: those taken out, and those of which it cannot be told. */
interface Verdict {
  readonly taken: readonly number[];
  readonly unclear: readonly number[];
  /** the part without those taken; null = leave it as it is */
  readonly after: PartSolution | null;
}

function judgeSmall(survey: SnoopedSurvey, solved: PartSolution, judge: Judge): Verdict {
  const { readings, healed } = accused(survey, solved, judge);
  const k = readings.length === 1 ? 0 : likeliest(solved, readings, healed);
  const after = k < 0 ? null : healed[k];
  if (!after) return { taken: [], unclear: readings, after: null };
  return { taken: [readings[k]], unclear: readings.filter((_, i) => i !== k), after };
}

/** In a stiff network a gross error stays where it is: all that stand out among their neighbours go at once. */
function judgeLarge(survey: SnoopedSurvey, solved: PartSolution, judge: Judge): Verdict {
  const taken = loudest(solved, judge.limit);
  const after = taken.length > 0 ? without(survey, solved, taken) : null;
  if (after) return { taken, unclear: [], after };
  return {
    taken: [],
    unclear: [...sizes(solved).entries()].flatMap(([k, size]) => (size > judge.limit ? [k] : [])),
    after: null,
  };
}

function criticalValue(rule: SnoopingRule, redundancy: number): number | null {
  if (redundancy < 1) return null;
  return rule.test === 'baarda' ? baardaCritical(rule.alpha) : tauCritical(rule.alpha, redundancy);
}

/** Size of the normalised residual of each reading of a part; 0 where the others hardly check it. */
function sizes({ part, precision }: PartSolution): number[] {
  return part.network.readings.map((reading, k) => {
    const share = precision.redundancyNumber[k];
    // without such a reading its points would hang loose
    if (share < 1e-3) return 0;
    return Math.abs(normalisedResidual(precision.residual[k], reading.sigma, share) ?? 0);
  });
}

/** The part with the largest normalised residual beyond a limit; −1 = none. */
function worstPart(parts: readonly PartSolution[], settled: ReadonlySet<number>, limit: number): number {
  let worst = -1;
  let most = limit;
  parts.forEach((solved, at) => {
    if (settled.has(at)) return;
    const size = Math.max(0, ...sizes(solved));
    if (size > most) [worst, most] = [at, size];
  });
  return worst;
}

/**
 * The readings that, taken out, heal a part best. A gross error bends the network so much that the largest residual
 * alone can point to a neighbour; the part is therefore adjusted without each of the likely ones.
 */
function accused(survey: SnoopedSurvey, solved: PartSolution, judge: Judge): Accused {
  const size = sizes(solved);
  const most = Math.max(...size);
  const order = [...size.keys()].filter((k) => size[k] >= 0.4 * most).sort((a, b) => size[b] - size[a]);
  const tried = order.slice(0, 6).map((reading) => ({ reading, after: without(survey, solved, [reading]) }));
  const left = (after: PartSolution | null) => after?.vtpv ?? Infinity;
  tried.sort((a, b) => left(a.after) - left(b.after));
  const [best] = tried;
  // a rival heals the part as well, and is healed itself when the other is taken out
  const isHealed = (reading: number) => {
    const k = reading > best.reading ? reading - 1 : reading;
    return best.after === null || sizes(best.after)[k] < judge.limit;
  };
  const equals = tried.filter(
    ({ reading, after }, k) => k === 0 || (left(after) - left(best.after) < judge.difference && isHealed(reading)),
  );
  return { readings: equals.map(({ reading }) => reading), healed: equals.map(({ after }) => after) };
}

/**
 * Of readings that explain a misfit equally well the one that would be a slip of whole metres, when it is the only
 * one and another reading speaks for it; −1 = cannot be told.
 */
function likeliest(
  solved: PartSolution,
  readings: readonly number[],
  healed: readonly (PartSolution | null)[],
): number {
  const redundancy = solved.part.readings.length - solved.precision.unknowns;
  if (redundancy < 2) return -1;
  const slips = readings.flatMap((reading, k) => {
    const after = healed[k];
    if (!after) return [];
    const error = errorIn(solved.part.network.readings[reading], after).errorM;
    const metres = Math.round(error);
    return metres !== 0 && Math.abs(error - metres) <= 0.05 ? [k] : [];
  });
  return slips.length === 1 ? slips[0] : -1;
}

/** Readings beyond the limit that are louder than every other reading of their points, none as loud beside them. */
function loudest(solved: PartSolution, limit: number): number[] {
  const size = sizes(solved);
  const { readings } = solved.part.network;
  const most = new Float64Array(solved.part.points.length);
  const next = new Float64Array(solved.part.points.length);
  readings.forEach((reading, k) => {
    for (const p of pointsOf(reading)) {
      if (size[k] > most[p]) [most[p], next[p]] = [size[k], most[p]];
      else if (size[k] > next[p]) next[p] = size[k];
    }
  });
  return [...size.keys()].filter((k) => {
    if (!(size[k] > limit)) return false;
    const unknown = pointsOf(readings[k]).filter((p) => solved.part.network.fixed[p] === 0);
    return unknown.every((p) => size[k] === most[p] && next[p] < size[k] * (1 - 1e-6));
  });
}

/** A part without some of its readings, adjusted anew; null when it would fall apart. */
function without(survey: SnoopedSurvey, solved: PartSolution, left: readonly number[]): PartSolution | null {
  const keep = <T>(list: readonly T[]) => list.filter((_, k) => !left.includes(k));
  const { network } = solved.part;
  const part: NetworkPart = {
    points: solved.part.points,
    readings: keep(solved.part.readings),
    network: { ...network, readings: keep(network.readings) },
  };
  if (solved.precision.unknowns <= smallPart) {
    // a gross error may have drawn a small part to the wrong side: look for its place from scratch
    const again = solvePart(part, partStart(part, survey.coordinates, survey.solution.origin));
    return 'loosePoint' in again ? null : again;
  }
  const rest = comeToRest(part.network, solved.coordinates);
  const precision = networkPrecision(part.network, rest.coordinates);
  return 'loosePoint' in precision ? null : { ...solved, part, ...rest, precision };
}

/** A reading that still takes part: its error as its own residual shows it. */
function suspectOf(solved: PartSolution, k: number): Suspect {
  const { precision, part } = solved;
  const share = precision.redundancyNumber[k];
  const { sigma } = part.network.readings[k];
  return {
    reading: part.readings[k],
    errorM: -precision.residual[k] / share,
    errorSigmaM: sigma / Math.sqrt(share),
    apart: false,
  };
}

/** How far a reading that was taken out lies from what the others say. */
function predicted(network: SurveyNetwork, reading: number, parts: readonly PartSolution[]): Omit<Suspect, 'apart'> {
  const whole = network.readings[reading];
  const ends = [whole.from, whole.second, whole.point];
  const solved = parts.find(({ part }) => ends.every((p) => p < 0 || part.points.includes(p)));
  if (!solved) throw new Error('the points of a reading that was taken out are gone');
  const numbered = (p: number) => (p < 0 ? -1 : solved.part.points.indexOf(p));
  const [from, second, point] = ends.map(numbered);
  return { reading, ...errorIn({ ...whole, from, second, point }, solved) };
}

/** Observed less computed of a reading that took no part, with its standard deviation. */
function errorIn(reading: NetworkReading, solved: PartSolution): { errorM: number; errorSigmaM: number } {
  const { part, coordinates, precision } = solved;
  const partials = new Float64Array(9);
  const computed = readingAt(reading, coordinates, part.network.dimension, partials);
  const unknowns = [reading.from, reading.second, reading.point].map((p) => (p < 0 ? -1 : precision.unknownOf[p]));
  let variance = reading.sigma ** 2;
  for (let a = 0; a < 9; a++) {
    for (let b = 0; b < 9; b++) {
      const [ua, ub] = [unknowns[Math.floor(a / 3)], unknowns[Math.floor(b / 3)]];
      if (ua < 0 || ub < 0 || partials[a] === 0 || partials[b] === 0) continue;
      variance += partials[a] * partials[b] * precision.cofactor[(ua + (a % 3)) * precision.unknowns + ub + (b % 3)];
    }
  }
  return { errorM: reading.value - computed, errorSigmaM: Math.sqrt(variance) };
}
