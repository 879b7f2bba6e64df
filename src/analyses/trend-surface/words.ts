import type { Sample } from '../../domain/sample.js';
import type { SurfaceNodes } from '../../math/level-nodes.js';
import type { DipAndTrend } from './dip-and-trend.js';
import type { Summary } from './schemas.js';

const shown = (value: number | null, digits = 4) =>
  value === null ? 'not known' : String(Number(value.toPrecision(digits)));

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, sample: Sample, nodes: SurfaceNodes): string {
  const seasons = summary.seasons.filter((s) => s !== '');
  const sentences = [
    `Trend of ${summary.surface} by least squares through ${summary.n} nodes${seasons.length > 0 ? ` (seasons ${seasons.join(', ')}; ${summary.node_value === 'newest' ? 'the newest at each node' : 'their mean at each node'})` : ''}${nodes.setAside > 0 ? `, ${nodes.setAside} readings set aside left out` : ''}: a polynomial of order ${summary.order} in centred coordinates (Krumbein 1959; Davis 2002).`,
    `Plane z = a + b (x − x̄) + c (y − ȳ) with b ${shown(summary.slope_x)}, c ${shown(summary.slope_y)}: dip = arctan √(b² + c²), downslope direction = atan2(−b, −c) clockwise from site_north${sample.mapAzimuthDeg === 0 ? '' : ` (map_grid_north: add ${shown(sample.mapAzimuthDeg)}°)`}; standard errors to first order from the covariance of b and c with the residual variance (random error only), 95 % interval by Student's t.`,
  ];
  if (summary.season_error) {
    sentences.push(
      `Season errors: ${summary.season_error.estimated ? 'shifts of the seasons estimated beside the plane, their variance less what their own errors explain' : 'given'}, shared standard deviation ${shown(summary.season_error.shared_sigma_m, 3)} m, carried to the slopes through each season's leverage.`,
    );
  }
  if (summary.robust) {
    sentences.push(
      `Robust fit: iteratively reweighted least squares, Huber (1964) weights with constant 1.345 to start and Tukey's biweight (Beaton & Tukey 1974) with constant ${shown(summary.robust.constant)}, scale = median absolute residual / 0.6745.`,
    );
  }
  sentences.push(
    `F of each order against a level plane and against the order before (${summary.tests} tests).`,
    `Dug area of the selection: ${shown(sample.windowAreaM2, 5)} m², ${sample.windowSource}.`,
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, nodes: SurfaceNodes, { season, robust }: DipAndTrend): string[] {
  const out: string[] = [];
  if (summary.direction_withheld !== null) out.push(`No direction: ${summary.direction_withheld}.`);
  if (summary.se_dip_deg === null) {
    out.push(`A plane fits ${summary.n} nodes exactly: how sure dip and direction are cannot be told.`);
  } else if (summary.n < 10) {
    out.push(`Only ${summary.n} nodes: one wrong level turns the plane.`);
  }
  if (summary.tests > 0) {
    out.push(
      'Neighbouring levels are alike, so the standard errors and the p of F are too small; R² says how much the trend explains, not that it is real.',
    );
  }
  if (summary.order > 1) out.push('Beyond the nodes a curved trend means nothing.');
  if (season !== null) {
    const both = season.errors.seDipDeg ?? 0;
    if (both > 1.5 * (summary.se_dip_deg ?? 0)) {
      out.push(
        `With errors shared by a season (${shown(season.sharedSigmaM, 2)} m) the standard error of the dip is ${shown(both, 2)}°, not ${shown(summary.se_dip_deg, 2)}°.`,
      );
    }
    if (season.isEstimated) {
      out.push(
        `The shared error is estimated from the shifts of ${season.shifts.length} seasons against one plane: a mound that one season dug counts as a shift too, and so few seasons tell it roughly. Give shared_sigma_m where the error of the datum is known.`,
      );
    }
    if (summary.direction_deg !== null && both > summary.dip_deg) {
      out.push('With season errors the dip is below its own error: do not quote the direction.');
    }
  } else if (nodes.seasonNames.length < 2) {
    out.push(
      'All levels are of one season (or none is named): what a datum or tide error shared by it does cannot be seen.',
    );
  }
  if (robust && summary.robust) {
    const apart = Math.abs(robust.dip.dipDeg - summary.dip_deg);
    if (summary.se_dip_deg !== null && apart > 2 * summary.se_dip_deg) {
      out.push(
        `The robust plane dips ${shown(robust.dip.dipDeg, 3)}°, more than two standard errors away: a few levels pull the plain fit; see robust_weight in the residuals.`,
      );
    }
  }
  if (nodes.mixedSeasons > 0) {
    out.push(
      `At ${nodes.mixedSeasons} nodes top and bottom come from different seasons: their datum errors do not cancel.`,
    );
  }
  return out;
}
