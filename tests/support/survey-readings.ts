import type { CommonPoint, ControlPoint, Measurement, SurveyReadings } from '../../src/domain/sample.js';

type ControlSpec = readonly [name: string, x: number, y: number, z?: number, more?: Partial<ControlPoint>];
type MeasurementSpec = readonly [
  from: string | null,
  to: string,
  kind: string,
  value: number,
  sigma?: number,
  more?: Partial<Measurement>,
];

/** Survey readings from rows written by hand; what is left out is unknown. */
export function readingsOf(given: {
  readonly control?: readonly ControlSpec[];
  readonly measurements?: readonly MeasurementSpec[];
  readonly tide?: SurveyReadings['tide'];
  readonly common?: readonly (readonly [name: string, x: number, y: number, easting: number, northing: number])[];
}): SurveyReadings {
  return {
    control: (given.control ?? []).map(([name, x, y, z, more]) => ({
      name,
      class: null,
      x,
      y,
      z: z ?? Number.NaN,
      sigma: Number.NaN,
      season: null,
      ...more,
    })),
    measurements: (given.measurements ?? []).map(([from, to, kind, value, sigma, more], i) => ({
      row: i + 1,
      from,
      to,
      kind,
      value,
      unit: null,
      sigma: sigma ?? Number.NaN,
      instrument: null,
      series: null,
      date: null,
      time: null,
      ...more,
    })),
    tide: given.tide ?? [],
    common: (given.common ?? []).map(
      ([name, localX, localY, easting, northing]): CommonPoint => ({ name, localX, localY, easting, northing }),
    ),
  };
}
