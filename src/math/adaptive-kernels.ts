import { Problem } from '../problems.js';
import { edgeMass } from './kernel-edge.js';
import type { CellGrid } from './kernel-grid.js';
import { integrateNodes, kernelLattice, latticeAt, massOnGrid } from './kernel-grid.js';
import { kernelSums } from './kernel-sums.js';
import { type KernelInput, kernelIntensity } from './kernels.js';
import { regionBox, shiftRegion } from './rings.js';
import { type Lattice, windowShares } from './window-shares.js';

/** Bandwidths that shrink where finds lie thick. */
export interface AdaptiveBandwidths {
  /** [n] density of the pilot at each find, per m² */
  readonly pilot: Float64Array;
  /** [n] standard deviation of each find's kernel, metres */
  readonly sigmaM: Float64Array;
  /** finds whose kernel was held at five times the middle one */
  readonly capped: number;
  readonly smallestM: number;
  readonly medianM: number;
  readonly largestM: number;
}

/** up to so many positions the pilot is the full sum; beyond it is read off the lattice, 0.0002 of the peak near */
const mostSummed = 4000;
const mostMedians = 5;

/**
 * A kernel for each find, in inverse proportion to the square root of a pilot density there: narrow in a heap, wide
 * where finds are few. Their geometric mean is the bandwidth of the pilot, which is corrected at the place (uniform)
 * and counts the find itself; no kernel is wider than five times the middle one.
 *
 * A lone find far from all others gets a kernel so wide that it is hardly seen: adaptive smoothing shows heaps, not
 * outliers.
 *
 * @param input  finds with the bandwidth of the pilot; n ≥ 1; left untouched
 * @param share  [n] how many finds each position stands for: sub-points of one find share it
 * @see Abramson 1982, doi:10.1214/aos/1176345986; Davies & Hazelton 2010, doi:10.1002/sim.3995
 */
export function abramsonBandwidths(input: KernelInput, share: Float64Array): AdaptiveBandwidths {
  const n = share.length;
  const uniform: KernelInput = { ...input, edge: 'uniform' };
  const pilot = n <= mostSummed ? kernelIntensity(uniform, input.xy) : latticeAt(kernelLattice(uniform), input.xy);
  let logs = 0;
  let finds = 0;
  for (let i = 0; i < n; i++) {
    logs += -0.5 * share[i] * Math.log(pilot[i]);
    finds += share[i];
  }
  const mean = Math.exp(logs / finds);
  const sigmaM = pilot.map((f) => input.sigmaM / (Math.sqrt(f) * mean));
  const medianM = sharedMedian(sigmaM, share);
  let held = 0;
  let smallestM = Infinity;
  let largestM = 0;
  for (let i = 0; i < n; i++) {
    if (sigmaM[i] > mostMedians * medianM) {
      sigmaM[i] = mostMedians * medianM;
      held += share[i];
    }
    smallestM = Math.min(smallestM, sigmaM[i]);
    largestM = Math.max(largestM, sigmaM[i]);
  }
  return { pilot, sigmaM, capped: Math.round(held), smallestM, medianM, largestM };
}

/** Middle value, each counted with its share. */
function sharedMedian(values: Float64Array, share: Float64Array): number {
  const order = Array.from(values.keys()).sort((a, b) => values[a] - values[b] || a - b);
  const half = share.reduce((sum, s) => sum + s, 0) / 2;
  let below = 0;
  for (let k = 0; k < order.length; k++) {
    below += share[order[k]];
    if (below > half * (1 + 1e-12)) return values[order[k]];
    // half of them lie on either side: the middle between the two
    if (below >= half * (1 - 1e-12)) return (values[order[k]] + values[order[Math.min(k + 1, order.length - 1)]]) / 2;
  }
  return values[order[order.length - 1]];
}

/** Finds with a kernel of their own each. `sigmaM` of the kernel input is the pilot's. */
export interface AdaptiveInput extends KernelInput {
  /** [n] standard deviations, metres */
  readonly sigmas: Float64Array;
}

/** divisions by the window's share of a kernel in one run: some seconds */
const mostDivisions = 2e6;

/**
 * Finds per m² at given places with a kernel of its own for each find, by the full sum. Edge correction with the find's
 * own bandwidth: at each find (jones-diggle) or at the place (uniform, one division for each find and place).
 *
 * @param at  [2m] metres, in the coordinates of the finds
 * @returns   [m] per m²
 * @throws Problem too-much-work when `uniform` would divide more than two million times
 */
export function adaptiveIntensity(input: AdaptiveInput, at: Float64Array): Float64Array {
  const { xy, sigmas, edge } = input;
  if (edge === 'uniform' && (sigmas.length * at.length) / 2 > mostDivisions) {
    throw new Problem(
      'too-much-work',
      `adaptive kernels with edge = uniform divide once for each find and place: ${sigmas.length} positions at ${at.length / 2} places are too many; ask for at most ${Math.floor(mostDivisions / sigmas.length)} places, or for edge = jones-diggle`,
      { positions: sigmas.length, places: at.length / 2 },
    );
  }
  const [west, south] = regionBox(input.window);
  const window = shiftRegion(input.window, west, south);
  const shares = sharesOf(input);
  const out = new Float64Array(at.length / 2);
  for (let i = 0; i < sigmas.length; i++) {
    const perTwo = 1 / (2 * sigmas[i] * sigmas[i]);
    const height = (shares[i] * perTwo) / Math.PI;
    const mass = edge === 'uniform' ? edgeMass(window, sigmas[i]) : null;
    const x = xy[2 * i] - west;
    const y = xy[2 * i + 1] - south;
    for (let k = 0; k < out.length; k++) {
      const u = at[2 * k] - west;
      const v = at[2 * k + 1] - south;
      const kernel = height * Math.exp(-((u - x) ** 2 + (v - y) ** 2) * perTwo);
      // a kernel of nothing stays nothing: outside the window its divisor can be nothing too
      if (kernel > 0) out[k] += mass ? kernel / mass(u, v) : kernel;
    }
  }
  return out;
}

/** What each find carries into the sum: its weight, divided by what of its own kernel falls inside the window. */
function sharesOf({ xy, weight, window, sigmas, edge }: AdaptiveInput): Float64Array {
  if (edge !== 'jones-diggle') return weight;
  const [west, south] = regionBox(window);
  const local = shiftRegion(window, west, south);
  return weight.map((w, i) => w / edgeMass(local, sigmas[i])(xy[2 * i] - west, xy[2 * i + 1] - south));
}

/** Values on a grid, and what the surface holds over the window. */
export interface AdaptiveSurface {
  /** [rows × columns] per m², also beyond the window, where they mean nothing */
  readonly values: Float64Array;
  readonly integral: number;
}

/**
 * The same density at the centres of a grid that covers the window, by direct sums. `uniform` divides by tables: the
 * share of the kernel inside the window at bandwidths a quarter of a unit of logarithm apart, cubic between them, less
 * than 0.001 from the full sum.
 *
 * @param grid  stepX above 0, stepY below 0, equally large
 * @throws Problem too-much-work
 */
export function adaptiveSurface(input: AdaptiveInput, grid: CellGrid): AdaptiveSurface {
  // two more cells on every side, rows from the south: the window's edge then lies between nodes
  const around = 2;
  const lattice: Lattice = {
    x: grid.x - around * grid.stepX,
    y: grid.y + (grid.rows - 1 + around) * grid.stepY,
    stepM: grid.stepX,
    columns: grid.columns + 2 * around,
    rows: grid.rows + 2 * around,
  };
  const nodes = { ...lattice, stepX: lattice.stepM, stepY: lattice.stepM };
  const surface = input.edge === 'uniform' ? dividedSums(input, nodes) : kernelSums(smoothed(input), nodes);
  const integral = integrateNodes(windowShares(input.window, lattice), surface, lattice);
  const values = new Float64Array(grid.columns * grid.rows);
  for (let r = 0; r < grid.rows; r++) {
    const from = (lattice.rows - 1 - around - r) * lattice.columns + around;
    values.set(surface.subarray(from, from + grid.columns), r * grid.columns);
  }
  return { values, integral };
}

function smoothed(input: AdaptiveInput) {
  return { xy: input.xy, share: sharesOf(input), sigmaM: input.sigmas };
}

/** steps of the table of bandwidths, in units of natural logarithm */
const tableStep = 0.25;

/** Σ k_h(u − x) / e_h(u): the divisors of neighbouring bandwidths with cubic weights. */
function dividedSums(input: AdaptiveInput, grid: CellGrid): Float64Array {
  const { sigmas, weight, window } = input;
  const logs = sigmas.map((sigma) => Math.log(sigma));
  const lowest = logs.reduce((least, v) => Math.min(least, v), Infinity);
  const highest = logs.reduce((most, v) => Math.max(most, v), -Infinity);
  const out = new Float64Array(grid.columns * grid.rows);
  const last = Math.floor((highest - lowest) / tableStep) + 2;
  for (let node = -1; node <= last; node++) {
    const share = weight.map((w, i) => w * cubicWeight((logs[i] - lowest) / tableStep, node));
    if (share.every((s) => s === 0)) continue;
    const sums = kernelSums({ xy: input.xy, share, sigmaM: sigmas }, grid);
    const mass = massOnGrid(window, Math.exp(lowest + node * tableStep), grid);
    for (let k = 0; k < out.length; k++) out[k] += sums[k] / mass[k];
  }
  return out;
}

/** Weight of a node of the table for a place at u steps: the cubic through the four nodes around it. */
function cubicWeight(u: number, node: number): number {
  const first = Math.floor(u) - 1;
  if (node < first || node > first + 3) return 0;
  let product = 1;
  for (let k = first; k <= first + 3; k++) if (k !== node) product *= (u - k) / (node - k);
  return product;
}
