import type { ControlPoint, Measurement } from '../../domain/sample.js';
import type { WorkedExample } from '../contract.js';

const control = (points: Record<string, readonly [number, number, number?]>): ControlPoint[] =>
  Object.entries(points).map(([name, [x, y, z]]) => ({
    name,
    class: null,
    x,
    y,
    z: z ?? Number.NaN,
    sigma: Number.NaN,
    season: null,
  }));

type Row = readonly [from: string | null, to: string, kind: string, value: number, sigma: number];

const measurements = (rows: readonly Row[]): Measurement[] =>
  rows.map(([from, to, kind, value, sigma], i) => ({
    row: i + 1,
    from,
    to,
    kind,
    value,
    unit: null,
    sigma,
    instrument: null,
    series: null,
    date: null,
    time: null,
  }));

const source =
  'invented readings; values by an independent Gauss–Newton on numpy 1.24.2, checked against scipy 1.10.1, optimize.least_squares';

/** Four tapes from a datum ring to one point. */
const fourTapes: WorkedExample = {
  source,
  xy: [],
  window: [],
  readings: {
    control: control({ D1: [0, 0], D2: [14.2, 1.1], D3: [13.5, 9.7], D4: [-0.6, 8.9] }),
    measurements: measurements([
      ['D1', 'P', 'distance', 6.516, 0.01],
      ['D2', 'P', 'distance', 9.397, 0.01],
      ['D3', 'P', 'distance', 10.094, 0.01],
      ['D4', 'P', 'distance', 7.722, 0.01],
    ]),
    tide: [],
    common: [],
  },
  parameters: {},
  expected: {
    'points.P.x': 5.242509429912117,
    'points.P.y': 3.8750795877533877,
    'points.P.sx': 0.006000878268065703,
    'points.P.ellipse.semi_major_m': 0.009205305799929788,
    'points.P.ellipse.azimuth_deg': 173.94579078550584,
    variance_factor: 3.838546419914163,
    redundancy: 2,
    'measurements.1.residual': -0.01948945446720174,
    'measurements.1.redundancy': 0.5684847992107768,
    'measurements.1.normalised': -2.584879216268488,
    'measurements.1.tau': -1.3193403842399016,
    'measurements.1.mdb': 0.05477603891455475,
  },
  tolerance: 1e-7,
};

/** Five slope distances and an elevation to one point in space. */
const inSpace: WorkedExample = {
  source,
  xy: [],
  window: [],
  readings: {
    control: control({
      D1: [0, 0, -28.4],
      D2: [12.1, 0.4, -28.9],
      D3: [11.6, 9.3, -29.6],
      D4: [0.7, 8.8, -28.1],
      D5: [6, -2.5, -27.2],
    }),
    measurements: measurements([
      ['D1', 'P', 'distance', 6.183, 0.012],
      ['D2', 'P', 'distance', 7.994, 0.012],
      ['D3', 'P', 'distance', 9.092, 0.012],
      ['D4', 'P', 'distance', 7.216, 0.012],
      ['D5', 'P', 'distance', 6.747, 0.012],
      [null, 'P', 'elevation', -30.46, 0.05],
    ]),
    tide: [],
    common: [],
  },
  parameters: {},
  expected: {
    dimensions: 3,
    'points.P.x': 4.8069388192948015,
    'points.P.y': 3.3210436267070667,
    'points.P.z': -30.4047312733766,
    'points.P.sz': 0.017490328922207008,
    variance_factor: 0.8772777092614974,
    'measurements.5.redundancy': 0.8776353576772038,
    'measurements.3.normalised': 1.5160798191471134,
  },
  tolerance: 1e-7,
};

export const worked: readonly WorkedExample[] = [fourTapes, inSpace];
