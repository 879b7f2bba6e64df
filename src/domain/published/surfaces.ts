import { shapes, tableOf } from '../columns.js';
import type { FeatureTable, Value } from '../feature-table.js';
import type { Field } from '../fields.js';
import { type ModelledSurface, type PublishedSurface, surfaceTitles } from '../modelled-surface.js';
import type { Raster } from '../raster.js';
import type { Survey } from '../survey.js';
import { lineFields, linesTable, metres, rounded, word } from './contour-lines.js';

const datum = word('vertical_datum', 'Vertical datum of the elevations, up-positive');

export const levelFootprintFields: readonly Field[] = [
  word('title', 'Surface'),
  word('unit', 'Unit of its values'),
  datum,
  word('seasons', 'Seasons its levels were taken in'),
  { name: 'nodes', title: 'Nodes levelled', type: 'integer', unit: '1' },
  { name: 'area_m2', title: 'Ground with a value', type: 'number', unit: 'm2' },
  metres('cell_m', 'Side of a cell'),
  metres('lowest_m', 'Lowest value'),
  metres('highest_m', 'Highest value'),
  metres('sigma_m', 'Random standard deviation of a value, root mean square'),
  metres('contour_interval_m', 'Interval of its contours'),
  word('note', 'How it was made, and what its error leaves out'),
];

/** Outline of the surface between levelled nodes: the one feature its collection answers beside the coverage. */
export function levelFootprint(survey: Survey, surface: PublishedSurface, seasons: ReadonlySet<string>): FeatureTable {
  const model = survey.modelled(surface, seasons);
  const rows: Record<string, Value>[] = [];
  if (model) {
    const { low, high, rms } = extremes(model.raster);
    rows.push({
      title: surfaceTitles[surface],
      unit: 'm',
      vertical_datum: survey.site.vertical_datum.name,
      seasons: seasonsOf(model),
      nodes: model.nodes.x.length,
      area_m2: rounded(model.areaM2),
      cell_m: model.cellM,
      lowest_m: low === null ? null : rounded(low),
      highest_m: high === null ? null : rounded(high),
      sigma_m: rms === null ? null : rounded(rms),
      contour_interval_m: model.intervalM,
      note: 'bilinear between the four nodes of each square, the newest season at every node; no value where a node is missing; the error of a datum or tide that a season shares is not in σ',
    });
  }
  const geometry = shapes('area', model ? [[{ ring: outline(model.raster) }]] : []);
  return tableOf({ name: collectionOf(surface), fields: levelFootprintFields, rows, geometry });
}

/** Name of the collection of a surface. */
export const collectionOf = (surface: PublishedSurface): string => surface.replace('_', '-');

function outline({ corner, columnStep: c, rowStep: r, columns, rows }: Raster): Float64Array {
  const at = (column: number, row: number) => [0, 1].map((k) => corner[k] + column * c[k] + row * r[k]);
  return Float64Array.from([at(0, rows), at(columns, rows), at(columns, 0), at(0, 0)].flat());
}

function extremes({ values, sigma }: Raster): { low: number | null; high: number | null; rms: number | null } {
  const known = values.filter((v) => !Number.isNaN(v));
  const errors = (sigma ?? new Float32Array(0)).filter((v) => !Number.isNaN(v));
  if (known.length === 0) return { low: null, high: null, rms: null };
  return {
    low: known.reduce((a, v) => Math.min(a, v)),
    high: known.reduce((a, v) => Math.max(a, v)),
    rms: errors.length === 0 ? null : Math.sqrt(errors.reduce((sum, v) => sum + v * v, 0) / errors.length),
  };
}

function seasonsOf({ nodes }: ModelledSurface): string | null {
  return nodes.seasonNames.filter((name) => name !== '').join(', ') || null;
}

export const elevationContourFields = lineFields(metres('elevation_m', 'Elevation'), [
  metres('sigma_m', 'Random standard deviation of the surface, root mean square'),
  word('seasons', 'Seasons its levels were taken in'),
  datum,
]);
export const thicknessContourFields = lineFields(
  metres('thickness_m', 'Thickness'),
  elevationContourFields.slice(4, 6),
);

/** Lines of equal elevation or thickness through the nodes, lowest first. */
export function levelContours(survey: Survey, surface: PublishedSurface, seasons: ReadonlySet<string>): FeatureTable {
  const model = survey.modelled(surface, seasons);
  const isThickness = surface === 'thickness';
  const rms = model ? extremes(model.raster).rms : null;
  return linesTable(`${collectionOf(surface)}-contours`, {
    fields: isThickness ? thicknessContourFields : elevationContourFields,
    contours: model?.contours ?? [],
    intervalM: model?.intervalM ?? 1,
    row: (level) => ({
      [isThickness ? 'thickness_m' : 'elevation_m']: level,
      sigma_m: rms === null ? null : rounded(rms),
      seasons: model && seasonsOf(model),
      vertical_datum: survey.site.vertical_datum.name,
    }),
  });
}
