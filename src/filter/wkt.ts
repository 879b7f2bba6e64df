import type { FilterBuilder } from './builder.js';
import { boxShapes, type LiteralPlane, shapesOf, type WrittenGeometry } from './geometry-literal.js';
import type { PlaneShape } from './plane-shape.js';
import { filterProblem } from './refusal.js';
import type { TokenReader } from './tokens.js';

const tags: Readonly<Record<string, string>> = {
  POINT: 'Point',
  LINESTRING: 'LineString',
  POLYGON: 'Polygon',
  MULTIPOINT: 'MultiPoint',
  MULTILINESTRING: 'MultiLineString',
  MULTIPOLYGON: 'MultiPolygon',
  GEOMETRYCOLLECTION: 'GeometryCollection',
};

/** Whether a geometry comes next: its tag, a Z or not, and a bracket. */
export function isGeometry(reader: TokenReader): boolean {
  const token = reader.peek();
  if (token.kind !== 'name') return false;
  const tag = token.text.toUpperCase();
  if (!(tag in tags) && tag !== 'BBOX') return false;
  return reader.isSymbol('(', 1) || (reader.isWord('Z', 1) && reader.isSymbol('(', 2)) || reader.isWord('EMPTY', 1);
}

/**
 * Reads a geometry in well-known text, or BBOX(…).
 * @throws Problem bad-filter
 */
export function readGeometry(
  reader: TokenReader,
  context: { readonly plane: LiteralPlane; readonly builder: FilterBuilder },
): PlaneShape[] {
  const { at } = reader.peek();
  if (reader.skipWord('BBOX')) {
    const numbers = list(reader, () => readNumber(reader));
    return boxShapes(numbers, { ...context, at });
  }
  return shapesOf(tagged(reader), { ...context, at });
}

function tagged(reader: TokenReader): WrittenGeometry {
  const token = reader.take();
  const type = tags[token.text.toUpperCase()];
  if (type === undefined) throw filterProblem(token.at, `"${token.text.slice(0, 40)}" is no geometry`);
  reader.skipWord('Z');
  if (reader.isWord('EMPTY')) throw filterProblem(token.at, 'an empty geometry meets nothing; give it positions');
  const positions = () => list(reader, () => readPosition(reader));
  switch (type) {
    case 'Point': {
      const found = positions();
      if (found.length !== 1) throw filterProblem(token.at, `a POINT has one position, got ${found.length}`);
      return { type, coordinates: found[0] };
    }
    case 'LineString':
      return { type, coordinates: positions() };
    case 'MultiPoint':
      return {
        type,
        coordinates: list(reader, () => {
          if (!reader.isSymbol('(')) return readPosition(reader);
          const { at } = reader.peek();
          const found = positions();
          if (found.length !== 1)
            throw filterProblem(at, `a point of a MULTIPOINT has one position, got ${found.length}`);
          return found[0];
        }),
      };
    case 'Polygon':
    case 'MultiLineString':
      return { type, coordinates: list(reader, positions) };
    case 'MultiPolygon':
      return { type, coordinates: list(reader, () => list(reader, positions)) };
    default:
      return {
        type,
        geometries: list(reader, () => {
          if (!isGeometry(reader)) throw reader.unexpected('a geometry');
          return tagged(reader);
        }),
      };
  }
}

/** Something between brackets, one or several times with commas. */
export function list<T>(reader: TokenReader, read: () => T): T[] {
  reader.expectSymbol('(');
  const items = [read()];
  while (reader.skipSymbol(',')) items.push(read());
  reader.expectSymbol(')');
  return items;
}

function readPosition(reader: TokenReader): number[] {
  const numbers = [readNumber(reader)];
  while (!reader.isSymbol(',') && !reader.isSymbol(')')) numbers.push(readNumber(reader));
  return numbers;
}

function readNumber(reader: TokenReader): number {
  const minus = reader.skipSymbol('-');
  if (!minus) reader.skipSymbol('+');
  if (reader.peek().kind !== 'number') throw reader.unexpected('a number');
  const value = Number(reader.take().text);
  return minus ? -value : value;
}
