import type { Raster } from '../../domain/raster.js';
import type { Sample } from '../../domain/sample.js';
import { plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import type { ChosenBandwidth } from '../../math/bandwidth.js';
import type { ContourArea } from '../../math/contour-areas.js';
import { regionArea } from '../../math/rings.js';
import type { AnswerTable } from '../contract.js';
import type { BandwidthRule } from './bandwidth-rule.js';
import type { IntensitySurface, IntensityView } from './intensity.js';
import type { Parameters, Summary } from './schemas.js';
import { ruleWords } from './words.js';

/** Everything the words, the table and the drawing of one answer are made from. */
export interface DensityAnswer {
  readonly sample: Sample;
  readonly rule: BandwidthRule | 'metres';
  readonly bandwidth: ChosenBandwidth;
  readonly own: Parameters;
  /** half, as asked, double, in the unit asked; views that could not be drawn are null */
  readonly views: readonly [IntensityView | null, IntensityView, IntensityView | null];
  readonly peaks: Summary['peak_list'];
  /** ground of finds per m³; null = finds per m² */
  readonly volume: Summary['volume'];
  readonly areas: readonly ContourArea[];
  readonly cellM: number;
  readonly n: number;
  readonly spreadFinds: number;
  readonly subPoints: number;
  readonly coincident: number;
  readonly placesOutside: number;
}

const short = (value: number, digits = 3): string => Number(value.toPrecision(digits)).toString();

/** UCUM code of a density. */
export const unitOf = (per: Parameters['per']): 'm-2' | 'm-3' => (per === 'm2' ? 'm-2' : 'm-3');

/** The surface as published: no value where the cell's centre was not dug, or has no value per m³. */
export function coverageOf(surface: IntensitySurface, per: Parameters['per']): Raster {
  const { frame, values, inside } = surface;
  return {
    title: per === 'm2' ? 'Density per m²' : 'Density per m³',
    unit: unitOf(per),
    columns: frame.columns,
    rows: frame.rows,
    corner: frame.corner,
    columnStep: frame.columnStep,
    rowStep: frame.rowStep,
    space: 'site-grid',
    values: Float32Array.from(values, (v, k) => (inside[k] === 1 ? v : Number.NaN)),
  };
}

/** Three bandwidths with their highest values, the peaks, then the areas between levels with their share of the window. */
export function tableOf({ views, areas, peaks, sample, own }: DensityAnswer): AnswerTable {
  const { per } = own;
  const unit = unitOf(per);
  const columns = [
    { name: 'row', title: 'Row' },
    { name: 'bandwidth_m', title: 'Bandwidth', unit: 'm' },
    { name: `peak_per_${per}`, title: 'Highest density', unit },
    { name: 'peaks', title: 'Peaks', unit: '1' },
    { name: `level_per_${per}`, title: 'Density from', unit },
    { name: `level_to_per_${per}`, title: 'Density to', unit },
    { name: 'area_m2', title: 'Area', unit: 'm2' },
    { name: 'window_share', title: 'Share of the window', unit: '1' },
    { name: 'local_x', title: 'Place of the peak, local_x', unit: 'm' },
    { name: 'local_y', title: 'Place of the peak, local_y', unit: 'm' },
    { name: `half_per_${per}`, title: 'The same peak at half the bandwidth', unit },
    { name: `double_per_${per}`, title: 'The same peak at double the bandwidth', unit },
    { name: 'persists', title: 'Stands at all three' },
  ];
  const row = (cells: Readonly<Record<string, string | number | null>>) =>
    columns.map(({ name }) => cells[name.replace(/_per_m[23]$/, '')] ?? null);
  const words = ['half bandwidth', 'bandwidth', 'double bandwidth'];
  const rows = views.flatMap((view, k) =>
    view === null
      ? []
      : [row({ row: words[k], bandwidth_m: view.sigmaM, peak: view.peak?.height ?? 0, peaks: view.peaks })],
  );
  for (const peak of peaks) {
    rows.push(
      row({
        row: 'peak',
        bandwidth_m: views[1].sigmaM,
        peak: peak.height,
        local_x: peak.x_m,
        local_y: peak.y_m,
        half: peak.half?.height ?? null,
        double: peak.double?.height ?? null,
        persists: peak.persists === null ? 'not known' : peak.persists ? 'yes' : 'no',
      }),
    );
  }
  for (const { level, levelTo, region } of areas) {
    const area = regionArea(region);
    rows.push(
      row({
        row: 'area between levels',
        level,
        level_to: levelTo,
        area_m2: area,
        window_share: area / sample.windowAreaM2,
      }),
    );
  }
  return { columns, rows };
}

const corners = (ring: Float64Array): [number, number][] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

/** The plan: window, density areas, hull, finds and peaks. */
export function figureOf(answer: DensityAnswer): Scene {
  const { sample, areas, bandwidth, n, spreadFinds, own, peaks } = answer;
  const leftOut = sample.excluded.reduce((sum, e) => sum + e.count, 0);
  const marked = (persists: boolean) =>
    peaks.filter((p) => (p.persists === true) === persists).map((p) => [p.x_m, p.y_m] as const);
  const groups = [
    { name: 'peak that stands at ½, 1 and 2 bandwidths', points: marked(true), style: 'class2' as const, sizeMm: 3.4 },
    { name: 'peak that does not stand at all three', points: marked(false), style: 'class5' as const, sizeMm: 2.4 },
  ];
  return plotPlan({
    title: own.per === 'm2' ? 'Density of finds' : 'Density of finds in the deposit',
    subtitle: `Gaussian kernel, ${own.kernel === 'adaptive' ? 'adaptive about' : 'bandwidth'} ${short(bandwidth.sigmaM)} m (${ruleWords(answer.rule)}), edge correction ${own.edge}`,
    window: sample.window.rings.map(corners),
    bands: areas.map(({ level, region }) => ({ level, rings: region.rings.map(corners) })),
    bandName: 'density',
    bandUnit: unitOf(own.per),
    points: corners(sample.xy),
    groups: groups.filter((group) => group.points.length > 0),
    hull: sample.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    ...(sample.mapAzimuthDeg === 0
      ? {}
      : { norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -sample.mapAzimuthDeg }] }),
    notes: [
      `n ${n}${spreadFinds > 0 ? `, of them ${spreadFinds} spread over their square` : ''}${leftOut > 0 ? `; ${leftOut} left out` : ''}`,
      `window ${short(sample.windowAreaM2, 4)} m²: ${sample.windowSource}`,
      ...(answer.volume
        ? [
            `blank where the thickness is below three of its errors (${short(answer.volume.thin_area_m2)} m²) or not levelled (${short(answer.volume.unknown_area_m2)} m²)`,
          ]
        : []),
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}
