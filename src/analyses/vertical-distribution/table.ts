import {
  booleanColumn,
  type Column,
  codeColumn,
  type FeatureTable,
  numberColumn,
  textColumn,
} from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import type { AnswerTable } from '../contract.js';
import { beyondSurfaces, type FindDepths } from './depths.js';
import type { Summary } from './schemas.js';

type Row = Summary['by_class'][number];

const columns: readonly (readonly [keyof Row, string, string?])[] = [
  ['artefact_class', 'Artefact class'],
  ['n', 'Finds with a relative depth', '1'],
  ['units', 'Units', '1'],
  ['without_elevation', 'Without elevation', '1'],
  ['left_out', 'Otherwise left out', '1'],
  ['mean', 'Mean relative depth', '1'],
  ['q25', 'Lower quartile', '1'],
  ['median', 'Median relative depth', '1'],
  ['q75', 'Upper quartile', '1'],
  ['median_elevation_m', 'Median elevation', 'm'],
  ['median_depth_below_top_m', 'Median depth below the top', 'm'],
  ['median_height_above_bottom_m', 'Median height above the lower surface', 'm'],
  ['material_density', 'Material density', 't/m3'],
  ['against_rest', 'Mean less that of the rest', '1'],
  ['low', 'Lower end of 95 %', '1'],
  ['high', 'Upper end of 95 %', '1'],
  ['p_two_sided', 'p, names dealt within squares', '1'],
  ['p_holm', 'p raised for the number of classes', '1'],
];

/** One row for each class. */
export function tableOf(summary: Summary): AnswerTable {
  return {
    columns: columns.map(([name, title, unit]) => ({ name, title, ...(unit ? { unit } : {}) })),
    rows: summary.by_class.map((row) =>
      columns.map(([name]) => (name === 'artefact_class' ? (row[name] ?? 'class unknown') : row[name])),
    ),
  };
}

/** Every find of the sample with its depth, or the reason why it has none. */
export function findsLayer(sample: Sample, depths: FindDepths): FeatureTable {
  const n = depths.u.length;
  const numbers = (values: Float64Array) => numberColumn(Array.from(values, (v) => (Number.isNaN(v) ? null : v)));
  const word = (words: readonly string[], code: number) => (code === 0 ? null : words[code - 1]);
  const isBelow = (i: number) =>
    Number.isNaN(depths.u[i]) ? null : beyondSurfaces(depths.u[i], depths.sigma[i]) === 1;
  return {
    name: 'vertical-distribution',
    length: n,
    fields: [
      { name: 'find', title: 'Find', type: 'text', distinct: true },
      { name: 'artefact_class', title: 'Artefact class', type: 'text' },
      { name: 'season', title: 'Season', type: 'text' },
      { name: 'relative_depth', title: 'Relative depth: 0 top, 1 lower surface', type: 'number', unit: '1' },
      { name: 'relative_depth_sigma', title: 'Standard error of the relative depth', type: 'number', unit: '1' },
      { name: 'z_elevation', title: 'Elevation used', type: 'number', unit: 'm' },
      { name: 'depth_below_top_m', title: 'Depth below the top', type: 'number', unit: 'm' },
      { name: 'height_above_bottom_m', title: 'Height above the lower surface', type: 'number', unit: 'm' },
      { name: 'thickness_m', title: 'Thickness of the deposit there', type: 'number', unit: 'm' },
      { name: 'below_lower_surface', title: 'Below the lower surface beyond two errors', type: 'boolean' },
      { name: 'over_hull', title: 'Over articulated hull', type: 'boolean' },
      { name: 'left_out_because', title: 'Why it is left out of the comparison', type: 'text' },
    ],
    columns: new Map<string, Column>([
      ['find', textColumn(sample.label)],
      ['artefact_class', codeColumn(Array.from(sample.classCode, (code) => word(sample.classes, code)))],
      ['season', codeColumn(Array.from(sample.seasonCode, (code) => word(sample.seasons, code)))],
      ['relative_depth', numbers(depths.u)],
      ['relative_depth_sigma', numbers(depths.sigma)],
      ['z_elevation', numbers(depths.elevation)],
      ['depth_below_top_m', numbers(depths.belowTopM)],
      ['height_above_bottom_m', numbers(depths.aboveBottomM)],
      ['thickness_m', numbers(depths.thicknessM)],
      ['below_lower_surface', booleanColumn(Array.from(depths.u.keys(), isBelow))],
      ['over_hull', booleanColumn(Array.from(depths.isOverHull, (v) => v === 1))],
      ['left_out_because', codeColumn(depths.reason)],
    ]),
    geometry: { type: 'point', coordinates: sample.xy.slice() },
    ids: Float64Array.from({ length: n }, (_, i) => i + 1),
  };
}
