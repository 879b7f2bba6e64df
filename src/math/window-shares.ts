import type { Region } from './rings.js';

/** Square lattice of nodes: node (c, r) lies at (x + c·step, y + r·step); values row by row, [rows × columns]. */
export interface Lattice {
  readonly x: number;
  readonly y: number;
  readonly stepM: number;
  readonly columns: number;
  readonly rows: number;
}

// the 2-point Gauss–Legendre rule is exact for the cubic polynomials met below
const gaussPoints = [0.5 - Math.sqrt(1 / 12), 0.5 + Math.sqrt(1 / 12)];

/**
 * The window's area shared out to the nodes of a lattice, each spot going to its four nearest nodes by bilinear
 * weight; exact, also along slanting edges, in thin arms and around holes. Summing a surface over the nodes with
 * these shares integrates its bilinear interpolation over the true window.
 *
 * By Green's theorem each piece of an edge within one lattice cell adds to its own two columns, and a whole step to
 * every column further left, which one running sum a row settles. Edges + nodes, not edges × nodes.
 *
 * @param window   outer rings anticlockwise, holes clockwise, metres; at least one cell inside the lattice's rim
 * @returns        [rows × columns] m²; sums to the area of the window
 */
export function windowShares(window: Region, lattice: Lattice): Float64Array {
  const { columns, rows, stepM } = lattice;
  const shares = new Float64Array(columns * rows);
  const leftward = new Float64Array(columns * rows);
  for (const ring of window.rings) {
    const m = ring.length;
    for (let i = 0; i < m; i += 2) {
      const j = i + 2 === m ? 0 : i + 2;
      const edge = {
        u0: (ring[i] - lattice.x) / stepM,
        v0: (ring[i + 1] - lattice.y) / stepM,
        u1: (ring[j] - lattice.x) / stepM,
        v1: (ring[j + 1] - lattice.y) / stepM,
      };
      if (edge.v0 !== edge.v1) addEdge(edge, { shares, leftward, columns });
    }
  }
  for (let r = 0; r < rows; r++) {
    let carried = 0;
    for (let k = (r + 1) * columns - 1; k >= r * columns; k--) {
      carried += leftward[k];
      shares[k] = (shares[k] + carried) * stepM * stepM;
    }
  }
  return shares;
}

interface Edge {
  readonly u0: number;
  readonly v0: number;
  readonly u1: number;
  readonly v1: number;
}

/** Adds the line integral along one edge, lattice units, cut where it crosses lattice lines. */
function addEdge(edge: Edge, into: { shares: Float64Array; leftward: Float64Array; columns: number }): void {
  const { u0, v0, u1, v1 } = edge;
  const { shares, leftward, columns } = into;
  const du = u1 - u0;
  const dv = v1 - v0;
  const cuts = [0, 1];
  for (let u = Math.ceil(Math.min(u0, u1)); u < Math.max(u0, u1); u++) cuts.push((u - u0) / du);
  for (let v = Math.ceil(Math.min(v0, v1)); v < Math.max(v0, v1); v++) cuts.push((v - v0) / dv);
  cuts.sort((a, b) => a - b);
  for (let p = 1; p < cuts.length; p++) {
    const start = Math.max(0, cuts[p - 1]);
    const length = Math.min(1, cuts[p]) - start;
    if (!(length > 0)) continue;
    const c = Math.floor(u0 + (start + length / 2) * du);
    const r = Math.floor(v0 + (start + length / 2) * dv);
    const node = r * columns + c;
    for (const q of gaussPoints) {
      const t = start + q * length;
      const f = u0 + t * du - c;
      const g = v0 + t * dv - r;
      const rise = 0.5 * length * dv;
      const here = 0.5 + f - 0.5 * f * f;
      const next = 0.5 * f * f;
      const lower = (1 - g) * rise;
      const upper = g * rise;
      shares[node] += here * lower;
      shares[node + 1] += next * lower;
      shares[node + columns] += here * upper;
      shares[node + columns + 1] += next * upper;
      leftward[node - 1] += lower;
      leftward[node + columns - 1] += upper;
    }
  }
}
