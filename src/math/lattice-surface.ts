import { cornerCount, latticePlace, type NodeLattice } from './lattice.js';

/** Values read off a surface at some places, both [n]; NaN = no value there. */
export interface SurfaceValues {
  readonly value: Float64Array;
  /** random standard deviation carried over from the nodes or given by the method; NaN = not known */
  readonly sigma: Float64Array;
}

/** Reads a surface at places [2n], metres. */
export type SurfaceReader = (xy: Float64Array) => SurfaceValues;

/** Values at nodes, and how new each is: of lattices that overlap, the newest square counts. */
export interface NodeValues {
  readonly z: Float64Array;
  readonly sigma: Float64Array;
  readonly rank: Int32Array;
}

/** What holds in a square with one node missing: no value, or the plane through the three inside their triangle. */
export type CornerRule = 'none' | 'triangle';

/** beyond a square's edge by less than this many steps a place still belongs to it */
const slackSteps = 1e-9;

/**
 * Bilinear interpolation between the four nodes of each square: exact at nodes, straight along grid lines.
 *
 * Along a grid line two nodes are enough, whatever lies beside it. Between random errors of nodes the σ dips in the
 * middle of a square, because four errors are averaged there; it says nothing of how rough the ground is.
 */
export function bilinearSurface(
  lattices: readonly NodeLattice[],
  nodes: NodeValues,
  missingCorner: CornerRule,
): SurfaceReader {
  return (xy) => {
    const n = xy.length / 2;
    const value = new Float64Array(n).fill(Number.NaN);
    const sigma = new Float64Array(n).fill(Number.NaN);
    for (let i = 0; i < n; i++) {
      let best: Read | null = null;
      for (const lattice of lattices) {
        const read = readLattice(lattice, nodes, { x: xy[2 * i], y: xy[2 * i + 1], missingCorner });
        if (read !== null && (best === null || read.rank > best.rank)) best = read;
      }
      if (best === null) continue;
      value[i] = best.z;
      sigma[i] = Math.sqrt(best.variance);
    }
    return { value, sigma };
  };
}

interface Read {
  readonly z: number;
  readonly variance: number;
  readonly rank: number;
}

/** corners of a square in the order (0, 0), (1, 0), (0, 1), (1, 1): their nodes, and what each has to say at a place */
const corners = new Int32Array(4);
const shares = new Float64Array(4);

function readLattice(
  lattice: NodeLattice,
  { z, sigma, rank }: NodeValues,
  { x, y, missingCorner }: { readonly x: number; readonly y: number; readonly missingCorner: CornerRule },
): Read | null {
  const { columns, rows, node } = lattice;
  const [u, v] = latticePlace(lattice, x, y);
  if (!(u >= -slackSteps && v >= -slackSteps && u <= columns - 1 + slackSteps && v <= rows - 1 + slackSteps)) {
    return null;
  }
  const c = Math.min(Math.max(Math.floor(u + slackSteps), 0), Math.max(columns - 2, 0));
  const r = Math.min(Math.max(Math.floor(v + slackSteps), 0), Math.max(rows - 2, 0));
  const fu = snapped(u - c);
  const fv = snapped(v - r);
  const at = r * columns + c;
  const hasEast = c + 1 < columns;
  const hasNorth = r + 1 < rows;
  corners[0] = node[at];
  corners[1] = hasEast ? node[at + 1] : -1;
  corners[2] = hasNorth ? node[at + columns] : -1;
  corners[3] = hasEast && hasNorth ? node[at + columns + 1] : -1;
  shares[0] = (1 - fu) * (1 - fv);
  shares[1] = fu * (1 - fv);
  shares[2] = (1 - fu) * fv;
  shares[3] = fu * fv;
  let lost = -1;
  let lostCount = 0;
  for (let i = 3; i >= 0; i--) {
    if (corners[i] >= 0) continue;
    lostCount++;
    if (shares[i] > 0) lost = i;
  }
  if (lost >= 0) {
    if (missingCorner === 'none' || lostCount > 1) return null;
    planeShares(shares, { lost, fu, fv });
    if (shares.some((share) => share < -slackSteps)) return null;
  }
  let sum = 0;
  let variance = 0;
  let newest = -1;
  for (let i = 0; i < 4; i++) {
    const k = corners[i];
    if (k < 0) continue;
    newest = Math.max(newest, rank[k]);
    if (shares[i] === 0) continue;
    sum += shares[i] * z[k];
    variance += (shares[i] * sigma[k]) ** 2;
  }
  return { z: sum, variance, rank: newest };
}

const snapped = (f: number) =>
  Math.abs(f) <= slackSteps ? 0 : Math.abs(f - 1) <= slackSteps ? 1 : Math.min(Math.max(f, 0), 1);

/** Shares of the three nodes left when the corner `lost` is missing; one is negative beyond their triangle. */
function planeShares(
  shares: Float64Array,
  { lost, fu, fv }: { readonly lost: number; readonly fu: number; readonly fv: number },
): void {
  // seen from the corner across from the lost one, so that one rule serves all four
  const across = 3 - lost;
  const a = across % 2 === 0 ? fu : 1 - fu;
  const b = across < 2 ? fv : 1 - fv;
  shares[lost] = 0;
  shares[across] = 1 - a - b;
  // corners 1 apart differ along the columns, 2 apart along the rows
  shares[across ^ 1] = a;
  shares[across ^ 2] = b;
}

/** Whether a place lies in a square that has at least three of its four nodes. */
export function inGoodSquare(lattices: readonly NodeLattice[], x: number, y: number): boolean {
  for (const lattice of lattices) {
    const [u, v] = latticePlace(lattice, x, y);
    // a place on a line between squares belongs to both
    const lastColumn = Math.floor(u + slackSteps);
    const lastRow = Math.floor(v + slackSteps);
    for (let c = Math.floor(u - slackSteps); c <= lastColumn; c++) {
      for (let r = Math.floor(v - slackSteps); r <= lastRow; r++) if (cornerCount(lattice, c, r) >= 3) return true;
    }
  }
  return false;
}
