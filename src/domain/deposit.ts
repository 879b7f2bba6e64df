import { numbers, wordReader } from './columns.js';
import type { FeatureTable } from './feature-table.js';
import { type GridFrame, nodeAt } from './grid.js';

export type LevelSurface = 'seabed_before' | 'deposit_top' | 'deposit_bottom' | 'excavation_limit' | 'hard_substrate';

/** One grid's node elevations of one surface in one season (or over all), [(columns + 1) × (rows + 1)], NaN = not levelled. */
interface Lattice {
  readonly sum: Float64Array;
  readonly count: Uint32Array;
}

/** The levelled surfaces of the wreck deposit, read between the nodes bilinearly; nothing is guessed past a missing node. */
export interface Deposit {
  /** elevation of a surface at a place in first-grid metres; NaN where one of the four nodes round it was not levelled */
  elevation(surface: LevelSurface, season: string | null, x: number, y: number): number;
  /** mean elevation at a node of the first grid, NaN when not levelled */
  node(surface: LevelSurface, season: string | null, column: number, row: number): number;
}

/** Elevation of one reading in the site datum: depths are turned over, everything else stands. NaN when set aside or without value. */
function readingElevation(kind: string | null, value: number): number {
  return kind === 'depth' ? -value : value;
}

/**
 * Gathers the level readings. Several readings of one node count with their mean; readings set aside do not count.
 * The season asked for comes first, then the mean over all seasons.
 */
export function depositOf(levels: FeatureTable | null, frames: readonly GridFrame[]): Deposit {
  const lattices = new Map<string, Lattice>();
  const lattice = (frame: GridFrame, surface: string, season: string): Lattice => {
    const key = `${frame.grid.id}|${surface}|${season}`;
    let found = lattices.get(key);
    if (!found) {
      const size = (frame.grid.columns + 1) * (frame.grid.rows + 1);
      found = { sum: new Float64Array(size), count: new Uint32Array(size) };
      lattices.set(key, found);
    }
    return found;
  };
  if (levels) gather(levels, frames, lattice);

  const valueAt = (frame: GridFrame, surface: string, season: string | null, column: number, row: number): number => {
    const { columns, rows } = frame.grid;
    if (column < 0 || row < 0 || column > columns || row > rows) return Number.NaN;
    const at = row * (columns + 1) + column;
    for (const key of season === null ? ['*'] : [season, '*']) {
      const found = lattices.get(`${frame.grid.id}|${surface}|${key}`);
      if (found && found.count[at] > 0) return found.sum[at] / found.count[at];
    }
    return Number.NaN;
  };

  const bilinear = (frame: GridFrame, surface: string, season: string | null, x: number, y: number): number => {
    const u = x / frame.grid.node_spacing;
    const v = y / frame.grid.node_spacing;
    const column = Math.min(Math.max(Math.floor(u), 0), frame.grid.columns - 1);
    const row = Math.min(Math.max(Math.floor(v), 0), frame.grid.rows - 1);
    const fu = u - column;
    const fv = v - row;
    if (fu < 0 || fu > 1 || fv < 0 || fv > 1) return Number.NaN;
    let sum = 0;
    for (const [share, c, r] of [
      [(1 - fu) * (1 - fv), column, row],
      [fu * (1 - fv), column + 1, row],
      [(1 - fu) * fv, column, row + 1],
      [fu * fv, column + 1, row + 1],
    ]) {
      // a corner that has no share need not be levelled: on a grid line two nodes are enough
      if (share > 0) sum += share * valueAt(frame, surface, season, c, r);
    }
    return sum;
  };

  const orders = new Map<string | null, readonly GridFrame[]>([[null, frames]]);
  // the grid in force in the season first: its nodes were the ones levelled then
  const orderIn = (season: string | null): readonly GridFrame[] => {
    let order = orders.get(season);
    if (!order) {
      order = [...frames].sort((a, b) => Number(inForce(b, season ?? '')) - Number(inForce(a, season ?? '')));
      orders.set(season, order);
    }
    return order;
  };

  return {
    node: (surface, season, column, row) => valueAt(frames[0], surface, season, column, row),
    elevation(surface, season, x, y) {
      for (const frame of orderIn(season)) {
        const [gx, gy] = frame === frames[0] ? [x, y] : frame.fromProjected(...frames[0].toProjected(x, y));
        const z = bilinear(frame, surface, season, gx, gy);
        if (!Number.isNaN(z)) return z;
      }
      return Number.NaN;
    },
  };
}

function inForce(frame: GridFrame, season: string): boolean {
  return frame.grid.valid_seasons.includes(season);
}

function gather(
  levels: FeatureTable,
  frames: readonly GridFrame[],
  lattice: (frame: GridFrame, surface: string, season: string) => Lattice,
): void {
  const gridId = wordReader(levels, 'grid');
  const node = wordReader(levels, 'node');
  const surface = wordReader(levels, 'surface');
  const season = wordReader(levels, 'season');
  const kind = wordReader(levels, 'kind');
  const state = wordReader(levels, 'state');
  const value = numbers(levels, 'value');
  const localX = numbers(levels, 'local_x');
  const localY = numbers(levels, 'local_y');
  for (let i = 0; i < levels.length; i++) {
    const frame = frames.find((f) => f.grid.id === (gridId(i) ?? frames[0].grid.id));
    const name = surface(i);
    const z = readingElevation(kind(i), value[i]);
    if (!frame || !name || Number.isNaN(z) || state(i) === 'set_aside') continue;
    const label = node(i);
    const place = label ? nodeAt(frame.grid, label) : ([localX[i], localY[i]] as const);
    if (!place) continue;
    const column = place[0] / frame.grid.node_spacing;
    const row = place[1] / frame.grid.node_spacing;
    // a reading between the nodes is kept in `levels`, but is no node of the bilinear mesh
    if (!Number.isInteger(column) || !Number.isInteger(row)) continue;
    const at = row * (frame.grid.columns + 1) + column;
    for (const key of [season(i) ?? '', '*']) {
      const into = lattice(frame, name, key);
      into.sum[at] += z;
      into.count[at] += 1;
    }
  }
}
