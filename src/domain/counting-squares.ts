import { type DugGround, dugGround } from '../math/dug-ground.js';
import { intersection } from '../math/overlay.js';
import { type Box, type Region, ringArea, shiftRegion } from '../math/rings.js';
import { boxRegion, eachTileArea, type TileGrid, tileAreaM2, tileAreas, tileAt, tileBox } from '../math/tiles.js';
import { Problem } from '../problems.js';
import { shapes } from './columns.js';
import type { Geometry } from './feature-table.js';
import { parseLabel, squareAt, squareLabel } from './grid.js';
import type { AreaPosition, Sample } from './sample.js';
import type { GridRecord } from './site.js';

/** Squares, or blocks of squares, that finds are counted by. */
export interface CountingSquares {
  readonly tiles: TileGrid;
  /** sides of a tile, metres */
  readonly widthM: number;
  readonly heightM: number;
  /** the site grid's squares are counted by what the register states; null: tiles of a plain window */
  readonly grid: GridRecord | null;
  /** what a tile is called: "E4", "E4–F5" for a block, "3,5" (column, row from the south-west) off a grid */
  label(tile: number): string;
  /** the tile a named square belongs to; −1 when there is none */
  tileOfSquare(label: string): number;
  /** the tile a place belongs to by the boundary rule; −1 outside all */
  tileOf(x: number, y: number): number;
}

/** tiles a run may count by */
const mostTiles = 250_000;

/**
 * Squares of the site grid, or blocks of them, as far as a box reaches; blocks start at the grid's first square, so
 * that equal blocks of two seasons are the same ground.
 * @param blockM  side of a block, a whole multiple of the node spacing
 * @throws Problem bad-parameter when it is no whole multiple, too-much-work when there are too many
 */
export function gridSquares(grid: GridRecord, box: Box, blockM: number): CountingSquares {
  const step = grid.node_spacing;
  const squares = Math.round(blockM / step);
  if (squares < 1 || Math.abs(blockM / step - squares) > 1e-9) {
    throw new Problem(
      'bad-parameter',
      `block_m ${blockM} is no whole multiple of the ${step} m squares of grid ${grid.id}; use ${step}, ${2 * step} or ${4 * step}`,
      { block_m: blockM },
    );
  }
  const side = squares * step;
  const slack = 1e-9 * Math.max(1, Math.abs(box[2]), Math.abs(box[3]));
  const firstColumn = Math.floor((box[0] + slack) / side);
  const firstRow = Math.floor((box[1] + slack) / side);
  const columns = Math.max(1, Math.ceil((box[2] - slack) / side) - firstColumn);
  const rows = Math.max(1, Math.ceil((box[3] - slack) / side) - firstRow);
  refuseTooMany(columns, rows);
  const tiles: TileGrid = {
    west: firstColumn * side,
    south: firstRow * side,
    east: (firstColumn + columns) * side,
    north: (firstRow + rows) * side,
    columns,
    rows,
  };
  // a label's corner decides which square it names
  const labelColumns = grid.corner.endsWith('east') ? 1 : 0;
  const labelRows = grid.corner.startsWith('north') ? 1 : 0;
  const tileOfSquare = (label: string): number => {
    const found = parseLabel(grid, label);
    if (!found) return -1;
    const column = Math.floor((found.column - labelColumns) / squares) - firstColumn;
    const row = Math.floor((found.row - labelRows) / squares) - firstRow;
    return column < 0 || row < 0 || column >= columns || row >= rows ? -1 : row * columns + column;
  };
  const nameOf = (column: number, row: number) =>
    column < 0 || row < 0 || column >= grid.columns || row >= grid.rows
      ? `beyond the grid (${column}, ${row})`
      : squareLabel(grid, column + labelColumns, row + labelRows);
  return {
    tiles,
    widthM: side,
    heightM: side,
    grid,
    label(tile) {
      const column = ((tile % columns) + firstColumn) * squares;
      const row = (Math.floor(tile / columns) + firstRow) * squares;
      const last = [Math.min(column + squares, grid.columns) - 1, Math.min(row + squares, grid.rows) - 1];
      const isOne = squares === 1 || last[0] < column || last[1] < row;
      return isOne ? nameOf(column, row) : `${nameOf(column, row)}–${nameOf(last[0], last[1])}`;
    },
    tileOfSquare,
    tileOf(x, y) {
      const label = squareAt(grid, x, y);
      if (label !== null) return tileOfSquare(label);
      return x < tiles.west || x > tiles.east || y < tiles.south || y > tiles.north ? -1 : tileAt(tiles, x, y);
    },
  };
}

/** A plain window's bounding box cut into columns and rows of equal tiles. @throws Problem too-much-work */
export function boxSquares(box: Box, columns: number, rows: number): CountingSquares {
  refuseTooMany(columns, rows);
  const [west, south, east, north] = box;
  return plainTiles({ west, south, east, north, columns, rows });
}

/** Squares of one side over a plain window, from its lower-left corner. @throws Problem too-much-work */
export function evenSquares([west, south, east, north]: Box, sideM: number): CountingSquares {
  const along = (length: number) => Math.max(1, Math.ceil(length / sideM - 1e-9));
  const columns = along(east - west);
  const rows = along(north - south);
  refuseTooMany(columns, rows);
  return plainTiles({ west, south, east: west + columns * sideM, north: south + rows * sideM, columns, rows });
}

function plainTiles(tiles: TileGrid): CountingSquares {
  const { columns, rows } = tiles;
  return {
    tiles,
    widthM: (tiles.east - tiles.west) / columns,
    heightM: (tiles.north - tiles.south) / rows,
    grid: null,
    label: (tile) => `${(tile % columns) + 1},${Math.floor(tile / columns) + 1}`,
    tileOfSquare: () => -1,
    tileOf: (x, y) => tileAt(tiles, x, y),
  };
}

function refuseTooMany(columns: number, rows: number): void {
  if (columns * rows <= mostTiles) return;
  throw new Problem(
    'too-much-work',
    `${columns} columns by ${rows} rows are ${columns * rows} tiles; at most ${mostTiles} can be counted: choose larger ones`,
    { columns, rows },
  );
}

/** The ground dug of every tile: all seasons of the sample together, or one of them. */
export function groundBySquare(sample: Sample, squares: CountingSquares, season?: string): DugGround {
  const polygons = sample.dug
    // ground without a season is every season's
    .filter((area) => season === undefined || area.season === season || area.season === '')
    .map(({ region, dugFraction }) => ({ region, share: dugFraction }));
  if (season === undefined && polygons.every(({ share }) => share === 1)) {
    const areaM2 = tileAreas(sample.window, squares.tiles);
    return { areaM2, exposureM2: areaM2 };
  }
  return dugGround(polygons, sample.window, squares.tiles);
}

/** Which tile each find counts in. */
export interface FindsBySquare {
  /** [n] tile of each position; −1 = in none */
  readonly tile: Int32Array;
  /** [areas] tile of each find known by an area; −1 = in none */
  readonly areaTile: Int32Array;
  /** finds known by an area that reaches into several tiles and states no square: they count where most of it lies */
  readonly straddling: readonly {
    readonly area: number;
    readonly tiles: readonly number[];
    readonly shares: readonly number[];
  }[];
  /** finds whose stated square holds no dug ground, counted where they lie */
  readonly moved: number;
  /** finds in no tile with dug ground */
  readonly lost: number;
}

/**
 * Counts finds as the register does: by the square stated, then by the place and the grid's boundary rule, so that
 * quadrats, tables and map agree. A find on the outer edge of the dug area belongs to the dug tile it touches.
 *
 * @param areaM2  [tiles] ground of each tile, as from groundBySquare
 */
export function findsBySquare(sample: Sample, squares: CountingSquares, areaM2: Float64Array): FindsBySquare {
  const n = sample.xy.length / 2;
  const tile = new Int32Array(n).fill(-1);
  let moved = 0;
  let lost = 0;
  for (let i = 0; i < n; i++) {
    const x = sample.xy[2 * i];
    const y = sample.xy[2 * i + 1];
    if (squares.grid === null) {
      tile[i] = squares.tileOf(x, y);
      continue;
    }
    const stated = sample.detail.square[i];
    const named = stated === null ? -1 : squares.tileOfSquare(stated);
    if (named >= 0 && areaM2[named] > 0) {
      tile[i] = named;
      continue;
    }
    tile[i] = dugTileAt(squares, areaM2, x, y);
    if (tile[i] < 0) lost++;
    else if (stated !== null && tile[i] !== named) moved++;
  }
  const straddling: FindsBySquare['straddling'][number][] = [];
  const areaTile = Int32Array.from(sample.areas, (area, k) => {
    const found = tileOfArea(area, squares, areaM2);
    if (found.tiles.length > 1) straddling.push({ area: k, tiles: found.tiles, shares: found.shares });
    if (found.tile < 0) lost++;
    return found.tile;
  });
  return { tile, areaTile, straddling, moved, lost };
}

/** The tile a place belongs to by the rule, else the first tile with ground that touches it; −1 = none. */
export function dugTileAt(squares: CountingSquares, areaM2: Float64Array, x: number, y: number): number {
  const byRule = squares.tileOf(x, y);
  if (byRule >= 0 && areaM2[byRule] > 0) return byRule;
  const { tiles } = squares;
  const slack = 1e-6 * squares.widthM;
  for (const dy of [-slack, slack]) {
    for (const dx of [-slack, slack]) {
      const tile = tileAt(tiles, x + dx, y + dy);
      const [west, south, east, north] = tileBox(tiles, tile);
      const touches = x >= west - slack && x <= east + slack && y >= south - slack && y <= north + slack;
      if (touches && areaM2[tile] > 0) return tile;
    }
  }
  return -1;
}

function tileOfArea(area: AreaPosition, squares: CountingSquares, areaM2: Float64Array) {
  const named = area.square == null ? -1 : squares.tileOfSquare(area.square);
  if (named >= 0 && areaM2[named] > 0) return { tile: named, tiles: [named], shares: [1] };
  const tiles: number[] = [];
  const shares: number[] = [];
  let most = -1;
  eachTileArea(area.region, squares.tiles, (tile, inside) => {
    if (!(areaM2[tile] > 0)) return;
    tiles.push(tile);
    shares.push(inside);
    if (most < 0 || inside > shares[most] * (1 + 1e-9)) most = tiles.length - 1;
  });
  if (most < 0) return { tile: -1, tiles, shares };
  // a rounding sliver beyond a line does not make a square two
  const isWhole = shares[most] >= (1 - 1e-6) * area.areaM2;
  return isWhole ? { tile: tiles[most], tiles: [tiles[most]], shares: [1] } : { tile: tiles[most], tiles, shares };
}

/** Area of one whole tile, m². */
export function squareAreaM2(squares: CountingSquares): number {
  return tileAreaM2(squares.tiles);
}

/**
 * The dug part of some tiles as areas of a layer.
 * @param window  in the same metres as the tiles
 * @param areaM2  [tiles] ground of each tile inside the window
 * @param origin  added to every corner: where the tiles were counted from
 */
export function squareShapes(
  squares: CountingSquares,
  chosen: readonly number[],
  of: { readonly window: Region; readonly areaM2: Float64Array; readonly origin: readonly [number, number] },
): Geometry {
  const whole = squareAreaM2(squares);
  return shapes(
    'area',
    chosen.map((tile) => {
      const box = boxRegion(tileBox(squares.tiles, tile));
      const part = of.areaM2[tile] >= (1 - 1e-9) * whole ? box : intersection(box, of.window);
      return shiftRegion(part, -of.origin[0], -of.origin[1]).rings.map((ring) =>
        ringArea(ring) > 0 ? { ring } : { ring, hole: true as const },
      );
    }),
  );
}
