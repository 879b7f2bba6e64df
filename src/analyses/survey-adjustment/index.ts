import type { Sample } from '../../domain/sample.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { adjustSurvey } from './adjust-survey.js';
import { networkFigure } from './figure.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { summaryOf } from './summary.js';
import { readSurvey } from './survey-network.js';
import { pointsLayer, tableOf } from './table.js';
import { cautionsOf, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'survey-adjustment',
  title: 'Survey adjustment',
  version: '1',
  summary:
    'Where do the control and detail points lie by tapes, offsets and depths, how well are they known, and which readings are wrong?',
  cautions: [
    'Control is held fixed: an error of a control point goes into everything measured from it and shows only as bad residuals.',
    'A reading that no other checks can be wrong by any amount and fit perfectly.',
    'With one redundancy a gross error is seen, but not located; with two it may be laid to a neighbour.',
    'Control in one line (in space: in one plane, such as a datum ring at one depth) leaves two places for every point.',
    'Slack, snagged or sagging tapes read too long: such errors do not average out.',
  ],
  formula:
    'min Σ ((f_i(x) − l_i) / σ_i)²; v = f(x) − l; Q = (AᵀPA)⁻¹; s0² = vᵀPv / r; r_i = (Q_vv P)_ii; w_i = v_i / (σ_i √r_i); tau_i = w_i / s0; mdb_i = 4.13 σ_i / √r_i. Ellipse: half axes √(eigenvalues of Q_xy), azimuth ½ atan2(2 q_xy, q_yy − q_xx); 95 %: × √χ²₂ = 2.4477, or × s0 √(2 F(2, r)).',
  sources: [
    'Baarda 1968, A testing procedure for use in geodetic networks, Netherlands Geodetic Commission, Publications on Geodesy 2(5)',
    'Pope 1976, The statistics of residuals and the detection of outliers, NOAA Technical Report NOS 65 NGS 1',
    'Mikhail & Gracie 1981, Analysis and Adjustment of Survey Measurements, New York',
    'Wolf & Ghilani 1997, Adjustment Computations, 3rd edition, New York, chapters 13 to 21',
    'Levenberg 1944, Quarterly of Applied Mathematics 2, 164–168, doi:10.1090/qam/10666',
    'Marquardt 1963, SIAM Journal on Applied Mathematics 11, 431–441, doi:10.1137/0111030',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'exclude',
  spreadsItself: true,
  withoutEffect: [
    'season',
    'artefact_class',
    'identified_as_of',
    'window',
    'count_unit',
    'spot',
    'square_only',
    'draws',
    'simulations',
    'seed',
  ],
  needsWindow: false,
  defaultSimulations: 0,
  worked,
  laws: { movedAndTurned: false },
  run: runSurveyAdjustment,
});

function runSurveyAdjustment(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  if (!sample.readings) {
    throw new Problem(
      'cannot-answer',
      'survey-adjustment needs control points and measurements: a site with control-points.csv and measurements.csv, or the plain files control and measurements',
    );
  }
  control.progress(0, 'reading the measurements');
  const survey = readSurvey(sample.readings, own);
  control.progress(0.1, 'adjusting');
  const adjusted = adjustSurvey(survey, own);
  const summary = summaryOf(survey, adjusted);
  control.progress(0.9, 'drawing');
  const context = { sample, survey, adjusted, own };
  return {
    summary,
    table: tableOf(summary),
    features: pointsLayer(summary, survey),
    figure: networkFigure(summary, adjusted, sample),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}
