import { tableOf as featureTableOf } from '../../domain/columns.js';
import { squareShapes } from '../../domain/counting-squares.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import { boxRegion, tileBox } from '../../math/tiles.js';
import type { AnswerTable } from '../contract.js';
import type { DigPlan } from './proposals.js';
import type { SquareRow } from './schemas.js';

const fields: readonly Field[] = [
  { name: 'square', title: 'Square', type: 'text', distinct: true },
  { name: 'rank', title: 'Place by what it would settle', type: 'integer', unit: '1' },
  { name: 'state', title: 'State', type: 'text' },
  { name: 'ground_left_m2', title: 'Ground not yet dug', type: 'number', unit: 'm2' },
  { name: 'found', title: 'Count so far', type: 'number', unit: '1' },
  { name: 'expected', title: 'Count expected on the ground left', type: 'number', unit: '1' },
  { name: 'expected_low', title: '95 % of such counts lie above', type: 'number', unit: '1' },
  { name: 'expected_high', title: '95 % of such counts lie below', type: 'number', unit: '1' },
  { name: 'per_m2', title: 'Rate of the trend', type: 'number', unit: 'm-2' },
  { name: 'neighbours_per_m2', title: 'Rate of the dug neighbourhood', type: 'number', unit: 'm-2' },
  { name: 'chance_of_none', title: 'Chance to find nothing', type: 'number', unit: '1' },
  { name: 'distance_to_dug_m', title: 'Distance to the nearest dug square', type: 'number', unit: 'm' },
  { name: 'extrapolated', title: 'Beyond what the dug squares can tell', type: 'boolean' },
  { name: 'hull_ends', title: 'Hull features that stop at its edge', type: 'text', distinct: true },
  { name: 'hull_points', title: 'Hull features that would run into it', type: 'text', distinct: true },
  { name: 'ship_axis', title: 'Ship axis through it', type: 'text' },
  { name: 'settles_value', title: 'Measure of what it would settle', type: 'number', unit: '1' },
  { name: 'settles', title: 'What it would settle', type: 'text', distinct: true },
  { name: 'reasons', title: 'Reasons', type: 'text', distinct: true },
];

const cells = (row: SquareRow) => ({
  ...row,
  hull_ends: row.hull_ends.join(', ') || null,
  hull_points: row.hull_points.join(', ') || null,
});

/** One row for each square, most to settle first. */
export function tableOf(rows: readonly SquareRow[]): AnswerTable {
  return {
    columns: fields.map(({ name, title, unit }) => ({ name, title, ...(unit === undefined ? {} : { unit }) })),
    rows: rows.map((row) => {
      const values: Record<string, unknown> = { ...cells(row), extrapolated: row.extrapolated ? 'yes' : 'no' };
      return fields.map(({ name }) => (values[name] ?? null) as string | number | null);
    }),
  };
}

/** The squares with what is expected in them and why they stand where they do. */
export function squaresLayer(rows: readonly SquareRow[], { squares }: DigPlan): FeatureTable {
  const tiles = rows.map(({ square }) => squares.tileOfSquare(square));
  const areaM2 = new Float64Array(squares.tiles.columns * squares.tiles.rows).fill(Infinity);
  return featureTableOf({
    name: 'next-squares',
    fields,
    rows: rows.map((row) => {
      const { neighbours: _n, hull_seen: _s, hull_projected: _p, ...own } = cells(row);
      return own;
    }),
    // whole squares: a part-dug one is dug and finished as a square
    geometry: squareShapes(squares, tiles, { window: boxRegion(tileBox(squares.tiles, 0)), areaM2, origin: [0, 0] }),
  });
}
