import type { SurveyReadings } from '../../domain/sample.js';
import type { WorkedExample } from '../contract.js';

const common = (rows: readonly (readonly [number, number, number, number])[]): SurveyReadings => ({
  control: [],
  measurements: [],
  tide: [],
  common: rows.map(([localX, localY, easting, northing], i) => ({
    name: `C${i + 1}`,
    localX,
    localY,
    easting,
    northing,
  })),
});

/** Five corners and the middle of an invented site grid on UTM. */
const siteToMap: WorkedExample = {
  source:
    'invented points; values by an independent least-squares fit on numpy 1.24.2, checked against scipy 1.10.1, optimize.least_squares',
  xy: [],
  window: [],
  readings: common([
    [0, 0, 499999.975, 4649776.005],
    [12, 0, 500010.009, 4649782.635],
    [12, 8, 500005.566, 4649789.32],
    [0, 8, 499995.585, 4649782.65],
    [6, 4, 500002.769, 4649782.623],
  ]),
  parameters: {},
  expected: {
    rotation_deg: 33.581353675120006,
    scale: 1.000720957809998,
    tx: 499999.99266538443,
    ty: 4649775.990676923,
    rms_m: 0.014830516955524124,
    sigma0_m: 0.019146115061463884,
    'residuals.2.northing_m': -0.017476923763751984,
  },
  tolerance: 1e-6,
};

/** The conformal example of a handbook of adjustment, with its published figures. */
const handbook: WorkedExample = {
  source: 'Wolf & Ghilani, Adjustment Computations: tx 1050003.715, ty 50542.131',
  xy: [],
  window: [],
  readings: common([
    [121.622, -128.066, 1049422.4, 51089.2],
    [141.228, 187.718, 1049413.95, 49659.3],
    [175.802, 135.728, 1049244.95, 49884.95],
  ]),
  parameters: {},
  expected: { tx: 1050003.715, ty: 50542.131, scale: 4.51962 },
  tolerance: 1e-6,
};

export const worked: readonly WorkedExample[] = [siteToMap, handbook];
