import {
  booleanColumn,
  type Column,
  codeColumn,
  type FeatureTable,
  type Geometry,
  numberColumn,
  textColumn,
  type Value,
  valueAt,
} from './feature-table.js';
import type { Field } from './fields.js';

/** Numbers of a column, NaN where unknown or where the table has no such column. Left untouched by callers. */
export function numbers(table: FeatureTable, name: string): Float64Array {
  const column = table.columns.get(name);
  if (column && (column.kind === 'number' || column.kind === 'integer')) return column.values;
  return new Float64Array(table.length).fill(Number.NaN);
}

/** A reader of a column's words: row → text or null. */
export function wordReader(table: FeatureTable, name: string): (row: number) => string | null {
  const column = table.columns.get(name);
  if (!column) return () => null;
  if (column.kind === 'code') return (row) => (column.codes[row] === 0 ? null : column.words[column.codes[row]]);
  return (row) => {
    const value = valueAt(column, row);
    return value === null ? null : String(value);
  };
}

/** The column of a field from plain values. */
export function columnOf(field: Field, values: readonly Value[]): Column {
  switch (field.type) {
    case 'number':
    case 'integer':
      return numberColumn(values as readonly (number | null)[], field.type);
    case 'boolean':
      return booleanColumn(values as readonly (boolean | null)[]);
    default:
      return field.distinct
        ? textColumn(values as readonly (string | null)[])
        : codeColumn(values as readonly (string | null)[]);
  }
}

/** A table from rows of plain values, for the small ones. */
export function tableOf(given: {
  readonly name: string;
  readonly fields: readonly Field[];
  readonly rows: readonly Readonly<Record<string, Value>>[];
  readonly geometry: Geometry | null;
  readonly ids?: Float64Array;
}): FeatureTable {
  const columns = new Map<string, Column>();
  for (const field of given.fields)
    columns.set(
      field.name,
      columnOf(
        field,
        given.rows.map((row) => row[field.name] ?? null),
      ),
    );
  return {
    name: given.name,
    length: given.rows.length,
    fields: given.fields,
    columns,
    geometry: given.geometry,
    ids: given.ids ?? Float64Array.from(given.rows, (_, i) => i + 1),
  };
}

/** Some rows of a column, in the order given. */
function pickColumn(column: Column, rows: Uint32Array): Column {
  switch (column.kind) {
    case 'number':
    case 'integer':
      return { kind: column.kind, values: Float64Array.from(rows, (r) => column.values[r]) };
    case 'code':
      return { kind: 'code', words: column.words, codes: Uint32Array.from(rows, (r) => column.codes[r]) };
    case 'boolean':
      return { kind: 'boolean', values: Uint8Array.from(rows, (r) => column.values[r]) };
    case 'text':
      return textColumn([...rows].map((r) => valueAt(column, r) as string | null));
  }
}

/** Some rows of a table with a geometry of their own. */
export function pickRows(
  table: FeatureTable,
  given: { readonly name: string; readonly rows: Uint32Array; readonly geometry: Geometry | null },
): FeatureTable {
  return {
    name: given.name,
    length: given.rows.length,
    fields: table.fields,
    columns: new Map([...table.columns].map(([name, column]) => [name, pickColumn(column, given.rows)])),
    geometry: given.geometry,
    ids: Float64Array.from(given.rows, (r) => table.ids[r]),
  };
}

/** Lines or areas, one list of parts for each feature. */
export function shapes(
  type: 'line' | 'area',
  features: readonly (readonly { readonly ring: Float64Array; readonly hole?: true }[])[],
): Geometry {
  const featureStart = new Uint32Array(features.length + 1);
  const parts = features.flat();
  const partStart = new Uint32Array(parts.length + 1);
  const hole = new Uint8Array(parts.length);
  let corners = 0;
  parts.forEach((part, p) => {
    corners += part.ring.length / 2;
    partStart[p + 1] = corners;
    hole[p] = part.hole ? 1 : 0;
  });
  features.forEach((feature, i) => {
    featureStart[i + 1] = featureStart[i] + feature.length;
  });
  const coordinates = new Float64Array(corners * 2);
  parts.forEach((part, p) => {
    coordinates.set(part.ring, partStart[p] * 2);
  });
  return { type, coordinates, partStart, featureStart, hole };
}

/** The parts of one feature. */
export function partsOf(
  geometry: Extract<Geometry, { type: 'line' | 'area' }>,
  feature: number,
): { ring: Float64Array; hole: boolean }[] {
  const out: { ring: Float64Array; hole: boolean }[] = [];
  for (let p = geometry.featureStart[feature]; p < geometry.featureStart[feature + 1]; p++) {
    out.push({
      ring: geometry.coordinates.subarray(geometry.partStart[p] * 2, geometry.partStart[p + 1] * 2),
      hole: geometry.hole[p] === 1,
    });
  }
  return out;
}
