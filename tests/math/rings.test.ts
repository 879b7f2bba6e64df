import { expect, test } from 'vitest';
import {
  boundaryDistance,
  contains,
  edgeSlack,
  insideEvenOdd,
  isRectangle,
  orientRings,
  type Region,
  regionArea,
  regionBox,
  regionPerimeter,
  ringArea,
  ringLength,
  segmentDistanceSquared,
  shiftRegion,
} from '../../src/math/rings.js';
import { near, uniformScatter } from '../support/near.js';

// an L of 12 × 8 m with an undug 2 × 1 m in it, given the wrong way round on purpose
const outer = Float64Array.of(0, 8, 7, 8, 7, 5, 12, 5, 12, 0, 0, 0);
const hole = Float64Array.of(3, 2, 5, 2, 5, 3, 3, 3);
const trench = orientRings([[outer, hole]]);

test('area, edge and box of a trench with an undug patch', () => {
  expect(ringArea(outer)).toBe(-81);
  expect(ringLength(hole)).toBe(6);
  expect(regionArea(trench)).toBe(79);
  expect(regionPerimeter(trench)).toBe(46);
  expect(regionBox(trench)).toEqual([0, 0, 12, 8]);
  expect(regionBox({ rings: [] })).toEqual([Infinity, Infinity, -Infinity, -Infinity]);
});

test('rings are turned the right way, closed rings opened, and what was lent left alone', () => {
  const closed = Float64Array.of(0, 0, 1, 0, 1, 1, 0, 1, 0, 0);
  const given = closed.slice();
  expect(orientRings([[closed]]).rings[0]).toEqual(Float64Array.of(0, 0, 1, 0, 1, 1, 0, 1));
  expect(closed).toEqual(given);
  expect(ringArea(trench.rings[0])).toBe(81);
  expect(ringArea(trench.rings[1])).toBe(-2);
});

test('area on map coordinates equals the area here', () => {
  const there = shiftRegion(trench, -500_000, -4_649_776);
  expect(regionArea(there)).toBe(79);
  expect(regionPerimeter(there)).toBe(46);
});

test('inside, outside, in the undug patch, and on an edge', () => {
  const slack = edgeSlack(trench);
  expect(slack).toBeCloseTo(12e-9, 15);
  const belongs = (x: number, y: number) => contains(trench, x, y, slack);
  expect(belongs(1, 1)).toBe(true);
  expect(belongs(10, 7)).toBe(false);
  expect(belongs(4, 2.5)).toBe(false);
  for (const [x, y] of [
    [0, 0],
    [12, 5],
    [7, 6],
    [7, 5],
    [3, 2.5],
    [5, 3],
    [4, 3],
    [12, 2],
    [6, 8],
  ]) {
    expect(belongs(x, y)).toBe(true);
  }
  expect(belongs(12 + 1e-9, 2)).toBe(true);
  expect(belongs(12.001, 2)).toBe(false);
});

test('distance to the nearest edge, the undug patch included', () => {
  expect(boundaryDistance(trench, 1, 4)).toBe(1);
  expect(boundaryDistance(trench, 4, 3.5)).toBe(0.5);
  expect(boundaryDistance(trench, 4, 2.5)).toBe(0.5);
  expect(boundaryDistance(trench, 6, 4)).toBeCloseTo(Math.SQRT2, 15);
  expect(boundaryDistance(trench, 15, 9)).toBe(5);
  expect(boundaryDistance({ rings: [] }, 0, 0)).toBe(Infinity);
  expect(segmentDistanceSquared(3, 4, 0, 0, 0, 0)).toBe(25);
});

test('distance to the edge agrees with ten thousand steps along it', () => {
  const xy = uniformScatter({ n: 40, seed: 3, width: 13, height: 9 });
  for (let i = 0; i < xy.length; i += 2) {
    let best = Infinity;
    for (const ring of trench.rings) {
      for (let k = 0; k < ring.length; k += 2) {
        const next = (k + 2) % ring.length;
        for (let t = 0; t <= 1; t += 1 / 1000) {
          const x = ring[k] + t * (ring[next] - ring[k]);
          const y = ring[k + 1] + t * (ring[next + 1] - ring[k + 1]);
          best = Math.min(best, Math.hypot(x - xy[i], y - xy[i + 1]));
        }
      }
    }
    near(boundaryDistance(trench, xy[i], xy[i + 1]), best, { absolute: 0.006 });
  }
});

test('the share of random points inside is the share of the area', () => {
  const xy = uniformScatter({ n: 20_000, seed: 4, width: 12, height: 8 });
  let inside = 0;
  for (let i = 0; i < xy.length; i += 2) inside += insideEvenOdd(trench, xy[i], xy[i + 1]) ? 1 : 0;
  // four standard errors
  near(inside / 20_000, 79 / 96, { absolute: 4 * Math.sqrt(((79 / 96) * (17 / 96)) / 20_000) });
});

test('what counts as a rectangle along the axes', () => {
  const of = (...flat: number[]): Region => ({ rings: [Float64Array.from(flat)] });
  expect(isRectangle(of(0, 0, 2, 0, 2, 1, 0, 1))).toBe(true);
  expect(isRectangle(of(2, 1, 0, 1, 0, 0, 2, 0))).toBe(true);
  expect(isRectangle(of(0, 0, 2, 0, 2, 1))).toBe(false);
  expect(isRectangle(of(0, 0, 2, 0, 3, 1, 1, 1))).toBe(false);
  expect(isRectangle(of(0, 0, 2, 0, 0, 1, 2, 1))).toBe(false);
  expect(isRectangle(trench)).toBe(false);
});
