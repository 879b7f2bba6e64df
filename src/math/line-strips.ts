import type { DistanceLaw } from './distance-law.js';
import { type Region, regionArea } from './rings.js';

/** The straight line a x + b y + c = 0, metres; a and b not both zero. */
export type Line = readonly [a: number, b: number, c: number];

/** Distance to a line with a sign: positive on the side its normal (a, b) points to → metres. */
export function signedLineDistance(line: Line, x: number, y: number): number {
  return (line[0] * x + line[1] * y + line[2]) / Math.sqrt(line[0] * line[0] + line[1] * line[1]);
}

/** The line through two points, its normal to the left of the way from the first to the second. */
export function lineThrough(from: readonly [number, number], to: readonly [number, number]): Line {
  const a = from[1] - to[1];
  const b = to[0] - from[0];
  return [a, b, -(a * from[0] + b * from[1])];
}

/** The same line when the origin moves to (x, y). */
export function shiftLine(line: Line, x: number, y: number): Line {
  return [line[0], line[1], line[0] * x + line[1] * y + line[2]];
}

/**
 * Edges in coordinates along the line's normal (s) and along the line (w). By Green's theorem the area on one side
 * of s = t is minus the integral of w over the edges there: the cut itself runs along w and adds nothing.
 */
function turned(region: Region, line: Line): Float64Array[] {
  const length = Math.sqrt(line[0] * line[0] + line[1] * line[1]);
  const nx = line[0] / length;
  const ny = line[1] / length;
  const c = line[2] / length;
  return region.rings.map((ring) => {
    const out = new Float64Array(ring.length);
    for (let i = 0; i < ring.length; i += 2) {
      out[i] = nx * ring[i] + ny * ring[i + 1] + c;
      out[i + 1] = nx * ring[i + 1] - ny * ring[i];
    }
    return out;
  });
}

function areaBelow(rings: readonly Float64Array[], t: number): number {
  let sum = 0;
  for (const ring of rings) {
    const m = ring.length;
    let s1 = ring[m - 2];
    let w1 = ring[m - 1];
    for (let i = 0; i < m; i += 2) {
      const s2 = ring[i];
      const w2 = ring[i + 1];
      if (s1 <= t && s2 <= t) {
        sum -= ((w1 + w2) / 2) * (s2 - s1);
      } else if (s1 < t) {
        const w = w1 + ((t - s1) / (s2 - s1)) * (w2 - w1);
        sum -= ((w1 + w) / 2) * (t - s1);
      } else if (s2 < t) {
        const w = w2 + ((t - s2) / (s1 - s2)) * (w1 - w2);
        sum -= ((w + w2) / 2) * (s2 - t);
      }
      s1 = s2;
      w1 = w2;
    }
  }
  return sum;
}

/** Integrals of |s| and s² over the region: cubic along each edge, so Simpson's rule is exact once edges end at s = 0. */
function moments(rings: readonly Float64Array[]): { first: number; second: number } {
  let first = 0;
  let second = 0;
  const edge = (s1: number, w1: number, s2: number, w2: number) => {
    const s = (s1 + s2) / 2;
    const w = (w1 + w2) / 2;
    const step = (s2 - s1) / 6;
    first -= step * (w1 * Math.abs(s1) + 4 * w * Math.abs(s) + w2 * Math.abs(s2));
    second -= step * (w1 * s1 * s1 + 4 * w * s * s + w2 * s2 * s2);
  };
  for (const ring of rings) {
    const m = ring.length;
    let s1 = ring[m - 2];
    let w1 = ring[m - 1];
    for (let i = 0; i < m; i += 2) {
      const s2 = ring[i];
      const w2 = ring[i + 1];
      if (s1 < 0 !== s2 < 0) {
        const w = w1 + (s1 / (s1 - s2)) * (w2 - w1);
        edge(s1, w1, 0, w);
        edge(0, w, s2, w2);
      } else {
        edge(s1, w1, s2, w2);
      }
      s1 = s2;
      w1 = w2;
    }
  }
  return { first, second };
}

/**
 * Exact share of a window within each distance of a straight line, by cutting strips from it.
 *
 * The line has no ends: where the real keelson stops short of the trench, the ground beyond its end counts as near.
 *
 * @param region  window, metres from a local origin; holes allowed; left untouched
 * @param line    a x + b y + c = 0 in the same coordinates
 * @see Berman 1986, doi:10.2307/2347865
 */
export function lineStrips(region: Region, line: Line): DistanceLaw {
  const rings = turned(region, line);
  const area = regionArea(region);
  let low = Infinity;
  let high = -Infinity;
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i += 2) {
      low = Math.min(low, ring[i]);
      high = Math.max(high, ring[i]);
    }
  }
  const { first, second } = moments(rings);
  const least = low > 0 ? low : high < 0 ? -high : 0;
  const greatest = Math.max(high, -low);
  return {
    shares: (values) =>
      values.map((z) => {
        if (z < 0) return 0;
        if (z >= greatest) return 1;
        return Math.min(1, Math.max(0, (areaBelow(rings, z) - areaBelow(rings, -z)) / area));
      }),
    atZero: 0,
    least,
    greatest,
    mean: first / area,
    secondMoment: second / area,
    bound: 0,
  };
}

/**
 * Area of a window on each side of a line: on the side its normal points to, and on the other → m².
 */
export function areasBeside(region: Region, line: Line): { onNormalSide: number; onOtherSide: number } {
  const onOtherSide = areaBelow(turned(region, line), 0);
  return { onNormalSide: Math.max(0, regionArea(region) - onOtherSide), onOtherSide: Math.max(0, onOtherSide) };
}
