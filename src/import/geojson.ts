import type { Field } from '../domain/fields.js';
import type { Site } from '../domain/site.js';
import { ringArea } from '../math/rings.js';
import { Problem } from '../problems.js';
import { type Complaints, isFileFault } from './complaints.js';
import { placeOf, type ToFirstGrid } from './geojson-place.js';
import { membersOf, parseJson } from './json-text.js';
import { defaultLimits, type ImportLimits } from './limits.js';
import { lineFault, polygonFault } from './ring-check.js';
import { moved } from './rules.js';
import type { Part, TableWriter } from './table-writer.js';

/** One GeoJSON file on its way into its tables. */
export interface GeoJsonSource {
  readonly file: string;
  readonly bytes: Uint8Array;
  readonly site: Site;
  /** property as it stands in the file → our column */
  readonly columns: ReadonlyMap<string, string>;
  readonly complaints: Complaints;
  readonly limits?: ImportLimits;
}

/** The table for each type of geometry the file may hold, with the columns its features may carry. */
export type GeometryTables = ReadonlyMap<
  'line' | 'area',
  { readonly writer: TableWriter; readonly fields: readonly Field[] }
>;

/** Farther from the grid origin than any wreck site reaches: swapped axes or another CRS. Metres. */
const farthest = 200_000;

/**
 * Reads a GeoJSON feature collection into tables of lines and areas, in metres of the first grid. Rings are checked as
 * they stand in the file; a third coordinate is not kept.
 * @returns features taken
 */
export function importGeoJson(source: GeoJsonSource, tables: GeometryTables): number {
  const { file, complaints } = source;
  try {
    return new GeoJsonReader(source, tables).read();
  } catch (error) {
    if (!isFileFault(error)) throw error;
    complaints.addFile(file, error.message);
    return 0;
  }
}

class GeoJsonReader {
  readonly #source: GeoJsonSource;
  readonly #tables: GeometryTables;
  readonly #limits: ImportLimits;
  readonly #encoder = new TextEncoder();
  readonly #strange = new Set<string>();
  #toFirst: ToFirstGrid = (x, y) => [x, y];
  #degrees = false;
  #positions = 0;

  constructor(source: GeoJsonSource, tables: GeometryTables) {
    this.#source = source;
    this.#tables = tables;
    this.#limits = source.limits ?? defaultLimits;
  }

  read(): number {
    const { file, bytes, site } = this.#source;
    const members = membersOf(parseJson(bytes, this.#limits.geojsonDepth));
    const features = members?.get('features');
    if (members?.get('type') !== 'FeatureCollection' || !Array.isArray(features))
      throw new Problem('bad-file', 'is no GeoJSON FeatureCollection with features');
    const { toFirst, degrees } = placeOf(members, site);
    this.#toFirst = toFirst;
    this.#degrees = degrees;
    for (const { writer, fields } of this.#tables.values())
      writer.beginFile({ file, fields: new Set(fields.map((field) => field.name)), rule: null, decimal: '.' });
    let taken = 0;
    features.forEach((feature: unknown, i) => {
      if (this.#readFeature(feature, i + 1)) taken += 1;
    });
    return taken;
  }

  #readFeature(feature: unknown, number: number): boolean {
    const members = membersOf(feature);
    const type = this.#typeOf(members?.get('geometry'));
    const table = this.#tables.get(type ?? [...this.#tables.keys()][0]);
    if (!table) throw new Error('a GeoJSON file without tables');
    const { writer } = table;
    try {
      if (members?.get('type') !== 'Feature') throw new Problem('bad-geometry', 'is no Feature');
      if (type === null)
        throw new Problem(
          'bad-geometry',
          `has ${geometryName(members.get('geometry'))}; it needs ${[...this.#tables.keys()].map((t) => (t === 'line' ? 'a line' : 'a polygon')).join(' or ')}`,
        );
      writer.place(this.#partsOf(type, membersOf(members.get('geometry'))?.get('coordinates')));
    } catch (error) {
      if (!isFileFault(error)) throw error;
      writer.refuse({ column: 'geometry', value: null, reason: error.message });
    }
    this.#readProperties(membersOf(members?.get('properties') ?? {}), table);
    return writer.finishRow(number, () => JSON.stringify(feature));
  }

  /** What kind of table a geometry belongs in; null for other kinds, and for none. */
  #typeOf(geometry: unknown): 'line' | 'area' | null {
    const name = geometryName(geometry);
    const type = /^(Multi)?LineString$/.test(name) ? 'line' : /^(Multi)?Polygon$/.test(name) ? 'area' : null;
    return type !== null && this.#tables.has(type) ? type : null;
  }

  #partsOf(type: 'line' | 'area', coordinates: unknown): Part[] {
    const list = listOf(coordinates);
    if (type === 'line') {
      const lines = isPosition(list[0]) ? [list] : list;
      if (lines.length === 0) throw new Problem('bad-geometry', 'has no corners');
      return lines.map((line) => {
        const ring = this.#corners(line);
        const fault = lineFault(ring);
        if (fault) throw new Problem('bad-geometry', fault);
        return { ring: this.#inFirst(ring) };
      });
    }
    const polygons = (isPosition(listOf(list[0])[0]) ? [list] : list).map((polygon) =>
      listOf(polygon).map((ring) => this.#corners(ring)),
    );
    if (polygons.length === 0 || polygons.some((rings) => rings.length === 0))
      throw new Problem('bad-geometry', 'has no corners');
    const fault = polygonFault(polygons);
    if (fault) throw new Problem('bad-geometry', fault);
    return polygons.flatMap((rings) => rings.map((ring, k) => this.#orientedPart(ring, k > 0)));
  }

  /** Opens a ring, and turns it: outer rings anticlockwise, holes clockwise, after the move, which may mirror. */
  #orientedPart(closed: Float64Array, isHole: boolean): Part {
    const ring = this.#inFirst(closed.subarray(0, closed.length - 2));
    if (ringArea(ring) > 0 === isHole) {
      for (let i = 0, j = ring.length - 2; i < j; i += 2, j -= 2) {
        const corner = [ring[i], ring[i + 1]];
        ring.copyWithin(i, j, j + 2);
        ring.set(corner, j);
      }
    }
    return isHole ? { ring, hole: true } : { ring };
  }

  #inFirst(corners: Float64Array): Float64Array {
    const out = moved(corners, this.#toFirst);
    for (let i = 0; i < out.length; i += 2) {
      if (Math.hypot(out[i], out[i + 1]) <= farthest) continue;
      const what = this.#degrees ? 'longitude, latitude' : 'coordinates';
      throw new Problem(
        'bad-geometry',
        `corner ${i / 2 + 1} (${corners[i]}, ${corners[i + 1]}) lies more than ${farthest / 1000} km from the site grid; are these ${what} of the declared coordinate_space, in this order?`,
      );
    }
    return out;
  }

  #corners(line: unknown): Float64Array {
    const positions = listOf(line);
    this.#positions += positions.length;
    if (this.#positions > this.#limits.geojsonPositions)
      throw new Problem(
        'bad-geometry',
        `brings the file over ${this.#limits.geojsonPositions} corners, the most that are read`,
      );
    const out = new Float64Array(2 * positions.length);
    for (const [i, position] of positions.entries()) {
      if (!isPosition(position) || position.length > 3)
        throw new Problem(
          'bad-geometry',
          `corner ${i + 1} is not two numbers: ${JSON.stringify(position)?.slice(0, 60)}`,
        );
      const [x, y] = position;
      if (this.#degrees && (Math.abs(x) > 180 || Math.abs(y) > 90))
        throw new Problem(
          'bad-geometry',
          `corner ${i + 1} (${x}, ${y}) is no longitude, latitude; for metres of the grid say "coordinate_space": "site-grid"`,
        );
      out[2 * i] = x;
      out[2 * i + 1] = y;
    }
    return out;
  }

  #readProperties(
    properties: ReadonlyMap<string, unknown> | null,
    { writer, fields }: { writer: TableWriter; fields: readonly Field[] },
  ): void {
    const row = writer.row;
    if (!properties) {
      writer.refuse({ column: 'properties', value: null, reason: 'is no object' });
      return;
    }
    const values = new Map<string, unknown>();
    for (const [name, value] of properties) {
      const column = this.#source.columns.get(name) ?? name;
      if (fields.some((field) => field.name === column)) values.set(column, value);
      else this.#complainOnce(name, fields);
    }
    for (const field of fields) {
      const builder = writer.builder(field.name);
      const cell = cellText(field, values.get(field.name));
      if (cell.text === '') {
        builder.clear(row);
        if (field.required)
          writer.refuse({ column: field.name, value: null, reason: 'is empty, but every feature needs it' });
        continue;
      }
      const bytes = this.#encoder.encode(cell.text);
      const reason = cell.reason ?? builder.read(bytes, 0, bytes.length, row);
      if (reason !== null) writer.refuse({ column: field.name, value: cell.text, reason });
    }
  }

  #complainOnce(name: string, fields: readonly Field[]): void {
    if (this.#strange.has(name)) return;
    this.#strange.add(name);
    const reason = `is no property of this file; its properties are ${fields.map((field) => field.name).join(', ')}`;
    this.#source.complaints.add({ file: this.#source.file, row: null, column: name, value: null, reason });
  }
}

function geometryName(geometry: unknown): string {
  if (geometry === null || geometry === undefined) return 'no geometry';
  return String(membersOf(geometry)?.get('type') ?? 'no geometry');
}

function listOf(value: unknown): readonly unknown[] {
  if (Array.isArray(value)) return value;
  throw new Problem(
    'bad-geometry',
    `coordinates: expected a list, got ${JSON.stringify(value)?.slice(0, 60) ?? 'nothing'}`,
  );
}

function isPosition(value: unknown): value is readonly number[] {
  return Array.isArray(value) && value.length >= 2 && value.every((v) => typeof v === 'number' && Number.isFinite(v));
}

// control characters but tab and line ends, and halves of surrogate pairs
const unprintable = /[^\P{Cc}\t\r\n]|\p{Surrogate}/u;

/** A property as the text a CSV cell would hold; '' = unknown. Numbers must be JSON numbers where numbers are wanted. */
function cellText(field: Field, value: unknown): { text: string; reason?: string } {
  if (value === null || value === undefined) return { text: '' };
  const wantsNumber = field.type === 'number' || field.type === 'integer';
  if (typeof value === 'string') {
    const text = value.trim();
    if (unprintable.test(text)) return { text, reason: 'holds a control character or half a character' };
    return wantsNumber && text !== ''
      ? { text, reason: 'is a text; write a number without quotation marks' }
      : { text };
  }
  if (typeof value === 'number' && field.type !== 'boolean') return { text: String(value) };
  if (typeof value === 'boolean' && field.type === 'boolean') return { text: String(value) };
  return { text: JSON.stringify(value).slice(0, 200), reason: `is not a ${field.type}` };
}
