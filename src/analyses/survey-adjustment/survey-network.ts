import type { ControlPoint, SurveyReadings } from '../../domain/sample.js';
import type { NetworkReading, SurveyNetwork } from '../../math/network-reading.js';
import { Problem } from '../../problems.js';
import { controlByName, type ReadMeasurement, readMeasurements } from './readings-used.js';
import type { Parameters } from './schemas.js';

/** The network of a survey in two or three dimensions, with the way back to names and rows. */
export interface NamedNetwork {
  readonly network: SurveyNetwork;
  /** [n·dimension] metres: fixed points, start values; NaN = not known */
  readonly coordinates: Float64Array;
  /** [n] fixed points first, in the order of the control list */
  readonly names: readonly string[];
  /** [n] */
  readonly index: ReadonlyMap<string, number>;
  /** [readings] number of the measurement each comes from */
  readonly measurementOf: readonly number[];
  /** [measurements] why it takes no part; null = it does */
  readonly reason: readonly (string | null)[];
  /** [measurements] as adjusted: slope or tide taken off; NaN = takes no part */
  readonly reduced: Float64Array;
  /** [n] elevations known beforehand, for slopes; NaN = not known */
  readonly elevation: Float64Array;
}

/** What was read, ready to become a network. */
export interface ReadSurvey {
  readonly own: Parameters;
  readonly control: ReadonlyMap<string, ControlPoint>;
  readonly measurements: readonly ReadMeasurement[];
  /** points in the order of the network: fixed ones first */
  readonly names: readonly string[];
  readonly fixedCount: number;
  /** points that control lists for several seasons; the first place holds */
  readonly repeated: readonly string[];
}

const isDetail = (point: ControlPoint) => point.class?.trim().toLowerCase() === 'detail';

/**
 * Reads control and measurements.
 * @throws Problem cannot-answer without measurements, or without a control point to hold
 */
export function readSurvey(readings: SurveyReadings, own: Parameters): ReadSurvey {
  if (readings.measurements.length === 0) {
    throw new Problem(
      'cannot-answer',
      'there are no measurements to adjust; give rows of from, to, kind, value, sigma',
    );
  }
  const { points: control, repeated } = controlByName(readings.control);
  const measurements = readMeasurements(readings, own);
  const touched = new Set<string>();
  for (const read of measurements) {
    if ('reason' in read) continue;
    for (const name of [read.from, read.second, read.point]) if (name !== null) touched.add(name);
  }
  const fixed = [...control.values()]
    .filter((point) => touched.has(point.name) && !isDetail(point) && Number.isFinite(point.x + point.y))
    .map((point) => point.name);
  if (fixed.length === 0) {
    throw new Problem(
      'cannot-answer',
      touched.size === 0
        ? `none of the ${measurements.length} measurements can be used; the first: ${whyNot(measurements)}`
        : `no measurement touches a control point with known x and y that is held fixed (class primary or secondary, or no class); the points measured are ${listed([...touched])}`,
    );
  }
  const held = new Set(fixed);
  const listedFirst = [...control.keys()].filter((name) => touched.has(name) && !held.has(name));
  const others = [...touched].filter((name) => !held.has(name) && !control.has(name));
  return {
    own,
    control,
    measurements,
    names: [...fixed, ...listedFirst, ...others],
    fixedCount: fixed.length,
    repeated: repeated.filter((name) => touched.has(name)),
  };
}

function whyNot(measurements: readonly ReadMeasurement[]): string {
  const first = measurements.find((read) => 'reason' in read);
  return first && 'reason' in first ? `row ${first.measurement.row}, ${first.reason}` : '';
}

/** Names in a sentence, the first dozen. */
export function listed(names: readonly string[]): string {
  return names.length <= 12 ? names.join(', ') : `${names.slice(0, 12).join(', ')} and ${names.length - 12} more`;
}

/** Fixed points that have no elevation: with one of them there is no adjustment in three dimensions. */
export function withoutElevation(survey: ReadSurvey): string[] {
  return survey.names
    .slice(0, survey.fixedCount)
    .filter((name) => Number.isNaN(survey.control.get(name)?.z ?? Number.NaN));
}

/** The network in plan or in space. */
export function networkOf(survey: ReadSurvey, dimension: 2 | 3): NamedNetwork {
  const { names, fixedCount, own } = survey;
  const index = new Map(names.map((name, i) => [name, i]));
  const elevation = knownElevations(survey, index);
  const coordinates = new Float64Array(names.length * dimension).fill(Number.NaN);
  names.forEach((name, i) => {
    const start = own.start?.find((point) => point.name === name);
    const point = survey.control.get(name);
    const from = i < fixedCount || !start ? point : { x: start.x, y: start.y, z: start.z ?? Number.NaN };
    if (!from || !Number.isFinite(from.x + from.y)) return;
    const z = Number.isFinite(from.z) ? from.z : elevation[i];
    // half a start is none: where the elevation is missing the place is looked for
    if (dimension === 3 && !Number.isFinite(z)) return;
    coordinates.set(dimension === 3 ? [from.x, from.y, z] : [from.x, from.y], i * dimension);
  });

  const readings: NetworkReading[] = [];
  const measurementOf: number[] = [];
  const reduced = new Float64Array(survey.measurements.length).fill(Number.NaN);
  const reason = survey.measurements.map((read, m): string | null => {
    if ('reason' in read) return read.reason;
    if (dimension === 2 && (read.kind === 'height' || read.kind === 'height_difference'))
      return 'heights take no part in an adjustment in plan';
    const point = index.get(read.point) as number;
    const from = read.from === null ? -1 : (index.get(read.from) as number);
    let { value } = read;
    if (dimension === 2 && read.kind === 'distance' && own.slope === 'reduce') {
      const dz = elevation[point] - elevation[from];
      if (Math.abs(dz) >= value)
        return `the tape is shorter than the height difference of its ends, ${dz.toFixed(3)} m`;
      if (Number.isFinite(dz)) value = Math.sqrt(value * value - dz * dz);
    }
    reduced[m] = value;
    readings.push({
      kind: read.kind,
      from,
      second: read.second === null ? -1 : (index.get(read.second) as number),
      point,
      value,
      sigma: read.sigma,
    });
    measurementOf.push(m);
    return null;
  });
  const fixed = Uint8Array.from(names, (_, i) => (i < fixedCount ? 1 : 0));
  return {
    network: { dimension, fixed, readings },
    coordinates,
    names,
    index,
    measurementOf,
    reason,
    reduced,
    elevation,
  };
}

/** Elevation of each point before the adjustment: control, else the mean of its height readings, else as listed. */
function knownElevations(survey: ReadSurvey, index: ReadonlyMap<string, number>): Float64Array {
  const n = survey.names.length;
  const sum = new Float64Array(n);
  const count = new Float64Array(n);
  for (const read of survey.measurements) {
    if ('reason' in read || read.kind !== 'height') continue;
    const i = index.get(read.point) as number;
    sum[i] += read.value;
    count[i]++;
  }
  return Float64Array.from(survey.names, (name, i) => {
    const own = survey.control.get(name)?.z ?? Number.NaN;
    if (i < survey.fixedCount && Number.isFinite(own)) return own;
    if (count[i] > 0) return sum[i] / count[i];
    return survey.own.start?.find((point) => point.name === name)?.z ?? own;
  });
}
