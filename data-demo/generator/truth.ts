import {
  baulk,
  dugAreas,
  dugFractionOf,
  dugIn,
  dugUnion,
  halfDug,
  labels,
  nodesOf,
  reopened,
  type Square,
  seasonIds,
} from './areas.js';
import { bathymetry, bathymetryCorner, sandWaves, scour } from './bathymetry.js';
import { depositBottom, depositTop, detachedStern, mound, nodeThickness, olderPit, plane } from './deposit.js';
import { demoSeed, rounded } from './deviates.js';
import { gridOrigin, relaid, relaidAzimuthDeg, squareLabel } from './grids.js';
import {
  allLevels,
  bottomlessLabels,
  forgottenTide,
  invertedNodes,
  levelSigmaM,
  missingNodes,
  missingShare,
  tideRangeM,
  zeroBelowSeaM,
} from './levels.js';
import { datumShiftM, sharedSigmaM } from './seasons.js';
import { keelson, keelsonAzimuthDeg, keelsonLengthM } from './ship.js';
import { controlCount, controlOnMap, type DemoSurvey, detailCount, tapeFaults, tapes } from './survey.js';

// what was planted, worked out anew from the finished site by plain sums, so that tests can ask the analyses for it

/** Least-squares plane through points: dip and downslope direction, degrees. */
function planeThrough(points: readonly (readonly [number, number, number])[]) {
  const n = points.length;
  const mean = (k: 0 | 1 | 2) => points.reduce((sum, p) => sum + p[k], 0) / n;
  const [mx, my, mz] = [mean(0), mean(1), mean(2)];
  const moment = (f: (dx: number, dy: number, dz: number) => number) =>
    points.reduce((sum, [x, y, z]) => sum + f(x - mx, y - my, z - mz), 0);
  const xx = moment((dx) => dx * dx);
  const xy = moment((dx, dy) => dx * dy);
  const yy = moment((_, dy) => dy * dy);
  const xz = moment((dx, _, dz) => dx * dz);
  const yz = moment((_, dy, dz) => dy * dz);
  const det = xx * yy - xy * xy;
  const east = (xz * yy - yz * xy) / det;
  const north = (yz * xx - xz * xy) / det;
  const dip = (Math.atan(Math.sqrt(east * east + north * north)) * 180) / Math.PI;
  const direction = ((Math.atan2(-east, -north) * 180) / Math.PI + 360) % 360;
  return { nodes: n, dip_deg: rounded(dip, 6), downslope_deg: rounded(direction, 6) };
}

function planes(nodes: readonly Square[]) {
  return {
    deposit_top: planeThrough(nodes.map(([c, r]) => [c, r, depositTop(c, r)])),
    deposit_bottom: planeThrough(nodes.map(([c, r]) => [c, r, depositBottom(c, r)])),
  };
}

/** Bilinear volume: the mean of the four node thicknesses of each square, times one square metre. */
function volume(squares: readonly Square[], share: (square: Square) => number): number {
  let sum = 0;
  for (const square of squares) {
    const [c, r] = square;
    const four = nodeThickness(c, r) + nodeThickness(c + 1, r) + nodeThickness(c, r + 1) + nodeThickness(c + 1, r + 1);
    sum += (four / 4) * share(square);
  }
  return sum;
}

function ground(squares: readonly Square[]) {
  const whole = volume(squares, () => 1);
  return {
    area_m2: squares.length,
    volume_m3: rounded(whole, 6),
    volume_dug_m3: rounded(volume(squares, dugFractionOf), 6),
    mean_thickness_m: rounded(whole / squares.length, 6),
  };
}

/** Areas, volumes and slopes. */
function groundTruth() {
  const dugNodes = new Map(seasonIds.flatMap((season) => nodesOf(season)).map((node) => [String(node), node]));
  return {
    seasons: Object.fromEntries(
      seasonIds.map((season) => [season, { ...ground(dugIn(season)), planes: planes(nodesOf(season)) }]),
    ),
    union: { ...ground(dugUnion), planes: planes([...dugNodes.values()]) },
    reopened_squares: labels(reopened),
    baulk_squares: labels(baulk),
    half_dug_squares: labels(halfDug),
    planned_squares: labels(dugAreas.filter((area) => area.progress === 'planned').flatMap((area) => area.squares)),
    note: 'site-grid metres, noise-free node values, bilinear between nodes; volume_dug_m3 takes dug_fraction into account; the trial trench left three tenths of the deposit in the reopened squares, which volume_m3 counts in both seasons',
    underlying_slope: { dip_deg: plane.dipDeg, downslope_deg: plane.downslopeDeg },
    mound,
    older_pit: { centre: olderPit.centre, radius_m: olderPit.radiusM, context: 'C4' },
  };
}

/** Levels and the slips in them. */
function levelTruth() {
  const levels = allLevels();
  const forgotten = levels.filter((level) => level.series === forgottenTide.series);
  return {
    readings: levels.length,
    sigma_random_m: levelSigmaM,
    sigma_shared_m: sharedSigmaM,
    shared_shift_m: datumShiftM,
    shared_shift_note: 'added to the levels of a season and to the elevations of its finds alike',
    nodes_due: new Set(seasonIds.flatMap((season) => nodesOf(season)).map(String)).size,
    missing_share: missingShare,
    missing_nodes: labels(missingNodes()),
    inverted_nodes: invertedNodes().map(({ season, column, row }) => ({ season, node: squareLabel(column, row) })),
    tide_not_reduced: {
      reading_series: String(forgottenTide.series),
      elevation_shift_m: forgottenTide.shiftM,
      readings: forgotten.length,
      nodes: [...new Set(forgotten.map(({ column, row }) => squareLabel(column, row)))],
    },
    tide_range_m: tideRangeM,
    squares_without_bottom: bottomlessLabels(),
  };
}

/** Control points and tapes; rows count from 1 below the heading of measurements.csv. */
function surveyTruth(survey: DemoSurvey) {
  return {
    control_points: controlCount,
    detail_points: detailCount,
    tapes: tapes.count,
    sigma_m: tapes.sigmaM,
    poor_sigma_m: tapes.poorSigmaM,
    tapes_note:
      'slope distances between the points; every tape states the good sigma, since nobody knew which were poor',
    rows: tapeFaults(survey),
    true_points: [...survey.control, ...survey.detail],
    control_on_map: controlOnMap(survey),
  };
}

/** Everything but the finds. */
export function siteTruth(survey: DemoSurvey) {
  const [west, north] = bathymetryCorner();
  return {
    seed: demoSeed,
    generator: 'data-demo/generator/make.ts',
    directions: 'degrees clockwise from site_north; from map_grid_north add 27.35',
    grids: {
      g1: gridOrigin,
      g2: {
        valid_season: 'S3',
        definition: 'p(g1) = R(rotation, anticlockwise) · p(g2) + shift, about the grid origin',
        shift_m: [relaid.shiftX, relaid.shiftY],
        rotation_deg_anticlockwise: relaid.rotationDeg,
        azimuth_deg: rounded(relaidAzimuthDeg, 6),
        common_points: ['CP1', 'CP2', 'CP4', 'CP6', 'CP8'],
      },
    },
    site_zero: { below_mean_sea_level_m: zeroBelowSeaM, sigma_m: 0.15 },
    keelson: {
      after_end: keelson.after,
      bow_end: keelson.bow,
      length_m: rounded(keelsonLengthM, 6),
      azimuth_deg: rounded(keelsonAzimuthDeg, 6),
      heel_to: 'starboard',
    },
    detached_stern: detachedStern,
    ground: groundTruth(),
    levels: levelTruth(),
    survey: surveyTruth(survey),
    bathymetry: { ...bathymetry, west, north, epsg: 32626, scour, sand_waves: sandWaves },
  };
}
