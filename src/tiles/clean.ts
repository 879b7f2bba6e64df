import type { FeatureTable, Value } from '../domain/feature-table.js';
import { valueAt } from '../domain/feature-table.js';

/** Corner inside a tile, units: x to the east, y to the south. */
export type Corner = [number, number];

/**
 * Property name as it goes into a tile. The tile writer keeps its names in a plain object, where names that every
 * object has (constructor, toString, …) would be lost: they get an underscore at the end.
 */
function propertyName(name: string): string {
  return name in {} ? `${name}_` : name;
}

/**
 * Properties of one row as the tile writer can take them: known values only, so no null, undefined, NaN or infinity.
 * Whole numbers beyond 2^53 become text: the writer would put them into a whole-number field that they do not fit.
 */
export function cleanProperties(
  table: FeatureTable,
  row: number,
  properties: readonly string[],
): Record<string, string | number | boolean> {
  const out: Record<string, string | number | boolean> = {};
  for (const name of properties) {
    const column = table.columns.get(name);
    if (column === undefined) throw new Error(`table ${table.name} has no column ${name}`);
    const value: Value = valueAt(column, row);
    if (value === null) continue;
    if (typeof value !== 'number') out[propertyName(name)] = value;
    else if (Number.isSafeInteger(value) || (Number.isFinite(value) && !Number.isInteger(value))) {
      out[propertyName(name)] = value;
    } else if (Number.isFinite(value)) out[propertyName(name)] = String(value);
  }
  return out;
}

/** A line after rounding: no corner twice in a row; null when fewer than two corners are left. */
export function cleanLine(line: readonly Corner[]): Corner[] | null {
  const out: Corner[] = [];
  for (const corner of line) {
    const last = out[out.length - 1];
    if (last === undefined || last[0] !== corner[0] || last[1] !== corner[1]) out.push(corner);
  }
  return out.length < 2 ? null : out;
}

/** Twice the area of an open ring by the surveyor's formula, y to the south: positive = clockwise to the eye. */
function twiceTileArea(ring: readonly Corner[]): number {
  let twice = 0;
  let [ax, ay] = ring[ring.length - 1] ?? [0, 0];
  for (const [bx, by] of ring) {
    twice += ax * by - bx * ay;
    ax = bx;
    ay = by;
  }
  return twice;
}

/**
 * A ring after rounding: no corner twice in a row, no spike that runs out and back on itself, not closed.
 * @returns null when it has no area left
 */
function cleanRing(ring: readonly Corner[]): Corner[] | null {
  const out: Corner[] = [];
  const same = (a: Corner, b: Corner) => a[0] === b[0] && a[1] === b[1];
  const add = (corner: Corner) => {
    while (out.length > 0) {
      if (same(out[out.length - 1], corner)) return;
      if (out.length < 2 || !isSpike(out[out.length - 2], out[out.length - 1], corner)) break;
      out.pop();
    }
    out.push(corner);
  };
  for (const corner of ring) add(corner);
  // the same where the end meets the beginning
  for (let changed = true; changed && out.length >= 3; ) {
    changed = true;
    const last = out[out.length - 1];
    if (same(last, out[0]) || isSpike(out[out.length - 2], last, out[0])) out.pop();
    else if (isSpike(last, out[0], out[1])) out.shift();
    else changed = false;
  }
  return out.length < 3 || twiceTileArea(out) === 0 ? null : out;
}

/** Whether the way a → b → c turns back on itself at b. */
function isSpike(a: Corner, b: Corner, c: Corner): boolean {
  const ux = b[0] - a[0];
  const uy = b[1] - a[1];
  const vx = c[0] - b[0];
  const vy = c[1] - b[1];
  return ux * vy - uy * vx === 0 && ux * vx + uy * vy < 0;
}

/**
 * One polygon after rounding, as the tile format wants it: the outer ring with positive area in tile units, holes
 * with negative area, none without area; rings come back closed, for the tile writer.
 * @param rings  outer ring first, closed or not; left untouched
 * @returns      no rings when nothing of the polygon is left at this level
 */
export function cleanPolygon(rings: readonly (readonly Corner[])[]): Corner[][] {
  const out: Corner[][] = [];
  for (let k = 0; k < rings.length; k++) {
    const ring = cleanRing(rings[k]);
    if (ring === null) {
      if (k === 0) return [];
      continue;
    }
    if (twiceTileArea(ring) > 0 !== (k === 0)) ring.reverse();
    ring.push(ring[0]);
    out.push(ring);
  }
  return out;
}
