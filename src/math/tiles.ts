import { type Box, type Region, regionBox, ringArea } from './rings.js';

/** A box cut into equal tiles. Tile (column, row) has the number row · columns + column; row 0 is the southernmost. */
export interface TileGrid {
  readonly west: number;
  readonly south: number;
  readonly east: number;
  readonly north: number;
  readonly columns: number;
  readonly rows: number;
}

/** below this share of a tile ground is rounding */
export const leastTileShare = 1e-9;

/** Line number k between columns, counted from the west; metres. */
const columnLine = (tiles: TileGrid, k: number): number =>
  k === tiles.columns ? tiles.east : tiles.west + ((tiles.east - tiles.west) * k) / tiles.columns;

/** Line number k between rows, counted from the south; metres. */
const rowLine = (tiles: TileGrid, k: number): number =>
  k === tiles.rows ? tiles.north : tiles.south + ((tiles.north - tiles.south) * k) / tiles.rows;

/** Area of one tile, m². */
export function tileAreaM2(tiles: TileGrid): number {
  return ((tiles.east - tiles.west) / tiles.columns) * ((tiles.north - tiles.south) / tiles.rows);
}

/** Sides of a tile. */
export function tileBox(tiles: TileGrid, tile: number): Box {
  const column = tile % tiles.columns;
  const row = (tile - column) / tiles.columns;
  return [columnLine(tiles, column), rowLine(tiles, row), columnLine(tiles, column + 1), rowLine(tiles, row + 1)];
}

/** A box as a region. */
export function boxRegion([west, south, east, north]: Box): Region {
  return { rings: [Float64Array.of(west, south, east, south, east, north, west, north)] };
}

/**
 * The tile a place lies in. A place on a line between two tiles belongs to the eastern and northern one, on the last
 * line to the last tile; places beyond the box go to the nearest tile.
 */
export function tileAt(tiles: TileGrid, x: number, y: number): number {
  const column = cellOf(x, {
    low: tiles.west,
    high: tiles.east,
    count: tiles.columns,
    line: (k) => columnLine(tiles, k),
  });
  const row = cellOf(y, { low: tiles.south, high: tiles.north, count: tiles.rows, line: (k) => rowLine(tiles, k) });
  return row * tiles.columns + column;
}

function cellOf(
  v: number,
  axis: { readonly low: number; readonly high: number; readonly count: number; line(k: number): number },
): number {
  let k = Math.floor(((v - axis.low) / (axis.high - axis.low)) * axis.count);
  k = Math.min(Math.max(k, 0), axis.count - 1);
  // the division may round across a line
  while (k > 0 && v < axis.line(k)) k--;
  while (k < axis.count - 1 && v >= axis.line(k + 1)) k++;
  return k;
}

/**
 * Area of a region in every tile it reaches, cut exactly: each ring is clipped to a column, then to the rows, and
 * signed areas add up, so that holes and arms need no care. Slivers below a billionth of a tile count as nothing.
 *
 * @param visit  called once for each tile with ground, columns from the west, rows from the south
 * @see Sutherland & Hodgman 1974, doi:10.1145/360767.360802
 */
export function eachTileArea(region: Region, tiles: TileGrid, visit: (tile: number, areaM2: number) => void): void {
  if (region.rings.length === 0) return;
  const [west, south, east, north] = regionBox(region);
  const corner = tileAt(tiles, west, south);
  const opposite = tileAt(tiles, east, north);
  const firstColumn = corner % tiles.columns;
  const lastColumn = opposite % tiles.columns;
  const firstRow = Math.floor(corner / tiles.columns);
  const lastRow = Math.floor(opposite / tiles.columns);
  const least = leastTileShare * tileAreaM2(tiles);
  for (let column = firstColumn; column <= lastColumn; column++) {
    const strips = region.rings
      .map((ring) => between(ring, 0, { low: columnLine(tiles, column), high: columnLine(tiles, column + 1) }))
      .filter((ring) => ring.length >= 6);
    for (let row = firstRow; row <= lastRow; row++) {
      let area = 0;
      for (const strip of strips) {
        area += ringArea(between(strip, 1, { low: rowLine(tiles, row), high: rowLine(tiles, row + 1) }));
      }
      if (area > least) visit(row * tiles.columns + column, area);
    }
  }
}

/** Area of a region in each tile, [rows × columns] m², row 0 the southernmost; 0 where it has none. */
export function tileAreas(region: Region, tiles: TileGrid): Float64Array {
  const areas = new Float64Array(tiles.columns * tiles.rows);
  eachTileArea(region, tiles, (tile, areaM2) => {
    areas[tile] = areaM2;
  });
  return areas;
}

/** The part of a ring between two lines across an axis (0: x, 1: y); runs along the lines are harmless for its area. */
function between(ring: Float64Array, axis: 0 | 1, to: { readonly low: number; readonly high: number }): Float64Array {
  return beyondLine(beyondLine(ring, axis, { limit: to.low, sign: 1 }), axis, { limit: to.high, sign: -1 });
}

function beyondLine(
  ring: Float64Array,
  axis: 0 | 1,
  { limit, sign }: { readonly limit: number; readonly sign: 1 | -1 },
): Float64Array {
  const m = ring.length;
  let isCut = false;
  for (let i = axis; i < m; i += 2) if (sign * (ring[i] - limit) < 0) isCut = true;
  if (!isCut) return ring;
  const out: number[] = [];
  for (let i = 0; i < m; i += 2) {
    const before = i === 0 ? m - 2 : i - 2;
    const depth = sign * (ring[i + axis] - limit);
    const depthBefore = sign * (ring[before + axis] - limit);
    if (depth >= 0 !== depthBefore >= 0) {
      const share = depthBefore / (depthBefore - depth);
      const other = 1 - axis;
      const at = ring[before + other] + share * (ring[i + other] - ring[before + other]);
      if (axis === 0) out.push(limit, at);
      else out.push(at, limit);
    }
    if (depth >= 0) out.push(ring[i], ring[i + 1]);
  }
  return Float64Array.from(out);
}
