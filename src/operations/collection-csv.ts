import { partsOf } from '../domain/columns.js';
import { type FeatureTable, type Geometry, valueAt } from '../domain/feature-table.js';
import type { LayerCrs } from './placed-layer.js';
import { csvCell } from './table-csv.js';

/** What a table is written as CSV with. */
export interface CsvRequest {
  readonly table: FeatureTable;
  /** rows to write, in this order; left untouched */
  readonly rows: Uint32Array;
  /** interleaved east, north, parallel to the geometry's coordinates, in `crs`; left untouched */
  readonly coordinates: Float64Array;
  readonly crs: LayerCrs;
  /** heading of the column with the feature ids; null = a plain list without one */
  readonly idColumn: string | null;
}

/** Pieces are handed on at about this many characters. */
const pieceCharacters = 64 * 1024;

const decimals: Readonly<Record<LayerCrs, number>> = { crs84: 9, epsg4326: 9, epsg3857: 4, storage: 4 };
const axisNames: Readonly<Record<LayerCrs, readonly [string, string]>> = {
  crs84: ['longitude', 'latitude'],
  epsg4326: ['longitude', 'latitude'],
  epsg3857: ['x_web_mercator', 'y_web_mercator'],
  storage: ['easting', 'northing'],
};

/**
 * Records as CSV (RFC 4180, UTF-8), piece by piece: the feature id where wanted, every field, and the place, as two columns for
 * points and as well-known text for lines and areas. Unknown is an empty cell. Texts that a spreadsheet would run are
 * guarded by an apostrophe; numbers stay numbers, negative levels too.
 */
export function* collectionCsv(request: CsvRequest): Generator<Uint8Array, void, undefined> {
  const { table, rows, idColumn } = request;
  const encoder = new TextEncoder();
  const columns = table.fields.map(({ name }) => {
    const column = table.columns.get(name);
    if (!column) throw new Error(`table ${table.name} has no column ${name}`);
    return column;
  });
  const place = placeWriter(request);
  const names = [...(idColumn === null ? [] : [idColumn]), ...table.fields.map(({ name }) => name), ...place.names];
  let text = `${names.map((name) => csvCell(name)).join(',')}\r\n`;
  for (const row of rows) {
    const cells: string[] = idColumn === null ? [] : [String(table.ids[row])];
    for (const column of columns) {
      const value = valueAt(column, row);
      cells.push(csvCell(typeof value === 'boolean' ? String(value) : value));
    }
    text += `${[...cells, ...place.cells(row)].join(',')}\r\n`;
    if (text.length < pieceCharacters) continue;
    yield encoder.encode(text);
    text = '';
  }
  if (text !== '') yield encoder.encode(text);
}

function placeWriter({ table, coordinates, crs }: CsvRequest): {
  readonly names: readonly string[];
  cells(row: number): string[];
} {
  const { geometry } = table;
  if (geometry === null) return { names: [], cells: () => [] };
  const factor = 10 ** decimals[crs];
  const number = (value: number) => String(Math.round(value * factor) / factor + 0);
  if (geometry.type === 'point') {
    return {
      names: axisNames[crs],
      cells(row) {
        const [x, y] = [coordinates[2 * row], coordinates[2 * row + 1]];
        return Number.isNaN(x) || Number.isNaN(y) ? ['', ''] : [number(x), number(y)];
      },
    };
  }
  const placed = { ...geometry, coordinates };
  return {
    names: ['wkt'],
    cells: (row) => {
      const text = wellKnownText(placed, row, number);
      return [text === null ? '' : `"${text}"`];
    },
  };
}

/** A line or area as well-known text, lines and areas always as several: one type for the whole column. */
function wellKnownText(
  geometry: Extract<Geometry, { type: 'line' | 'area' }>,
  row: number,
  number: (value: number) => string,
): string | null {
  const parts = partsOf(geometry, row).filter(({ ring }) => ring.length > 0);
  if (parts.length === 0 || parts.some(({ ring }) => ring.some(Number.isNaN))) return null;
  const corners = (ring: Float64Array, closed: boolean): string => {
    const pairs: string[] = [];
    for (let k = 0; k < ring.length; k += 2) pairs.push(`${number(ring[k])} ${number(ring[k + 1])}`);
    return `(${[...pairs, ...(closed ? [pairs[0]] : [])].join(', ')})`;
  };
  if (geometry.type === 'line') return `MULTILINESTRING (${parts.map(({ ring }) => corners(ring, false)).join(', ')})`;
  const polygons: string[][] = [];
  for (const { ring, hole } of parts) {
    if (hole) polygons[polygons.length - 1]?.push(corners(ring, true));
    else polygons.push([corners(ring, true)]);
  }
  return `MULTIPOLYGON (${polygons.map((rings) => `(${rings.join(', ')})`).join(', ')})`;
}
