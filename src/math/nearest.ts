import KDBush from 'kdbush';
import { Problem } from '../problems.js';

/**
 * Distances to the nearest other point of many patterns in turn, with the working arrays kept between them.
 * The answer is overwritten by the next call.
 */
export type NearestWorker = (xy: Float64Array) => Float64Array;

/**
 * Distance from each find to the nearest other find.
 *
 * @param xy  [2n] x0, y0, x1, y1, … metres, all finite; left untouched
 * @returns   [n] metres; 0 where two finds share a place, Infinity for a lone find. Cost n for even scatters,
 *            n log n for heaps
 */
export function nearestDistances(xy: Float64Array): Float64Array {
  return nearestWorker(xy.length / 2)(xy);
}

/**
 * A worker for patterns of at most `most` points each: simulations call it hundreds of times.
 * @see Bentley, Weide & Yao 1980 (cells), doi:10.1145/355921.355927
 */
export function nearestWorker(most: number): NearestWorker {
  const grid = cellGrid(most);
  const distances = new Float64Array(most);
  return (xy) => {
    const n = xy.length / 2;
    const out = n === most ? distances : distances.subarray(0, n);
    if (!grid(xy, out)) treeDistances(xy, out);
    return out;
  };
}

/** Points looked at by the cell grid, as a multiple of n, beyond which a tree is the cheaper way. */
const fullestShare = 24;

/** Nearest neighbours by cells about as large as the space of one point; answers false when heaps fill too few cells. */
function cellGrid(most: number): (xy: Float64Array, out: Float64Array) => boolean {
  const cells = 3 * most + 8;
  const start = new Uint32Array(cells + 2);
  const cellOf = new Uint32Array(most);
  const id = new Uint32Array(most);
  const xs = new Float64Array(most);
  const ys = new Float64Array(most);
  const best = new Float64Array(most);

  return (xy, out) => {
    const n = out.length;
    if (n === 0) return true;
    let west = Infinity;
    let south = Infinity;
    let east = -Infinity;
    let north = -Infinity;
    for (let i = 0; i < n; i++) {
      const x = xy[2 * i];
      const y = xy[2 * i + 1];
      if (x < west) west = x;
      if (x > east) east = x;
      if (y < south) south = y;
      if (y > north) north = y;
    }
    const width = east - west;
    const height = north - south;
    // the second term keeps the number of cells below 3n when all points lie along a line
    const side = Math.max(Math.sqrt((width * height) / n), Math.max(width, height) / n);
    const perMetre = 1 / side;
    if (!(perMetre < Infinity)) return false;
    const columns = Math.floor(width * perMetre) + 1;
    const rows = Math.floor(height * perMetre) + 1;

    start.fill(0, 0, columns * rows + 2);
    for (let i = 0; i < n; i++) {
      const cell = Math.floor((xy[2 * i + 1] - south) * perMetre) * columns + Math.floor((xy[2 * i] - west) * perMetre);
      cellOf[i] = cell;
      start[cell + 2]++;
    }
    let looks = 0;
    for (let c = 2; c < columns * rows + 2; c++) {
      looks += start[c] * start[c];
      start[c] += start[c - 1];
    }
    if (looks > fullestShare * n) return false;
    for (let i = 0; i < n; i++) {
      const at = start[cellOf[i] + 1]++;
      id[at] = i;
      xs[at] = xy[2 * i];
      ys[at] = xy[2 * i + 1];
      best[at] = Infinity;
    }

    // each pair of neighbouring cells once; the points of cells side by side in a row stand one after the other
    for (let row = 0; row < rows; row++) {
      for (let column = 0; column < columns; column++) {
        const cell = row * columns + column;
        const endHere = start[cell + 1];
        if (start[cell] === endHere) continue;
        const endRight = column + 1 < columns ? start[cell + 2] : endHere;
        const next = cell + columns;
        const fromNext = row + 1 < rows ? start[column > 0 ? next - 1 : next] : 0;
        const toNext = row + 1 < rows ? start[column + 1 < columns ? next + 2 : next + 1] : 0;
        for (let i = start[cell]; i < endHere; i++) {
          const x = xs[i];
          const y = ys[i];
          let least = best[i];
          for (let j = i + 1; j < endRight; j++) {
            const dx = xs[j] - x;
            const dy = ys[j] - y;
            const d = dx * dx + dy * dy;
            if (d < least) least = d;
            if (d < best[j]) best[j] = d;
          }
          for (let j = fromNext; j < toNext; j++) {
            const dx = xs[j] - x;
            const dy = ys[j] - y;
            const d = dx * dx + dy * dy;
            if (d < least) least = d;
            if (d < best[j]) best[j] = d;
          }
          best[i] = least;
        }
      }
    }

    // whoever found nobody within one cell's side looks at wider and wider rings of cells
    const widest = Math.max(columns, rows);
    for (let i = 0; i < n; i++) {
      let least = best[i];
      // the slack covers the rounding of a cell number: never stop a ring too early
      const safe = side * side * (1 - 1e-9);
      if (least <= safe) {
        out[id[i]] = Math.sqrt(least);
        continue;
      }
      const column = cellOf[id[i]] % columns;
      const row = (cellOf[id[i]] - column) / columns;
      for (let ring = 2; ring <= widest && least > safe * (ring - 1) * (ring - 1); ring++) {
        for (let r = Math.max(0, row - ring); r <= Math.min(rows - 1, row + ring); r++) {
          const whole = r === row - ring || r === row + ring;
          for (let c = column - ring; c <= column + ring; c += whole ? 1 : 2 * ring) {
            if (c < 0 || c >= columns) continue;
            const cell = r * columns + c;
            for (let j = start[cell]; j < start[cell + 1]; j++) {
              const dx = xs[j] - xs[i];
              const dy = ys[j] - ys[i];
              const d = dx * dx + dy * dy;
              if (d < least) least = d;
            }
          }
        }
      }
      out[id[i]] = Math.sqrt(least);
    }
    return true;
  };
}

/** A k-d tree whose searches end early on coincident points, so that a heap costs no more than a scatter. */
function pointTree(xy: Float64Array): (x: number, y: number, self: number, best: Float64Array) => void {
  const n = xy.length / 2;
  const index = new KDBush(n, 8, Float64Array);
  for (let i = 0; i < n; i++) index.add(xy[2 * i], xy[2 * i + 1]);
  index.finish();
  const { ids, nodeSize } = index;
  const coordinates = index.coords as Float64Array;

  // squared distances of the nearest so far, rising; the point `self` is passed over
  return (x, y, self, best) => {
    const last = best.length - 1;
    best.fill(Infinity);
    const look = (i: number): void => {
      const dx = coordinates[2 * i] - x;
      const dy = coordinates[2 * i + 1] - y;
      const d = dx * dx + dy * dy;
      if (d >= best[last] || ids[i] === self) return;
      let at = last;
      for (; at > 0 && best[at - 1] > d; at--) best[at] = best[at - 1];
      best[at] = d;
    };
    const visit = (left: number, right: number, axis: 0 | 1): void => {
      if (right - left <= nodeSize) {
        for (let i = left; i <= right; i++) look(i);
        return;
      }
      const middle = (left + right) >> 1;
      look(middle);
      const beyond = (axis === 0 ? x : y) - coordinates[2 * middle + axis];
      const other = axis === 0 ? 1 : 0;
      if (beyond < 0) visit(left, middle - 1, other);
      else visit(middle + 1, right, other);
      if (beyond * beyond >= best[last]) return;
      if (beyond < 0) visit(middle + 1, right, other);
      else visit(left, middle - 1, other);
    };
    if (n > 0) visit(0, n - 1, 0);
  };
}

function treeDistances(xy: Float64Array, out: Float64Array): void {
  const search = pointTree(xy);
  const best = new Float64Array(1);
  for (let i = 0; i < out.length; i++) {
    search(xy[2 * i], xy[2 * i + 1], i, best);
    out[i] = Math.sqrt(best[0]);
  }
}

/**
 * Distances from each find to its first, second … k-th nearest other find.
 *
 * @param xy  [2n] metres, all finite; left untouched
 * @param k   how many neighbours, 1 to n − 1
 * @returns   [n × k] metres, row by row, rising in each row. Cost k n log n
 * @throws Problem too-few-points when k is larger than n − 1
 */
export function kthNearestDistances(xy: Float64Array, k: number): Float64Array {
  const n = xy.length / 2;
  if (k > n - 1) {
    throw new Problem('too-few-points', `k = ${k} neighbours need at least ${k + 1} finds, got ${n}`, { k, n });
  }
  const search = pointTree(xy);
  const out = new Float64Array(n * k);
  for (let i = 0; i < n; i++) {
    const row = out.subarray(i * k, (i + 1) * k);
    search(xy[2 * i], xy[2 * i + 1], i, row);
    for (let j = 0; j < k; j++) row[j] = Math.sqrt(row[j]);
  }
  return out;
}

/**
 * Distance from each point of one set to the nearest point of another: sherds to the nearest gun, test points to
 * the nearest find. A point of the other set at the same place is at distance 0.
 *
 * @param from  [2n] metres; left untouched
 * @param to    [2m] metres; left untouched
 * @returns     [n] metres; Infinity when `to` is empty. Cost (n + m) log m
 */
export function nearestBetween(from: Float64Array, to: Float64Array): Float64Array {
  const search = pointTree(to);
  const best = new Float64Array(1);
  const out = new Float64Array(from.length / 2);
  for (let i = 0; i < out.length; i++) {
    search(from[2 * i], from[2 * i + 1], -1, best);
    out[i] = Math.sqrt(best[0]);
  }
  return out;
}
