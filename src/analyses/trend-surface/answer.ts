import { type Column, codeColumn, type FeatureTable, numberColumn, textColumn } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import { fixedText, niceStep, niceTicks, stepDecimals } from '../../figures/axes.js';
import { type ContourLine, type PointGroup, plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import { cellFrame, framePlace } from '../../math/cell-frame.js';
import { meshOfFrame } from '../../math/cell-mesh.js';
import { isolines } from '../../math/isolines.js';
import type { SurfaceNodes } from '../../math/level-nodes.js';
import { triangleMesh } from '../../math/triangle-mesh.js';
import { meshContains } from '../../math/triangle-surface.js';
import type { AnswerTable } from '../contract.js';
import type { DipAndTrend } from './dip-and-trend.js';
import type { Summary } from './schemas.js';

/** One row for each order: how much it explains, and how much more than the order before. */
export function tableOf(summary: Summary): AnswerTable {
  return {
    columns: [
      { name: 'order', title: 'Order', unit: '1' },
      { name: 'r_squared', title: 'R²', unit: '1' },
      { name: 'f', title: 'F against a level plane', unit: '1' },
      { name: 'p', title: 'p', unit: '1' },
      { name: 'f_increase', title: 'F against the order before', unit: '1' },
      { name: 'p_increase', title: 'p', unit: '1' },
      { name: 'degrees_of_freedom', title: 'Degrees of freedom', unit: '1' },
    ],
    rows: summary.orders.map((row) => [
      row.order,
      row.r_squared,
      row.f,
      row.p,
      row.f_increase,
      row.p_increase,
      row.degrees_of_freedom,
    ]),
  };
}

/** The nodes, each with trend, residual and what the robust fit makes of it. */
export function residualLayer(nodes: SurfaceNodes, { trend, robust }: DipAndTrend, sd: number | null): FeatureTable {
  const n = nodes.z.length;
  const { seasonNames, seasonShare } = nodes;
  const season = (i: number) =>
    seasonNames.filter((name, s) => name !== '' && seasonShare[i * seasonNames.length + s] > 0).join(', ');
  const numbers = (of: (i: number) => number | null) => numberColumn(Array.from(nodes.z, (_, i) => of(i)));
  const coordinates = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    coordinates[2 * i] = nodes.x[i];
    coordinates[2 * i + 1] = nodes.y[i];
  }
  return {
    name: 'trend-residuals',
    length: n,
    fields: [
      { name: 'node', title: 'Node', type: 'text', distinct: true },
      { name: 'season', title: 'Season', type: 'text' },
      { name: 'elevation_m', title: 'Elevation (of a thickness: thickness)', type: 'number', unit: 'm' },
      { name: 'trend_m', title: 'Trend', type: 'number', unit: 'm' },
      { name: 'residual_m', title: 'Elevation less trend', type: 'number', unit: 'm' },
      { name: 'standardised', title: 'Residual / residual standard deviation', type: 'number', unit: '1' },
      { name: 'robust_weight', title: 'Weight in the robust fit, 0 to 1', type: 'number', unit: '1' },
    ],
    columns: new Map<string, Column>([
      ['node', textColumn(nodes.label)],
      ['season', codeColumn(Array.from(nodes.z, (_, i) => season(i)))],
      ['elevation_m', numbers((i) => nodes.z[i])],
      ['trend_m', numbers((i) => nodes.z[i] - trend.residual[i])],
      ['residual_m', numbers((i) => trend.residual[i])],
      ['standardised', numbers((i) => (sd === null || !(sd > 0) ? null : trend.residual[i] / sd))],
      ['robust_weight', numbers((i) => robust?.fit.weights[i] ?? null)],
    ]),
    geometry: { type: 'point', coordinates },
    ids: Float64Array.from({ length: n }, (_, i) => i + 1),
  };
}

const corners = (ring: Float64Array): [number, number][] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

/** The plan: nodes above and below the trend, its contours, hull and window. */
export function figureOf(
  sample: Sample,
  nodes: SurfaceNodes,
  { summary, fitted }: { readonly summary: Summary; readonly fitted: DipAndTrend },
): Scene {
  const { contours, intervalM } = trendContours(nodes, fitted);
  return plotPlan({
    title: `Trend of ${summary.surface}`,
    subtitle: subtitleOf(summary),
    window: sample.window.rings.map(corners),
    groups: residualGroups(nodes, fitted, summary.residual_sd_m),
    contours,
    contourName: `trend of order ${summary.order}, every ${Number(intervalM.toPrecision(6))} m`,
    hull: sample.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    ...(sample.mapAzimuthDeg === 0
      ? {}
      : { norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -sample.mapAzimuthDeg }] }),
    notes: [
      `${summary.n} nodes${summary.residual_sd_m === null ? '' : `; residual standard deviation ${fixedText(summary.residual_sd_m, 3)} m`}`,
      `window ${Number(sample.windowAreaM2.toPrecision(4))} m²: ${sample.windowSource}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}

function subtitleOf(summary: Summary): string {
  const error = summary.se_dip_deg === null ? '' : ` ± ${fixedText(summary.se_dip_deg, 2)}°`;
  const direction =
    summary.direction_deg === null
      ? 'direction withheld'
      : `downslope ${fixedText(summary.direction_deg, 1)}°${summary.se_direction_deg === null ? '' : ` ± ${fixedText(summary.se_direction_deg, 1)}°`} from site_north`;
  return `dip ${fixedText(summary.dip_deg, 2)}°${error}, ${direction}`;
}

function residualGroups(nodes: SurfaceNodes, { trend }: DipAndTrend, sd: number | null): PointGroup[] {
  const far = sd === null ? Infinity : 2 * sd;
  const group = (name: string, style: PointGroup['style'], is: (r: number) => boolean): PointGroup => ({
    name,
    style,
    points: Array.from(nodes.x, (x, i): [number, number] => [x, nodes.y[i]]).filter((_, i) => is(trend.residual[i])),
  });
  return [
    group('above the trend', 'class1', (r) => r >= 0 && r <= far),
    group('below the trend', 'class2', (r) => r < 0 && r >= -far),
    group('above by more than 2 sd', 'class6', (r) => r > far),
    group('below by more than 2 sd', 'class5', (r) => r < -far),
  ].filter((g) => g.points.length > 0);
}

/** Contours of the trend within the outline of the nodes. */
function trendContours(nodes: SurfaceNodes, { trend }: DipAndTrend): { contours: ContourLine[]; intervalM: number } {
  const ring = new Float64Array(2 * nodes.x.length);
  for (let i = 0; i < nodes.x.length; i++) {
    ring[2 * i] = nodes.x[i];
    ring[2 * i + 1] = nodes.y[i];
  }
  const low = (values: Float64Array) => values.reduce((a, v) => Math.min(a, v), Infinity);
  const high = (values: Float64Array) => values.reduce((a, v) => Math.max(a, v), -Infinity);
  const extent = Math.max(high(nodes.x) - low(nodes.x), high(nodes.y) - low(nodes.y));
  const frame = cellFrame({ rings: [ring] }, Number((extent / 100).toPrecision(2)), 0);
  const isInside = meshContains(triangleMesh(nodes.x, nodes.y), nodes);
  const values = new Float64Array(frame.columns * frame.rows);
  for (let r = 0; r < frame.rows; r++) {
    for (let c = 0; c < frame.columns; c++) {
      const [x, y] = framePlace(frame, c, r);
      values[r * frame.columns + c] = isInside(x, y) ? trend.at(x, y) : Number.NaN;
    }
  }
  const known = values.filter((v) => !Number.isNaN(v));
  const bottom = low(known);
  const top = high(known);
  if (!(top - bottom > 1e-9)) return { contours: [], intervalM: 0 };
  const intervalM = niceStep(top - bottom, 10);
  const levels = niceTicks(bottom, top, (top - bottom) / intervalM);
  const contours = isolines(meshOfFrame(frame, values), levels).map(
    ({ level, points }): ContourLine => ({
      points: corners(points),
      label: fixedText(level, Math.min(6, stepDecimals(intervalM))),
      weight: Math.round(level / intervalM) % 5 === 0 ? 'major' : 'minor',
    }),
  );
  return { contours, intervalM };
}
