import { type ConvexPolygon, clipConvex, convexArea, discArea, distanceFrom } from './convex-polygons.js';
import { type DistanceCell, distanceCells } from './distance-cells.js';
import type { DistanceLaw } from './distance-law.js';
import type { Pieces } from './hull-distance.js';
import { type Region, regionArea } from './rings.js';

/**
 * Share of a window within each distance of the hull, whatever lines and areas the hull is made of.
 *
 * @param window  metres from a local origin; holes allowed; left untouched
 * @param pieces  the hull in the same coordinates, at least one piece; left untouched
 * @param sign    distance: ground inside an area is at 0; signed: ground inside an area is at minus its distance to
 *                the outline
 * @returns       shares exact but for rounding, mean and second moment to 1e-6 (exact to rounding for straight pieces
 *                that run past the window); `bound` is the share of the window that the cells fail to cover,
 *                1e-9 or less on a sound window, and 1e-10 at least is stated
 */
export function distanceDistribution(window: Region, pieces: Pieces, sign: 'distance' | 'signed'): DistanceLaw {
  const area = regionArea(window);
  const cells = distanceCells(window, pieces, sign === 'signed' ? 'deep' : 'flat');
  const covered = cells.reduce((sum, cell) => sum + cell.area, 0);
  const isFlat = (cell: DistanceCell) => cell.isInside && sign === 'distance';
  const isTurned = (cell: DistanceCell) => cell.isInside && sign === 'signed';

  const turned = cells.filter(isTurned);
  const level = cells.filter((cell) => !cell.isInside);
  let flat = 0;
  let first = 0;
  let second = 0;
  for (const cell of cells) {
    if (isFlat(cell)) {
      flat += cell.area;
      continue;
    }
    const moments = cellMoments(cell);
    first += isTurned(cell) ? -moments.first : moments.first;
    second += moments.second;
  }

  const shares = (values: Float64Array): Float64Array => {
    const order = Uint32Array.from(values.keys()).sort((a, b) => values[a] - values[b]);
    const sorted = Float64Array.from(order, (i) => values[i]);
    // whole cells are added once, at the first value that has all of the cell within it
    const whole = new Float64Array(sorted.length + 1);
    const part = new Float64Array(sorted.length);
    for (const cell of cells) {
      if (isFlat(cell)) {
        whole[firstAtLeast(sorted, 0)] += cell.area;
      } else if (isTurned(cell)) {
        const end = firstAtLeast(sorted, -cell.low);
        whole[end] += cell.area;
        for (let k = firstAtLeast(sorted, -cell.high); k < end; k++) part[k] += areaBeyond(cell, -sorted[k]);
      } else {
        const end = firstAtLeast(sorted, cell.high);
        whole[end] += cell.area;
        for (let k = firstAtLeast(sorted, cell.low); k < end; k++) part[k] += cell.area - areaBeyond(cell, sorted[k]);
      }
    }
    const out = new Float64Array(values.length);
    let sum = 0;
    for (let k = 0; k < sorted.length; k++) {
      sum += whole[k];
      out[order[k]] = Math.min(1, Math.max(0, (sum + part[k]) / covered));
    }
    return out;
  };

  return {
    shares,
    atZero: flat / covered,
    least:
      turned.length > 0
        ? -farthest(turned)
        : flat > 0
          ? 0
          : level.reduce((low, cell) => Math.min(low, cell.low), Infinity),
    greatest:
      level.length > 0
        ? farthest(level)
        : flat > 0
          ? 0
          : -turned.reduce((low, cell) => Math.min(low, cell.low), Infinity),
    mean: first / covered,
    secondMoment: second / covered,
    bound: Math.max(1e-10, Math.abs(covered - area) / area),
  };
}

/** Place of the first value not below `least` in a rising list. */
function firstAtLeast(sorted: Float64Array, least: number): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle] < least) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Greatest distance in any of the cells: `high` is only a bound where a cell has several formulas. */
function farthest(cells: readonly DistanceCell[]): number {
  let best = 0;
  for (const cell of [...cells].sort((p, q) => q.high - p.high)) {
    if (cell.high <= best) break;
    let low = cell.low;
    let high = cell.high;
    if (!cell.line || !cell.point) low = high;
    for (let i = 0; i < 60 && high > low; i++) {
      const middle = (low + high) / 2;
      if (areaBeyond(cell, middle) > 0) low = middle;
      else high = middle;
    }
    best = Math.max(best, low);
  }
  return best;
}

/** Area of the cell farther than z from everything: beyond its line's strip, less the disc around its point. */
function areaBeyond(cell: DistanceCell, z: number): number {
  let rest: ConvexPolygon = cell.polygon;
  if (cell.line) {
    rest = clipConvex(rest, { nx: cell.line.nx, ny: cell.line.ny, c: cell.line.c + z });
    if (rest.length < 6) return 0;
  }
  const area = rest === cell.polygon ? cell.area : convexArea(rest);
  return cell.point ? Math.max(0, area - discArea(rest, cell.point[0], cell.point[1], z)) : area;
}

// Gauss–Legendre, 8 nodes on (0, 1)
const nodes = [
  0.019855071751231856, 0.10166676129318664, 0.2372337950418355, 0.4082826787521751, 0.591717321247825,
  0.7627662049581645, 0.8983332387068134, 0.9801449282487682,
];
const weights = [
  0.05061426814518813, 0.11119051722668724, 0.15685332293894363, 0.181341891689181, 0.181341891689181,
  0.15685332293894363, 0.11119051722668724, 0.05061426814518813,
];

/**
 * Integrals of the distance and of its square over a cell: from the area beyond each distance, between the distances
 * of its corners. Exact for a single line; a circle that enters across an edge starts with a power 3/2, which the
 * substitution z = from + width·t² makes even.
 */
function cellMoments(cell: DistanceCell): { first: number; second: number } {
  const breaks = [cell.low, cell.high];
  const add = (z: number) => {
    if (z > cell.low && z < cell.high) breaks.push(z);
  };
  const m = cell.polygon.length;
  for (let i = 0, j = m - 2; i < m; j = i, i += 2) {
    const x = cell.polygon[i];
    const y = cell.polygon[i + 1];
    if (cell.line) add(distanceFrom(cell.line, x, y));
    if (cell.point) {
      const [px, py] = cell.point;
      const ax = cell.polygon[j];
      const ay = cell.polygon[j + 1];
      const length = Math.sqrt((x - ax) ** 2 + (y - ay) ** 2);
      add(Math.sqrt((x - px) ** 2 + (y - py) ** 2));
      if (length > 0) add(Math.abs((x - ax) * (py - ay) - (y - ay) * (px - ax)) / length);
    }
  }
  // where line and point share a cell, the curve between them meets its edges at distances not among these
  if (cell.line && cell.point) for (let k = 1; k < 4; k++) add(cell.low + (k / 4) * (cell.high - cell.low));
  breaks.sort((a, b) => a - b);
  let first = cell.low * cell.area;
  let second = cell.low * cell.low * cell.area;
  for (let k = 0; k + 1 < breaks.length; k++) {
    const from = breaks[k];
    const width = breaks[k + 1] - from;
    if (width <= 0) continue;
    for (let g = 0; g < nodes.length; g++) {
      const z = from + width * nodes[g] * nodes[g];
      const share = weights[g] * 2 * nodes[g] * width * areaBeyond(cell, z);
      first += share;
      second += 2 * z * share;
    }
  }
  return { first, second };
}
