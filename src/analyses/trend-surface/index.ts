import type { Sample } from '../../domain/sample.js';
import { type SurfaceNodes, surfaceNodes } from '../../math/level-nodes.js';
import { biweightConstant } from '../../math/trend.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { figureOf, residualLayer, tableOf } from './answer.js';
import { type DipAndTrend, dipAndTrend } from './dip-and-trend.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { cautionsOf, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'trend-surface',
  title: 'Trend of a surface',
  version: '1.0.0',
  summary: 'Which way and how steeply does a surface slope, and what is left when the slope is taken off?',
  cautions: [
    'A plane is fitted to whatever was levelled: a mound at one end tilts it.',
    'Neighbouring levels are alike, so there are fewer independent ones than nodes and the errors come out too small.',
    'A datum or tide error of one season tilts the plane when the season dug one side; see season_error.',
    'A direction means nothing when the dip is below its own error; it is then withheld.',
  ],
  formula:
    'z = Σ β_pq x^p y^q, p + q ≤ order, least squares. Order 1: dip = arctan √(b² + c²), direction = atan2(−b, −c), var(dip) = (b²V_b + 2bcV_bc + c²V_c) / ((b² + c²)(1 + b² + c²)²), var(direction) = (c²V_b − 2bcV_bc + b²V_c) / (b² + c²)². F = ((S₀ − S₁) / Δterms) / (S₁ / (n − terms)). Season errors: V + τ² Σ_s g_s g_sᵀ, g_s the slope a shift of season s by one metre makes.',
  sources: [
    'Krumbein 1959, Journal of Geophysical Research 64, 823–834, doi:10.1029/JZ064i007p00823',
    'Davis 2002, Statistics and Data Analysis in Geology, 3rd edition, chapter 5',
    'Huber 1964, Annals of Mathematical Statistics 35, 73–101, doi:10.1214/aoms/1177703732',
    'Beaton & Tukey 1974, Technometrics 16, 147–185, doi:10.1080/00401706.1974.10489171',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'exclude',
  // finds have no part in it: nothing to redraw
  spreadsItself: true,
  withoutEffect: [
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
  defaultSimulations: 0,
  worked,
  laws: { movedAndTurned: true },
  run: runTrendSurface,
});

function runTrendSurface(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  control.progress(0, 'gathering levels');
  const nodes = surfaceNodes(sample.levels, {
    surface: own.surface,
    nodeValue: own.node_value,
    seasons: sample.seasons,
  });
  control.progress(0.2, 'fitting the trend');
  const fitted = dipAndTrend(nodes, own.order as 1 | 2 | 3, own.shared_sigma_m);
  const summary = summaryOf(nodes, fitted, { own, azimuthDeg: sample.mapAzimuthDeg });
  control.progress(0.6, 'drawing the residuals');
  return {
    summary,
    table: tableOf(summary),
    features: residualLayer(nodes, fitted, summary.residual_sd_m),
    figure: figureOf(sample, nodes, { summary, fitted }),
    methods: methodsOf(summary, sample, nodes),
    cautions: cautionsOf(summary, nodes, fitted),
  };
}

function summaryOf(
  nodes: SurfaceNodes,
  fitted: DipAndTrend,
  { own, azimuthDeg }: { readonly own: Parameters; readonly azimuthDeg: number },
): Summary {
  const { plane, errors, halfWidthDeg, season, trend, tests, robust } = fitted;
  const n = nodes.z.length;
  const withheld = whyNoDirection(fitted);
  const direction = withheld === null ? plane.directionDeg : null;
  const free = n - trend.terms;
  let worst = 0;
  for (let i = 1; i < n; i++) if (Math.abs(trend.residual[i]) > Math.abs(trend.residual[worst])) worst = i;
  return {
    n,
    surface: own.surface,
    order: trend.order,
    node_value: own.node_value,
    seasons: [...nodes.seasonNames],
    dip_deg: plane.dipDeg,
    dip_low_deg: halfWidthDeg === null ? null : Math.max(0, plane.dipDeg - halfWidthDeg),
    dip_high_deg: halfWidthDeg === null ? null : plane.dipDeg + halfWidthDeg,
    se_dip_deg: errors.seDipDeg,
    direction_deg: direction,
    direction_from_map_grid_north_deg: direction === null ? null : (direction + azimuthDeg + 720) % 360,
    se_direction_deg: direction === null ? null : errors.seDirectionDeg,
    direction_withheld: withheld,
    slope_x: plane.slopeX,
    slope_y: plane.slopeY,
    level_at_centre_m: plane.levelAtCentre,
    centre_x_m: plane.centre[0],
    centre_y_m: plane.centre[1],
    season_error: season && {
      shared_sigma_m: season.sharedSigmaM,
      estimated: season.isEstimated,
      se_dip_deg: season.errors.seDipDeg,
      se_direction_deg: direction === null ? null : season.errors.seDirectionDeg,
      shifts: season.shifts.map((s) => ({ season: s.season, n: s.nodes, shift_m: s.shiftM, se_m: s.seM })),
    },
    robust: robust && {
      dip_deg: robust.dip.dipDeg,
      direction_deg: direction === null ? null : robust.dip.directionDeg,
      scale_m: robust.fit.scaleM,
      constant: biweightConstant,
      nodes_without_weight: robust.fit.weights.filter((w) => w === 0).length,
      nodes_half_weight: robust.fit.weights.filter((w) => w < 0.5).length,
    },
    residual_sd_m: free < 1 ? null : Math.sqrt(trend.sumOfSquares / free),
    r_squared: tests.find((t) => t.order === trend.order)?.rSquared ?? null,
    largest_residual_m: trend.residual[worst],
    largest_residual_node: nodes.label[worst],
    orders: tests.map((t) => ({
      order: t.order,
      r_squared: t.rSquared,
      f: t.f,
      p: t.p,
      f_increase: t.fIncrease,
      p_increase: t.pIncrease,
      degrees_of_freedom: t.degreesOfFreedom,
    })),
    tests: tests.reduce((sum, t) => sum + (t.f === null ? 0 : 1) + (t.order > 1 && t.fIncrease !== null ? 1 : 0), 0),
  };
}

function whyNoDirection({ plane, errors }: DipAndTrend): string | null {
  if (plane.directionDeg === null) return 'the plane is level';
  if (errors.seDipDeg !== null && plane.dipDeg < errors.seDipDeg) {
    return `the dip of ${Number(plane.dipDeg.toPrecision(3))}° is below its own standard error of ${Number(errors.seDipDeg.toPrecision(3))}°`;
  }
  return null;
}
