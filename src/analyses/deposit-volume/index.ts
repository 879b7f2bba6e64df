import type { FeatureTable } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import { niceStep } from '../../figures/axes.js';
import { type CellLattice, cellAreaM2 } from '../../math/level-cells.js';
import type { LevelColumns } from '../../math/level-nodes.js';
import { contains, edgeSlack, type Region, shiftRegion } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import { defineAnalysis, type RunControl } from '../contract.js';
import { coverageOf, figureOf, squaresLayer, tableOf, type VolumeDrawing } from './answer.js';
import { bathymetryAgreement } from './bathymetry-agreement.js';
import { chosenLevels } from './chosen-levels.js';
import { isopachAreas, isopachLines } from './isopach-layer.js';
import { type KeelProfile, keelProfile } from './keel-profile.js';
import { type MeasuredGround, measuredGround, type SquareVolume, squareVolumes } from './measured-ground.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { groundAtLeast } from './thickness-field.js';
import { undugGround } from './undug.js';
import {
  type DugGround,
  normal975,
  type VolumeReport,
  type VolumeRow,
  volumeReport,
  wholeEstimateSigmaM3,
} from './volume.js';
import { cautionsOf, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'deposit-volume',
  title: 'Deposit thickness and volume',
  version: '1.1.0',
  summary: 'How thick is the wreck deposit, and how many m³ of it were dug and are left, with which error?',
  cautions: [
    'The volume is that of squares with all four nodes levelled; ground that lacks a node is named, not filled in.',
    'An error that all levels share (datum, tide) grows with the area and soon outweighs the random error of the nodes.',
    'Where the bottom was written above the top, thickness is negative and takes from the net volume.',
    'Planned and opened ground is told apart (undug) and in no other figure; what lies beyond every area of the site is in none.',
    'A bathymetry is set beside the thickness by rank only: its error is several times that of a level.',
  ],
  formula:
    'V = Σ over squares of area × mean of the four corner thicknesses (top − bottom) = Σ wᵢ tᵢ, wᵢ = m² a node stands for; part squares by the exact integral of the bilinear surface; σ_random² = Σ wᵢ² (σ_top² + σ_bottom²), σ_shared = shared shift × area (0 when top and bottom share it), σ² = σ_random² + σ_shared²',
  sources: [
    'Bannister, Raymond & Baker 1998, Surveying (volumes from spot levels)',
    'Lane, Westaway & Hicks 2003, Earth Surface Processes and Landforms 28, 249–271, doi:10.1002/esp.483',
    'Wheaton, Brasington, Darby & Sear 2010, Earth Surface Processes and Landforms 35, 136–156, doi:10.1002/esp.1886',
    'Künsch 1989, Annals of Statistics 17, 1217–1241, doi:10.1214/aos/1176347265',
  ],
  parameters,
  result,
  layers: { features: 'area', coverage: true },
  squareOnly: 'exclude',
  spreadsItself: true,
  withoutEffect: ['artefact_class', 'identified_as_of', 'count_unit', 'spot', 'square_only', 'draws'],
  needsWindow: false,
  defaultSimulations: 499,
  worked,
  // squares follow the site grid, the surface the map's axes: a turned site has others
  laws: { movedAndTurned: false },
  run(sample, own, control) {
    const local = localGround(sample, own);
    control.progress(0.05, 'measuring the ground');
    const report = volumeReport({
      ...local,
      seasons: sample.seasons,
      nodeValue: own.node_value,
      shared: { sigmaM: own.sigma_shared_m, between: own.shared_error },
      belowLimit: belowLimit(sample, own, local),
    });
    const { ground } = report;
    control.progress(0.5, 'measuring squares');
    const squares = squareVolumes(ground, gridSquares(sample));
    const isopachs = isopachsOf(ground, own.isopach_interval_m);
    const keel = keelOf(sample, { ground, own, control, local });
    const undug = undugGround({
      levels: { levels: local.levels, spacingM: local.spacingM, seasons: sample.seasons, nodeValue: own.node_value },
      undug: (sample.undug ?? []).map((d) => ({ ...d, region: shiftRegion(d.region, ...local.shift) })),
      dug: local.dug,
      total: report.total,
      squares,
      cellAreaM2: cellAreaM2(ground.layers[0].lattice),
    });
    const summary: Summary = { ...summaryOf({ sample, own, report, isopachs, keel, squares }), undug };
    control.progress(0.9, 'drawing');
    const drawn = { sample, own, report, squares, summary, dug: local.dug, shift: local.shift };
    return {
      summary,
      table: tableOf(drawn),
      features: layerOf(drawn, own.layer),
      coverage: coverageOf(drawn),
      figure: figureOf(drawn),
      methods: methodsOf(summary, { sample, own, unstatedSigmas: local.unstatedSigmas, control }),
      cautions: cautionsOf(summary, { sample, own, ground, unstatedSigmas: local.unstatedSigmas }),
    };
  },
});

function layerOf(drawn: VolumeDrawing, layer: Parameters['layer']): FeatureTable {
  if (layer === 'squares') return squaresLayer(drawn);
  return layer === 'isopach_areas' ? isopachAreas(drawn) : isopachLines(drawn);
}

/** The question in coordinates that start near the site, where differences keep all their digits. */
interface LocalGround {
  readonly levels: LevelColumns;
  readonly spacingM: number | null;
  readonly window: Region;
  readonly dug: readonly DugGround[];
  readonly zones: readonly { readonly name: string; readonly region: Region }[];
  readonly shift: readonly [number, number];
  readonly unstatedSigmas: number;
}

function localGround(sample: Sample, own: Pick<Parameters, 'top' | 'bottom' | 'sigma_random_m'>): LocalGround {
  const { levels, unstatedSigmas } = chosenLevels(sample.levels, {
    top: own.top,
    bottom: own.bottom,
    sigmaRandomM: own.sigma_random_m,
  });
  const least = (values: Float64Array) =>
    values.reduce((low, v) => (Number.isNaN(v) ? low : Math.min(low, v)), Number.POSITIVE_INFINITY);
  const [west, south] = [least(levels.x), least(levels.y)];
  // nodes of the site grid are counted from its origin
  const shift: [number, number] =
    sample.grid || !Number.isFinite(west + south) ? [0, 0] : [Math.floor(west), Math.floor(south)];
  const moved = (region: Region) => shiftRegion(region, shift[0], shift[1]);
  return {
    levels: { ...levels, x: levels.x.map((v) => v - shift[0]), y: levels.y.map((v) => v - shift[1]) },
    spacingM: sample.grid?.node_spacing ?? null,
    window: moved(sample.window),
    dug: sample.dug.map((d) => ({ ...d, region: moved(d.region) })),
    zones: sample.zones.map((zone) => ({ name: zone.name, region: moved(zone.region) })),
    shift,
    unstatedSigmas,
  };
}

/** The ground between the limit of excavation and the bottom; null where these were not levelled together. */
function belowLimit(sample: Sample, own: Parameters, local: LocalGround): MeasuredGround | null {
  if (own.bottom === 'excavation_limit' || !sample.levels?.surface.includes('excavation_limit')) return null;
  try {
    const { levels } = localGround(sample, { ...own, top: 'excavation_limit' });
    return measuredGround({ ...local, levels, seasons: sample.seasons, nodeValue: own.node_value });
  } catch (error) {
    // no node has both: nothing is known below the limit
    if (error instanceof Problem && error.code === 'cannot-answer') return null;
    throw error;
  }
}

function gridSquares({ grid }: Sample): CellLattice | null {
  if (grid === null) return null;
  return {
    origin: [0, 0],
    columnStep: [grid.node_spacing, 0],
    rowStep: [0, grid.node_spacing],
    columns: grid.columns + 1,
    rows: grid.rows + 1,
    node: new Int32Array(0),
  };
}

const mostIsopachs = 60;

function isopachsOf(ground: MeasuredGround, askedM: number | null) {
  const { z } = ground.nodes;
  const low = z.reduce((a, b) => Math.min(a, b), Infinity);
  const high = z.reduce((a, b) => Math.max(a, b), -Infinity);
  const intervalM = askedM ?? (high > low ? niceStep(high - low, 8) : 0.1);
  const first = Math.floor(low / intervalM + 1e-9);
  const last = Math.floor(high / intervalM + 1e-9);
  if (last - first > mostIsopachs) {
    throw new Problem(
      'bad-parameter',
      `isopach_interval_m ${intervalM} makes ${last - first} isopachs between ${low.toFixed(3)} and ${high.toFixed(3)} m; at most ${mostIsopachs} are drawn, ask for a wider interval`,
    );
  }
  const levels = Array.from({ length: last - first + 1 }, (_, k) => Number(((first + k) * intervalM).toPrecision(12)));
  return { intervalM, areas: levels.map((levelM) => ({ levelM, areaM2: groundAtLeast(ground, levelM) })) };
}

function keelOf(
  { shipAxis }: Sample,
  given: { ground: MeasuredGround; own: Parameters; control: RunControl; local: LocalGround },
): KeelProfile | null {
  if (shipAxis === null) return null;
  const { ground, own, control, local } = given;
  const { nodes } = ground;
  const slack = edgeSlack(local.window);
  const inside = Array.from(nodes.x.keys()).filter(
    (k) => local.window.rings.length === 0 || contains(local.window, nodes.x[k], nodes.y[k], slack),
  );
  const end = ([x, y]: readonly [number, number]) => [x - local.shift[0], y - local.shift[1]] as const;
  return keelProfile(
    {
      xy: Float64Array.from(inside.flatMap((k) => [nodes.x[k], nodes.y[k]])),
      thickness: Float64Array.from(inside, (k) => nodes.z[k]),
    },
    { after: end(shipAxis.after), bow: end(shipAxis.bow) },
    {
      binM: own.keel_bin_m,
      blockM: own.keel_block_m,
      count: control.simulations,
      seed: control.seed,
      progress: (share) => control.progress(0.6 + 0.3 * share, 'drawing blocks along the keel'),
    },
  );
}

function summaryOf(given: {
  sample: Sample;
  own: Parameters;
  report: VolumeReport;
  isopachs: ReturnType<typeof isopachsOf>;
  keel: KeelProfile | null;
  squares: readonly SquareVolume[];
}): Omit<Summary, 'undug'> {
  const { sample, own, report, isopachs, keel, squares } = given;
  const { ground, total } = report;
  const { nodes } = ground;
  const [{ lattice }] = ground.layers;
  const differ =
    Math.max(Math.abs(total.prismsSwNeM3 - total.volumeM3), Math.abs(total.prismsSeNwM3 - total.volumeM3)) >
    1e-9 * Math.max(1, Math.abs(total.volumeM3));
  return {
    n: nodes.x.length,
    squares: total.cells,
    squares_without: total.cellsWithout,
    column_step_m: Math.hypot(...lattice.columnStep),
    row_step_m: Math.hypot(...lattice.rowStep),
    cell_area_m2: cellAreaM2(lattice),
    window_area_m2: sample.windowAreaM2,
    area_m2: total.measuredM2,
    unmeasured_m2: total.unmeasuredM2,
    volume_m3: total.volumeM3,
    sigma_m3: total.sigmaM3,
    sigma_random_m3: total.sigmaRandomM3,
    sigma_shared_m3: total.sigmaSharedM3,
    interval95_m3: total.interval95M3,
    whole_estimate: wholeEstimate(report, squares),
    positive_m3: total.positiveM3,
    negative_m3: total.negativeM3,
    prisms_m3: differ ? { sw_ne: total.prismsSwNeM3, se_nw: total.prismsSeNwM3 } : null,
    mean_thickness_m: total.meanThicknessM,
    min_thickness_m: nodes.z.reduce((a, b) => Math.min(a, b), Infinity),
    max_thickness_m: nodes.z.reduce((a, b) => Math.max(a, b), -Infinity),
    thickness_sigma_m: Math.sqrt(nodes.sigma.reduce((sum, s) => sum + s * s, 0) / nodes.sigma.length),
    inverted_nodes: nodes.z.reduce((count, t) => count + (t < 0 ? 1 : 0), 0),
    dug_m2: report.dugM2,
    dug_m3: report.dugM3,
    left_m3: total.volumeM3 - report.dugM3,
    shared_error: own.shared_error,
    node_value: own.node_value,
    isopach_interval_m: isopachs.intervalM,
    isopachs: isopachs.areas.map(({ levelM, areaM2 }) => ({
      level_m: levelM,
      area_m2: areaM2,
      share: total.measuredM2 > 0 ? areaM2 / total.measuredM2 : null,
    })),
    by_season: report.seasons.map(rowOf),
    by_progress: report.states.map(rowOf),
    by_zone: report.zones.map(rowOf),
    keel: keel && {
      n: keel.n,
      blocks: keel.blocks,
      strips: keel.strips.map((s) => ({
        from_m: s.fromM,
        to_m: s.toM,
        n: s.n,
        mean_m: s.mean,
        low_m: s.low,
        high_m: s.high,
      })),
    },
    bathymetry: bathymetryAgreement(sample.bathymetry ?? null, nodes),
  };
}

/** null where all ground was measured, or none. */
function wholeEstimate({ total }: VolumeReport, squares: readonly SquareVolume[]): Summary['whole_estimate'] {
  const volume = total.wholeEstimateM3;
  const sigma = wholeEstimateSigmaM3(total, squares);
  if (volume === null || sigma === null || !(total.unmeasuredM2 > 0.005)) return null;
  return {
    volume_m3: volume,
    sigma_m3: sigma,
    interval95_m3: { low: volume - normal975 * sigma, high: volume + normal975 * sigma },
  };
}

function rowOf({ name, areaM2, volume, dugM2, dugM3, belowLimitM3 }: VolumeRow): Summary['by_season'][number] {
  return {
    name,
    area_m2: areaM2,
    measured_m2: volume.measuredM2,
    volume_m3: volume.volumeM3,
    positive_m3: volume.positiveM3,
    negative_m3: volume.negativeM3,
    mean_thickness_m: volume.meanThicknessM,
    sigma_random_m3: volume.sigmaRandomM3,
    sigma_shared_m3: volume.sigmaSharedM3,
    sigma_m3: volume.sigmaM3,
    interval95_m3: volume.interval95M3,
    dug_m2: dugM2,
    dug_m3: dugM3,
    left_m3: dugM3 === null ? null : volume.volumeM3 - dugM3,
    below_limit_m3: belowLimitM3,
    whole_estimate_m3: volume.wholeEstimateM3,
  };
}
