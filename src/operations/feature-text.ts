import type { Column, FeatureTable, Geometry } from '../domain/feature-table.js';
import { JsonBytes, prepareText } from './json-bytes.js';

export interface FeatureTextOptions {
  readonly table: FeatureTable;
  /** interleaved east, north, parallel to geometry.coordinates, in the CRS asked for; left untouched */
  readonly coordinates: Float64Array;
  /** order in which the CRS asked for names its axes: EPSG:4326 has north first, CRS84 and projected CRSs mostly east */
  readonly axisOrder?: 'east-north' | 'north-east';
  /** places after the point, at most 9: 9 for degrees (0.1 mm), 4 for metres */
  readonly decimals: number;
  /** columns to write, in this order; every one stands in every feature, null when unknown */
  readonly properties: readonly string[];
}

/** Text is handed on in pieces of about this many bytes. */
const chunkBytes = 64 * 1024;

/** Writes records as GeoJSON (RFC 7946). Made once for a table and a CRS, and kept. */
export interface FeatureText {
  /** One Feature object. */
  feature(row: number): string;
  /**
   * The members of a `features` array, commas between, in pieces of about 64 kB, so that a long page is sent while
   * it is written.
   * @param rows  row numbers, in the order wanted; left untouched
   */
  features(rows: Iterable<number>): Generator<string, void, undefined>;
  /** The same pieces as UTF-8 bytes, ready to be sent. */
  bytes(rows: Iterable<number>): Generator<Uint8Array, void, undefined>;
}

type Write = (row: number, out: JsonBytes) => void;

const nothing = prepareText('null');

/**
 * GeoJSON text of records, written straight from the columns.
 *
 * Geometry: points without a place and shapes without parts are null. Outer rings run anticlockwise on the ground,
 * holes clockwise, and all are closed. As soon as one shape of the table has several outer rings or several lines,
 * all are written as MultiPolygon or MultiLineString: a GIS desktop shows one type for each layer.
 */
export function featureText(options: FeatureTextOptions): FeatureText {
  const { table, properties } = options;
  const writeGeometry = geometryWriter(options);
  const writers = properties.map((name, k) => {
    const column = table.columns.get(name);
    if (column === undefined) throw new Error(`table ${table.name} has no column ${name}`);
    return { key: prepareText(`${k === 0 ? '' : ','}${JSON.stringify(name)}:`), write: valueWriter(column) };
  });
  const [beforeId, beforeGeometry, beforeProperties, end, comma] = [
    '{"type":"Feature","id":',
    ',"geometry":',
    ',"properties":{',
    '}}',
    ',',
  ].map(prepareText);
  const write = (row: number, out: JsonBytes): void => {
    out.raw(beforeId);
    out.number(table.ids[row]);
    out.raw(beforeGeometry);
    writeGeometry(row, out);
    out.raw(beforeProperties);
    for (const writer of writers) {
      out.raw(writer.key);
      writer.write(row, out);
    }
    out.raw(end);
  };
  function* pieces<Piece>(rows: Iterable<number>, take: (out: JsonBytes) => Piece): Generator<Piece, void, undefined> {
    const out = new JsonBytes(chunkBytes + 8192);
    let first = true;
    for (const row of rows) {
      if (!first) out.raw(comma);
      first = false;
      write(row, out);
      if (out.size >= chunkBytes) yield take(out);
    }
    if (out.size > 0) yield take(out);
  }
  return {
    feature(row) {
      const out = new JsonBytes(1024);
      write(row, out);
      return out.takeText();
    },
    features: (rows) => pieces(rows, (out) => out.takeText()),
    bytes: (rows) => pieces(rows, (out) => out.take()),
  };
}

/** Writes a column's cells; each distinct word is quoted once. */
function valueWriter(column: Column): Write {
  switch (column.kind) {
    case 'number':
    case 'integer':
      return (row, out) => {
        const value = column.values[row];
        if (Number.isFinite(value)) out.number(value);
        else out.raw(nothing);
      };
    case 'code': {
      const quoted = column.words.map((word, code) => (code === 0 ? nothing : prepareText(JSON.stringify(word))));
      return (row, out) => out.raw(quoted[column.codes[row]]);
    }
    case 'text': {
      const bytes = Buffer.from(column.bytes.buffer, column.bytes.byteOffset, column.bytes.byteLength);
      return (row, out) => {
        const start = row === 0 ? 0 : column.ends[row - 1];
        const end = column.ends[row];
        if (start === end) out.raw(nothing);
        else out.quoted(bytes, start, end);
      };
    }
    case 'boolean': {
      const words = ['null', 'false', 'true'].map(prepareText);
      return (row, out) => out.raw(words[column.values[row]]);
    }
  }
}

type ShapeGeometry = Extract<Geometry, { type: 'line' | 'area' }>;

const openBracket = 0x5b;
const closeBracket = 0x5d;
const commaByte = 0x2c;
const closeBrace = 0x7d;

function geometryWriter(options: FeatureTextOptions): Write {
  const { coordinates, decimals, axisOrder = 'east-north' } = options;
  const { geometry } = options.table;
  if (geometry === null) return (_, out) => out.raw(nothing);
  if (coordinates.length !== geometry.coordinates.length) throw new Error('coordinates are not those of the table');
  if (!(decimals >= 0 && decimals <= 9)) throw new Error(`${decimals} decimals`);
  const factor = 10 ** decimals;
  const [first, second] = axisOrder === 'east-north' ? [0, 1] : [1, 0];
  const writeCorner: Write = (k, out) => {
    out.byte(openBracket);
    out.rounded(coordinates[2 * k + first], decimals, factor);
    out.byte(commaByte);
    out.rounded(coordinates[2 * k + second], decimals, factor);
    out.byte(closeBracket);
  };
  if (geometry.type === 'point') {
    const start = prepareText('{"type":"Point","coordinates":');
    return (row, out) => {
      const x = coordinates[2 * row];
      const y = coordinates[2 * row + 1];
      // x − x is 0 only for a finite number
      if (x - x !== 0 || y - y !== 0) {
        out.raw(nothing);
        return;
      }
      out.raw(start);
      writeCorner(row, out);
      out.byte(closeBrace);
    };
  }
  const several = hasSeveral(geometry);
  return geometry.type === 'line'
    ? lineWriter(geometry, writeCorner, several)
    : areaWriter(geometry, coordinates, { writeCorner, several });
}

/** Whether any shape of the table has more than one line or more than one outer ring. */
function hasSeveral(geometry: ShapeGeometry): boolean {
  for (let row = 0; row + 1 < geometry.featureStart.length; row++) {
    let outers = 0;
    for (let part = geometry.featureStart[row]; part < geometry.featureStart[row + 1]; part++) {
      if (geometry.hole[part] === 0) outers++;
    }
    if (outers > 1) return true;
  }
  return false;
}

/** Members of an array between its brackets. */
function writeArray<Member>(out: JsonBytes, members: Iterable<Member>, write: (member: Member) => void): void {
  out.byte(openBracket);
  let first = true;
  for (const member of members) {
    if (!first) out.byte(commaByte);
    first = false;
    write(member);
  }
  out.byte(closeBracket);
}

function lineWriter(geometry: ShapeGeometry, writeCorner: Write, several: boolean): Write {
  const start = prepareText(`{"type":"${several ? 'MultiLineString' : 'LineString'}","coordinates":`);
  return (row, out) => {
    const lines: number[][] = [];
    for (let part = geometry.featureStart[row]; part < geometry.featureStart[row + 1]; part++) {
      const corners = numbersFrom(geometry.partStart[part], geometry.partStart[part + 1]);
      if (corners.length > 0) lines.push(corners);
    }
    if (lines.length === 0) {
      out.raw(nothing);
      return;
    }
    const writeLine = (corners: number[]) => writeArray(out, corners, (k) => writeCorner(k, out));
    out.raw(start);
    if (several) writeArray(out, lines, writeLine);
    else writeLine(lines[0]);
    out.byte(closeBrace);
  };
}

function numbersFrom(first: number, end: number): number[] {
  return Array.from({ length: end - first }, (_, k) => first + k);
}

function areaWriter(
  geometry: ShapeGeometry,
  coordinates: Float64Array,
  { writeCorner, several }: { readonly writeCorner: Write; readonly several: boolean },
): Write {
  const start = prepareText(`{"type":"${several ? 'MultiPolygon' : 'Polygon'}","coordinates":`);
  /** Corners of a ring in the order they are written, the first again at the end; null when it is no ring. */
  const ringCorners = (part: number): number[] | null => {
    const first = geometry.partStart[part];
    const last = geometry.partStart[part + 1];
    if (last - first < 3) return null;
    const corners = numbersFrom(first, last);
    const anticlockwise = partArea(coordinates, first, last) >= 0;
    if (anticlockwise === (geometry.hole[part] === 1)) corners.reverse();
    corners.push(corners[0]);
    return corners;
  };
  return (row, out) => {
    const polygons: number[][][] = [];
    let outerIsThere = false;
    for (let part = geometry.featureStart[row]; part < geometry.featureStart[row + 1]; part++) {
      const ring = ringCorners(part);
      if (geometry.hole[part] === 0) {
        outerIsThere = ring !== null;
        if (ring !== null) polygons.push([ring]);
      } else if (ring !== null && outerIsThere) polygons[polygons.length - 1].push(ring);
    }
    if (polygons.length === 0) {
      out.raw(nothing);
      return;
    }
    const writePolygon = (rings: number[][]) =>
      writeArray(out, rings, (corners) => writeArray(out, corners, (k) => writeCorner(k, out)));
    out.raw(start);
    if (several) writeArray(out, polygons, writePolygon);
    else writePolygon(polygons[0]);
    out.byte(closeBrace);
  };
}

/** Twice the signed area of a part, from its first corner: degrees and map metres are large numbers for small rings. */
function partArea(coordinates: Float64Array, first: number, last: number): number {
  const x0 = coordinates[2 * first];
  const y0 = coordinates[2 * first + 1];
  let twice = 0;
  for (let k = first + 1; k + 1 < last; k++) {
    twice +=
      (coordinates[2 * k] - x0) * (coordinates[2 * k + 3] - y0) -
      (coordinates[2 * k + 2] - x0) * (coordinates[2 * k + 1] - y0);
  }
  return twice;
}
