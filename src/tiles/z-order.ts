import { type TileAddress, tileBuffer, tileExtent } from './matrix-set.js';

/**
 * Points sorted along the Z-order curve of the cells of level 30, so that the points of any tile, and of any cell
 * down to the 64-unit strip around a level-24 tile, stand side by side.
 *
 * A cell's key has 60 bits, two for each level; `high` holds those of levels 1 to 15, `low` those of 16 to 30.
 */
export interface ZOrder {
  /** [m] row of the table that stands at each position */
  readonly rows: Uint32Array;
  /** [m] places in the unit square, by position */
  readonly u: Float64Array;
  readonly v: Float64Array;
  /** [m] keys, by position */
  readonly high: Uint32Array;
  readonly low: Uint32Array;
}

const keyLevel = 30;
const halfLevel = 15;

/** Puts a zero bit before each of the lowest 16 bits. */
function spread(value: number): number {
  let v = value & 0xffff;
  v = (v | (v << 8)) & 0x00ff00ff;
  v = (v | (v << 4)) & 0x0f0f0f0f;
  v = (v | (v << 2)) & 0x33333333;
  return (v | (v << 1)) & 0x55555555;
}

const highKey = (x: number, y: number): number => spread(x >>> halfLevel) | (spread(y >>> halfLevel) << 1);
const lowKey = (x: number, y: number): number => spread(x & 0x7fff) | (spread(y & 0x7fff) << 1);

/**
 * Sorts the points of a table along the Z-order curve.
 * @param unit  [2n] places in the unit square; NaN or outside = no place, left out; left untouched
 */
export function zOrder(unit: Float64Array): ZOrder {
  const n = unit.length / 2;
  const kept = new Uint32Array(n);
  let m = 0;
  for (let i = 0; i < n; i++) {
    const u = unit[2 * i];
    const v = unit[2 * i + 1];
    if (u >= 0 && u < 1 && v >= 0 && v < 1) kept[m++] = i;
  }
  const rows = kept.subarray(0, m);
  const rowHigh = new Uint32Array(n);
  const rowLow = new Uint32Array(n);
  for (let k = 0; k < m; k++) {
    const i = rows[k];
    // exact: a multiplication by a power of two
    const x = Math.floor(unit[2 * i] * 2 ** keyLevel);
    const y = Math.floor(unit[2 * i + 1] * 2 ** keyLevel);
    rowHigh[i] = highKey(x, y);
    rowLow[i] = lowKey(x, y);
  }
  const sorted = sortByKeys(rows, rowHigh, rowLow);
  const order: ZOrder = {
    rows: sorted,
    u: new Float64Array(m),
    v: new Float64Array(m),
    high: new Uint32Array(m),
    low: new Uint32Array(m),
  };
  for (let j = 0; j < m; j++) {
    const i = sorted[j];
    order.u[j] = unit[2 * i];
    order.v[j] = unit[2 * i + 1];
    order.high[j] = rowHigh[i];
    order.low[j] = rowLow[i];
  }
  return order;
}

/** Counting sort by 15 bits at a time, lowest first; equal keys keep the order of the rows. */
function sortByKeys(rows: Uint32Array, high: Uint32Array, low: Uint32Array): Uint32Array {
  let from = rows.slice();
  let to = new Uint32Array(rows.length);
  for (const [keys, shift] of [
    [low, 0],
    [low, halfLevel],
    [high, 0],
    [high, halfLevel],
  ] as const) {
    const starts = new Uint32Array(0x8001);
    for (let k = 0; k < from.length; k++) starts[((keys[from[k]] >>> shift) & 0x7fff) + 1]++;
    // a site is small: the upper bits are mostly the same for all points
    if (from.length > 0 && starts[((keys[from[0]] >>> shift) & 0x7fff) + 1] === from.length) continue;
    for (let d = 0; d < 0x8000; d++) starts[d + 1] += starts[d];
    for (let k = 0; k < from.length; k++) to[starts[(keys[from[k]] >>> shift) & 0x7fff]++] = from[k];
    [from, to] = [to, from];
  }
  return from;
}

/** A corner of cells, in cells of level 30, as the key that begins there. */
class Key {
  high = 0;
  low = 0;

  at(x: number, y: number): this {
    this.high = highKey(x, y);
    this.low = lowKey(x, y);
    return this;
  }
}

/** One for all searches: making one for each would cost more than the search. */
const key = new Key();

/** First position from `a` up to `b` whose key is not below `sought`. */
function lowerBound(order: ZOrder, a: number, b: number, sought: Key): number {
  const { high, low } = order;
  const { high: keyHigh, low: keyLow } = sought;
  let first = a;
  let last = b;
  while (first < last) {
    const middle = (first + last) >>> 1;
    const h = high[middle];
    if (h < keyHigh || (h === keyHigh && low[middle] < keyLow)) first = middle + 1;
    else last = middle;
  }
  return first;
}

/** How many points lie in a tile, the strip around it left out: two searches, so that a way to find them can be chosen. */
export function tileCount(order: ZOrder, { z, x, y }: TileAddress): number {
  const step = 2 ** (keyLevel - z);
  const first = lowerBound(order, 0, order.u.length, key.at(x * step, y * step));
  key.at(x * step + (step - 1), y * step + (step - 1)).low++;
  return lowerBound(order, first, order.u.length, key) - first;
}

/** Positions found: pairs from, to (not included), rising; neighbours are joined. */
export interface Ranges {
  pairs: Uint32Array;
  length: number;
}

function pushRange(ranges: Ranges, from: number, to: number): void {
  const k = ranges.length;
  if (k > 0 && ranges.pairs[k - 1] === from) {
    ranges.pairs[k - 1] = to;
    return;
  }
  if (k + 2 > ranges.pairs.length) {
    const wider = new Uint32Array(ranges.pairs.length * 2);
    wider.set(ranges.pairs);
    ranges.pairs = wider;
  }
  ranges.pairs[k] = from;
  ranges.pairs[k + 1] = to;
  ranges.length = k + 2;
}

/** Fewer points than this are looked at one by one: cheaper than cutting the cell further. */
const fewPoints = 40;

/**
 * Finds the points of a tile and of the strip around it: −64 ≤ unit < 4160 in both directions. The strip is exactly
 * one cell of level z + 6 wide, so each cell is in or out and no point needs a second look.
 */
export function tileRanges(order: ZOrder, { z, x, y }: TileAddress, found: Ranges): void {
  found.length = 0;
  const { u, v, high, low } = order;
  const m = u.length;
  if (m === 0) return;
  const level = z + Math.log2(tileExtent / tileBuffer);
  const cells = 2 ** level;
  const perTile = tileExtent / tileBuffer;
  const west = x * perTile - 1;
  const north = y * perTile - 1;
  const east = (x + 1) * perTile + 1;
  const south = (y + 1) * perTile + 1;

  const visit = (cellLevel: number, cx: number, cy: number, a: number, b: number): void => {
    if (a >= b) return;
    const side = 2 ** (level - cellLevel);
    const cellWest = cx * side;
    const cellNorth = cy * side;
    const cellEast = cellWest + side;
    const cellSouth = cellNorth + side;
    if (cellWest >= east || cellNorth >= south || cellEast <= west || cellSouth <= north) return;
    if (cellWest >= west && cellNorth >= north && cellEast <= east && cellSouth <= south) {
      pushRange(found, a, b);
      return;
    }
    if (b - a < fewPoints) {
      for (let j = a; j < b; j++) {
        const px = u[j] * cells;
        const py = v[j] * cells;
        if (px >= west && px < east && py >= north && py < south) pushRange(found, j, j + 1);
      }
      return;
    }
    const next = cellLevel + 1;
    const step = 2 ** (keyLevel - next);
    const keyX = 2 * cx * step;
    const keyY = 2 * cy * step;
    const second = lowerBound(order, a, b, key.at(keyX + step, keyY));
    const third = lowerBound(order, second, b, key.at(keyX, keyY + step));
    const fourth = lowerBound(order, third, b, key.at(keyX + step, keyY + step));
    visit(next, 2 * cx, 2 * cy, a, second);
    visit(next, 2 * cx + 1, 2 * cy, second, third);
    visit(next, 2 * cx, 2 * cy + 1, third, fourth);
    visit(next, 2 * cx + 1, 2 * cy + 1, fourth, b);
  };

  // start from the smallest cell that holds every point, but no smaller than the cells of the strip
  const same = high[0] === high[m - 1];
  const difference = same ? low[0] ^ low[m - 1] : high[0] ^ high[m - 1];
  const sharedLevels = (same ? halfLevel : 0) + Math.floor((Math.clz32(difference) - 2) / 2);
  const start = Math.min(level, sharedLevels);
  visit(start, Math.floor(u[0] * 2 ** start), Math.floor(v[0] * 2 ** start), 0, m);
}

/**
 * End of the run of points from position `a` that share its cell of `level`, looked for up to `b`.
 * Cost log of the run, so that a zoomed-out tile costs its cells, not its points.
 */
export function cellEnd(order: ZOrder, level: number, a: number, b: number): number {
  const { high, low } = order;
  const highMask = level >= halfLevel ? -1 : -1 << (2 * (halfLevel - level));
  const lowMask = level <= halfLevel ? 0 : -1 << (2 * (keyLevel - level));
  const keyHigh = high[a];
  const keyLow = low[a];
  let inside = a;
  let outside = b;
  for (let step = 1; inside + step < b; step *= 2) {
    const j = inside + step;
    if ((high[j] ^ keyHigh) & highMask || (low[j] ^ keyLow) & lowMask) {
      outside = j;
      break;
    }
    inside = j;
  }
  while (inside + 1 < outside) {
    const middle = (inside + outside) >>> 1;
    if ((high[middle] ^ keyHigh) & highMask || (low[middle] ^ keyLow) & lowMask) outside = middle;
    else inside = middle;
  }
  return outside;
}
