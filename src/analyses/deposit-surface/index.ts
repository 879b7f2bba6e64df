import type { Sample } from '../../domain/sample.js';
import { type SurfaceNodes, surfaceNodes } from '../../math/level-nodes.js';
import { levelledGround } from '../../math/levelled-ground.js';
import {
  contourLevels,
  contoursThrough,
  drawnCells,
  type GridRequest,
  surfaceGrid,
  usualInterval,
} from '../../math/surface-grid.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { contoursLayer, coverageOf, figureOf, tableOf } from './answer.js';
import { meshInSpace } from './mesh.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { type FittedSurface, fitSurface } from './surface-method.js';
import { cautionsOf, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'deposit-surface',
  title: 'Surface of the deposit',
  version: '1.0.0',
  summary: 'What do levels at the nodes say of a surface between them, and how sure is it?',
  cautions: [
    'Between nodes every method guesses: what is smaller than the node spacing was not seen.',
    'σ holds the random error of levels (of kriging: of the guess); a datum or tide error shared by a season is not in it.',
    'A level taken on a gun or timber is not the sediment beside it.',
    'Kriging variances depend on the variogram, not on how well it suits the ground.',
  ],
  formula:
    'bilinear: z = (1−u)(1−v) z₀₀ + u(1−v) z₁₀ + (1−u)v z₀₁ + uv z₁₁. Inverse distance: Σ zᵢ dᵢ^−p / Σ dᵢ^−p. Kriging: [Γ 1; 1ᵀ 0][w; μ] = [γ; 1], z = Σ wᵢ zᵢ, σ² = wᵀγ + μ; γ(h) = c₀ + c·s(h/a), γ(0) = 0, s = 1.5u − 0.5u³ (spherical, 1 beyond a), 1 − e^−u, 1 − e^−u². Left out: errorᵢ = (K⁻¹z)ᵢ / (K⁻¹)ᵢᵢ of the bordered matrix.',
  sources: [
    'Press, Teukolsky, Vetterling & Flannery 2007, Numerical Recipes, 3rd edition, section 3.6',
    'Shepard 1968, Proceedings of the 23rd ACM National Conference, 517–524, doi:10.1145/800186.810616',
    'Matheron 1963, Economic Geology 58, 1246–1266, doi:10.2113/gsecongeo.58.8.1246',
    'Cressie 1985, Mathematical Geology 17, 563–586, doi:10.1007/BF01032109',
    'Cressie 1993, Statistics for Spatial Data, doi:10.1002/9781119115151',
    'Dubrule 1983, Mathematical Geology 15, 687–699, doi:10.1007/BF01033232',
    'Lawson 1977, Software for C¹ surface interpolation, in Mathematical Software III, 161–194',
  ],
  parameters,
  result,
  layers: { features: 'line', coverage: true, mesh: true },
  squareOnly: 'exclude',
  // finds have no part in it: nothing to redraw
  spreadsItself: true,
  withoutEffect: [
    'artefact_class',
    'identified_as_of',
    'count_unit',
    'spot',
    'square_only',
    'draws',
    'simulations',
    'seed',
  ],
  defaultSimulations: 0,
  worked,
  // cells follow the map's axes: a turned site has another raster
  laws: { movedAndTurned: false },
  run: runDepositSurface,
});

function runDepositSurface(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  control.progress(0, 'gathering levels');
  const nodes = surfaceNodes(sample.levels, {
    surface: own.surface,
    nodeValue: own.node_value,
    seasons: sample.seasons,
  });
  const ground = levelledGround(nodes, sample.grid?.node_spacing ?? null);
  const surface = fitSurface(nodes, ground, {
    method: own.method,
    missingCorner: own.missing_corner,
    model: own.model,
    nugget: own.nugget,
    sill: own.sill,
    range: own.range,
    lagM: own.lag_m,
    cutoffM: own.cutoff_m,
    power: own.exponent,
    neighbours: own.neighbours,
  });
  control.progress(0.2, 'reading the surface');
  const request: GridRequest = {
    nodes,
    ground,
    window: sample.window,
    azimuthDeg: own.cells_along === 'site_grid' ? 0 : sample.mapAzimuthDeg,
    mask: own.mask,
    cellM: own.cell_m,
  };
  const places = own.at;
  const asked = places === null ? null : readPlaces(surface, places);
  const grid =
    asked === null
      ? surfaceGrid(surface, request, (share) => control.progress(0.2 + 0.5 * share, 'reading the surface'))
      : null;
  control.progress(0.7, 'drawing contours');
  const intervalM = grid === null ? null : (own.contour_interval_m ?? usualInterval(grid.values));
  const levels = grid === null || intervalM === null ? [] : contourLevels(grid.values, intervalM);
  const cells = grid === null ? null : drawnCells(surface, grid, request);
  const contours = cells === null ? [] : contoursThrough(cells, levels);
  const mesh = grid === null || own.mesh === 'none' ? null : meshInSpace(surface, grid, { request, own, sample });
  const used = new Set(nodes.seasonNames);
  const cellArea = grid === null ? 0 : grid.frame.cellM ** 2;
  const summary: Summary = {
    n: nodes.z.length,
    readings: nodes.readings.reduce((sum, k) => sum + k, 0),
    surface: own.surface,
    method: own.method,
    node_value: own.node_value,
    seasons: [...used],
    ...extremes(nodes),
    mean_surface_m: grid?.meanM ?? null,
    area_m2: grid === null ? null : grid.cells * cellArea,
    area_beyond_nodes_m2: grid === null ? null : grid.cellsBeyond * cellArea,
    cell_m: grid?.frame.cellM ?? null,
    mesh_cells: mesh === null ? null : mesh.corners.length / 4,
    contour_interval_m: intervalM,
    node_spacing_m: ground.lattices[0]?.stepM ?? null,
    squares_four_nodes: ground.lattices.length === 0 ? null : ground.squaresFour,
    squares_three_nodes: ground.lattices.length === 0 ? null : ground.squaresThree,
    missing_nodes: ground.lattices.length === 0 ? null : ground.missingNodes,
    beside_grid: ground.besideGrid,
    prediction: asked?.value ?? [],
    variance: asked?.variance ?? [],
    at: (places ?? []).map(([x, y]) => ({ x_m: x, y_m: y })),
    variogram: variogramOf(surface),
    leave_one_out: leaveOneOutOf(surface, nodes),
  };
  const context = { sample, nodes, own };
  return {
    summary,
    table: tableOf(nodes, surface.leftOut),
    ...(grid === null || intervalM === null
      ? {}
      : { features: contoursLayer(contours, intervalM), coverage: coverageOf(grid, own.surface) }),
    ...(mesh === null ? {} : { mesh }),
    figure: figureOf({ sample, nodes, summary, contours, mesh: cells?.levelled ?? null, levels, at: places }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

function readPlaces(surface: FittedSurface, places: readonly (readonly [number, number])[]) {
  if (places.length * surface.workPerPlace > 1e11) {
    throw new Problem(
      'too-much-work',
      `${places.length} places are too many for this method at once; ask for fewer at a time`,
      { places: places.length },
    );
  }
  const read = surface.read(Float64Array.from(places.flat()));
  const known = (v: number) => (Number.isNaN(v) ? null : v);
  return { value: Array.from(read.value, known), variance: Array.from(read.sigma, (s) => known(s * s)) };
}

function extremes({ z }: SurfaceNodes): Pick<Summary, 'min_elevation_m' | 'max_elevation_m' | 'mean_elevation_m'> {
  return {
    min_elevation_m: z.reduce((low, v) => Math.min(low, v), Infinity),
    max_elevation_m: z.reduce((high, v) => Math.max(high, v), -Infinity),
    mean_elevation_m: z[0] + z.reduce((sum, v) => sum + (v - z[0]) / z.length, 0),
  };
}

function variogramOf({ variogram }: FittedSurface): Summary['variogram'] {
  if (variogram === null) return null;
  const { model, bins, misfit, fitted, rangeAtBoundary } = variogram;
  return {
    model: model.kind,
    nugget: model.nugget,
    sill: model.sill,
    range: model.range,
    sse: misfit,
    fitted: [...fitted],
    range_at_boundary: rangeAtBoundary,
    bins: bins.map((bin) => ({ pairs: bin.pairs, distance_m: bin.distanceM, gamma_m2: bin.gamma })),
  };
}

function leaveOneOutOf({ leftOut }: FittedSurface, nodes: SurfaceNodes): Summary['leave_one_out'] {
  if (leftOut === null) return null;
  const { error, variance } = leftOut;
  const n = error.length;
  const mean = (of: (i: number) => number) => error.reduce((sum, _, i) => sum + of(i) / n, 0);
  const hasVariance = variance.every((v) => v > 0);
  const standard = (i: number) => error[i] / Math.sqrt(variance[i]);
  let worst = 0;
  for (let i = 1; i < n; i++) if (Math.abs(error[i]) > Math.abs(error[worst])) worst = i;
  return {
    n,
    mean_error_m: mean((i) => error[i]),
    rmse_m: Math.sqrt(mean((i) => error[i] ** 2)),
    mean_standardised: hasVariance ? mean(standard) : null,
    rms_standardised: hasVariance ? Math.sqrt(mean((i) => standard(i) ** 2)) : null,
    largest_error_m: error[worst],
    largest_error_node: nodes.label[worst],
  };
}
