import { Problem } from '../problems.js';
import { type Projection, projectionOf } from './crs.js';
import type { GridRecord } from './site.js';

/** How site-grid metres become map coordinates and back: a turn, a scale, a shift, then the projection. */
export interface GridFrame {
  readonly grid: GridRecord;
  readonly projection: Projection;
  toProjected(x: number, y: number): [number, number];
  fromProjected(easting: number, northing: number): [number, number];
  toLonLat(x: number, y: number): [number, number];
  fromLonLat(lon: number, lat: number): [number, number];
}

/**
 * The frame of a site grid. site_north (the y axis) lies `azimuth_deg` clockwise from map_grid_north.
 * @throws Problem unknown-crs when the grid's CRS is not known
 */
export function gridFrame(grid: GridRecord): GridFrame {
  const projection = projectionOf(grid.crs);
  const turn = (grid.azimuth_deg * Math.PI) / 180;
  const c = Math.cos(turn);
  const s = Math.sin(turn);
  const k = grid.scale;
  const toProjected = (x: number, y: number): [number, number] => [
    grid.origin_easting + k * (x * c + y * s),
    grid.origin_northing + k * (y * c - x * s),
  ];
  const fromProjected = (easting: number, northing: number): [number, number] => {
    const e = (easting - grid.origin_easting) / k;
    const n = (northing - grid.origin_northing) / k;
    return [e * c - n * s, e * s + n * c];
  };
  return {
    grid,
    projection,
    toProjected,
    fromProjected,
    toLonLat: (x, y) => projection.toLonLat(...toProjected(x, y)),
    fromLonLat: (lon, lat) => fromProjected(...projection.fromLonLat(lon, lat)),
  };
}

/** Metres of one grid → metres of another (a re-laid grid against the first), through their map coordinates. */
export function gridToGrid(from: GridRecord, to: GridRecord): (x: number, y: number) => [number, number] {
  if (from.id === to.id) return (x, y) => [x, y];
  const a = gridFrame(from);
  const b = gridFrame(to);
  if (from.crs === to.crs) return (x, y) => b.fromProjected(...a.toProjected(x, y));
  return (x, y) => b.fromLonLat(...a.toLonLat(x, y));
}

const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ';

function lettersOf(grid: GridRecord): string {
  const skip = grid.labels.skip.toUpperCase();
  return [...alphabet].filter((letter) => !skip.includes(letter)).join('');
}

function axisLabel(grid: GridRecord, kind: 'letters' | 'digits', index: number): string {
  if (kind === 'digits') return String(index + grid.labels.first);
  const letters = lettersOf(grid);
  let label = '';
  for (let n = index + 1; n > 0; n = Math.floor((n - 1) / letters.length)) {
    label = letters[(n - 1) % letters.length] + label;
  }
  return label;
}

function axisIndex(grid: GridRecord, kind: 'letters' | 'digits', label: string): number {
  if (kind === 'digits') return Number.parseInt(label, 10) - grid.labels.first;
  const letters = lettersOf(grid);
  let n = 0;
  for (const letter of label) {
    const at = letters.indexOf(letter);
    if (at < 0) return -1;
    n = n * letters.length + at + 1;
  }
  return n - 1;
}

/** Label of a grid line or square by column and row, counted from 0: "E4". Nodes take the label of their lines. */
export function squareLabel(grid: GridRecord, column: number, row: number): string {
  return `${axisLabel(grid, grid.labels.columns, column)}${grid.labels.separator}${axisLabel(grid, grid.labels.rows, row)}`;
}

/** Column and row of a label, counted from 0; null when it is no label of this grid's form. Nodes reach one further than squares. */
export function parseLabel(grid: GridRecord, label: string): { column: number; row: number } | null {
  const part = (kind: 'letters' | 'digits') => (kind === 'letters' ? '([A-Za-z]{1,4})' : '(-?\\d{1,5})');
  const separator = grid.labels.separator.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
  const match = new RegExp(`^\\s*${part(grid.labels.columns)}\\s*${separator}\\s*${part(grid.labels.rows)}\\s*$`).exec(
    label,
  );
  if (!match) return null;
  const column = axisIndex(grid, grid.labels.columns, match[1].toUpperCase());
  const row = axisIndex(grid, grid.labels.rows, match[2].toUpperCase());
  if (column < 0 || row < 0 || column > grid.columns || row > grid.rows) return null;
  return { column, row };
}

/** Sides of a square in the grid's own metres: west, south, east, north. The label's corner decides which square it names. */
export function squareBox(grid: GridRecord, column: number, row: number): [number, number, number, number] {
  const step = grid.node_spacing;
  const west = (grid.corner.endsWith('east') ? column - 1 : column) * step;
  const south = (grid.corner.startsWith('north') ? row - 1 : row) * step;
  return [west, south, west + step, south + step];
}

const boxRing = ([west, south, east, north]: readonly [number, number, number, number]): Float64Array =>
  Float64Array.of(west, south, east, south, east, north, west, north);

/**
 * Corners of a named square. → [8], the grid's own metres, anticlockwise
 * @throws Problem bad-parameter when the label names no square of the grid
 */
export function squareRing(grid: GridRecord, label: string): Float64Array {
  const found = parseLabel(grid, label);
  if (
    !found ||
    found.column >= grid.columns + (grid.corner.endsWith('east') ? 1 : 0) ||
    found.row >= grid.rows + (grid.corner.startsWith('north') ? 1 : 0)
  ) {
    throw new Problem('bad-parameter', `"${label}" names no square of grid ${grid.id} (${gridSpan(grid)})`, { label });
  }
  return boxRing(squareBox(grid, found.column, found.row));
}

/** First to last square of a grid, for sentences. */
export function gridSpan(grid: GridRecord): string {
  return `${squareLabel(grid, 0, 0)} to ${squareLabel(grid, grid.columns - 1, grid.rows - 1)}`;
}

const halves: Record<string, readonly [number, number, number, number]> = {
  N: [0, 0.5, 1, 1],
  S: [0, 0, 1, 0.5],
  E: [0.5, 0, 1, 1],
  W: [0, 0, 0.5, 1],
};
const quarters: Record<string, readonly [number, number, number, number]> = {
  NE: [0.5, 0.5, 1, 1],
  NW: [0, 0.5, 0.5, 1],
  SE: [0.5, 0, 1, 0.5],
  SW: [0, 0, 0.5, 0.5],
};

/**
 * Corners of a square or a part of one, as recorders write it: "E4", "N half of E4", "NE quarter of E4"; or the
 * square and its part apart ("E4", "N" or "N half"). N, E, S, W are meant along the site grid. → [8], the grid's own metres
 * @throws Problem bad-parameter when the text names no part of a square of the grid
 */
export function partRing(grid: GridRecord, text: string, part = ''): Float64Array {
  const whole = /^\s*(?:([NSEW]|NE|NW|SE|SW)\s+(half|quarter)\s+of\s+)?(.+?)\s*$/i.exec(text);
  const given = /^\s*(?:([NSEW]|NE|NW|SE|SW)(?:\s+(half|quarter))?)?\s*$/i.exec(part);
  if (!whole || !given)
    throw new Problem(
      'bad-parameter',
      `"${part}" is no part of a square; write N, E, S, W (half) or NE, NW, SE, SW (quarter)`,
      { part },
    );
  const side = (whole[1] ?? given[1] ?? '').toUpperCase();
  const kind = (whole[2] ?? given[2] ?? '').toLowerCase();
  const ring = squareRing(grid, whole[3]);
  if (side === '') return ring;
  const share = halves[side] ?? quarters[side];
  if ((kind === 'half' && !(side in halves)) || (kind === 'quarter' && !(side in quarters))) {
    throw new Problem(
      'bad-parameter',
      `"${text}${part ? `, ${part}` : ''}": a half is N, E, S or W, a quarter NE, NW, SE or SW`,
      { part: side },
    );
  }
  const [west, south] = ring;
  const step = grid.node_spacing;
  return boxRing([west + share[0] * step, south + share[1] * step, west + share[2] * step, south + share[3] * step]);
}

/** Label of the square a position lies in, by the grid's boundary rule; null outside the grid. x, y in the grid's own metres. */
export function squareAt(grid: GridRecord, x: number, y: number): string | null {
  const cell = (v: number, count: number): number => {
    const u = v / grid.node_spacing;
    let index = Math.floor(u);
    // a find on a line: the lower rule gives it to the square before, except on the first line, which has none before
    if (grid.boundary_rule === 'lower' && u === index && index > 0) index -= 1;
    if (grid.boundary_rule === 'upper' && index === count && u === count) index -= 1;
    return index >= 0 && index < count ? index : -1;
  };
  const column = cell(x, grid.columns);
  const row = cell(y, grid.rows);
  if (column < 0 || row < 0) return null;
  return squareLabel(
    grid,
    column + (grid.corner.endsWith('east') ? 1 : 0),
    row + (grid.corner.startsWith('north') ? 1 : 0),
  );
}

/** Position of a named node (crossing of two grid lines), the grid's own metres; null when there is none of that name. */
export function nodeAt(grid: GridRecord, label: string): [number, number] | null {
  const found = parseLabel(grid, label);
  return found ? [found.column * grid.node_spacing, found.row * grid.node_spacing] : null;
}
