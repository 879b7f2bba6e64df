import KDBush from 'kdbush';
import type { FeatureTable, Geometry } from '../domain/feature-table.js';
import type { Box } from '../math/rings.js';

/** The rows of a table by place. */
export interface BoxIndex {
  /**
   * Rows that touch a box, edges included, and the rows without geometry, which match every box (OGC API – Features).
   * @param box  west, south, east, north; west > east = across the date line
   * @returns    row numbers, rising
   */
  rows(box: Box): Uint32Array;
}

/**
 * Finds the records in a box of the map.
 * @param coordinates  interleaved, parallel to geometry.coordinates, in the CRS the boxes are given in; left untouched
 */
export function boxIndex(table: FeatureTable, coordinates: Float64Array): BoxIndex {
  const { geometry, length } = table;
  if (geometry === null) {
    const all = Uint32Array.from({ length }, (_, row) => row);
    return { rows: () => all.slice() };
  }
  const search =
    geometry.type === 'point' ? pointSearch(length, coordinates) : shapeSearch(length, geometry, coordinates);
  return {
    rows([west, south, east, north]) {
      const found =
        west <= east
          ? search.within([west, south, east, north])
          : [
              ...new Set([
                ...search.within([west, south, Infinity, north]),
                ...search.within([-Infinity, south, east, north]),
              ]),
            ];
      const rows = new Uint32Array(found.length + search.placeless.length);
      rows.set(found);
      rows.set(search.placeless, found.length);
      return rows.sort();
    },
  };
}

interface Search {
  readonly placeless: Uint32Array;
  within(box: Box): readonly number[];
}

function pointSearch(length: number, coordinates: Float64Array): Search {
  const placed: number[] = [];
  const placeless: number[] = [];
  for (let row = 0; row < length; row++) {
    (Number.isNaN(coordinates[2 * row]) || Number.isNaN(coordinates[2 * row + 1]) ? placeless : placed).push(row);
  }
  const tree = new KDBush(placed.length);
  for (const row of placed) tree.add(coordinates[2 * row], coordinates[2 * row + 1]);
  tree.finish();
  const whole = placeless.length === 0;
  return {
    placeless: Uint32Array.from(placeless),
    within: ([west, south, east, north]) => {
      const found = tree.range(west, south, east, north);
      return whole ? found : found.map((k) => placed[k]);
    },
  };
}

type ShapeGeometry = Extract<Geometry, { type: 'line' | 'area' }>;

/** Shapes sorted by the west side of their boxes: a site has thousands of them, and a walk along the list is enough. */
function shapeSearch(length: number, geometry: ShapeGeometry, coordinates: Float64Array): Search {
  const placeless: number[] = [];
  const placed: number[] = [];
  const boxes = new Float64Array(4 * length);
  for (let row = 0; row < length; row++) {
    const first = geometry.partStart[geometry.featureStart[row]];
    const last = geometry.partStart[geometry.featureStart[row + 1]];
    let box: Box = [Infinity, Infinity, -Infinity, -Infinity];
    for (let k = 2 * first; k < 2 * last; k += 2) {
      const x = coordinates[k];
      const y = coordinates[k + 1];
      box = [Math.min(box[0], x), Math.min(box[1], y), Math.max(box[2], x), Math.max(box[3], y)];
    }
    boxes.set(box, 4 * row);
    (box[0] <= box[2] && box[1] <= box[3] ? placed : placeless).push(row);
  }
  const byWest = Uint32Array.from(placed).sort((a, b) => boxes[4 * a] - boxes[4 * b] || a - b);
  return {
    placeless: Uint32Array.from(placeless),
    within(box) {
      const [west, south, east, north] = box;
      const found: number[] = [];
      for (const row of byWest) {
        if (boxes[4 * row] > east) break;
        if (boxes[4 * row + 2] < west || boxes[4 * row + 1] > north || boxes[4 * row + 3] < south) continue;
        if (shapeTouches(geometry, coordinates, row, box)) found.push(row);
      }
      return found;
    },
  };
}

/** Whether a line or an area touches a box: an edge runs through it, or the area covers it. */
function shapeTouches(geometry: ShapeGeometry, coordinates: Float64Array, row: number, box: Box): boolean {
  const closed = geometry.type === 'area';
  let covered = false;
  // a box open to one side, across the date line, still has a corner that is not at infinity
  const cornerX = Number.isFinite(box[0]) ? box[0] : box[2];
  const cornerY = box[1];
  for (let part = geometry.featureStart[row]; part < geometry.featureStart[row + 1]; part++) {
    const first = geometry.partStart[part];
    const last = geometry.partStart[part + 1];
    let previous = closed ? last - 1 : first;
    for (let k = first; k < last; k++) {
      const ax = coordinates[2 * previous];
      const ay = coordinates[2 * previous + 1];
      const bx = coordinates[2 * k];
      const by = coordinates[2 * k + 1];
      if (segmentTouches([ax, ay, bx, by], box)) return true;
      // even-odd rule over outer rings and holes alike
      if (closed && ay > cornerY !== by > cornerY && cornerX < ((bx - ax) * (cornerY - ay)) / (by - ay) + ax) {
        covered = !covered;
      }
      previous = k;
    }
  }
  return covered;
}

/** Liang and Barsky's test of a segment x0, y0, x1, y1 against a box, edges included. */
function segmentTouches(segment: readonly [number, number, number, number], box: Box): boolean {
  const [ax, ay, bx, by] = segment;
  let enters = 0;
  let leaves = 1;
  for (const [from, change, low, high] of [
    [ax, bx - ax, box[0], box[2]],
    [ay, by - ay, box[1], box[3]],
  ]) {
    if (change === 0) {
      if (from < low || from > high) return false;
      continue;
    }
    const one = (low - from) / change;
    const other = (high - from) / change;
    enters = Math.max(enters, Math.min(one, other));
    leaves = Math.min(leaves, Math.max(one, other));
    if (enters > leaves) return false;
  }
  return true;
}
