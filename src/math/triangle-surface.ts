import type { SurfaceReader } from './lattice-surface.js';
import type { TriangleMesh } from './triangle-mesh.js';

/** Places with their values, all [n]; sigma NaN = not stated. */
export interface ValuedPlaces {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly sigma: Float64Array;
}

/** beyond the outline by less than this share of a triangle a place still belongs to it */
const slackShare = 1e-9;

/** Linear interpolation in the triangles of a mesh: exact at its places, straight along its edges, no value outside it. */
export function triangleSurface(mesh: TriangleMesh, places: ValuedPlaces): SurfaceReader {
  const find = triangleFinder(mesh, places);
  const shares = new Float64Array(3);
  return (xy) => {
    const n = xy.length / 2;
    const value = new Float64Array(n).fill(Number.NaN);
    const sigma = new Float64Array(n).fill(Number.NaN);
    for (let i = 0; i < n; i++) {
      const t = find(xy[2 * i], xy[2 * i + 1], shares);
      if (t < 0) continue;
      let sum = 0;
      let variance = 0;
      for (let k = 0; k < 3; k++) {
        if (shares[k] === 0) continue;
        const corner = mesh.corners[3 * t + k];
        sum += shares[k] * places.z[corner];
        variance += (shares[k] * places.sigma[corner]) ** 2;
      }
      value[i] = sum;
      sigma[i] = Math.sqrt(variance);
    }
    return { value, sigma };
  };
}

/** Whether a place lies in a mesh, its outline included. */
export function meshContains(mesh: TriangleMesh, places: Pick<ValuedPlaces, 'x' | 'y'>) {
  const find = triangleFinder(mesh, places);
  const shares = new Float64Array(3);
  return (x: number, y: number): boolean => find(x, y, shares) >= 0;
}

/**
 * The triangle a place lies in and the shares of its corners; −1 outside. Triangles are looked up by cells about as
 * large as one of them.
 */
function triangleFinder({ corners }: TriangleMesh, { x, y }: Pick<ValuedPlaces, 'x' | 'y'>) {
  const count = corners.length / 3;
  const low = (values: Float64Array) => values.reduce((a, v) => Math.min(a, v), Infinity);
  const high = (values: Float64Array) => values.reduce((a, v) => Math.max(a, v), -Infinity);
  const west = low(x);
  const south = low(y);
  const width = Math.max(high(x) - west, 1e-9);
  const height = Math.max(high(y) - south, 1e-9);
  const cellM = Math.max(Math.sqrt((width * height) / Math.max(count, 1)), Math.max(width, height) / 2000);
  const columns = Math.floor(width / cellM) + 1;
  const rows = Math.floor(height / cellM) + 1;
  const columnOf = (v: number) => Math.min(columns - 1, Math.max(0, Math.floor((v - west) / cellM)));
  const rowOf = (v: number) => Math.min(rows - 1, Math.max(0, Math.floor((v - south) / cellM)));
  const cells: number[][] = Array.from({ length: columns * rows }, () => []);
  for (let t = 0; t < count; t++) {
    const own = [0, 1, 2].map((k) => corners[3 * t + k]);
    const xs = own.map((i) => x[i]);
    const ys = own.map((i) => y[i]);
    for (let r = rowOf(Math.min(...ys)); r <= rowOf(Math.max(...ys)); r++) {
      for (let c = columnOf(Math.min(...xs)); c <= columnOf(Math.max(...xs)); c++) cells[r * columns + c].push(t);
    }
  }
  return (px: number, py: number, shares: Float64Array): number => {
    let best = -1;
    let bestLeast = -slackShare;
    for (const t of cells[rowOf(py) * columns + columnOf(px)]) {
      const [a, b, c] = [corners[3 * t], corners[3 * t + 1], corners[3 * t + 2]];
      const ux = x[b] - x[a];
      const uy = y[b] - y[a];
      const vx = x[c] - x[a];
      const vy = y[c] - y[a];
      const twice = ux * vy - uy * vx;
      const second = ((px - x[a]) * vy - (py - y[a]) * vx) / twice;
      const third = (ux * (py - y[a]) - uy * (px - x[a])) / twice;
      const first = 1 - second - third;
      const least = Math.min(first, second, third);
      if (least < bestLeast) continue;
      best = t;
      bestLeast = least;
      shares[0] = first;
      shares[1] = second;
      shares[2] = third;
      if (least >= 0) break;
    }
    if (best >= 0) for (let k = 0; k < 3; k++) if (Math.abs(shares[k]) <= slackShare) shares[k] = 0;
    return best;
  };
}
