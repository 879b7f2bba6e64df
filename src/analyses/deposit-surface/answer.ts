import { booleanColumn, type Column, codeColumn, type FeatureTable, numberColumn } from '../../domain/feature-table.js';
import type { Raster } from '../../domain/raster.js';
import type { Sample } from '../../domain/sample.js';
import { fixedText, stepDecimals } from '../../figures/axes.js';
import { plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import type { CellMesh } from '../../math/cell-mesh.js';
import { isobands } from '../../math/isolines.js';
import type { SurfaceNodes } from '../../math/level-nodes.js';
import type { Contour, SurfaceGrid } from '../../math/surface-grid.js';
import type { AnswerTable } from '../contract.js';
import type { Parameters, Summary } from './schemas.js';
import type { FittedSurface } from './surface-method.js';

const surfaceWords: Readonly<Record<Summary['surface'], string>> = {
  seabed_before: 'Seabed before work',
  deposit_top: 'Top of the deposit',
  deposit_bottom: 'Bottom of the deposit',
  excavation_limit: 'Limit of excavation',
  hard_substrate: 'Hard substrate',
  thickness: 'Thickness of the deposit',
};

/** The surface as published: value and standard deviation, cut along the map's axes. */
export function coverageOf(grid: SurfaceGrid, surface: Summary['surface']): Raster {
  const { columns, rows, corner, columnStep, rowStep } = grid.frame;
  return {
    title: surface === 'thickness' ? 'Thickness, m' : `${surfaceWords[surface]}, elevation in the site datum, m`,
    unit: 'm',
    columns,
    rows,
    corner,
    columnStep,
    rowStep,
    space: 'site-grid',
    values: Float32Array.from(grid.values),
    sigma: Float32Array.from(grid.sigma),
    ...(grid.beyond === null ? {} : { beyond: Float32Array.from(grid.beyond) }),
  };
}

/** Every node with its value, its error and what the others would have said of it. */
export function tableOf(nodes: SurfaceNodes, leftOut: FittedSurface['leftOut']): AnswerTable {
  const known = (v: number | undefined) => (v === undefined || Number.isNaN(v) ? null : v);
  return {
    columns: [
      { name: 'node', title: 'Node' },
      { name: 'local_x', title: 'local_x', unit: 'm' },
      { name: 'local_y', title: 'local_y', unit: 'm' },
      { name: 'season', title: 'Season' },
      { name: 'readings', title: 'Readings', unit: '1' },
      { name: 'value_m', title: 'Value', unit: 'm' },
      { name: 'sigma_m', title: 'Random standard deviation', unit: 'm' },
      { name: 'leave_one_out_error_m', title: 'Value less what the other nodes predict', unit: 'm' },
      { name: 'leave_one_out_sigma_m', title: 'Standard deviation of that prediction', unit: 'm' },
    ],
    rows: Array.from(nodes.z, (z, i) => [
      nodes.label[i],
      nodes.x[i],
      nodes.y[i],
      seasonsOf(nodes, i),
      nodes.readings[i],
      z,
      known(nodes.sigma[i]),
      known(leftOut?.error[i]),
      known(leftOut === null ? undefined : Math.sqrt(leftOut.variance[i])),
    ]),
  };
}

function seasonsOf({ seasonNames, seasonShare }: SurfaceNodes, i: number): string | null {
  const own = seasonNames.filter((name, s) => name !== '' && seasonShare[i * seasonNames.length + s] > 0);
  return own.length === 0 ? null : own.join(', ');
}

/** Contour lines as a layer, lowest first. */
export function contoursLayer(contours: readonly Contour[], intervalM: number): FeatureTable {
  const sorted = [...contours].sort((a, b) => a.level - b.level);
  const coordinates = new Float64Array(sorted.reduce((sum, { points }) => sum + points.length, 0));
  const partStart = new Uint32Array(sorted.length + 1);
  sorted.forEach(({ points }, k) => {
    coordinates.set(points, 2 * partStart[k]);
    partStart[k + 1] = partStart[k] + points.length / 2;
  });
  return {
    name: 'contours',
    length: sorted.length,
    fields: [
      { name: 'elevation_m', title: 'Elevation (of a thickness: thickness)', type: 'number', unit: 'm' },
      { name: 'label', title: 'Label', type: 'text' },
      { name: 'major', title: 'Every fifth line', type: 'boolean' },
      { name: 'beyond_nodes', title: 'Drawn beyond the ground that was levelled', type: 'boolean' },
    ],
    columns: new Map<string, Column>([
      ['elevation_m', numberColumn(sorted.map((c) => c.level))],
      ['label', codeColumn(sorted.map((c) => labelOf(c.level, intervalM)))],
      ['major', booleanColumn(sorted.map((c) => isMajor(c.level, intervalM)))],
      ['beyond_nodes', booleanColumn(sorted.map((c) => c.isBeyond))],
    ]),
    geometry: {
      type: 'line',
      coordinates,
      partStart,
      featureStart: Uint32Array.from({ length: sorted.length + 1 }, (_, k) => k),
      hole: new Uint8Array(sorted.length),
    },
    ids: Float64Array.from(sorted, (_, k) => k + 1),
  };
}

const labelOf = (level: number, intervalM: number) => fixedText(level, Math.min(6, stepDecimals(intervalM)));
const isMajor = (level: number, intervalM: number) => Math.round(level / intervalM) % 5 === 0;

/** What the plan is drawn from; no contours where no grid was made. */
export interface Drawing {
  readonly sample: Sample;
  readonly nodes: SurfaceNodes;
  readonly summary: Summary;
  readonly contours: readonly Contour[];
  readonly mesh: CellMesh | null;
  readonly levels: readonly number[];
  readonly at: Parameters['at'];
}

const corners = (ring: Float64Array): [number, number][] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

/** The plan: bands between contours, the lines with their values, nodes, hull, window. */
export function figureOf({ sample, nodes, summary, contours, mesh, levels, at }: Drawing): Scene {
  const intervalM = summary.contour_interval_m ?? 1;
  const bands = mesh === null || levels.length === 0 ? [] : isobands(mesh, bandLevels(levels, intervalM));
  return plotPlan({
    title: surfaceWords[summary.surface],
    subtitle: subtitleOf(summary),
    window: sample.window.rings.map(corners),
    bands: bands.map(({ level, rings }) => ({ level, rings: rings.map(corners) })),
    bandName: summary.surface === 'thickness' ? 'thickness' : 'elevation',
    bandUnit: 'm',
    ramp: summary.surface === 'thickness' ? 'thickness' : 'surface',
    contours: contours.map(({ level, points, isBeyond }) => ({
      points: corners(points),
      weight: isMajor(level, intervalM) ? 'major' : 'minor',
      // all lines get their value when they are few
      ...(levels.length <= 12 || isMajor(level, intervalM) ? { label: labelOf(level, intervalM) } : {}),
      isBeyond,
    })),
    contourName: `contours every ${Number(intervalM.toPrecision(6))} m`,
    points: Array.from(nodes.x, (x, i): [number, number] => [x, nodes.y[i]]),
    pointsName: 'nodes',
    ...(at === null ? {} : { groups: [{ name: 'places asked', points: at, style: 'class1' as const }] }),
    hull: sample.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    ...(sample.mapAzimuthDeg === 0
      ? {}
      : { norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -sample.mapAzimuthDeg }] }),
    notes: [
      `${summary.n} nodes from ${summary.readings} readings${summary.area_m2 === null ? '' : `; ${fixedText(summary.area_m2, 1)} m² with a value`}`,
      `window ${Number(sample.windowAreaM2.toPrecision(4))} m²: ${sample.windowSource}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}

/** At most a dozen bands, the lowest for what lies below the first line. */
function bandLevels(levels: readonly number[], intervalM: number): number[] {
  const every = Math.ceil(levels.length / 11);
  const kept = levels.filter((_, k) => k % every === 0);
  return [Number((kept[0] - every * intervalM).toPrecision(12)), ...kept];
}

function subtitleOf(summary: Summary): string {
  const method = {
    bilinear: 'bilinear between nodes',
    tin: 'triangles between nodes',
    'inverse-distance': 'inverse distance',
    'ordinary-kriging': `ordinary kriging, ${summary.variogram?.model} variogram`,
  }[summary.method];
  const rule = summary.node_value === 'newest' ? 'newest season at each node' : 'mean of all seasons at each node';
  const error = summary.leave_one_out;
  return `${method}; ${rule}${error === null ? '' : `; leave-one-out error ${fixedText(error.rmse_m, 3)} m`}`;
}
