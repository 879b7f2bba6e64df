import type { Feature } from 'geojson';
import GeoJSONVT from 'geojson-vt';
import vtpbf from 'vt-pbf';
import type { FeatureTable, Geometry } from '../domain/feature-table.js';
import { type Corner, cleanLine, cleanPolygon, cleanProperties } from './clean.js';
import { type TileAddress, tileBuffer, tileExtent, unitToLonLat } from './matrix-set.js';
import type { RowFilter, TileSource } from './point-tiles.js';

type ShapeGeometry = Extract<Geometry, { type: 'line' | 'area' }>;

export interface ShapeTileOptions {
  readonly layer: string;
  /** lines or areas */
  readonly table: FeatureTable;
  /** [2k] corners in the unit square of the matrix set, parallel to geometry.coordinates; left untouched */
  readonly unit: Float64Array;
  /** columns to write, in this order */
  readonly properties: readonly string[];
}

/** The cutter keeps every tile it ever cut: beyond this many it is made anew. */
const keptTiles = 20_000;

/** From this level on each shape is cut in a small square around it, below in the whole map. */
const fineFrom = 16;

/** Side of the square a group of shapes is cut in, tiles of its level. */
const squareSide = 4;

/**
 * A square of 4 × 4 tiles of one level, cut as if it were the whole world: the cutter reckons areas from the corner of
 * its world, and in the real one the outline of a grid square is lost in the last digits (a ring whose area comes out
 * with the wrong sign is dropped).
 */
interface Group {
  readonly level: number;
  /** column and row of its north-west tile */
  readonly x: number;
  readonly y: number;
  readonly rows: number[];
  cutter: GeoJSONVT | null;
}

/**
 * Vector tiles of hull timbers, excavated areas, contours and other lines and areas. Corners are never thinned out; a
 * coordinate is rounded to the nearest unit (±1 unit, 0.4 mm at level 24, latitude 45°). A line or area that is
 * smaller than the unit of a level is not drawn there, so a zoomed-out tile can be empty where there is something.
 *
 * The index is built when the first tile is asked for, and kept.
 * @see Mapbox Vector Tile Specification 2.1
 */
export function shapeTiles(options: ShapeTileOptions): TileSource {
  const { layer, table, unit, properties } = options;
  const geometry = table.geometry;
  if (geometry === null || geometry.type === 'point') throw new Error(`table ${table.name} has no lines or areas`);
  if (unit.length !== geometry.coordinates.length) throw new Error(`${unit.length} values for ${table.name}`);
  let groups: readonly Group[] | null = null;
  const tags = new Map<number, ReturnType<typeof cleanProperties>>();
  const tagsOf = (row: number) => {
    let known = tags.get(row);
    if (known === undefined) {
      known = cleanProperties(table, row, properties);
      tags.set(row, known);
    }
    return known;
  };
  return {
    layer,
    tile(address, filter = null) {
      groups ??= makeGroups(geometry, unit, table.length);
      const features: TileFeature[] = [];
      for (const group of groups) {
        if ((group.level === 0) !== address.z < fineFrom) continue;
        for (const [row, parts] of cutTile(group, address, geometry, unit)) {
          if (!passes(filter, row)) continue;
          const kept = geometry.type === 'line' ? cleanLines(parts) : parts.flatMap(cleanPolygon);
          if (kept.length === 0) continue;
          features.push({
            id: table.ids[row],
            type: geometry.type === 'line' ? 2 : 3,
            geometry: kept,
            tags: tagsOf(row),
          });
        }
      }
      if (features.length === 0) return new Uint8Array(0);
      // in the order of the records, whatever square they were cut in
      features.sort((a, b) => a.id - b.id);
      return writeLayer(layer, features);
    },
  };
}

interface TileFeature {
  readonly id: number;
  readonly type: 2 | 3;
  readonly geometry: Corner[][];
  readonly tags: Record<string, string | number | boolean>;
}

// the published types of the writer describe an older cutter
const write = vtpbf.fromGeojsonVt as unknown as (
  layers: Record<string, { features: TileFeature[] }>,
  options: { version: number; extent: number },
) => Uint8Array;

function writeLayer(layer: string, features: TileFeature[]): Uint8Array {
  return write({ [layer]: { features } }, { version: 2, extent: tileExtent });
}

function passes(filter: RowFilter, row: number): boolean {
  return filter === null || (typeof filter === 'function' ? filter(row) : filter[row] !== 0);
}

function cleanLines(parts: readonly (readonly Corner[][])[]): Corner[][] {
  const out: Corner[][] = [];
  for (const part of parts) {
    for (const line of part) {
      const kept = cleanLine(line);
      if (kept !== null) out.push(kept);
    }
  }
  return out;
}

/** The whole map for the levels below 16, and for the levels above the squares that hold each shape. */
function makeGroups(geometry: ShapeGeometry, unit: Float64Array, length: number): Group[] {
  // tile −1 to 2 of level 0: the map stands in the middle, so nothing is taken for crossing the date line
  const whole: Group = { level: 0, x: -1, y: -1, rows: [], cutter: null };
  const fine = new Map<string, Group>();
  for (let row = 0; row < length; row++) {
    const first = geometry.partStart[geometry.featureStart[row]];
    const last = geometry.partStart[geometry.featureStart[row + 1]];
    if (geometry.featureStart[row] === geometry.featureStart[row + 1] || first === last) continue;
    let west = Infinity;
    let north = Infinity;
    let east = -Infinity;
    let south = -Infinity;
    for (let k = 2 * first; k < 2 * last; k += 2) {
      west = Math.min(west, unit[k]);
      east = Math.max(east, unit[k]);
      north = Math.min(north, unit[k + 1]);
      south = Math.max(south, unit[k + 1]);
    }
    // unknown places spoil a box, and the cutter cannot take them
    if (!(east - west < 2 && south - north < 2)) continue;
    whole.rows.push(row);
    const size = Math.max(east - west, south - north);
    const level = Math.max(2, Math.min(fineFrom, size > 0 ? Math.floor(-Math.log2(size)) : fineFrom));
    // one tile to spare on each side; at level 2 the square is the whole map and has nothing to spare
    const x = level === 2 ? 0 : Math.floor(west * 2 ** level) - 1;
    const y = level === 2 ? 0 : Math.floor(north * 2 ** level) - 1;
    const key = `${level}/${x}/${y}`;
    let group = fine.get(key);
    if (group === undefined) {
      group = { level, x, y, rows: [], cutter: null };
      fine.set(key, group);
    }
    group.rows.push(row);
  }
  return [whole, ...fine.values()];
}

/** The parts of each row inside one tile and the strip around it, rounded to units, not yet cleaned. */
function cutTile(
  group: Group,
  { z, x, y }: TileAddress,
  geometry: ShapeGeometry,
  unit: Float64Array,
): Map<number, Corner[][][]> {
  const parts = new Map<number, Corner[][][]>();
  const scale = 2 ** (z - group.level);
  const column = x - group.x * scale;
  const line = y - group.y * scale;
  const side = squareSide * scale;
  if (group.rows.length === 0 || column < 0 || line < 0 || column >= side || line >= side) return parts;
  if (group.cutter === null || group.cutter.tileCoords.length > keptTiles) {
    group.cutter = makeCutter(group, geometry, unit);
  }
  const tile = group.cutter.getTile(z - group.level + Math.log2(squareSide), column, line);
  for (const feature of tile?.features ?? []) {
    if (feature.type === 1) continue;
    const row = feature.id as number;
    const known = parts.get(row);
    if (known === undefined) parts.set(row, [feature.geometry]);
    else known.push(feature.geometry);
  }
  return parts;
}

function makeCutter(group: Group, geometry: ShapeGeometry, unit: Float64Array): GeoJSONVT {
  const features: Feature[] = [];
  const scale = 2 ** group.level;
  // exact up to here: powers of two and differences of near numbers
  const place = (k: number): Corner =>
    unitToLonLat((unit[2 * k] * scale - group.x) / squareSide, (unit[2 * k + 1] * scale - group.y) / squareSide);
  for (const row of group.rows) {
    const lines: Corner[][] = [];
    let polygon: Corner[][] = [];
    for (let part = geometry.featureStart[row]; part < geometry.featureStart[row + 1]; part++) {
      const corners: Corner[] = [];
      for (let k = geometry.partStart[part]; k < geometry.partStart[part + 1]; k++) corners.push(place(k));
      if (corners.length === 0) continue;
      if (geometry.type === 'line') {
        lines.push(corners);
        continue;
      }
      corners.push([...corners[0]]);
      if (geometry.hole[part] === 1) polygon.push(corners);
      else {
        // each outer ring with its holes goes in alone, so that what comes out starts with the outer ring
        polygon = [corners];
        features.push(feature(row, { type: 'Polygon', coordinates: polygon }));
      }
    }
    if (lines.length > 0) features.push(feature(row, { type: 'MultiLineString', coordinates: lines }));
  }
  const deepest = group.level === 0 ? fineFrom + 3 : 24 - group.level + Math.log2(squareSide);
  return new GeoJSONVT(
    { type: 'FeatureCollection', features },
    { maxZoom: deepest, indexMaxZoom: 4, tolerance: 0, extent: tileExtent, buffer: tileBuffer },
  );
}

function feature(row: number, geometry: Feature['geometry']): Feature {
  return { type: 'Feature', id: row, geometry, properties: null };
}
