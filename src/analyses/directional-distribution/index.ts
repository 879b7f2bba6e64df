import type { Sample } from '../../domain/sample.js';
import { coincidentCount } from '../../math/bandwidth.js';
import { meanCentre } from '../../math/centre.js';
import { convexHull } from '../../math/convex-hull.js';
import { medianCentre } from '../../math/median-centre.js';
import { ringArea } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { classGroups, classRows, ellipseOf, offsetsOf, sizeRows, weightedPlace } from './classes.js';
import { figureOf } from './figure.js';
import { type Ground, groundOf } from './ground.js';
import { describeDirections } from './long-objects.js';
import { resampledSpread } from './resampled.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { spreadLayer, tableOf } from './table.js';
import { trial } from './trial.js';
import { cautionsOf, headline, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'directional-distribution',
  title: 'Centre, spread and direction',
  version: '1',
  summary: 'Where is the centre of a class, which way does it spread, and did it spill to one side of the ship?',
  cautions: [
    'The dug area shapes every centre and ellipse: finds beyond it are not known, and a long trench makes a long ellipse.',
    'A mean centre between two clusters lies where there may be nothing; look at the plan.',
    'A class that was stowed on one side lies there without having spilled; slope, current and collapse all move finds.',
    'Rayleigh’s test sees one preferred direction only; two crossing groups of timbers pass unseen.',
    'Directions are from site_north unless another north is named.',
  ],
  formula:
    'Standard distance √(Σ d² / n). Ellipse: axes √ of the eigenvalues of the covariance with divisor n, bearing ½ atan2(2 Sxy, Syy − Sxx) clockwise from north (other programs: √2 larger, or divisor n − 2). Median centre: smallest Σ d. Axes: angles doubled, mean halved; Rbar = R / n; Rayleigh z = n Rbar², p = exp[√(1 + 4n + 4(n² − R²)) − (1 + 2n)]. Offset: mean distance off the ship axis; p = (1 + #{as extreme}) / (m + 1), names dealt out among all finds of the same seasons.',
  sources: [
    'Bachi 1963, Papers of the Regional Science Association 10, 83–132, doi:10.1007/BF01934680',
    'Lefever 1926, American Journal of Sociology 32, 88–94, doi:10.1086/214027',
    'Yuill 1971, Geografiska Annaler B 53, 28–39, doi:10.1080/04353684.1971.11879353',
    'Weiszfeld 1937, Tôhoku Mathematical Journal 43, 355–386',
    'Vardi & Zhang 2000, PNAS 97, 1423–1426, doi:10.1073/pnas.97.4.1423',
    'Mardia & Jupp 2000, Directional Statistics, doi:10.1002/9780470316979',
    'Fisher 1993, Statistical Analysis of Circular Data, doi:10.1017/CBO9780511564345',
    'Greenwood & Durand 1955, Annals of Mathematical Statistics 26, 233–246, doi:10.1214/aoms/1177728540',
    'Rao 1976, Sankhyā B 38, 329–338',
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Holm 1979, Scandinavian Journal of Statistics 6, 65–70',
  ],
  parameters,
  result,
  layers: { features: 'area' },
  squareOnly: 'exclude',
  spreadsItself: false,
  withoutEffect: [],
  defaultSimulations: 999,
  worked,
  // centres are places and move with the site
  trial,
  laws: { movedAndTurned: false },
  run: runDirectionalDistribution,
});

/** Finds drawn in one run, all simulations together: some minutes of work. */
const mostDrawn = 4e9;

function runDirectionalDistribution(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  const { simulations, seed } = control;
  const ground = groundOf(sample, own);
  const xy = sample.xy.map((v, i) => v - (i % 2 === 0 ? ground.west : ground.south));
  const n = xy.length / 2;
  if (simulations * n > mostDrawn) {
    throw new Problem(
      'too-much-work',
      `${simulations} simulations of ${n} finds are too many for one run; at most ${Math.floor(mostDrawn / n)} simulations fit`,
      { simulations, n },
    );
  }
  const classes = classGroups(sample, xy);
  const { pooled, byClass } = offsetsOf(sample, ground, {
    all: xy,
    classes,
    plan: { count: simulations, seed, progress: (share) => control.progress(0.8 * share, 'dealing out names') },
  });
  control.progress(0.85, 'drawing finds anew');
  const ellipse = ellipseOf(xy);
  const spread = resampledSpread({
    xy,
    bearing: ellipse?.bearing_deg ?? null,
    offAxis: ground.measure(xy).offAxis,
    simulations,
    seed,
  });
  const measured = {
    n,
    window_area_m2: sample.windowAreaM2,
    ...centresOf(sample, xy, ground),
    ellipse,
    bearing_error_deg: spread.bearingErrorDeg,
    bearings: ellipse?.bearing_deg == null ? null : fromNorths(sample, ellipse.bearing_deg, 180),
    hull_area_m2: n === 0 ? null : Math.max(0, ringArea(convexHull(xy))),
    long_objects: longObjects(sample, own, { ground, simulations, seed }),
    slope: ground.slope,
    offset_from: ground.offsetFrom,
    offset: n === 0 ? null : pooled,
    by_class: classRows(ground, classes, byClass),
    by_size_class: sizeRows(sample, xy, ground),
    coincident: coincidentCount(xy),
  };
  const summary: Summary = { ...headline(measured, spread), ...measured };
  const context = { sample, own, simulations, seed };
  return {
    summary,
    table: tableOf(summary),
    features: spreadLayer(summary, { all: xy, classes, west: ground.west, south: ground.south }),
    figure: figureOf(summary, { sample, own, ground }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

function centresOf(sample: Sample, xy: Float64Array, ground: Ground) {
  if (xy.length === 0) {
    return {
      mean_centre: null,
      median_centre: null,
      median_centre_unique: null,
      weighted_centre: null,
      standard_distance_m: null,
    };
  }
  const mean = meanCentre(xy);
  const median = medianCentre(xy);
  return {
    mean_centre: [mean.x + ground.west, mean.y + ground.south],
    median_centre: [median.x + ground.west, median.y + ground.south],
    median_centre_unique: median.isUnique,
    weighted_centre: weightedPlace(xy, sample.weight, ground),
    standard_distance_m: mean.standardDistanceM,
  };
}

/** A bearing from site_north seen from the other norths; `turnDeg` 180 for an axis, 360 for a direction. */
function fromNorths(sample: Sample, bearingDeg: number, turnDeg: 180 | 360) {
  const from = (azimuthDeg: number | null) =>
    azimuthDeg === null ? null : (((bearingDeg + azimuthDeg) % turnDeg) + turnDeg) % turnDeg;
  return {
    site_north_deg: bearingDeg,
    map_grid_north_deg: from(sample.mapAzimuthDeg) as number,
    true_north_deg: from(sample.norths?.fromTrueNorthDeg ?? null),
    magnetic_north_deg: from(sample.norths?.fromMagneticNorthDeg ?? null),
    magnetic_date: sample.norths?.declinationDate ?? null,
  };
}

function longObjects(
  sample: Sample,
  own: Parameters,
  of: { readonly ground: Ground; readonly simulations: number; readonly seed: number },
): Summary['long_objects'] {
  const known = sample.detail.orientationDeg.filter((d) => !Number.isNaN(d));
  if (known.length === 0) return null;
  const kind = own.axial ? 'axial' : 'directed';
  const described = describeDirections(known, {
    kind,
    shipAxisDeg: of.ground.shipAxisDeg,
    simulations: of.simulations,
    seed: of.seed,
  });
  const mean = described.mean_direction_deg;
  if (mean === null) return { ...described, bearings: null };
  const { map_grid_north_deg, true_north_deg, magnetic_north_deg } = fromNorths(sample, mean, own.axial ? 180 : 360);
  return { ...described, bearings: { map_grid_north_deg, true_north_deg, magnetic_north_deg } };
}
