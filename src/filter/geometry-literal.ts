import { orientRings } from '../math/rings.js';
import type { FilterBuilder } from './builder.js';
import { type PlaneShape, planeShape } from './plane-shape.js';
import { filterProblem, quoted } from './refusal.js';
import { checkRings } from './ring-check.js';

/** How positions in a filter are meant: the axis order of its CRS, and what its numbers count. */
export interface LiteralPlane {
  readonly axes: 'east-north' | 'north-east';
  readonly unit: 'degree' | 'metre';
}

/** A geometry as GeoJSON writes it; what is inside is not yet checked. */
export interface WrittenGeometry {
  readonly type: string;
  readonly coordinates?: unknown;
  readonly geometries?: unknown;
}

/** What a geometry literal is read with. */
export interface LiteralContext {
  readonly plane: LiteralPlane;
  readonly builder: FilterBuilder;
  readonly at: string;
}

type Position = readonly [number, number];

/** farther than any projected coordinate on Earth, and small enough to be reckoned with */
const farthestM = 1e9;

/**
 * The shapes of a geometry literal, east before north. Heights are read and left: published positions are plan
 * positions.
 * @throws Problem bad-filter naming what of the geometry cannot be used
 */
export function shapesOf(geometry: WrittenGeometry, context: LiteralContext): PlaneShape[] {
  const { at } = context;
  const lists = (value: unknown, what: string): unknown[] => {
    if (!Array.isArray(value) || value.length === 0)
      throw filterProblem(at, `${geometry.type} needs ${what}; an empty geometry meets nothing`);
    return value;
  };
  const line = (value: unknown): Position[] => {
    const positions = lists(value, 'positions').map((p) => position(p, context));
    if (positions.length < 2) throw filterProblem(at, `a line needs at least 2 positions, got ${positions.length}`);
    return positions;
  };
  const polygon = (value: unknown): Position[][] => lists(value, 'rings').map((ring) => closedRing(ring, context));
  switch (geometry.type) {
    case 'Point':
      return [planeShape(0, [flat([position(geometry.coordinates, context)])])];
    case 'MultiPoint':
      return [planeShape(0, [flat(lists(geometry.coordinates, 'positions').map((p) => position(p, context)))])];
    case 'LineString':
      return [planeShape(1, [flat(line(geometry.coordinates))])];
    case 'MultiLineString':
      return [
        planeShape(
          1,
          lists(geometry.coordinates, 'lines').map((part) => flat(line(part))),
        ),
      ];
    case 'Polygon':
      return [areaShape([polygon(geometry.coordinates)], at)];
    case 'MultiPolygon':
      return [areaShape(lists(geometry.coordinates, 'polygons').map(polygon), at)];
    case 'GeometryCollection':
      return lists(geometry.geometries, 'geometries').flatMap((member) => {
        if (member === null || typeof member !== 'object' || typeof (member as WrittenGeometry).type !== 'string')
          throw filterProblem(at, 'a GeometryCollection holds geometries, each with a type');
        if ((member as WrittenGeometry).type === geometry.type)
          throw filterProblem(at, 'a GeometryCollection inside another is not read; list its members');
        return shapesOf(member as WrittenGeometry, context);
      });
    default:
      throw filterProblem(
        at,
        `${quoted(geometry.type)} is no geometry; write Point, LineString, Polygon, their Multi forms or GeometryCollection`,
      );
  }
}

/**
 * A box as a shape: lower and upper corner, 4 or 6 numbers in the axis order of the CRS. A western side east of the
 * eastern one crosses the antimeridian.
 * @throws Problem bad-filter
 */
export function boxShapes(numbers: readonly number[], context: LiteralContext): PlaneShape[] {
  const { at, plane } = context;
  if (numbers.length !== 4 && numbers.length !== 6)
    throw filterProblem(at, `BBOX takes 4 numbers (6 with heights), got ${numbers.length}`);
  const half = numbers.length / 2;
  const [west, south] = position(numbers.slice(0, 2), context);
  const [east, north] = position(numbers.slice(half, half + 2), context);
  if (south > north)
    throw filterProblem(
      at,
      `the south ${south} of BBOX lies north of its north ${north}; see the axis order of the CRS`,
    );
  if (west > east && plane.unit !== 'degree')
    throw filterProblem(at, `the west ${west} of BBOX lies east of its east ${east}`);
  if (west > east) {
    const polygons = [rectangle(west, south, 180, north), rectangle(-180, south, east, north)];
    return [areaShape(polygons, at)];
  }
  if (west === east && south === north) return [planeShape(0, [Float64Array.of(west, south)])];
  if (west === east || south === north) return [planeShape(1, [Float64Array.of(west, south, east, north)])];
  return [areaShape([rectangle(west, south, east, north)], at)];
}

function rectangle(west: number, south: number, east: number, north: number): Position[][] {
  return [
    [
      [west, south],
      [east, south],
      [east, north],
      [west, north],
    ],
  ];
}

function position(value: unknown, { plane, builder, at }: LiteralContext): Position {
  builder.count(1, at);
  const list = Array.isArray(value) ? value : [];
  if ((list.length !== 2 && list.length !== 3) || !list.every((v) => typeof v === 'number' && Number.isFinite(v)))
    throw filterProblem(at, 'a position is 2 numbers, or 3 with a height');
  const [x, y] = plane.axes === 'north-east' ? [list[1], list[0]] : [list[0], list[1]];
  if (plane.unit === 'degree' && (Math.abs(x) > 180 || Math.abs(y) > 90)) {
    throw filterProblem(
      at,
      `longitude ${x}, latitude ${y} lies outside −180 to 180, −90 to 90; ${plane.axes === 'north-east' ? 'this filter-crs writes latitude first' : 'longitude comes first'}`,
    );
  }
  if (Math.abs(x) > farthestM || Math.abs(y) > farthestM)
    throw filterProblem(at, `position ${x}, ${y} lies beyond every map`);
  return [x, y];
}

function closedRing(value: unknown, context: LiteralContext): Position[] {
  const { at } = context;
  if (!Array.isArray(value)) throw filterProblem(at, 'a polygon is a list of rings, each a list of positions');
  const positions = value.map((p) => position(p, context));
  const [first, last] = [positions[0], positions[positions.length - 1]];
  if (positions.length < 4 || first[0] !== last[0] || first[1] !== last[1]) {
    throw filterProblem(
      at,
      `a ring needs at least 4 positions, the last equal to the first; got ${positions.length}${positions.length >= 4 ? ', not closed' : ''}`,
    );
  }
  return positions.slice(0, -1);
}

function flat(positions: readonly Position[]): Float64Array {
  return Float64Array.from(positions.flat());
}

function areaShape(polygons: readonly (readonly (readonly Position[])[])[], at: string): PlaneShape {
  const { rings } = orientRings(polygons.map((rings) => rings.map(flat)));
  const complaint = checkRings(
    polygons.map((polygon) => polygon.length),
    rings,
  );
  if (complaint !== null) throw filterProblem(at, complaint);
  return planeShape(2, rings);
}
