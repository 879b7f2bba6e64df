import { normalLowerTail } from './distributions.js';
import { isRectangle, type Region, regionBox } from './rings.js';

/** Nodes and weights of the 24-point Gauss–Legendre rule on [−1, 1], found by Newton's method on the polynomial. */
function gaussLegendre(count: number): { nodes: Float64Array; weights: Float64Array } {
  const nodes = new Float64Array(count);
  const weights = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (count + 0.5));
    let slope = 1;
    for (let step = 0; step < 60; step++) {
      let p0 = 1;
      let p1 = x;
      for (let k = 2; k <= count; k++) {
        const p2 = ((2 * k - 1) * x * p1 - (k - 1) * p0) / k;
        p0 = p1;
        p1 = p2;
      }
      slope = (count * (x * p1 - p0)) / (x * x - 1);
      const change = p1 / slope;
      x -= change;
      if (Math.abs(change) < 1e-16) break;
    }
    nodes[i] = x;
    weights[i] = 2 / ((1 - x * x) * slope * slope);
  }
  return { nodes, weights };
}

const rule = gaussLegendre(24);
const perRoot2Pi = 1 / Math.sqrt(2 * Math.PI);
/** beyond 9 bandwidths a normal tail holds 1e-19: nothing in double precision */
const reach = 9;

const nodesPerUnit = 16;
const terms = 11;
/** [nodes × terms] Taylor coefficients of the normal distribution function about every 16th of a unit from −reach to reach */
const tailTable = taylorTable();

function taylorTable(): Float64Array {
  const table = new Float64Array((2 * reach * nodesPerUnit + 1) * terms);
  for (let node = 0; node * terms < table.length; node++) {
    const z = node / nodesPerUnit - reach;
    let before = 0;
    let derivative = Math.exp(-0.5 * z * z) * perRoot2Pi;
    let factorial = 1;
    table[node * terms] = normalLowerTail(z);
    for (let k = 1; k < terms; k++) {
      factorial *= k;
      table[node * terms + k] = derivative / factorial;
      // φ' = −z φ, and every further derivative by the recurrence of the Hermite polynomials
      const next = -z * derivative - (k - 1) * before;
      before = derivative;
      derivative = next;
    }
  }
  return table;
}

/** Normal distribution function from the table: sums along window edges ask for it millions of times. Relative error below 1e-13. */
function lowerTail(z: number): number {
  if (z <= -reach) return 0;
  if (z >= reach) return 1;
  const node = Math.round((z + reach) * nodesPerUnit);
  const d = z + reach - node / nodesPerUnit;
  const start = node * terms;
  let value = tailTable[start + terms - 1];
  for (let k = terms - 2; k >= 0; k--) value = value * d + tailTable[start + k];
  return value;
}

/** Chance that a standard normal number lies between a and b, exact in either tail. */
export function normalBetween(a: number, b: number): number {
  return a > 0 ? lowerTail(-a) - lowerTail(-b) : lowerTail(b) - lowerTail(a);
}

/**
 * Share of a find's kernel that falls inside the dug area: 1 in the middle, about ½ on a straight edge, ¼ at a
 * corner. Dividing by it gives back what leaked over the trench edge.
 *
 * Exact: a rectangle has a closed form; any other window is summed along its edges by Green's theorem, 24
 * Gauss–Legendre nodes to each piece no longer than one bandwidth (error about 1e-14), and edges that run along
 * y or lie far off in closed form.
 *
 * @param window  outer rings anticlockwise, holes clockwise, metres
 * @param sigmaM  bandwidth: standard deviation of the kernel, metres
 * @returns       the share as a function of a place (x, y) in the window's own coordinates
 * @see Diggle 1985, doi:10.2307/2347366; Jones 1993, doi:10.1007/BF00147776
 */
export function edgeMass(window: Region, sigmaM: number): (x: number, y: number) => number {
  if (isRectangle(window)) {
    const [west, south, east, north] = regionBox(window);
    return (x, y) =>
      normalBetween((west - x) / sigmaM, (east - x) / sigmaM) *
      normalBetween((south - y) / sigmaM, (north - y) / sigmaM);
  }
  const edges = edgesOf(window);
  return (x, y) => {
    let sum = 0;
    for (let k = 0; k < edges.length; k += 4) {
      const ax = (edges[k] - x) / sigmaM;
      const ay = (edges[k + 1] - y) / sigmaM;
      const bx = (edges[k + 2] - x) / sigmaM;
      const by = (edges[k + 3] - y) / sigmaM;
      if ((ay > reach && by > reach) || (ay < -reach && by < -reach)) continue;
      if (ax < -reach && bx < -reach) continue;
      if (ax === bx || (ax > reach && bx > reach)) sum += (ax > reach ? 1 : lowerTail(ax)) * normalRise(ay, by);
      else sum += edgeIntegral(ax, ay, bx, by);
    }
    return sum;
  };
}

/** [4m] x, y of both ends of every edge that has some height; level edges add nothing to the line integral. */
function edgesOf(window: Region): Float64Array {
  const out: number[] = [];
  for (const ring of window.rings) {
    const m = ring.length;
    for (let i = 0; i < m; i += 2) {
      const j = i + 2 === m ? 0 : i + 2;
      if (ring[i + 1] !== ring[j + 1]) out.push(ring[i], ring[i + 1], ring[j], ring[j + 1]);
    }
  }
  return Float64Array.from(out);
}

/** Φ(b) − Φ(a), signed. */
function normalRise(a: number, b: number): number {
  return a <= b ? normalBetween(a, b) : -normalBetween(b, a);
}

/** ∫ Φ(x) φ(y) dy along one edge, lengths in bandwidths about the place asked. */
function edgeIntegral(ax: number, ay: number, bx: number, by: number): number {
  const pieces = Math.ceil(Math.hypot(bx - ax, by - ay));
  const dx = (bx - ax) / pieces;
  const dy = (by - ay) / pieces;
  let sum = 0;
  for (let p = 0; p < pieces; p++) {
    const y0 = ay + p * dy;
    const x0 = ax + p * dx;
    const y1 = y0 + dy;
    if ((y0 > reach && y1 > reach) || (y0 < -reach && y1 < -reach)) continue;
    if (x0 < -reach && x0 + dx < -reach) continue;
    if (x0 > reach && x0 + dx > reach) {
      sum += normalRise(y0, y1);
      continue;
    }
    let part = 0;
    for (let q = 0; q < 24; q++) {
      const t = 0.5 + 0.5 * rule.nodes[q];
      const y = y0 + t * dy;
      part += rule.weights[q] * lowerTail(x0 + t * dx) * Math.exp(-0.5 * y * y);
    }
    sum += 0.5 * part * dy * perRoot2Pi;
  }
  return sum;
}
