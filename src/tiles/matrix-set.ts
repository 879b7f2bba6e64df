import type { Box } from '../math/rings.js';
import { Problem } from '../problems.js';

/** Units along one side of a tile; coordinates inside a tile are whole numbers of these. */
export const tileExtent = 4096;

/** Units around a tile that are drawn as well, so that symbols and outlines are not cut at its edge. */
export const tileBuffer = 64;

/** One tile: level, column from the west, row from the north. */
export interface TileAddress {
  readonly z: number;
  readonly x: number;
  readonly y: number;
}

/**
 * A pyramid of square tiles over one square of a map (OGC Two Dimensional Tile Matrix Set 2.0, powers of two).
 * Inside the program every place is a pair (u, v) in the unit square: u from 0 in the west to 1 in the east,
 * v from 0 in the north to 1 in the south; places outside the square have no tile.
 */
export interface MatrixSet {
  readonly id: string;
  readonly title: string;
  /** URI of the registered definition; null when the set is our own */
  readonly uri: string | null;
  /** URI of the coordinate reference system of the tiles */
  readonly crs: string;
  readonly maxZoom: number;
  /** what `project` takes: degrees east and north, or metres east and north */
  readonly takes: 'lon-lat' | 'easting-northing';
  /** level-0 tile: its north-west corner, and its side, metres of `crs` */
  readonly corner: readonly [number, number];
  readonly sideM: number;
  project(east: number, north: number): [number, number];
  unproject(u: number, v: number): [number, number];
}

const mercatorHalfM = Math.PI * 6378137;

/** Degrees → place in the unit square of Web Mercator; latitudes beyond ±85.0511° lie outside it. */
export function lonLatToUnit(lon: number, lat: number): [number, number] {
  return [lon / 360 + 0.5, 0.5 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / (2 * Math.PI)];
}

/** Place in the unit square of Web Mercator → degrees. */
export function unitToLonLat(u: number, v: number): [number, number] {
  return [(u - 0.5) * 360, (Math.atan(Math.sinh((0.5 - v) * 2 * Math.PI)) * 180) / Math.PI];
}

/** The tiles every web map and GIS desktop reads, levels 0 to 24. */
export const webMercatorQuad: MatrixSet = {
  id: 'WebMercatorQuad',
  title: 'Google Maps Compatible for the World',
  uri: 'http://www.opengis.net/def/tilematrixset/OGC/1.0/WebMercatorQuad',
  crs: 'http://www.opengis.net/def/crs/EPSG/0/3857',
  maxZoom: 24,
  takes: 'lon-lat',
  corner: [-mercatorHalfM, mercatorHalfM],
  sideM: 2 * mercatorHalfM,
  project: lonLatToUnit,
  unproject: unitToLonLat,
};

/**
 * The site's own tiles, whose edges lie on its metre grid: one square of 2^k metres in the projected CRS.
 * @param corner  north-west corner, easting and northing, metres
 * @param sideM   side of the level-0 tile, metres; a power of two keeps every tile edge on whole fractions of a metre
 */
export function metricMatrixSet(given: {
  readonly id: string;
  readonly title: string;
  readonly crs: string;
  readonly corner: readonly [number, number];
  readonly sideM: number;
  readonly maxZoom: number;
}): MatrixSet {
  const [west, north] = given.corner;
  return {
    ...given,
    uri: null,
    takes: 'easting-northing',
    project: (easting, northing) => [(easting - west) / given.sideM, (north - northing) / given.sideM],
    unproject: (u, v) => [west + u * given.sideM, north - v * given.sideM],
  };
}

/**
 * Places of a table in the unit square.
 * @param coordinates  [2n] as `set.takes` says; NaN = no place; left untouched
 * @returns            [2n] u, v; NaN stays NaN
 */
export function unitCoordinates(set: MatrixSet, coordinates: Float64Array): Float64Array {
  const out = new Float64Array(coordinates.length);
  for (let i = 0; i < coordinates.length; i += 2) {
    const [u, v] = set.project(coordinates[i], coordinates[i + 1]);
    out[i] = u;
    out[i + 1] = v;
  }
  return out;
}

/** One level of a tile matrix set as the standard writes it. */
interface TileMatrix {
  readonly id: string;
  readonly scaleDenominator: number;
  readonly cellSize: number;
  readonly pointOfOrigin: readonly [number, number];
  readonly cornerOfOrigin: 'topLeft';
  readonly tileWidth: 256;
  readonly tileHeight: 256;
  readonly matrixWidth: number;
  readonly matrixHeight: number;
}

/** 15 significant digits, as the registry prints its numbers. */
const registryDigits = (value: number): number => Number(value.toPrecision(15));

/** The set as an OGC Tile Matrix Set 2.0 document. @param uri where our own set is published; ignored for a registered one */
export function matrixSetDocument(set: MatrixSet, uri: string | null = null) {
  const origin = [registryDigits(set.corner[0]), registryDigits(set.corner[1])] as const;
  const tileMatrices: TileMatrix[] = [];
  for (let z = 0; z <= set.maxZoom; z++) {
    const cellSize = set.sideM / 256 / 2 ** z;
    tileMatrices.push({
      id: String(z),
      // the standard's pixel of 0.28 mm
      scaleDenominator: registryDigits(cellSize / 0.00028),
      cellSize: registryDigits(cellSize),
      pointOfOrigin: origin,
      cornerOfOrigin: 'topLeft',
      tileWidth: 256,
      tileHeight: 256,
      matrixWidth: 2 ** z,
      matrixHeight: 2 ** z,
    });
  }
  const published = set.uri ?? uri;
  return {
    id: set.id,
    title: set.title,
    ...(published === null ? {} : { uri: published }),
    crs: set.crs,
    orderedAxes: set.takes === 'lon-lat' ? ['X', 'Y'] : ['E', 'N'],
    ...(set.id === 'WebMercatorQuad'
      ? { wellKnownScaleSet: 'http://www.opengis.net/def/wkss/OGC/1.0/GoogleMapsCompatible' }
      : {}),
    tileMatrices,
  };
}

/** The tiles of one level that can hold something, both ends included. */
export interface TileLimits {
  readonly tileMatrix: string;
  readonly minTileRow: number;
  readonly maxTileRow: number;
  readonly minTileCol: number;
  readonly maxTileCol: number;
}

/**
 * Which tiles of each level a box touches, the drawn strip around each tile included.
 * @param box  west, south, east, north, as `set.takes` says
 * @returns    one entry for each level; none when the box lies outside the set or is not a box
 */
export function tileLimits(set: MatrixSet, box: Box): TileLimits[] {
  const [west, north] = set.project(box[0], box[3]);
  const [east, south] = set.project(box[2], box[1]);
  if (!(west <= east && north <= south && east >= 0 && west < 1 && south >= 0 && north < 1)) return [];
  const strip = tileBuffer / tileExtent;
  const limits: TileLimits[] = [];
  for (let z = 0; z <= set.maxZoom; z++) {
    const side = 2 ** z;
    const within = (tile: number) => Math.min(side - 1, Math.max(0, tile));
    limits.push({
      tileMatrix: String(z),
      minTileRow: within(Math.floor(north * side - strip)),
      maxTileRow: within(Math.floor(south * side + strip)),
      minTileCol: within(Math.floor(west * side - strip)),
      maxTileCol: within(Math.floor(east * side + strip)),
    });
  }
  return limits;
}

/** Box of a tile, without the drawn strip, as `set.takes` says → west, south, east, north. */
export function tileBox(set: MatrixSet, { z, x, y }: TileAddress): Box {
  const side = 2 ** z;
  const [west, north] = set.unproject(x / side, y / side);
  const [east, south] = set.unproject((x + 1) / side, (y + 1) / side);
  return [west, south, east, north];
}

/**
 * Reads a tile's address as it stands in a request.
 * @throws Problem no-such-tile when the level, row or column does not exist
 */
export function readTileAddress(
  set: MatrixSet,
  given: { readonly tileMatrix: string; readonly tileRow: string; readonly tileCol: string },
): TileAddress {
  const z = wholeNumber(given.tileMatrix);
  if (z === null || z > set.maxZoom) {
    throw new Problem(
      'no-such-tile',
      `tile matrix "${given.tileMatrix}" does not exist in ${set.id}: ask for 0 to ${set.maxZoom}`,
      { tile_matrix: given.tileMatrix },
    );
  }
  const last = 2 ** z - 1;
  const index = (name: 'row' | 'column', text: string): number => {
    const value = wholeNumber(text);
    if (value === null || value > last) {
      throw new Problem(
        'no-such-tile',
        `${name} "${text}" does not exist at tile matrix ${z} of ${set.id}: ask for 0 to ${last}`,
        { tile_matrix: z, [name]: text },
      );
    }
    return value;
  };
  return { z, y: index('row', given.tileRow), x: index('column', given.tileCol) };
}

/** Only the plain form counts: "07", "+7", "7.0" name no tile, so that one tile has one address. */
function wholeNumber(text: string): number | null {
  return /^(0|[1-9]\d{0,8})$/.test(text) ? Number(text) : null;
}
