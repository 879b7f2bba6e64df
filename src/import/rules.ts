import { gridToGrid, nodeAt, partRing } from '../domain/grid.js';
import type { GridRecord, Site } from '../domain/site.js';
import { ringArea } from '../math/rings.js';
import { Problem } from '../problems.js';
import type { Refusal, RowCells, RuleMaker } from './table-writer.js';

/** Looks a register number up in the finds read before. */
export type FindLookup = (find: string) => boolean;

/** The grids of a site as the rules of rows need them. */
export class SiteGrids {
  readonly first: GridRecord;
  readonly #grids: ReadonlyMap<string, GridRecord>;
  readonly #ways = new Map<string, (x: number, y: number) => [number, number]>();
  /** corners of a part of a square, or why there is none; by grid, square and part as written */
  readonly #rings = new Map<string, Float64Array | string>();

  constructor(site: Site) {
    this.first = site.grids[0];
    this.#grids = new Map(site.grids.map((grid) => [grid.id, grid]));
  }

  /** The grid of a row; '' is the first. Words that name none were refused before. */
  grid(id: string): GridRecord {
    return this.#grids.get(id) ?? this.first;
  }

  /** Metres of a grid → metres of the first grid. */
  wayToFirst(id: string): (x: number, y: number) => [number, number] {
    let way = this.#ways.get(id);
    if (!way) {
      way = gridToGrid(this.grid(id), this.first);
      this.#ways.set(id, way);
    }
    return way;
  }

  /** Corners of a square or its part in that grid's own metres, or the reason why there are none. */
  ring(grid: string, square: string, part: string): Float64Array | string {
    const key = `${grid}\n${square}\n${part}`;
    let ring = this.#rings.get(key);
    if (ring === undefined) {
      try {
        ring = partRing(this.grid(grid), square, part);
      } catch (error) {
        if (!(error instanceof Problem)) throw error;
        ring = error.message;
      }
      this.#rings.set(key, ring);
    }
    return ring;
  }

  /** Corners of a square or its part in metres of the first grid, or the reason why there are none. */
  ringInFirst(grid: string, square: string, part: string): Float64Array | string {
    const ring = this.ring(grid, square, part);
    return typeof ring === 'string' || this.grid(grid) === this.first ? ring : moved(ring, this.wayToFirst(grid));
  }
}

/** A ring or line through a change of grid. */
export function moved(ring: Float64Array, way: (x: number, y: number) => [number, number]): Float64Array {
  const out = new Float64Array(ring.length);
  for (let i = 0; i < ring.length; i += 2) {
    const [x, y] = way(ring[i], ring[i + 1]);
    out[i] = x;
    out[i + 1] = y;
  }
  return out;
}

const refuse = (refusals: Refusal[], column: string, value: string | null, reason: string): void => {
  refusals.push({ column, value, reason });
};

/** A point in the grid of its row, given by two columns: both or none. → whether it is given */
function pointRule(cells: RowCells, grids: SiteGrids, [xName, yName]: readonly [string, string]) {
  const xAt = cells.number(xName);
  const yAt = cells.number(yName);
  return (row: number, grid: string, refusals: Refusal[]): boolean => {
    const x = xAt(row);
    const y = yAt(row);
    const without = Number.isNaN(x);
    if (without !== Number.isNaN(y)) {
      refuse(refusals, without ? xName : yName, null, `is empty, but ${without ? yName : xName} is given`);
      return false;
    }
    if (without) {
      cells.place.point(row, Number.NaN, Number.NaN);
      return false;
    }
    if (grid === '' || grid === grids.first.id) {
      cells.place.point(row, x, y);
    } else {
      const [a, b] = grids.wayToFirst(grid)(x, y);
      cells.place.point(row, a, b);
    }
    return true;
  };
}

/** Shares of a square that the kinds of position by part must have. */
const shares: ReadonlyMap<string, { readonly share: number; readonly words: string }> = new Map([
  ['square', { share: 1, words: 'no part' }],
  ['half_square', { share: 0.5, words: 'a half: N, E, S or W' }],
  ['quarter_square', { share: 0.25, words: 'a quarter: NE, NW, SE or SW' }],
]);

/**
 * How a find's position must be given: a point needs local_x and local_y, a square its label, a line both ends. An
 * empty position_kind follows from the columns that are filled.
 */
export const findRule =
  (grids: SiteGrids): RuleMaker =>
  (cells) => {
    const kindAt = cells.derived('position_kind');
    const gridAt = cells.word('grid');
    const squareAt = cells.word('square');
    const partAt = cells.word('part');
    const endX = cells.number('end_x');
    const endY = cells.number('end_y');
    const zMin = cells.number('z_min');
    const zMax = cells.number('z_max');
    const point = pointRule(cells, grids, ['local_x', 'local_y']);
    return (row, refusals) => {
      const grid = gridAt(row);
      const square = squareAt(row);
      const hasPoint = point(row, grid, refusals);
      if (refusals.length > 0) return;
      let kind = kindAt.at(row);
      if (kind === '') {
        kind = hasPoint ? 'point' : square !== '' ? 'square' : 'unknown';
        kindAt.write(kind, row);
      }
      if (kind !== 'point') cells.place.point(row, Number.NaN, Number.NaN);
      const hasEnd = !Number.isNaN(endX(row)) && !Number.isNaN(endY(row));
      if (Number.isNaN(endX(row)) !== Number.isNaN(endY(row)))
        refuse(refusals, Number.isNaN(endX(row)) ? 'end_x' : 'end_y', null, 'is empty, but the other is given');
      if (zMin(row) > zMax(row))
        refuse(refusals, 'z_min', String(zMin(row)), `is above z_max (${zMax(row)}); z_min is the lower one`);
      if (kind === 'point' && !hasPoint)
        refuse(refusals, 'local_x', null, 'is empty, but a position of kind point needs local_x and local_y');
      if (kind === 'line' && !(hasPoint && hasEnd))
        refuse(
          refusals,
          hasPoint ? 'end_x' : 'local_x',
          null,
          'is empty, but a position of kind line needs local_x, local_y, end_x and end_y',
        );
      if (kind === 'area' && square === '' && !(hasPoint && hasEnd))
        refuse(
          refusals,
          'square',
          null,
          'is empty, but a position of kind area needs a square, or the corners local_x, local_y and end_x, end_y of its box',
        );
      const needed = shares.get(kind);
      if (needed && square === '')
        refuse(refusals, 'square', null, `is empty, but a position of kind ${kind} needs it`);
      if (square === '') return;
      const part = partAt(row);
      const ring = grids.ring(grid, square, part);
      if (typeof ring === 'string') {
        refuse(refusals, 'square', part === '' ? square : `${square}, ${part}`, ring);
        return;
      }
      const step = grids.grid(grid).node_spacing;
      if (needed && Math.abs(ringArea(ring) / (step * step) - needed.share) > 1e-6)
        refuse(refusals, 'part', part, `does not fit position_kind ${kind}, which needs ${needed.words}`);
    };
  };

/** A level reading stands on a node, or on a point given by local_x and local_y. */
export const levelRule =
  (grids: SiteGrids): RuleMaker =>
  (cells) => {
    const gridAt = cells.word('grid');
    const nodeWord = cells.word('node');
    const point = pointRule(cells, grids, ['local_x', 'local_y']);
    return (row, refusals) => {
      const grid = gridAt(row);
      const label = nodeWord(row);
      const hasPoint = point(row, grid, refusals);
      if (label === '') {
        if (!hasPoint && refusals.length === 0)
          refuse(refusals, 'node', null, 'is empty, and so are local_x and local_y; a level needs one or the other');
        return;
      }
      const own = grids.grid(grid);
      const node = nodeAt(own, label);
      if (!node) {
        refuse(refusals, 'node', label, `names no node of grid ${own.id}`);
        return;
      }
      if (hasPoint) return;
      const [x, y] = grids.wayToFirst(grid)(...node);
      cells.place.point(row, x, y);
    };
  };

/** Control points lie in the first grid, or have no position yet. */
export const controlPointRule =
  (grids: SiteGrids): RuleMaker =>
  (cells) => {
    const point = pointRule(cells, grids, ['x', 'y']);
    return (row, refusals) => {
      point(row, '', refusals);
    };
  };

/** An excavated square becomes the polygon of the square, or of its part. */
export const squareRule =
  (grids: SiteGrids): RuleMaker =>
  (cells) => {
    const gridAt = cells.word('grid');
    const squareAt = cells.word('square');
    const partAt = cells.word('part');
    return (row, refusals) => {
      const square = squareAt(row);
      const part = partAt(row);
      if (square === '') {
        refuse(refusals, 'square', null, 'is empty, but the area of this row is known by its square only');
        return;
      }
      const ring = grids.ringInFirst(gridAt(row), square, part);
      if (typeof ring === 'string') refuse(refusals, 'square', part === '' ? square : `${square}, ${part}`, ring);
      else cells.place.parts([{ ring }]);
    };
  };

/** A timber given by its ends becomes a line. */
export const hullEndRule =
  (grids: SiteGrids): RuleMaker =>
  (cells) => {
    const gridAt = cells.word('grid');
    const ends = ['start_x', 'start_y', 'end_x', 'end_y'].map((name) => cells.number(name));
    return (row, refusals) => {
      const line = Float64Array.from(ends, (at) => at(row));
      if (line[0] === line[2] && line[1] === line[3]) {
        refuse(refusals, 'end_x', String(line[2]), 'is the start again; a timber has two different ends');
        return;
      }
      cells.place.parts([{ ring: moved(line, grids.wayToFirst(gridAt(row))) }]);
    };
  };

const noSuchFind = 'is no find of finds.csv that could be taken';

/** An identification belongs to a find of the register. */
export const identificationRule =
  (isFind: FindLookup): RuleMaker =>
  (cells) => {
    const find = cells.text('find');
    return (row, refusals) => {
      if (!isFind(find(row))) refuse(refusals, 'find', find(row), noSuchFind);
    };
  };

/** A join needs two finds of the register, and two different ones. */
export const refitRule =
  (isFind: FindLookup): RuleMaker =>
  (cells) => {
    const a = cells.text('find_a');
    const b = cells.text('find_b');
    return (row, refusals) => {
      if (!isFind(a(row))) refuse(refusals, 'find_a', a(row), noSuchFind);
      if (!isFind(b(row))) refuse(refusals, 'find_b', b(row), noSuchFind);
      if (a(row) === b(row)) refuse(refusals, 'find_b', b(row), 'is the same find as find_a; a join has two');
    };
  };
