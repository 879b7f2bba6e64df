import { Problem } from '../problems.js';
import { circleSign, turnSign } from './exact-signs.js';

/** Triangles of scattered places, corners anticlockwise; empty when all places lie on one line. */
export interface TriangleMesh {
  /** [3 × triangles] numbers of the corners */
  readonly corners: Uint32Array;
  /** [h] numbers of the places on the outline, anticlockwise; empty when there is no triangle */
  readonly outline: Uint32Array;
}

/** places are told apart to a hundredth of a millimetre, so that a grid read to the millimetre stays a grid */
const stepM = 1e-5;
const none = -1;

/**
 * Delaunay triangulation of scattered places. Places on one circle leave a choice, which is always made the same way:
 * squares of a grid are cut from south-west to north-east.
 *
 * Built by sweeping from west to east and turning edges until every one is Delaunay; signs are exact.
 *
 * @param x  [n] metres; of places closer than 0.01 mm only the first is used
 * @param y  [n] metres
 * @see Delaunay 1934; turning of edges: Lawson 1977; ties by a small raise: Edelsbrunner & Mücke 1990, doi:10.1145/77635.77639
 */
export function triangleMesh(x: Float64Array, y: Float64Array): TriangleMesh {
  return new Sweep(x, y).run();
}

class Sweep {
  readonly #x: Float64Array;
  readonly #y: Float64Array;
  readonly #order: Uint32Array;
  readonly #corners: Int32Array;
  /** the half edge on the other side of an edge; none = outline */
  readonly #twin: Int32Array;
  readonly #next: Int32Array;
  readonly #previous: Int32Array;
  /** half edge of the outline that starts at a place */
  readonly #edgeFrom: Int32Array;
  #count = 0;

  constructor(x: Float64Array, y: Float64Array) {
    const n = x.length;
    const west = x.reduce((low, v) => Math.min(low, v), Infinity);
    const south = y.reduce((low, v) => Math.min(low, v), Infinity);
    this.#x = x.map((v) => Math.round((v - west) / stepM));
    this.#y = y.map((v) => Math.round((v - south) / stepM));
    if ([...this.#x, ...this.#y].some((v) => !(v < 2 ** 31))) {
      throw new Problem(
        'bad-geometry',
        'the levels lie more than 20 km apart: look for a coordinate in another system',
      );
    }
    const sorted = Uint32Array.from({ length: n }, (_, i) => i).sort(
      (a, b) => this.#x[a] - this.#x[b] || this.#y[a] - this.#y[b],
    );
    const isNew = (a: number, k: number) =>
      k === 0 || this.#x[a] !== this.#x[sorted[k - 1]] || this.#y[a] !== this.#y[sorted[k - 1]];
    this.#order = sorted.filter(isNew);
    this.#corners = new Int32Array(6 * n);
    this.#twin = new Int32Array(6 * n).fill(none);
    this.#next = new Int32Array(n).fill(none);
    this.#previous = new Int32Array(n).fill(none);
    this.#edgeFrom = new Int32Array(n).fill(none);
  }

  run(): TriangleMesh {
    const order = this.#order;
    const n = order.length;
    let k = 2;
    while (k < n && this.#turn(order[0], order[1], order[k]) === 0) k++;
    if (k >= n) return { corners: new Uint32Array(0), outline: new Uint32Array(0) };
    this.#fan(k);
    for (let i = k + 1; i < n; i++) this.#add(order[i], order[i - 1]);
    const outline: number[] = [];
    let at: number = order[0];
    do {
      outline.push(at);
      at = this.#next[at];
    } while (at !== order[0]);
    return {
      corners: Uint32Array.from(this.#corners.subarray(0, 3 * this.#count)),
      outline: Uint32Array.from(outline),
    };
  }

  #turn(a: number, b: number, c: number): number {
    return turnSign(this.#x[a], this.#y[a], this.#x[b], this.#y[b], this.#x[c], this.#y[c]);
  }

  /** The first places lie on one line; place k is the first beside it. */
  #fan(k: number): void {
    const order = this.#order;
    const apex = order[k];
    const isLeft = this.#turn(order[0], order[1], apex) > 0;
    // along the line so that the apex lies to the left
    const line = isLeft ? order.subarray(0, k) : order.slice(0, k).reverse();
    let before = none;
    for (let i = 0; i + 1 < k; i++) {
      const t = this.#triangle(line[i], line[i + 1], apex);
      this.#link(line[i], line[i + 1], t);
      if (before !== none) this.#pair(before + 1, t + 2);
      before = t;
    }
    this.#link(line[k - 1], apex, before + 1);
    this.#link(apex, line[0], 2);
    for (let e = 0; e < 3 * this.#count; e++) this.#settle(e);
  }

  /** Joins a place east of all others to every edge of the outline it can see. */
  #add(place: number, last: number): void {
    let right = last;
    let left = last;
    const fresh: number[] = [];
    // outline edges run anticlockwise: a place to the right of one sees it
    for (;;) {
      const b = this.#next[right];
      if (this.#turn(right, b, place) >= 0) break;
      const t = this.#triangle(b, right, place);
      this.#pair(t, this.#edgeFrom[right]);
      if (right !== last) this.#pair(t + 1, fresh[fresh.length - 1] + 2);
      fresh.push(t);
      right = b;
    }
    const rightward = fresh.length;
    for (;;) {
      const a = this.#previous[left];
      if (this.#turn(a, left, place) >= 0) break;
      const t = this.#triangle(left, a, place);
      this.#pair(t, this.#edgeFrom[a]);
      // the first triangle on this side shares the edge from the place to `last` with the first on the other side
      const neighbour = fresh.length > rightward ? fresh[fresh.length - 1] + 1 : rightward > 0 ? fresh[0] + 1 : none;
      if (neighbour !== none) this.#pair(t + 2, neighbour);
      fresh.push(t);
      left = a;
    }
    const leftmost = fresh.length > rightward ? fresh[fresh.length - 1] + 1 : fresh[0] + 1;
    const rightmost = rightward > 0 ? fresh[rightward - 1] + 2 : fresh[0] + 2;
    this.#link(left, place, leftmost);
    this.#link(place, right, rightmost);
    for (const t of fresh) this.#settle(t);
  }

  #triangle(a: number, b: number, c: number): number {
    const t = 3 * this.#count++;
    this.#corners[t] = a;
    this.#corners[t + 1] = b;
    this.#corners[t + 2] = c;
    return t;
  }

  #pair(a: number, b: number): void {
    this.#twin[a] = b;
    this.#twin[b] = a;
  }

  #link(from: number, to: number, edge: number): void {
    this.#next[from] = to;
    this.#previous[to] = from;
    this.#edgeFrom[from] = edge;
  }

  /** Turns an edge, and whatever then needs turning, until all are Delaunay. */
  #settle(start: number): void {
    const stack = [start];
    for (let e = stack.pop(); e !== undefined; e = stack.pop()) {
      const f = this.#twin[e];
      if (f === none) continue;
      const e1 = after(e);
      const e2 = after(e1);
      const f1 = after(f);
      const f2 = after(f1);
      const corners = this.#corners;
      const place = (half: number): [number, number] => [this.#x[corners[half]], this.#y[corners[half]]];
      if (circleSign({ a: place(e), b: place(e1), c: place(e2), d: place(f2) }) <= 0) continue;
      // edge a–b between c and d becomes c–d: triangles a d c and b c d
      const apex = corners[e2];
      corners[e1] = corners[f2];
      corners[f1] = apex;
      this.#replace(e, this.#twin[f1]);
      this.#replace(f, this.#twin[e1]);
      this.#pair(e1, f1);
      stack.push(e, e2, f, f2);
    }
  }

  /** Gives a half edge a new twin; on the outline the place it starts from is told. */
  #replace(half: number, twin: number): void {
    if (twin !== none) this.#pair(half, twin);
    else {
      this.#twin[half] = none;
      this.#edgeFrom[this.#corners[half]] = half;
    }
  }
}

function after(half: number): number {
  return half % 3 === 2 ? half - 2 : half + 1;
}
