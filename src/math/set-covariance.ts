import { Problem } from '../problems.js';
import { isRectangle, type Region, regionArea, regionBox } from './rings.js';

/** Area that a window has in common with itself moved by (dx, dy) → m². Equal for (−dx, −dy). */
export type SetCovariance = (dx: number, dy: number) => number;

/** Edge pairs a square of moves may keep undecided, and how often it may be halved: more would not stay in the cache. */
const fewUndecided = 6;
const deepest = 4;
/** a square is halved once it was asked so often, in multiples of its undecided pairs */
const patience = 4;
const mostEdges = 3000;

/**
 * How much of the dug area two finds so far apart could both lie in: the area of the window that stays inside when the
 * window is moved by their difference. Exact, with holes and several parts.
 *
 * Row by row the common length of two sets of intervals is a sum, over pairs of edges, of how far one edge lies beyond
 * the other; integrated over the rows each pair of edges gives a closed form. Over a small square of moves most pairs
 * are decided (nowhere, or everywhere with the same limits), and their sum is one polynomial of second degree; squares
 * that are asked often are halved until few pairs are left undecided, so that a move costs one polynomial and a
 * handful of closed forms.
 *
 * @param window  outer rings anticlockwise, holes clockwise, metres; left untouched
 * @param reachM  moves farther than this along either axis are not asked
 * @throws Problem too-much-work beyond 3,000 edges
 * @see Ohser 1983, Mathematische Operationsforschung und Statistik, Series Statistics 14, 63–71
 */
export function setCovariance(window: Region, reachM: number): SetCovariance {
  if (isRectangle(window)) {
    const [west, south, east, north] = regionBox(window);
    return (dx, dy) => Math.max(0, east - west - Math.abs(dx)) * Math.max(0, north - south - Math.abs(dy));
  }
  const edges = edgesOf(window);
  const extent = regionBox(window);
  const reach = Math.max(reachM * (1 + 1e-9), 1e-9 * (extent[2] - extent[0]));
  const count = edges.length / each;
  if (count > mostEdges) {
    throw new Problem(
      'too-much-work',
      `the window has ${count} edges; overlaps of a window with itself are computed for at most ${mostEdges}: draw the excavated areas with fewer corners`,
      { edges: count },
    );
  }
  // the two squares of the upper half: the lower half is the same by symmetry
  const all = Uint32Array.from({ length: count * count }, (_, k) => (Math.floor(k / count) << 16) | (k % count));
  const half = reach / 2;
  const nothing = [0, 0, 0, 0, 0];
  const west = settle(edges, { dx: -half, dy: half, half, depth: 0 }, { polynomial: nothing, pairs: all });
  const east = settle(edges, { dx: half, dy: half, half, depth: 0 }, { polynomial: nothing, pairs: all });
  const area = regionArea(window);
  return (dx, dy) => {
    const x = dy < 0 ? -dx : dx;
    const y = dy < 0 ? -dy : dy;
    if (x === 0 && y === 0) return area;
    if (!(y <= reach && x <= reach && x >= -reach)) return Math.max(0, exactSum(edges, all, x, y));
    let square = x < 0 ? west : east;
    for (;;) {
      if (square.quarters === null) {
        if (++square.visits < patience * square.pairs.length || !isDivisible(square)) break;
        square.quarters = quartersOf(edges, square);
      }
      square = square.quarters[(x < square.dx ? 0 : 1) + (y < square.dy ? 0 : 2)];
    }
    const u = x - square.dx;
    const v = y - square.dy;
    const settled = square.c0 + u * (square.c1 + v * square.c3) + v * (square.c2 + v * square.c4);
    return Math.max(0, settled + exactSum(edges, square.pairs, x, y));
  };
}

interface Place {
  readonly dx: number;
  readonly dy: number;
  readonly half: number;
  readonly depth: number;
}

/** A square of moves: the polynomial c0 + c1 u + c2 v + c3 uv + c4 v² about its centre, and the pairs left undecided. */
class MoveSquare {
  readonly dx: number;
  readonly dy: number;
  readonly half: number;
  readonly depth: number;
  readonly c0: number;
  readonly c1: number;
  readonly c2: number;
  readonly c3: number;
  readonly c4: number;
  readonly pairs: Uint32Array;
  /** how often it was asked while whole */
  visits = 0;
  /** by west/east, then south/north, once it is halved */
  quarters: readonly MoveSquare[] | null = null;

  constructor(place: Place, polynomial: readonly number[], pairs: Uint32Array) {
    this.dx = place.dx;
    this.dy = place.dy;
    this.half = place.half;
    this.depth = place.depth;
    [this.c0, this.c1, this.c2, this.c3, this.c4] = polynomial;
    this.pairs = pairs;
  }
}

const isDivisible = (square: MoveSquare) => square.pairs.length > fewUndecided && square.depth < deepest;

/**
 * Edges with some height, from their lower to their upper end: [6e] sign, low x, low y, high x, high y, east per north.
 * The sign is +1 where the window lies to the east of the edge, −1 where it lies to the west.
 */
type Edges = Float64Array;
const each = 6;

function edgesOf(window: Region): Edges {
  const rows: number[] = [];
  const add = (sign: number, low: readonly number[], high: readonly number[]) => {
    rows.push(sign, ...low, ...high, (high[0] - low[0]) / (high[1] - low[1]));
  };
  for (const ring of window.rings) {
    const m = ring.length;
    for (let i = 0, j = m - 2; i < m; j = i, i += 2) {
      const from = [ring[j], ring[j + 1]];
      const to = [ring[i], ring[i + 1]];
      if (from[1] > to[1]) add(1, to, from);
      else if (to[1] > from[1]) add(-1, from, to);
    }
  }
  return Float64Array.from(rows);
}

/** Place of the edge at `e` in the row y, its own ends exactly. */
function placeAt(edges: Edges, e: number, y: number): number {
  if (y <= edges[e + 2]) return edges[e + 1];
  if (y >= edges[e + 4]) return edges[e + 3];
  return edges[e + 1] + edges[e + 5] * (y - edges[e + 2]);
}

/**
 * How far edge e lies beyond edge f moved by (dx, dy), where it does, integrated over the rows both have; signed so
 * that the sum over all pairs is the common area. pair: positions of e and f, 16 bits each.
 */
function pairArea(edges: Edges, pair: number, dx: number, dy: number): number {
  const e = each * (pair >>> 16);
  const f = each * (pair & 0xffff);
  const lowE = edges[e + 2];
  const lowF = edges[f + 2] + dy;
  const low = Math.max(lowE, lowF);
  const highE = edges[e + 4];
  const highF = edges[f + 4] + dy;
  const high = Math.min(highE, highF);
  const height = high - low;
  if (!(height > 0)) return 0;
  const atLow = placeAt(edges, e, low) - placeAt(edges, f, low - dy) - dx;
  const atHigh = placeAt(edges, e, high) - placeAt(edges, f, high - dy) - dx;
  let twice: number;
  if (atLow >= 0) twice = atHigh >= 0 ? (atLow + atHigh) * height : (atLow * atLow * height) / (atLow - atHigh);
  else if (atHigh > 0) twice = (atHigh * atHigh * height) / (atHigh - atLow);
  else return 0;
  return edges[e] === edges[f] ? -0.5 * twice : 0.5 * twice;
}

function exactSum(edges: Edges, pairs: Uint32Array, dx: number, dy: number): number {
  let sum = 0;
  for (let k = 0; k < pairs.length; k++) sum += pairArea(edges, pairs[k], dx, dy);
  return sum;
}

/** Decides what can be decided in a square of moves. */
function settle(
  edges: Edges,
  place: Place,
  open: { readonly polynomial: readonly number[]; readonly pairs: Uint32Array },
): MoveSquare {
  const settled = [...open.polynomial];
  const left: number[] = [];
  for (const pair of open.pairs) {
    const verdict = decide(edges, pair, place);
    if (verdict === 'undecided') left.push(pair);
    else if (verdict === 'settled') addPolynomial(edges, pair, place, settled);
  }
  return new MoveSquare(place, settled, Uint32Array.from(left));
}

function quartersOf(edges: Edges, square: MoveSquare): MoveSquare[] {
  const { dx, dy, pairs, c0, c1, c2, c3, c4 } = square;
  const half = square.half / 2;
  return [
    [-half, -half],
    [half, -half],
    [-half, half],
    [half, half],
  ].map(([u, v]) => {
    // the same polynomial about the quarter's centre
    const polynomial = [c0 + u * (c1 + v * c3) + v * (c2 + v * c4), c1 + v * c3, c2 + u * c3 + 2 * v * c4, c3, c4];
    return settle(edges, { dx: dx + u, dy: dy + v, half, depth: square.depth + 1 }, { polynomial, pairs });
  });
}

/** Adds a settled pair's polynomial, read off at five moves of the square. */
function addPolynomial(edges: Edges, pair: number, place: Place, into: number[]): void {
  const { dx, dy, half } = place;
  const at = (u: number, v: number) => pairArea(edges, pair, dx + u * half, dy + v * half);
  const middle = at(0, 0);
  const north = at(0, 1);
  const south = at(0, -1);
  const east = at(1, 0);
  const bend = (north + south) / 2 - middle;
  const rise = (north - south) / 2;
  into[0] += middle;
  into[1] += (east - middle) / half;
  into[2] += rise / half;
  into[3] += (at(1, 1) - east - rise - bend) / (half * half);
  into[4] += bend / (half * half);
}

/** Whether a pair of edges adds nothing over a whole square of moves, the same polynomial everywhere, or neither. */
function decide(edges: Edges, pair: number, place: Place): 'nothing' | 'settled' | 'undecided' {
  const { dx, dy, half } = place;
  const e = each * (pair >>> 16);
  const f = each * (pair & 0xffff);
  const south = dy - half;
  const north = dy + half;
  const [lowE, highE, lowF, highF] = [edges[e + 2], edges[e + 4], edges[f + 2], edges[f + 4]];
  // rows both edges have for some move of the square
  const low = Math.max(lowE, lowF + south);
  const high = Math.min(highE, highF + north);
  if (!(high > low)) return 'nothing';
  const mostE = Math.max(placeAt(edges, e, low), placeAt(edges, e, high));
  const leastE = Math.min(placeAt(edges, e, low), placeAt(edges, e, high));
  const mostF = Math.max(placeAt(edges, f, low - north), placeAt(edges, f, high - south));
  const leastF = Math.min(placeAt(edges, f, low - north), placeAt(edges, f, high - south));
  let straightLeast = Infinity;
  let straightMost = -Infinity;
  for (const y of [low, high]) {
    for (const rest of [south, north]) {
      const straight = placeStraight(edges, e, y) - placeStraight(edges, f, y - rest) - dx;
      straightLeast = Math.min(straightLeast, straight);
      straightMost = Math.max(straightMost, straight);
    }
  }
  // beside edges that run apart the ends bound best, along parallel edges the straight difference does
  const least = Math.max(leastE - mostF - dx, straightLeast) - half;
  const most = Math.min(mostE - leastF - dx, straightMost) + half;
  if (most <= 0) return 'nothing';
  if (least < 0) return 'undecided';
  // which edge sets the lower and the upper row must not change, and there must be rows in common throughout
  const lowChanges = lowF + south < lowE && lowF + north > lowE;
  const highChanges = highF + south < highE && highF + north > highE;
  const isAlways = lowE <= highF + south && lowF + north <= highE;
  return lowChanges || highChanges || !isAlways ? 'undecided' : 'settled';
}

/** Place on the straight line through the edge at `e`, beyond its ends too. */
function placeStraight(edges: Edges, e: number, y: number): number {
  return edges[e + 1] + edges[e + 5] * (y - edges[e + 2]);
}

/**
 * The same, read off a table by bilinear weights: a hundred times as many moves in the same time, within about 1e-4 of
 * the area. For simulations, where observed and simulated scatters are measured alike.
 *
 * @param reachM  moves farther than this along either axis are not asked
 */
export function tabulated(exact: SetCovariance, reachM: number): SetCovariance {
  const steps = 64;
  const perMetre = steps / (reachM * (1 + 1e-9));
  const columns = 2 * steps + 2;
  const table = new Float64Array(columns * (steps + 2));
  for (let row = 0; row <= steps; row++) {
    for (let column = -steps; column <= steps; column++) {
      table[row * columns + column + steps] = exact(column / perMetre, row / perMetre);
    }
  }
  return (dx, dy) => {
    const u = (dy < 0 ? -dx : dx) * perMetre + steps;
    const v = (dy < 0 ? -dy : dy) * perMetre;
    const column = Math.floor(u);
    const row = Math.floor(v);
    const f = u - column;
    const at = row * columns + column;
    const below = table[at] + f * (table[at + 1] - table[at]);
    const above = table[at + columns] + f * (table[at + columns + 1] - table[at + columns]);
    return below + (v - row) * (above - below);
  };
}
