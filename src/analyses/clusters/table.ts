import { tableOf as featureTableOf, shapes } from '../../domain/columns.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import type { Sample } from '../../domain/sample.js';
import type { AnswerTable } from '../contract.js';
import type { Contents } from './contents.js';
import type { Summary } from './schemas.js';

type Row = Summary['clusters'][number];

const unknown = 'unknown';

const sizes = [
  { name: 'cluster', title: 'Cluster' },
  { name: 'n', title: 'Finds', unit: '1' },
  { name: 'count', title: 'Count', unit: '1' },
  { name: 'centre_x', title: 'Centre, east along the site grid', unit: 'm' },
  { name: 'centre_y', title: 'Centre, north along the site grid', unit: 'm' },
  { name: 'hull_area_m2', title: 'Area of the hull', unit: 'm2' },
  { name: 'dug_m2', title: 'Dug ground in the hull', unit: 'm2' },
  { name: 'per_m2', title: 'Count per m² dug', unit: 'm-2' },
];

/** One row for each cluster and one for the finds in none: size, hull, then a column for each class and each season. */
export function tableOf(rows: readonly Row[], sample: Sample): AnswerTable {
  const present = (of: (row: Row) => Row['classes'], order: readonly string[]) => {
    const names = new Set(rows.flatMap((row) => of(row).map(({ name }) => name)));
    return [...order.filter((name) => names.has(name)), ...(names.has(null) ? [null] : [])];
  };
  const classes = present((row) => row.classes, sample.classes);
  const seasons = present((row) => row.seasons, sample.seasons);
  const countOf = (list: Row['classes'], name: string | null) => list.find((own) => own.name === name)?.count ?? 0;
  return {
    columns: [
      ...sizes,
      ...classes.map((name) => ({
        name: `class ${name ?? unknown}`,
        title: `Class ${name ?? unknown}`,
        unit: '1',
      })),
      ...seasons.map((name) => ({ name: `season ${name ?? unknown}`, title: `Season ${name ?? unknown}`, unit: '1' })),
    ],
    rows: rows.map((row) => [
      row.cluster === 0 ? 'in none' : row.cluster,
      row.n,
      row.count,
      row.centre_x_m,
      row.centre_y_m,
      row.hull_area_m2,
      row.dug_m2,
      row.per_m2,
      ...classes.map((name) => countOf(row.classes, name)),
      ...seasons.map((name) => countOf(row.seasons, name)),
    ]),
  };
}

const fields: readonly Field[] = [
  { name: 'cluster', title: 'Cluster', type: 'integer', unit: '1' },
  { name: 'method', title: 'Method', type: 'text' },
  { name: 'n', title: 'Finds', type: 'integer', unit: '1' },
  { name: 'count', title: 'Count, after the count unit', type: 'number', unit: '1' },
  { name: 'hull_area_m2', title: 'Area of the hull', type: 'number', unit: 'm2' },
  { name: 'dug_m2', title: 'Dug ground in the hull', type: 'number', unit: 'm2' },
  { name: 'per_m2', title: 'Count per m² dug', type: 'number', unit: 'm-2' },
  { name: 'better_than_random', title: 'Whether the method finds more than in random points', type: 'boolean' },
  { name: 'classes', title: 'Classes with their counts', type: 'text', distinct: true },
  { name: 'seasons', title: 'Seasons with their counts', type: 'text', distinct: true },
];

const listed = (list: Row['classes']) => list.map(({ name, count }) => `${name ?? unknown} ${count}`).join(', ');

/** The hulls of the clusters. */
export function hullsLayer(contents: readonly Contents[], summary: Summary): FeatureTable {
  const drawn = contents.filter(({ row }) => row.cluster > 0);
  return featureTableOf({
    name: 'clusters',
    fields,
    rows: drawn.map(({ row }) => ({
      cluster: row.cluster,
      method: summary.method,
      n: row.n,
      count: row.count,
      hull_area_m2: row.hull_area_m2,
      dug_m2: row.dug_m2,
      per_m2: row.per_m2,
      better_than_random: summary[summary.method].better_than_random,
      classes: listed(row.classes),
      seasons: listed(row.seasons),
    })),
    geometry: shapes(
      'area',
      drawn.map(({ hull }) => (hull.length < 6 ? [] : [{ ring: hull }])),
    ),
  });
}
