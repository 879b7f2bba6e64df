import { Problem } from '../problems.js';
import type { KernelInput } from './kernels.js';
import { type Region, regionBox } from './rings.js';
import { type Lattice, windowShares } from './window-shares.js';

/** nodes to one bandwidth: cubic weights in and out then stray by less than 7e-5 of a lone find's peak */
const nodesPerSigma = 8;
/** kernel cut in bandwidths: 1.5e-8 is lost */
const cutSigmas = 6;
/** nodes beyond the window's box on every side: one bandwidth and the foot of the cubics */
const rim = nodesPerSigma + 3;
const mostNodes = 12_000_000;
/** outside the window the share of the kernel that falls inside goes to nothing; below this it is not divided by */
const leastMass = 1e-3;

/** A smoothed scatter held at nodes eight to a bandwidth, from which any grid is read off. */
export interface KernelLattice extends Lattice {
  /** [rows × columns] kernel sums per m², before division at the place asked */
  readonly sums: Float64Array;
  /** [rows × columns] share of a kernel at the node that falls inside the window; null where the estimate needs none */
  readonly divideBy: Float64Array | null;
  /** what the surface holds over the true window: the total weight, but for what the edge correction leaves open */
  readonly integral: number;
}

/** Equal cells along the axes: the cell of column c and row r has its centre at (x + c·stepX, y + r·stepY). */
export interface CellGrid {
  readonly columns: number;
  readonly rows: number;
  readonly x: number;
  readonly y: number;
  readonly stepX: number;
  readonly stepY: number;
}

/**
 * Finds per m² over the whole window, for maps: finds are shared out to lattice nodes with cubic weights, the window
 * with exact bilinear shares, both are smoothed by one separable pass, and grids are read off by cubic interpolation.
 * Strays from the full sum by less than 2e-4 of the peak. Cost: nodes × 200 + n × 16, whatever the grid asked.
 *
 * @param input  positions inside the window; left untouched
 * @throws Problem too-much-work when the bandwidth is so small that more than 12 million nodes were needed
 * @see binned kernel estimators: Wand 1994, Journal of Computational and Graphical Statistics 3, 433–445
 */
export function kernelLattice(input: KernelInput): KernelLattice {
  const { window, sigmaM, edge, xy, weight } = input;
  const lattice = latticeFor(input);
  const area = windowShares(window, lattice);
  const mass = edge === 'none' ? null : massAtNodes(area, lattice, sigmaM);
  const carried = new Float64Array(weight);
  if (edge === 'jones-diggle' && mass) {
    for (let i = 0; i < carried.length; i++) carried[i] /= readNode(mass, lattice, xy[2 * i], xy[2 * i + 1]);
  }
  const sums = smooth(findShares(xy, carried, lattice), lattice, sigmaM);
  const divideBy = edge === 'uniform' ? mass : null;
  return { ...lattice, sums, divideBy, integral: integrateNodes(area, surfaceAtNodes(sums, divideBy), lattice) };
}

/** Share of a kernel at each node that falls inside the window. */
function massAtNodes(area: Float64Array, lattice: Lattice, sigmaM: number): Float64Array {
  // bilinear shares widen the window's smoothing by step²/6 along each axis: the kernel gives that much back
  const narrower = Math.sqrt(sigmaM * sigmaM - (lattice.stepM * lattice.stepM) / 6);
  return smooth(area, lattice, narrower);
}

function latticeFor({ window, sigmaM }: Pick<KernelInput, 'window' | 'sigmaM'>): Lattice {
  const [west, south, east, north] = regionBox(window);
  const stepM = sigmaM / nodesPerSigma;
  const columns = Math.ceil((east - west) / stepM) + 1 + 2 * rim;
  const rows = Math.ceil((north - south) / stepM) + 1 + 2 * rim;
  if (columns * rows > mostNodes) {
    const least = nodesPerSigma * Math.sqrt(((east - west) * (north - south)) / (0.9 * mostNodes));
    throw new Problem(
      'too-much-work',
      `a bandwidth of ${short(sigmaM)} m in a window of ${short(east - west)} × ${short(north - south)} m needs more than ${mostNodes / 1e6} million nodes; ask for at least ${short(least)} m`,
      { sigmaM, leastSigmaM: least },
    );
  }
  return { x: west - rim * stepM, y: south - rim * stepM, stepM, columns, rows };
}

const short = (value: number) => Number(value.toPrecision(3)).toString();

/** Weights of the four nodes at −1, 0, 1, 2 for a place at f in [0, 1): the cubic through them. */
function cubicWeights(f: number, into: Float64Array): void {
  into[0] = (-f * (f - 1) * (f - 2)) / 6;
  into[1] = ((f + 1) * (f - 1) * (f - 2)) / 2;
  into[2] = (-(f + 1) * f * (f - 2)) / 2;
  into[3] = ((f + 1) * f * (f - 1)) / 6;
}

/** Finds shared out to the sixteen nodes around each with cubic weights: the kernel itself is then met to fourth order. */
function findShares(xy: Float64Array, carried: Float64Array, lattice: Lattice): Float64Array {
  const { columns, rows, stepM } = lattice;
  const out = new Float64Array(columns * rows);
  const wx = new Float64Array(4);
  const wy = new Float64Array(4);
  for (let i = 0; i < carried.length; i++) {
    const u = (xy[2 * i] - lattice.x) / stepM;
    const v = (xy[2 * i + 1] - lattice.y) / stepM;
    const c = Math.floor(u);
    const r = Math.floor(v);
    cubicWeights(u - c, wx);
    cubicWeights(v - r, wy);
    for (let q = 0; q < 4; q++) {
      const k = (r + q - 1) * columns + c - 1;
      const w = carried[i] * wy[q];
      out[k] += w * wx[0];
      out[k + 1] += w * wx[1];
      out[k + 2] += w * wx[2];
      out[k + 3] += w * wx[3];
    }
  }
  return out;
}

/** Node values at one place, by cubics along both axes. */
function readNode(values: Float64Array, lattice: Lattice, x: number, y: number): number {
  const u = (x - lattice.x) / lattice.stepM;
  const v = (y - lattice.y) / lattice.stepM;
  const c = Math.floor(u);
  const r = Math.floor(v);
  const wx = new Float64Array(4);
  const wy = new Float64Array(4);
  cubicWeights(u - c, wx);
  cubicWeights(v - r, wy);
  let sum = 0;
  for (let q = 0; q < 4; q++) {
    const k = (r + q - 1) * lattice.columns + c - 1;
    sum += wy[q] * (wx[0] * values[k] + wx[1] * values[k + 1] + wx[2] * values[k + 2] + wx[3] * values[k + 3]);
  }
  return sum;
}

/** Gaussian smoothing along x, then along y. */
function smooth(values: Float64Array, lattice: Lattice, sigmaM: number): Float64Array {
  const { columns, rows, stepM } = lattice;
  const half = cutSigmas * nodesPerSigma;
  const taps = new Float64Array(half + 1);
  for (let k = 0; k <= half; k++) {
    taps[k] = Math.exp(-0.5 * ((k * stepM) / sigmaM) ** 2) / (sigmaM * Math.sqrt(2 * Math.PI));
  }
  const along = new Float64Array(columns * rows);
  const row = new Float64Array(columns + 2 * half);
  const filled = new Uint8Array(rows);
  for (let r = 0; r < rows; r++) {
    const start = r * columns;
    for (let c = 0; c < columns; c++) {
      row[half + c] = values[start + c];
      if (values[start + c] !== 0) filled[r] = 1;
    }
    if (filled[r] === 0) continue;
    for (let c = 0; c < columns; c++) {
      const z = half + c;
      let sum = taps[0] * row[z];
      for (let k = 1; k <= half; k++) sum += taps[k] * (row[z - k] + row[z + k]);
      along[start + c] = sum;
    }
  }
  const out = new Float64Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    const target = out.subarray(r * columns, (r + 1) * columns);
    for (let s = Math.max(0, r - half); s <= Math.min(rows - 1, r + half); s++) {
      if (filled[s] === 0) continue;
      const tap = taps[Math.abs(r - s)];
      const source = s * columns;
      for (let c = 0; c < columns; c++) target[c] += tap * along[source + c];
    }
  }
  return out;
}

function surfaceAtNodes(sums: Float64Array, divideBy: Float64Array | null): Float64Array {
  return divideBy === null ? sums : sums.map((v, k) => v / Math.max(divideBy[k], leastMass));
}

/**
 * What a surface holds over a window: its integral inside the true outline. The bilinear shares overstate a curved
 * surface by step²/12 of its curvature, which is taken off.
 *
 * @param area     [rows × columns] the window shared out to the nodes (windowShares), m²
 * @param surface  [rows × columns] values at the nodes, also at the neighbours of nodes with a share
 */
export function integrateNodes(area: Float64Array, surface: Float64Array, lattice: Lattice): number {
  const { columns, rows } = lattice;
  let sum = 0;
  for (let r = 1; r < rows - 1; r++) {
    for (let c = 1; c < columns - 1; c++) {
      const k = r * columns + c;
      if (area[k] === 0) continue;
      const around = surface[k - 1] + surface[k + 1] + surface[k - columns] + surface[k + columns];
      sum += area[k] * (surface[k] - (around - 4 * surface[k]) / 12);
    }
  }
  return sum;
}

/**
 * A lattice read off at the centres of a grid.
 * @returns [rows × columns] per m², outside the window too (of no meaning there, but smooth); NaN off the lattice
 */
export function latticeOnGrid(lattice: KernelLattice, grid: CellGrid): Float64Array {
  const out = readGrid(lattice.sums, lattice, grid);
  if (lattice.divideBy) {
    const mass = readGrid(lattice.divideBy, lattice, grid);
    for (let k = 0; k < out.length; k++) out[k] /= Math.max(mass[k], leastMass);
  }
  return out;
}

/** A lattice read off at single places [2m] → [m] per m². */
export function latticeAt(lattice: KernelLattice, at: Float64Array): Float64Array {
  const out = new Float64Array(at.length / 2);
  for (let k = 0; k < out.length; k++) {
    const [x, y] = [at[2 * k], at[2 * k + 1]];
    out[k] = readNode(lattice.sums, lattice, x, y);
    if (lattice.divideBy) out[k] /= Math.max(readNode(lattice.divideBy, lattice, x, y), leastMass);
  }
  return out;
}

/**
 * Share of a kernel that falls inside the window, at the centres of a grid, never below 0.001: what `uniform` edge
 * correction divides by.
 * @throws Problem too-much-work as for kernelLattice
 */
export function massOnGrid(window: Region, sigmaM: number, grid: CellGrid): Float64Array {
  const lattice = latticeFor({ window, sigmaM });
  const mass = massAtNodes(windowShares(window, lattice), lattice, sigmaM);
  return readGrid(mass, lattice, grid).map((m) => (Number.isNaN(m) ? leastMass : Math.max(m, leastMass)));
}

function readGrid(values: Float64Array, lattice: Lattice, grid: CellGrid): Float64Array {
  const { columns, rows } = grid;
  const across = cubicFeet(
    { start: grid.x, step: grid.stepX, count: columns },
    { origin: lattice.x, nodes: lattice.columns, stepM: lattice.stepM },
  );
  const down = cubicFeet(
    { start: grid.y, step: grid.stepY, count: rows },
    { origin: lattice.y, nodes: lattice.rows, stepM: lattice.stepM },
  );
  const { feet, weights } = across;
  // along x for every lattice row first: these rows are far fewer than the grid's when the grid is fine
  const along = new Float64Array(columns * lattice.rows);
  for (let r = 0; r < lattice.rows; r++) {
    const source = r * lattice.columns;
    const target = r * columns;
    for (let c = 0; c < columns; c++) {
      const k = source + feet[c];
      const w = 4 * c;
      along[target + c] =
        weights[w] * values[k] +
        weights[w + 1] * values[k + 1] +
        weights[w + 2] * values[k + 2] +
        weights[w + 3] * values[k + 3];
    }
  }
  const out = new Float64Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    const a = down.feet[r] * columns;
    const [w0, w1, w2, w3] = down.weights.subarray(4 * r, 4 * r + 4);
    const target = r * columns;
    for (let c = 0; c < columns; c++) {
      const k = a + c;
      out[target + c] =
        w0 * along[k] + w1 * along[k + columns] + w2 * along[k + 2 * columns] + w3 * along[k + 3 * columns];
    }
  }
  return out;
}

/** First of the four nodes under each cell centre of an axis, and their weights; NaN weights off the lattice. */
function cubicFeet(
  axis: { start: number; step: number; count: number },
  nodes: { origin: number; nodes: number; stepM: number },
): { feet: Int32Array; weights: Float64Array } {
  const feet = new Int32Array(axis.count);
  const weights = new Float64Array(4 * axis.count);
  for (let k = 0; k < axis.count; k++) {
    const u = (axis.start + k * axis.step - nodes.origin) / nodes.stepM;
    const foot = Math.floor(u) - 1;
    const four = weights.subarray(4 * k, 4 * k + 4);
    if (foot < 0 || foot + 3 >= nodes.nodes) four.fill(Number.NaN);
    else {
      feet[k] = foot;
      cubicWeights(u - foot - 1, four);
    }
  }
  return { feet, weights };
}
