import type { Suspect } from '../../math/data-snooping.js';
import type { NetworkReading, SurveyNetwork } from '../../math/network-reading.js';

/** What a cause is looked for in: the network, where its points came to lie, and their names. */
export interface CauseQuestion {
  readonly network: SurveyNetwork;
  /** [n·dimension] metres; NaN = not placed */
  readonly coordinates: Float64Array;
  readonly names: readonly string[];
  /** [n] elevations known beforehand; NaN = not known */
  readonly elevation: Float64Array;
  /** [readings] as read, before slope was taken off */
  readonly asRead: Float64Array;
  /** [readings] row of the file */
  readonly rows: readonly number[];
  /** [n] best angle of cut of each point's tapes, degrees; NaN = fewer than two */
  readonly bestCutDeg: Float64Array;
}

const metres = (value: number, digits = 2) => `${Math.abs(value).toFixed(digits)} m`;
const longer = (error: number, kind: NetworkReading['kind']) =>
  kind === 'distance' || kind === 'along' || kind === 'out'
    ? error > 0
      ? 'too long'
      : 'too short'
    : error > 0
      ? 'too high'
      : 'too low';

/**
 * The likeliest cause of each suspect reading, in words: a hint where to look, no proof.
 *
 * Among many points some distance or other fits a wrong name by chance; single wrong names are therefore only named
 * where nothing simpler fits.
 */
export function likelyCauses(suspects: readonly Suspect[], question: CauseQuestion): string[] {
  return suspects.map((suspect) => {
    const doubt = suspect.apart
      ? ''
      : 'seen, but not located: other readings of these points would explain it as well; ';
    return doubt + causeOf(suspect, suspects, question);
  });
}

function causeOf(suspect: Suspect, suspects: readonly Suspect[], question: CauseQuestion): string {
  const reading = question.network.readings[suspect.reading];
  const { errorM: error, errorSigmaM: sigma } = suspect;
  const amount = `${metres(error, 3)} ${longer(error, reading.kind)}`;
  const whole = Math.round(error);
  const swapped = swappedNames(suspect, suspects, question);
  if (swapped) return swapped;
  if (whole !== 0 && Math.abs(error - whole) <= Math.min(2 * sigma, 0.15))
    return `a slip of ${Math.abs(whole)} m: ${amount}`;
  // an error that is not located is no measure of slopes and other points
  const slope = suspect.apart ? slopeCause(suspect, question) : null;
  if (slope) return slope;
  if (Math.abs(Math.abs(error) - 0.1) <= Math.min(2 * sigma, 0.03)) return `a slip of 0.1 m: ${amount}`;
  const others = suspect.apart ? otherEnds(reading, question) : [];
  if (others.length > 0)
    return `perhaps read to another point: ${amount}, but it fits ${question.names[reading.from]} to ${others.join(' or ')}`;
  const cut = Math.max(
    ...[reading.from, reading.point]
      .map((p) => (p >= 0 && question.network.fixed[p] === 0 ? question.bestCutDeg[p] : Number.NaN))
      .filter((v) => !Number.isNaN(v)),
    -1,
  );
  if (cut >= 0 && cut < 30) return `weak angle of cut, ${cut.toFixed(0)}° at best: ${amount}`;
  if (reading.kind === 'distance' && error > 0) return `snagged or slack tape, or a poor reading: ${amount}`;
  return `a poor reading, or its point moved: ${amount}`;
}

const distanceBetween = (a: number, b: number, question: CauseQuestion): number => {
  const { dimension } = question.network;
  let square = 0;
  for (let k = 0; k < dimension; k++)
    square += (question.coordinates[a * dimension + k] - question.coordinates[b * dimension + k]) ** 2;
  return Math.sqrt(square);
};

/** Two suspect tapes that fit when their far ends are exchanged. */
function swappedNames(suspect: Suspect, suspects: readonly Suspect[], question: CauseQuestion): string | null {
  const { readings } = question.network;
  const own = readings[suspect.reading];
  if (own.kind !== 'distance') return null;
  for (const other of suspects) {
    const theirs = readings[other.reading];
    if (other === suspect || theirs.kind !== 'distance' || theirs.point === own.point) continue;
    const tolerance = 4 * Math.max(suspect.errorSigmaM, other.errorSigmaM);
    const fits = (reading: NetworkReading, point: number) =>
      Math.abs(distanceBetween(reading.from, point, question) - reading.value) <= tolerance;
    if (fits(own, theirs.point) && fits(theirs, own.point)) {
      const [mine, other_] = [question.names[own.point], question.names[theirs.point]];
      return `point names swapped with row ${question.rows[other.reading]}: it fits ${question.names[own.from]} to ${other_}, that row ${question.names[theirs.from]} to ${mine}`;
    }
  }
  return null;
}

/** Slope taken off too little or too much. */
function slopeCause(suspect: Suspect, question: CauseQuestion): string | null {
  const reading = question.network.readings[suspect.reading];
  if (reading.kind !== 'distance') return null;
  const { errorM: error, errorSigmaM: sigma } = suspect;
  const fits = (loss: number) => loss > 2 * sigma && Math.abs(Math.abs(error) - loss) <= Math.min(2 * sigma, 0.05);
  if (question.network.dimension === 3) {
    const a = 3 * reading.from;
    const b = 3 * reading.point;
    const level = Math.hypot(
      question.coordinates[b] - question.coordinates[a],
      question.coordinates[b + 1] - question.coordinates[a + 1],
    );
    const loss = reading.value - error - level;
    return error < 0 && fits(loss)
      ? `looks like a horizontal distance: ${metres(error, 3)} too short for a slope`
      : null;
  }
  const dz = question.elevation[reading.point] - question.elevation[reading.from];
  const read = question.asRead[suspect.reading];
  if (!Number.isFinite(dz)) return null;
  const loss = read - Math.sqrt(Math.max(0, read * read - dz * dz));
  if (!fits(loss)) return null;
  if (error > 0 && read === reading.value)
    return `slope not reduced: ${metres(dz)} of height make it ${metres(loss, 3)} too long`;
  if (error < 0 && read > reading.value)
    return `perhaps reduced to the horizontal before it was written down: ${metres(loss, 3)} too short`;
  return null;
}

/** Other points that a tape from the same end fits within twice its standard deviation, at most three. */
function otherEnds(reading: NetworkReading, question: CauseQuestion): string[] {
  if (reading.kind !== 'distance') return [];
  const fitting = question.names.flatMap((name, p) => {
    if (p === reading.from || p === reading.point) return [];
    const gap = Math.abs(distanceBetween(reading.from, p, question) - reading.value);
    return gap <= 2 * reading.sigma ? [{ name, gap }] : [];
  });
  return fitting
    .sort((a, b) => a.gap - b.gap)
    .slice(0, 3)
    .map(({ name }) => name);
}
