import type { ControlPoint, Measurement, SurveyReadings, TideReading } from '../../domain/sample.js';
import type { NetworkReading } from '../../math/network-reading.js';
import { reduceDepth, type TideSeries } from '../../math/tide-reduction.js';
import { Problem } from '../../problems.js';
import type { Parameters } from './schemas.js';

/** A measurement as the adjustment may use it, its points by name; or why it takes no part. */
export type ReadMeasurement =
  | {
      readonly measurement: Measurement;
      readonly kind: NetworkReading['kind'];
      readonly from: string | null;
      /** far end of a baseline */
      readonly second: string | null;
      readonly point: string;
      readonly value: number;
      readonly sigma: number;
      readonly isSigmaAssumed: boolean;
      /** how much tide was taken off, metres; null = none */
      readonly tideM: number | null;
    }
  | { readonly measurement: Measurement; readonly reason: string };

/** How the ends of a baseline may be written in one name. */
const baselineSigns = ['>', '→', '..', '/', '|', ' to ', '–', '-'];

/** Reads all measurements: kinds, names, units, sigmas; depths become elevations. Nothing is changed silently. */
export function readMeasurements(readings: SurveyReadings, own: Parameters): ReadMeasurement[] {
  const series = new Map(readings.tide.map((tide) => [tide.series, tideSeries(tide)]));
  const names = knownNames(readings);
  return readings.measurements.map((measurement) => readOne(measurement, { own, series, names }));
}

function knownNames(readings: SurveyReadings): ReadonlySet<string> {
  const names = new Set(readings.control.map((point) => point.name));
  for (const { kind, from, to } of readings.measurements) {
    if (to !== '') names.add(to);
    if (from && !kind.startsWith('baseline')) names.add(from);
  }
  return names;
}

interface Reader {
  readonly own: Parameters;
  readonly series: ReadonlyMap<string, TideSeries>;
  readonly names: ReadonlySet<string>;
}

function readOne(measurement: Measurement, reader: Reader): ReadMeasurement {
  const { own } = reader;
  const refuse = (reason: string): ReadMeasurement => ({ measurement, reason });
  if (own.set_aside.includes(measurement.row)) return refuse('set aside by request');
  if (!Number.isFinite(measurement.value)) return refuse('it has no value');
  if (measurement.unit !== null && measurement.unit !== '' && measurement.unit !== 'm')
    return refuse(`unit "${measurement.unit}" is not read; give metres`);
  if (measurement.sigma <= 0) return refuse(`sigma ${measurement.sigma} is not above 0`);
  const isSigmaAssumed = Number.isNaN(measurement.sigma);
  const common = {
    measurement,
    sigma: isSigmaAssumed ? own.sigma_m : measurement.sigma,
    isSigmaAssumed,
    value: measurement.value,
    second: null,
    tideM: null,
  };
  const from = measurement.from === '' ? null : measurement.from;
  const { to } = measurement;
  switch (measurement.kind) {
    case 'distance':
    case 'vertical_offset':
      if (from === null || to === '') return refuse(`a ${measurement.kind} needs two points`);
      if (from === to) return refuse('from and to are the same point');
      if (measurement.kind === 'vertical_offset') return { ...common, kind: 'height_difference', from, point: to };
      if (measurement.value <= 0) return refuse(`a distance of ${measurement.value} m cannot be`);
      return { ...common, kind: 'distance', from, point: to };
    case 'elevation':
    case 'depth': {
      if (from !== null && to !== '' && from !== to)
        return refuse(
          `${measurement.kind} is a reading of one point; leave from empty (a height between two points is vertical_offset)`,
        );
      const point = to === '' ? from : to;
      if (point === null) return refuse('no point is named');
      if (measurement.kind === 'elevation') return { ...common, kind: 'height', from: null, point };
      return depthReading(measurement, { ...common, point }, reader);
    }
    case 'baseline_along':
    case 'baseline_out': {
      const ends = from === null ? null : baselineEnds(from, reader.names);
      if (!ends) return refuse(`"${from ?? ''}" names no baseline; write its two points as CP1>CP2, start first`);
      if (to === '' || ends.includes(to)) return refuse('the point read from the baseline is not named');
      const kind = measurement.kind === 'baseline_along' ? 'along' : 'out';
      return { ...common, kind, from: ends[0], second: ends[1], point: to };
    }
    default:
      return refuse(`kind "${measurement.kind}" is not adjusted here`);
  }
}

function depthReading(
  measurement: Measurement,
  common: Omit<Extract<ReadMeasurement, { kind: unknown }>, 'kind' | 'from'>,
  reader: Reader,
): ReadMeasurement {
  const series = measurement.series === null ? undefined : reader.series.get(measurement.series);
  let depth = measurement.value;
  let tideM: number | null = null;
  if (series && reader.own.tide === 'reduce') {
    try {
      depth = reduceDepth(measurement.value, series, momentOf(measurement.date, measurement.time));
      tideM = measurement.value - depth;
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return { measurement, reason: error.message };
    }
  }
  return { ...common, kind: 'height', from: null, value: reader.own.zero_depth_elevation_m - depth, tideM };
}

/** Date and time of a reading as milliseconds, taken as universal time; NaN when either is not known. */
function momentOf(date: string | null, time: string | null): number {
  return date === null || time === null ? Number.NaN : Date.parse(`${date}T${time}Z`);
}

function tideSeries(tide: TideReading): TideSeries {
  return {
    name: tide.series,
    startMs: Date.parse(tide.startTime),
    endMs: Date.parse(tide.endTime),
    startDepthM: tide.startDepth,
    endDepthM: tide.endDepth,
    referenceDepthM: tide.referenceDepth,
  };
}

/** Start and end of a baseline written in one name, both being known points; null = cannot be told. */
function baselineEnds(text: string, names: ReadonlySet<string>): [string, string] | null {
  for (const sign of baselineSigns) {
    for (let at = text.indexOf(sign); at > 0; at = text.indexOf(sign, at + 1)) {
      const ends: [string, string] = [text.slice(0, at).trim(), text.slice(at + sign.length).trim()];
      if (ends[0] !== ends[1] && names.has(ends[0]) && names.has(ends[1])) return ends;
    }
  }
  return null;
}

/**
 * Control by name. Of a point observed again in a later season, perhaps in a grid laid anew, the first place holds.
 * @returns  also the names that stand in several seasons
 * @throws Problem cannot-answer for a point listed in two places of one season: which of them holds cannot be guessed
 */
export function controlByName(control: readonly ControlPoint[]): {
  readonly points: Map<string, ControlPoint>;
  readonly repeated: readonly string[];
} {
  const points = new Map<string, ControlPoint>();
  const repeated = new Set<string>();
  for (const point of control) {
    const other = points.get(point.name);
    if (!other) points.set(point.name, point);
    else if (other.season !== point.season) repeated.add(point.name);
    else if (!(Math.hypot(other.x - point.x, other.y - point.y) < 1e-9)) {
      throw new Problem(
        'cannot-answer',
        `control point ${point.name} is listed at ${place(other)} and at ${place(point)}; keep one of them, or give each its season`,
        { point: point.name },
      );
    }
  }
  return { points, repeated: [...repeated] };
}

const place = ({ x, y, season }: ControlPoint) => `${x}, ${y}${season === null ? '' : ` (season ${season})`}`;
