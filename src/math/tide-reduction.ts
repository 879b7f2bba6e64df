import { Problem } from '../problems.js';

/** Depths of one reference mark read at the start and the end of a reading series; depths are down-positive metres. */
export interface TideSeries {
  readonly name: string;
  /** milliseconds since 1970-01-01T00:00Z */
  readonly startMs: number;
  readonly endMs: number;
  readonly startDepthM: number;
  readonly endDepthM: number;
  /** adopted depth of the same mark in the datum the readings are reduced to */
  readonly referenceDepthM: number;
}

const clock = (ms: number) => new Date(ms).toISOString().replace('.000Z', 'Z');

/**
 * How much too deep a reading is because of the tide: (S − R) + (E − S)·(t − t0)/(t1 − t0), metres; positive when the
 * water stands higher than the datum it is reduced to.
 *
 * The tide is taken to rise or fall evenly between both readings of the mark, which over a turn of the tide it does
 * not: keep series short.
 *
 * @param timeMs  of the reading, milliseconds since 1970-01-01T00:00Z
 * @throws Problem cannot-answer for a time outside the series, or a series without length or depths
 */
export function tideCorrection(series: TideSeries, timeMs: number): number {
  const { name, startMs, endMs, startDepthM, endDepthM, referenceDepthM } = series;
  if (![startMs, endMs, startDepthM, endDepthM, referenceDepthM].every(Number.isFinite)) {
    throw new Problem(
      'cannot-answer',
      `reading series ${name} cannot reduce the tide: it needs start and end, each with time and depth of the mark, and the mark's adopted depth`,
      { series: name },
    );
  }
  if (!(endMs > startMs)) {
    throw new Problem(
      'cannot-answer',
      `reading series ${name} ends at ${clock(endMs)}, not after its start at ${clock(startMs)}; correct its times`,
      { series: name },
    );
  }
  if (!(timeMs >= startMs && timeMs <= endMs)) {
    const when = Number.isFinite(timeMs) ? `at ${clock(timeMs)}` : 'without a time';
    throw new Problem(
      'cannot-answer',
      `a reading ${when} lies outside reading series ${name}, ${clock(startMs)} to ${clock(endMs)}: the tide between two readings of the mark says nothing about other hours`,
      { series: name },
    );
  }
  const share = (timeMs - startMs) / (endMs - startMs);
  return startDepthM - referenceDepthM + (endDepthM - startDepthM) * share;
}

/**
 * A depth with the tide taken off: z = raw − [(S − R) + (E − S)·(t − t0)/(t1 − t0)], down-positive metres.
 * @throws Problem cannot-answer as tideCorrection does
 */
export function reduceDepth(rawDepthM: number, series: TideSeries, timeMs: number): number {
  return rawDepthM - tideCorrection(series, timeMs);
}

/** How the zero of a site's elevations lies to a hydrographic datum. */
export interface DatumTie {
  /** elevation of the site zero above the hydrographic datum, metres; negative when it lies below */
  readonly offsetM: number;
  /** standard deviation of that offset, metres; shared by every depth derived from it */
  readonly offsetSigmaM: number;
}

/**
 * Depth below a hydrographic datum of an elevation in the site datum, down-positive metres.
 *
 * The error of the tie is the same for all points: it does not average out, and it cancels in differences.
 *
 * @param elevationM  up-positive, site datum
 * @param sigmaM      standard deviation of the elevation, metres
 */
export function depthBelowDatum(elevationM: number, sigmaM: number, tie: DatumTie): { depthM: number; sigmaM: number } {
  return {
    depthM: 0 - (elevationM + tie.offsetM),
    sigmaM: Math.sqrt(sigmaM * sigmaM + tie.offsetSigmaM * tie.offsetSigmaM),
  };
}
