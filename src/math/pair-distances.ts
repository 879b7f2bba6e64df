/** Pairs of points and the distance between them, a batch at a time; the arrays are overwritten by the next batch. */
export interface PairBatch {
  /** pairs in this batch: only so many entries of each array count */
  length: number;
  /** number of the first and of the second point */
  readonly first: Uint32Array;
  readonly second: Uint32Array;
  /** second less first, metres */
  readonly dx: Float64Array;
  readonly dy: Float64Array;
  readonly distance: Float64Array;
}

/** Which pairs are wanted. */
export interface PairSearch {
  /** [2n] metres; left untouched */
  readonly from: Float64Array;
  /** [2m] metres; left untouched. The same array as `from`: pairs of different points of one pattern */
  readonly to: Float64Array;
  /** pairs farther apart are left out, metres */
  readonly reachM: number;
  /** once: each pair of one pattern in one order only; both: in either order, all pairs of one first point together */
  readonly order: 'once' | 'both';
}

const batchLength = 4096;
const mostCellsPerPoint = 4;
const cellsToReach = 5;
/** rounding of a place against cell edges, as a share of a cell */
const slackShare = 1e-9;

/**
 * Visits all pairs of points not farther apart than a reach. Points are sorted into square cells of a fifth of the reach,
 * so that far pairs are never looked at and nothing but the visited pairs costs time; no matrix is ever held.
 *
 * The order of the pairs depends on the points alone: sums over them come out equal in every run.
 *
 * @param visit  called with batches of pairs; must not keep the arrays
 * @see Bentley, Weide & Yao 1980 (cells), doi:10.1145/355921.355927
 */
export function eachPair(search: PairSearch, visit: (batch: PairBatch) => void): void {
  const { from, to, reachM, order } = search;
  const isOne = from === to;
  const n = from.length / 2;
  const m = to.length / 2;
  if (n === 0 || m === 0 || !(reachM >= 0)) return;
  const frame = cellFrame(from, to, reachM);
  const target = intoCells(to, frame);
  const source = isOne ? target : intoCells(from, frame);
  const { west, south, side, perMetre, columns, rows, reachCells } = frame;
  const onlyLater = isOne && order === 'once';

  const batch: PairBatch = {
    length: 0,
    first: new Uint32Array(batchLength),
    second: new Uint32Array(batchLength),
    dx: new Float64Array(batchLength),
    dy: new Float64Array(batchLength),
    distance: new Float64Array(batchLength),
  };
  const { first, second, dx: stepX, dy: stepY, distance } = batch;
  const { x: tx, y: ty, id: targetId, start } = target;
  let filled = 0;
  // squares round: what is just beyond by the square may be within by the root, which decides
  const near2 = reachM * reachM * (1 + 1e-12);
  for (let row = 0; row < rows; row++) {
    const lowest = onlyLater ? row : Math.max(0, row - reachCells);
    const highest = Math.min(rows - 1, row + reachCells);
    for (let i = source.start[row * columns]; i < source.start[(row + 1) * columns]; i++) {
      const px = source.x[i];
      const py = source.y[i];
      const own = source.id[i];
      for (let r = lowest; r <= highest; r++) {
        // a row that lies off to one side is crossed by the circle over a shorter stretch; the slack is for rounding
        const off = r === row ? 0 : r > row ? south + r * side - py : py - south - (r + 1) * side;
        const rest = near2 - Math.max(0, off - slackShare * side) ** 2;
        if (rest < 0) continue;
        const stretch = Math.sqrt(rest) + slackShare * side;
        const left = Math.max(0, Math.floor((px - stretch - west) * perMetre));
        const right = Math.min(columns - 1, Math.floor((px + stretch - west) * perMetre));
        // points of cells side by side in a row stand one after the other
        const begin = onlyLater && r === row ? i + 1 : start[r * columns + left];
        const stop = right < left ? begin : start[r * columns + right + 1];
        for (let j = begin; j < stop; j++) {
          const dx = tx[j] - px;
          const dy = ty[j] - py;
          const d2 = dx * dx + dy * dy;
          if (d2 > near2) continue;
          const d = Math.sqrt(d2);
          if (d > reachM || (isOne && j === i)) continue;
          first[filled] = own;
          second[filled] = targetId[j];
          stepX[filled] = dx;
          stepY[filled] = dy;
          distance[filled] = d;
          if (++filled === batchLength) {
            batch.length = filled;
            visit(batch);
            filled = 0;
          }
        }
      }
    }
  }
  if (filled > 0) {
    batch.length = filled;
    visit(batch);
  }
}

/**
 * How many pairs a search will look at, near ones and a few beyond the reach: what it will cost, told beforehand.
 * Heaps of finds have far more pairs than their number suggests.
 */
export function pairLooks(search: PairSearch): number {
  const { from, to, reachM } = search;
  if (from.length === 0 || to.length === 0) return 0;
  const frame = cellFrame(from, to, reachM);
  const target = intoCells(to, frame);
  const source = from === to ? target : intoCells(from, frame);
  const { columns, rows, reachCells } = frame;
  let looks = 0;
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const cell = row * columns + column;
      const own = source.start[cell + 1] - source.start[cell];
      if (own === 0) continue;
      for (let r = Math.max(0, row - reachCells); r <= Math.min(rows - 1, row + reachCells); r++) {
        const left = Math.max(0, column - reachCells);
        const right = Math.min(columns - 1, column + reachCells);
        looks += own * (target.start[r * columns + right + 1] - target.start[r * columns + left]);
      }
    }
  }
  return looks;
}

interface CellFrame {
  readonly west: number;
  readonly south: number;
  /** of a cell, metres */
  readonly side: number;
  readonly perMetre: number;
  readonly columns: number;
  readonly rows: number;
  /** how many cells the reach spans */
  readonly reachCells: number;
}

function cellFrame(from: Float64Array, to: Float64Array, reachM: number): CellFrame {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const xy of from === to ? [from] : [from, to]) {
    for (let i = 0; i < xy.length; i += 2) {
      west = Math.min(west, xy[i]);
      east = Math.max(east, xy[i]);
      south = Math.min(south, xy[i + 1]);
      north = Math.max(north, xy[i + 1]);
    }
  }
  const width = east - west;
  const height = north - south;
  const points = (from.length + to.length) / 2;
  const most = mostCellsPerPoint * points + 16;
  const longest = Math.max(width, height);
  // many tiny cells would cost more than they save
  const side = Math.max(reachM / cellsToReach, Math.sqrt((width * height) / most), longest / most, longest * 1e-9);
  if (!(side > 0)) return { west, south, side: 0, perMetre: 0, columns: 1, rows: 1, reachCells: 1 };
  const perMetre = 1 / side;
  return {
    west,
    south,
    side,
    perMetre,
    columns: Math.floor(width * perMetre) + 1,
    rows: Math.floor(height * perMetre) + 1,
    // a hair more, so that a rounded cell number never hides a neighbour
    reachCells: Math.ceil(reachM * perMetre * (1 + 1e-9) + 1e-9),
  };
}

interface CellList {
  /** [cells + 1] where each cell begins */
  readonly start: Uint32Array;
  readonly id: Uint32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
}

function intoCells(xy: Float64Array, frame: CellFrame): CellList {
  const { west, south, perMetre, columns, rows } = frame;
  const n = xy.length / 2;
  const start = new Uint32Array(columns * rows + 2);
  const cellOf = new Uint32Array(n);
  for (let i = 0; i < n; i++) {
    const column = Math.floor((xy[2 * i] - west) * perMetre);
    const row = Math.floor((xy[2 * i + 1] - south) * perMetre);
    const cell = row * columns + column;
    cellOf[i] = cell;
    start[cell + 2]++;
  }
  for (let c = 2; c < start.length; c++) start[c] += start[c - 1];
  const id = new Uint32Array(n);
  const x = new Float64Array(n);
  const y = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const at = start[cellOf[i] + 1]++;
    id[at] = i;
    x[at] = xy[2 * i];
    y[at] = xy[2 * i + 1];
  }
  return { start, id, x, y };
}
