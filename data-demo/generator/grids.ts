/**
 * The two grids. g1 holds for the whole site; g2 was re-laid before the third season, a hand's breadth off:
 * p(g1) = R(0.18° anticlockwise) · p(g2) + (0.12, −0.07) m, about the origin.
 */
export const gridOrigin = { easting: 412037.4, northing: 4984118.25, azimuthDeg: 27.35, scale: 0.999695 } as const;
export const gridSize = { columns: 34, rows: 20 } as const;
export const relaid = { shiftX: 0.12, shiftY: -0.07, rotationDeg: 0.18 } as const;

export type GridId = 'g1' | 'g2';
export type Point = readonly [number, number];

const skipped = 'IO';
const letters = [...'ABCDEFGHIJKLMNOPQRSTUVWXYZ'].filter((letter) => !skipped.includes(letter));

/** Letters of the lettered columns left out, as site.json declares them. */
export const skippedLetters = skipped;

/** Letters of a column: A, B … Z without I and O, then AA, AB … ; column counts from 0. */
export function columnLetters(column: number): string {
  let rest = column;
  let text = '';
  do {
    text = letters[rest % letters.length] + text;
    rest = Math.floor(rest / letters.length) - 1;
  } while (rest >= 0);
  return text;
}

/** Label of a square, or of the node at its south-west corner; column and row count from 0. */
export function squareLabel(column: number, row: number): string {
  return `${columnLetters(column)}${row + 1}`;
}

/** The square a position belongs to; on a line it belongs to the lower column and the lower row. */
export function squareOf(x: number, y: number): readonly [number, number] {
  return [Math.ceil(x) - 1, Math.ceil(y) - 1];
}

const turn = (relaid.rotationDeg * Math.PI) / 180;
const cosine = Math.cos(turn);
const sine = Math.sin(turn);

/** A position taken in the re-laid grid, in metres of the first grid. */
export function fromRelaid([x, y]: Point): Point {
  return [cosine * x - sine * y + relaid.shiftX, sine * x + cosine * y + relaid.shiftY];
}

/** A position of the first grid, as the re-laid grid reads it. */
export function toRelaid([x, y]: Point): Point {
  const dx = x - relaid.shiftX;
  const dy = y - relaid.shiftY;
  return [cosine * dx + sine * dy, -sine * dx + cosine * dy];
}

/** A position of the first grid, in the grid asked for. */
export function inGrid(grid: GridId, point: Point): Point {
  return grid === 'g1' ? point : toRelaid(point);
}

/** A position read in a grid, in metres of the first grid. */
export function inFirstGrid(grid: GridId, point: Point): Point {
  return grid === 'g1' ? point : fromRelaid(point);
}

/** Easting and northing of a position of the first grid, metres. */
export function toProjected([x, y]: Point): Point {
  const azimuth = (gridOrigin.azimuthDeg * Math.PI) / 180;
  const { easting, northing, scale } = gridOrigin;
  return [
    easting + scale * (x * Math.cos(azimuth) + y * Math.sin(azimuth)),
    northing + scale * (-x * Math.sin(azimuth) + y * Math.cos(azimuth)),
  ];
}

/** A projected position in metres of the first grid. */
export function fromProjected([easting, northing]: Point): Point {
  const azimuth = (gridOrigin.azimuthDeg * Math.PI) / 180;
  const e = (easting - gridOrigin.easting) / gridOrigin.scale;
  const n = (northing - gridOrigin.northing) / gridOrigin.scale;
  return [e * Math.cos(azimuth) - n * Math.sin(azimuth), e * Math.sin(azimuth) + n * Math.cos(azimuth)];
}

/** Azimuth of the re-laid grid's y axis from map_grid_north, degrees: turned anticlockwise, so smaller. */
export const relaidAzimuthDeg = gridOrigin.azimuthDeg - relaid.rotationDeg;
