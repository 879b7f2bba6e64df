import { Problem } from '../problems.js';
import { meanCentre } from './centre.js';

/** The place from which all positions together are nearest. */
export interface MedianCentre {
  readonly x: number;
  readonly y: number;
  /** Σ weight · distance to it, metres (times the unit of the weights) */
  readonly sumM: number;
  /** false: an even number of positions in one line, any place between the middle two is as good */
  readonly isUnique: boolean;
}

interface Weighted {
  /** [2n] from a local origin */
  readonly xy: Float64Array;
  readonly weight: ArrayLike<number>;
}

/**
 * Median centre: the place with the smallest sum of distances. It resists strays that pull the mean centre.
 *
 * Weiszfeld's iteration, which steps off a data point when that is not the answer (Vardi & Zhang), then Newton steps:
 * the sum is so flat at its lowest that the plain iteration stops early.
 *
 * @param xy      [2n] metres; left untouched
 * @param weight  [n] ≥ 0; none given = 1 each
 * @throws Problem too-few-points without any weight
 * @see Weiszfeld 1937, Tôhoku Mathematical Journal 43, 355–386; Vardi & Zhang 2000, doi:10.1073/pnas.97.4.1423
 */
export function medianCentre(xy: Float64Array, weight?: ArrayLike<number>): MedianCentre {
  const n = xy.length / 2;
  if (n === 0) throw new Problem('too-few-points', 'a median centre needs at least 1 position, got 0', { n });
  const [x0, y0] = [xy[0], xy[1]];
  const own: Weighted = {
    xy: xy.map((v, i) => v - (i % 2 === 0 ? x0 : y0)),
    weight: weight ?? new Float64Array(n).fill(1),
  };
  const { x, y, standardDistanceM: spread } = meanCentre(own.xy, own.weight);
  const line = lineThrough(own.xy);
  const found = line ? medianOnLine(own, line) : { ...descend(own, { x, y, spread }), isUnique: true };
  return { x: found.x + x0, y: found.y + y0, sumM: sumOfDistances(own, found), isUnique: found.isUnique };
}

function sumOfDistances({ xy, weight }: Weighted, at: { x: number; y: number }): number {
  let sum = 0;
  for (let i = 0; i < xy.length / 2; i++) sum += weight[i] * Math.hypot(xy[2 * i] - at.x, xy[2 * i + 1] - at.y);
  return sum;
}

/** Direction of the line all positions lie on (to 1e-12 of their extent); null when they do not. */
function lineThrough(xy: Float64Array): readonly [number, number] | null {
  let far = 0;
  let reach = 0;
  for (let i = 0; i < xy.length; i += 2) {
    const d = Math.hypot(xy[i] - xy[0], xy[i + 1] - xy[1]);
    if (d > reach) {
      reach = d;
      far = i;
    }
  }
  if (reach === 0) return [1, 0];
  const u = (xy[far] - xy[0]) / reach;
  const v = (xy[far + 1] - xy[1]) / reach;
  for (let i = 0; i < xy.length; i += 2) {
    if (Math.abs((xy[i + 1] - xy[1]) * u - (xy[i] - xy[0]) * v) > 1e-12 * reach) return null;
  }
  return [u, v];
}

function medianOnLine({ xy, weight }: Weighted, [u, v]: readonly [number, number]) {
  const order = Array.from({ length: xy.length / 2 }, (_, i) => ({
    at: (xy[2 * i] - xy[0]) * u + (xy[2 * i + 1] - xy[1]) * v,
    x: xy[2 * i],
    y: xy[2 * i + 1],
    weight: weight[i],
  })).sort((a, b) => a.at - b.at);
  const half = order.reduce((sum, p) => sum + p.weight, 0) / 2;
  let below = 0;
  let k = 0;
  while (k < order.length - 1 && below + order[k].weight < half * (1 - 1e-12)) below += order[k++].weight;
  const middle = order[k];
  const next = order.slice(k + 1).find((p) => p.weight > 0);
  if (next === undefined || next.at === middle.at || below + middle.weight > half * (1 + 1e-12)) {
    return { x: middle.x, y: middle.y, isUnique: true };
  }
  return { x: (middle.x + next.x) / 2, y: (middle.y + next.y) / 2, isUnique: false };
}

interface Pull {
  readonly gx: number;
  readonly gy: number;
  readonly hxx: number;
  readonly hxy: number;
  readonly hyy: number;
  /** Σ w / d over positions elsewhere */
  readonly inverse: number;
  /** weight of the positions at this very place */
  readonly here: number;
}

function pullAt({ xy, weight }: Weighted, x: number, y: number): Pull {
  let gx = 0;
  let gy = 0;
  let hxx = 0;
  let hxy = 0;
  let hyy = 0;
  let inverse = 0;
  let here = 0;
  for (let i = 0; i < xy.length / 2; i++) {
    const dx = x - xy[2 * i];
    const dy = y - xy[2 * i + 1];
    const d = Math.sqrt(dx * dx + dy * dy);
    const w = weight[i];
    if (d === 0) {
      here += w;
      continue;
    }
    gx += (w * dx) / d;
    gy += (w * dy) / d;
    const cube = w / (d * d * d);
    hxx += cube * dy * dy;
    hxy -= cube * dx * dy;
    hyy += cube * dx * dx;
    inverse += w / d;
  }
  return { gx, gy, hxx, hxy, hyy, inverse, here };
}

/** Positions not in one line: the sum has one lowest place. */
function descend(own: Weighted, start: { x: number; y: number; spread: number }): { x: number; y: number } {
  let { x, y } = start;
  const stop = 1e-13 * start.spread;
  for (let step = 0; step < 2000; step++) {
    const pull = pullAt(own, x, y);
    const force = Math.hypot(pull.gx, pull.gy);
    if (force <= pull.here) return { x, y };
    // Vardi & Zhang: at a data point only the pull beyond its own weight moves
    const share = (1 - pull.here / force) / pull.inverse;
    let dx = -pull.gx * share;
    let dy = -pull.gy * share;
    const determinant = pull.hxx * pull.hyy - pull.hxy * pull.hxy;
    if (step >= 20 && pull.here === 0 && determinant > 0) {
      const nx = -(pull.hyy * pull.gx - pull.hxy * pull.gy) / determinant;
      const ny = -(pull.hxx * pull.gy - pull.hxy * pull.gx) / determinant;
      if (sumOfDistances(own, { x: x + nx, y: y + ny }) <= sumOfDistances(own, { x: x + dx, y: y + dy })) {
        dx = nx;
        dy = ny;
      }
    }
    x += dx;
    y += dy;
    if (Math.hypot(dx, dy) <= stop) break;
  }
  return nearestDataPoint(own, { x, y });
}

/** Where the sum has its lowest place on a data point, the iteration only creeps up to it. */
function nearestDataPoint(own: Weighted, at: { x: number; y: number }): { x: number; y: number } {
  let best = 0;
  let least = Infinity;
  for (let i = 0; i < own.xy.length / 2; i++) {
    const d = Math.hypot(own.xy[2 * i] - at.x, own.xy[2 * i + 1] - at.y);
    if (d < least && own.weight[i] > 0) {
      least = d;
      best = i;
    }
  }
  const point = { x: own.xy[2 * best], y: own.xy[2 * best + 1] };
  const pull = pullAt(own, point.x, point.y);
  return Math.hypot(pull.gx, pull.gy) <= pull.here ? point : at;
}
