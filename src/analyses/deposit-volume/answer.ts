import { tableOf as featuresOf, shapes } from '../../domain/columns.js';
import type { FeatureTable, Value } from '../../domain/feature-table.js';
import { squareLabel } from '../../domain/grid.js';
import type { Raster } from '../../domain/raster.js';
import type { Sample } from '../../domain/sample.js';
import { fixedText, numberText } from '../../figures/axes.js';
import { plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import { cellFrame, framePlace, regionAlongMapAxes } from '../../math/cell-frame.js';
import { isobands } from '../../math/isolines.js';
import { cellPlace } from '../../math/level-cells.js';
import { type Region, regionBox, shiftRegion } from '../../math/rings.js';
import type { AnswerTable } from '../contract.js';
import type { SquareVolume } from './measured-ground.js';
import type { Parameters, Summary } from './schemas.js';
import { thicknessMesh, thicknessReader } from './thickness-field.js';
import { type DugGround, dugFractionAt, type VolumeReport } from './volume.js';

/** Everything table, layers and drawing are made from; ground and dug are moved by −shift. */
export interface VolumeDrawing {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly report: VolumeReport;
  readonly squares: readonly SquareVolume[];
  readonly summary: Summary;
  readonly dug: readonly DugGround[];
  readonly shift: readonly [number, number];
}

const columns = [
  { name: 'group', title: 'Group' },
  { name: 'name', title: 'Name' },
  { name: 'area_m2', title: 'Area', unit: 'm2' },
  { name: 'measured_m2', title: 'Area measured', unit: 'm2' },
  { name: 'volume_m3', title: 'Volume', unit: 'm3' },
  { name: 'positive_m3', title: 'Top above bottom', unit: 'm3' },
  { name: 'negative_m3', title: 'Top below bottom', unit: 'm3' },
  { name: 'sigma_random_m3', title: 'Random error', unit: 'm3' },
  { name: 'sigma_shared_m3', title: 'Shared error', unit: 'm3' },
  { name: 'sigma_m3', title: 'Both errors', unit: 'm3' },
  { name: 'low_m3', title: 'Lower end of the 95 % interval', unit: 'm3' },
  { name: 'high_m3', title: 'Upper end of the 95 % interval', unit: 'm3' },
  { name: 'mean_thickness_m', title: 'Mean thickness', unit: 'm' },
  { name: 'dug_m2', title: 'Area dug', unit: 'm2' },
  { name: 'dug_m3', title: 'Volume dug', unit: 'm3' },
  { name: 'left_m3', title: 'Volume left', unit: 'm3' },
  { name: 'below_limit_m3', title: 'Below the limit of excavation', unit: 'm3' },
  { name: 'whole_estimate_m3', title: 'Guess for all the area', unit: 'm3' },
] as const;

/** Total, seasons, states of digging, ground not dug, zones, isopachs and squares. */
export function tableOf({ summary, squares, sample }: VolumeDrawing): AnswerTable {
  type Row = Summary['by_season'][number];
  const filled = (group: string, row: Partial<Row> & { name: string }): (string | number | null)[] => [
    group,
    ...[
      row.name,
      row.area_m2,
      row.measured_m2,
      row.volume_m3,
      row.positive_m3,
      row.negative_m3,
      row.sigma_random_m3,
      row.sigma_shared_m3,
      row.sigma_m3,
      row.interval95_m3?.low,
      row.interval95_m3?.high,
      row.mean_thickness_m,
      row.dug_m2,
      row.dug_m3,
      row.left_m3,
      row.below_limit_m3,
      row.whole_estimate_m3,
    ].map((v) => v ?? null),
  ];
  return {
    columns,
    rows: [
      filled('total', {
        ...summary,
        name: 'all ground measured',
        area_m2: summary.area_m2 + summary.unmeasured_m2,
        measured_m2: summary.area_m2,
        whole_estimate_m3: summary.whole_estimate?.volume_m3 ?? null,
      }),
      ...summary.by_season.map((row) => filled('season', row)),
      ...summary.by_progress.map((row) => filled('state of digging', row)),
      ...(summary.undug === null
        ? []
        : [
            filled('not dug', {
              name: 'planned or opened',
              area_m2: summary.undug.area_m2,
              measured_m2: summary.undug.measured_m2,
              ...(summary.undug.volume_m3 === null ? {} : { volume_m3: summary.undug.volume_m3 }),
              whole_estimate_m3: summary.undug.estimate_m3,
            }),
          ]),
      ...summary.by_zone.map((row) => filled('zone of the ship', row)),
      ...summary.isopachs.map(({ level_m, area_m2 }) =>
        filled('isopach', { name: `${level_m} m and more`, area_m2, measured_m2: area_m2 }),
      ),
      ...squares.map((square) =>
        filled('square', {
          name: squareName(sample, square),
          area_m2: square.areaM2,
          measured_m2: square.measuredM2,
          ...(square.measuredM2 > 0
            ? {
                volume_m3: square.volumeM3,
                mean_thickness_m: square.volumeM3 / square.measuredM2,
                sigma_random_m3: square.sigmaRandomM3,
              }
            : {}),
        }),
      ),
    ],
  };
}

function squareName({ grid }: Sample, { column, row }: SquareVolume): string {
  if (grid === null) return `column ${column + 1}, row ${row + 1}`;
  // the label's corner decides which square a label names
  return squareLabel(
    grid,
    column + (grid.corner.endsWith('east') ? 1 : 0),
    row + (grid.corner.startsWith('north') ? 1 : 0),
  );
}

const squareFields: FeatureTable['fields'] = [
  { name: 'square', title: 'Square', type: 'text', distinct: true },
  { name: 'area_m2', title: 'Area inside the window', type: 'number', unit: 'm2' },
  { name: 'measured_m2', title: 'Area with four nodes about it', type: 'number', unit: 'm2' },
  { name: 'thickness_m', title: 'Mean thickness', type: 'number', unit: 'm' },
  { name: 'thickness_sigma_m', title: 'Random error of the mean thickness', type: 'number', unit: 'm' },
  { name: 'volume_m3', title: 'Volume', type: 'number', unit: 'm3' },
  { name: 'volume_dug_m3', title: 'Volume dug', type: 'number', unit: 'm3' },
  { name: 'dug_fraction', title: 'Share dug, at the middle of the square', type: 'number', unit: '1' },
  { name: 'nodes', title: 'Nodes with both levels', type: 'integer', unit: '1' },
  { name: 'lacks_node', title: 'A node is missing', type: 'boolean' },
];

/** Squares with thickness and volume; unknown where a node is missing. */
export function squaresLayer({ squares, sample, dug, shift }: VolumeDrawing): FeatureTable {
  const rows = squares.map((square): Record<string, Value> => {
    const isMeasured = square.measuredM2 > 0;
    const fraction = dugFractionAt(dug, ...middleOf(square));
    return {
      square: squareName(sample, square),
      area_m2: square.areaM2,
      measured_m2: square.measuredM2,
      thickness_m: isMeasured ? square.volumeM3 / square.measuredM2 : null,
      thickness_sigma_m: isMeasured ? square.sigmaRandomM3 / square.measuredM2 : null,
      volume_m3: isMeasured ? square.volumeM3 : null,
      volume_dug_m3: isMeasured && fraction !== null ? square.volumeM3 * fraction : null,
      dug_fraction: fraction,
      nodes: square.nodes,
      lacks_node: square.cellsWithout > 0,
    };
  });
  return featuresOf({
    name: 'deposit-volume',
    fields: squareFields,
    rows,
    geometry: shapes(
      'area',
      squares.map(({ pieces }) =>
        pieces.map((piece) => ({ ring: Float64Array.from(piece, (v, i) => v + shift[i % 2]) })),
      ),
    ),
  });
}

function middleOf({ pieces }: SquareVolume): [number, number] {
  const [piece] = pieces;
  let [x, y] = [0, 0];
  for (let i = 0; i < piece.length; i += 2) {
    x += (2 * piece[i]) / piece.length;
    y += (2 * piece[i + 1]) / piece.length;
  }
  return [x, y];
}

/** Thickness along the map's axes; no value outside the window or where a node is missing. */
export function coverageOf({ sample, own, report, summary, shift }: VolumeDrawing): Raster {
  const { ground } = report;
  const rings = ground.layers.map(({ region, lattice }): Region => {
    if (region) return region;
    const corners = [
      [0, 0],
      [lattice.columns - 1, 0],
      [lattice.columns - 1, lattice.rows - 1],
      [0, lattice.rows - 1],
    ].flatMap(([u, v]) => cellPlace(lattice, u, v));
    return { rings: [Float64Array.from(corners)] };
  });
  const all = { rings: rings.flatMap((region) => region.rings.map((ring) => ring)) };
  const cellM = own.cell_m ?? Math.min(summary.column_step_m, summary.row_step_m) / 4;
  const azimuth = sample.mapAzimuthDeg;
  const frame = cellFrame(regionAlongMapAxes(shiftRegion(all, -shift[0], -shift[1]), azimuth), cellM, azimuth);
  const read = thicknessReader(ground);
  const values = new Float32Array(frame.columns * frame.rows);
  for (let r = 0; r < frame.rows; r++) {
    for (let c = 0; c < frame.columns; c++) {
      const [x, y] = framePlace(frame, c, r);
      values[r * frame.columns + c] = read(x - shift[0], y - shift[1]);
    }
  }
  const { corner, columnStep, rowStep } = frame;
  return {
    title: `Thickness from ${own.top} to ${own.bottom}`,
    unit: 'm',
    columns: frame.columns,
    rows: frame.rows,
    corner,
    columnStep,
    rowStep,
    space: 'site-grid',
    values,
  };
}

const corners = (ring: Float64Array, shift: readonly [number, number] = [0, 0]): [number, number][] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i] + shift[0], ring[2 * i + 1] + shift[1]]);

/** The isopach plan: bands of thickness, the hull, nodes with the bottom above the top. */
export function figureOf({ sample, report, summary, own, shift }: VolumeDrawing): Scene {
  const { ground } = report;
  const levels = summary.isopachs.map((i) => i.level_m);
  const bands = isobands(thicknessMesh(ground), levels).filter((band) => band.rings.length > 0);
  const { nodes } = ground;
  const inverted = Array.from(nodes.x.keys()).filter((k) => nodes.z[k] < 0);
  const outline =
    sample.window.rings.length > 0
      ? sample.window.rings.map((ring) => corners(ring))
      : [boxCorners(regionBox({ rings: [interleaved(nodes.x, nodes.y)] }), shift)];
  const { volume_m3, sigma_m3 } = summary;
  return plotPlan({
    title: 'Thickness of the deposit',
    subtitle: `${own.top} to ${own.bottom}: ${fixedText(volume_m3, 2)} ± ${fixedText(sigma_m3, 2)} m³ over ${numberText(summary.area_m2)} m²; isopachs every ${numberText(summary.isopach_interval_m)} m`,
    window: outline,
    bands: bands.map(({ level, rings }) => ({ level, rings: rings.map((ring) => corners(ring, shift)) })),
    bandName: 'thickness',
    bandUnit: 'm',
    ramp: 'thickness',
    groups:
      inverted.length > 0
        ? [
            {
              name: 'bottom above top',
              points: inverted.map((k) => [nodes.x[k] + shift[0], nodes.y[k] + shift[1]] as const),
              style: 'class2',
            },
          ]
        : [],
    hull: sample.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    ...(sample.mapAzimuthDeg === 0
      ? {}
      : { norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -sample.mapAzimuthDeg }] }),
    notes: [
      `${summary.n} nodes, ${summary.squares} squares with four of them`,
      ...(summary.unmeasured_m2 > 0.005
        ? [`white: ${numberText(summary.unmeasured_m2, { digits: 3 })} m² of the window without four nodes`]
        : []),
      `error (1 σ): nodes ${fixedText(summary.sigma_random_m3, 2)} m³, shared ${fixedText(summary.sigma_shared_m3, 2)} m³`,
      ...(sample.windowAreaM2 > 0 ? [`window ${numberText(sample.windowAreaM2)} m²: ${sample.windowSource}`] : []),
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}

function interleaved(x: Float64Array, y: Float64Array): Float64Array {
  return Float64Array.from({ length: 2 * x.length }, (_, i) => (i % 2 === 0 ? x : y)[i >> 1]);
}

function boxCorners(
  [west, south, east, north]: readonly [number, number, number, number],
  shift: readonly [number, number],
): [number, number][] {
  return corners(Float64Array.of(west, south, east, south, east, north, west, north), shift);
}
