import { numbers, shapes, tableOf, wordReader } from '../columns.js';
import { type Column, codeColumn, type FeatureTable, type Value } from '../feature-table.js';
import type { Field } from '../fields.js';
import { gridToGrid, nodeAt, squareBox, squareLabel } from '../grid.js';
import type { Survey } from '../survey.js';

/** The squares of the first grid, whether dug or not. */
export function publishedSquares(survey: Survey): FeatureTable {
  const { grid } = survey.frame;
  const rows: Record<string, Value>[] = [];
  const rings: { ring: Float64Array }[][] = [];
  for (let row = 0; row < grid.rows; row++) {
    for (let column = 0; column < grid.columns; column++) {
      const shiftColumn = grid.corner.endsWith('east') ? column + 1 : column;
      const shiftRow = grid.corner.startsWith('north') ? row + 1 : row;
      const [west, south, east, north] = squareBox(grid, shiftColumn, shiftRow);
      rows.push({ square: squareLabel(grid, shiftColumn, shiftRow), grid: grid.id, local_x: west, local_y: south });
      rings.push([{ ring: Float64Array.of(west, south, east, south, east, north, west, north) }]);
    }
  }
  return tableOf({
    name: 'grid-squares',
    fields: [
      { name: 'square', title: 'Square', type: 'text', distinct: true },
      { name: 'grid', title: 'Grid', type: 'text' },
      { name: 'local_x', title: 'x of its south-west corner', type: 'number', unit: 'm' },
      { name: 'local_y', title: 'y of its south-west corner', type: 'number', unit: 'm' },
    ],
    rows,
    geometry: shapes('area', rings),
  });
}

/** One row for each level reading, where it was taken; a depth is also given as elevation. */
export function publishedLevels(survey: Survey): FeatureTable | null {
  const levels = survey.table('levels');
  if (!levels) return null;
  const gridId = wordReader(levels, 'grid');
  const node = wordReader(levels, 'node');
  const kind = wordReader(levels, 'kind');
  const value = numbers(levels, 'value');
  const x = numbers(levels, 'local_x');
  const y = numbers(levels, 'local_y');
  const { site, frame } = survey;
  const toFirst = new Map(site.grids.map((grid) => [grid.id, gridToGrid(grid, frame.grid)]));
  const coordinates = new Float64Array(2 * levels.length).fill(Number.NaN);
  const elevation = new Float64Array(levels.length).fill(Number.NaN);
  for (let i = 0; i < levels.length; i++) {
    const grid = site.grids.find((g) => g.id === (gridId(i) ?? frame.grid.id));
    const label = node(i);
    const place = grid && label ? nodeAt(grid, label) : ([x[i], y[i]] as [number, number]);
    const convert = grid && toFirst.get(grid.id);
    if (place && convert && !Number.isNaN(place[0] + place[1])) coordinates.set(convert(...place), 2 * i);
    elevation[i] = kind(i) === 'depth' ? -value[i] : value[i];
  }
  return withColumns(levels, {
    name: 'levels',
    coordinates,
    fields: [
      { name: 'first_grid_x', title: 'x in the first grid', type: 'number', unit: 'm' },
      { name: 'first_grid_y', title: 'y in the first grid', type: 'number', unit: 'm' },
      {
        name: 'z_elevation',
        title: 'Elevation in the site datum, as read (tide not reduced)',
        type: 'number',
        unit: 'm',
      },
    ],
    columns: [evenNumbers(coordinates, 0), evenNumbers(coordinates, 1), elevation],
  });
}

const evenNumbers = (xy: Float64Array, offset: 0 | 1): Float64Array =>
  Float64Array.from({ length: xy.length / 2 }, (_, i) => Math.round(xy[2 * i + offset] * 1e4) / 1e4);

function withColumns(
  table: FeatureTable,
  added: {
    readonly name: string;
    readonly coordinates: Float64Array;
    readonly fields: readonly Field[];
    readonly columns: readonly Float64Array[];
  },
): FeatureTable {
  const columns = new Map<string, Column>(table.columns);
  for (const field of table.fields)
    if (!columns.has(field.name)) columns.set(field.name, codeColumn(new Array(table.length).fill(null)));
  added.fields.forEach((field, k) => {
    columns.set(field.name, { kind: 'number', values: added.columns[k] });
  });
  return {
    name: added.name,
    length: table.length,
    fields: [...table.fields, ...added.fields],
    columns,
    geometry: { type: 'point', coordinates: added.coordinates },
    ids: table.ids,
  };
}

/** Control points, in metres of the first grid (their season names the grid they were observed in). */
export function publishedControlPoints(survey: Survey): FeatureTable | null {
  const control = survey.table('control-points');
  if (!control) return null;
  const x = numbers(control, 'x');
  const y = numbers(control, 'y');
  const season = wordReader(control, 'season');
  const coordinates = new Float64Array(2 * control.length).fill(Number.NaN);
  for (let i = 0; i < control.length; i++) {
    const observed =
      survey.site.grids.find((grid) => grid.valid_seasons.includes(season(i) ?? '')) ?? survey.frame.grid;
    if (!Number.isNaN(x[i] + y[i])) coordinates.set(gridToGrid(observed, survey.frame.grid)(x[i], y[i]), 2 * i);
  }
  return withColumns(control, {
    name: 'control-points',
    coordinates,
    fields: [
      { name: 'first_grid_x', title: 'x in the first grid', type: 'number', unit: 'm' },
      { name: 'first_grid_y', title: 'y in the first grid', type: 'number', unit: 'm' },
    ],
    columns: [evenNumbers(coordinates, 0), evenNumbers(coordinates, 1)],
  });
}
