import { describe, expect, test } from 'vitest';
import { chiSquareUpperTail } from '../../src/math/distributions.js';
import { randomStream } from '../../src/math/random.js';
import { contains, edgeSlack, orientRings, type Region, regionArea, shiftRegion } from '../../src/math/rings.js';
import { triangleAreas, triangulate } from '../../src/math/triangulation.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { near } from '../support/near.js';

const ring = (...flat: number[]) => Float64Array.from(flat);
const square = (x: number, y: number, side = 1) => ring(x, y, x + side, y, x + side, y + side, x, y + side);
const turned = (region: Region, angle: number): Region => ({
  rings: region.rings.map((r) =>
    r.map((v, i) =>
      i % 2 === 0 ? v * Math.cos(angle) - r[i + 1] * Math.sin(angle) : r[i - 1] * Math.sin(angle) + v * Math.cos(angle),
    ),
  ),
});
const circle = (corners: number, radius: number) =>
  Float64Array.from({ length: 2 * corners }, (_, k) => {
    const angle = (2 * Math.PI * Math.floor(k / 2)) / corners;
    return radius * (k % 2 === 0 ? Math.cos(angle) : Math.sin(angle));
  });

const windows: Record<string, Region> = {
  'one square': orientRings([[square(3, 4)]]),
  'a triangle': orientRings([[ring(0, 0, 4, 0, 1, 3)]]),
  'an L with an undug patch': orientRings([[ring(0, 0, 12, 0, 12, 5, 7, 5, 7, 8, 0, 8), ring(3, 2, 5, 2, 5, 3, 3, 3)]]),
  'holes that touch each other at a corner': orientRings([[square(0, 0, 4), square(1, 1), square(2, 2)]]),
  'holes that share an edge': orientRings([[square(0, 0, 4), square(1, 1), square(2, 1)]]),
  'a hole whose corner touches the outer edge': orientRings([[square(0, 0, 4), ring(0, 2, 1, 1, 2, 2, 1, 3)]]),
  'a hole that shares an edge with the outer ring': orientRings([[square(0, 0, 3), square(0, 1)]]),
  'two squares that touch at a corner': orientRings([[square(0, 0)], [square(1, 1)]]),
  'two squares that share an edge': orientRings([[square(0, 0)], [square(1, 0)]]),
  'a ring that touches itself': orientRings([[ring(0, 0, 1, 0, 1, 1, 2, 1, 2, 2, 1, 2, 1, 1, 0, 1)]]),
  'three trenches far apart': orientRings([
    [square(0, 0, 2)],
    [square(30, 5, 0.5)],
    [circle(17, 3).map((v) => v + 60)],
  ]),
  'a ring in a hole of a ring': orientRings([
    [square(0, 0, 9), square(1, 1, 7)],
    [square(3, 3, 2), square(3.5, 3.5, 0.5)],
  ]),
  'a round pit': orientRings([[circle(200, 5), circle(31, 1)]]),
  'a star': orientRings([[circle(24, 1).map((v, k) => v * (Math.floor(k / 2) % 2 ? 6 : 2))]]),
};
for (const [name, region] of Object.entries(windows)) windows[`${name}, turned`] = turned(region, 0.6435);
windows['an L on map coordinates'] = shiftRegion(windows['an L with an undug patch'], -500_000, -4_649_776);

describe.each(Object.entries(windows))('%s', (_, region) => {
  test('the triangles cover the area, none is turned over', () => {
    const areas = triangleAreas(triangulate(region));
    let sum = 0;
    for (const area of areas) {
      expect(area).toBeGreaterThanOrEqual(-1e-12);
      sum += area;
    }
    near(sum, regionArea(region), { relative: region === windows['an L on map coordinates'] ? 1e-9 : 1e-12 });
  });

  test('points lie inside', () => {
    const xy = new Float64Array(2000);
    uniformPoints(region)(xy, randomStream(3, 1));
    const slack = edgeSlack(region);
    const outside = xy.filter((_x, i) => i % 2 === 0 && !contains(region, xy[i], xy[i + 1], slack));
    expect([...outside]).toEqual([]);
  });

  test('points fill the area evenly: mean against that of the triangles', () => {
    const n = 20_000;
    const xy = new Float64Array(2 * n);
    uniformPoints(region)(xy, randomStream(4, 2));
    for (const axis of [0, 1]) {
      let sum = 0;
      let squares = 0;
      const start = region.rings[0][axis];
      for (let i = axis; i < xy.length; i += 2) {
        sum += xy[i] - start;
        squares += (xy[i] - start) ** 2;
      }
      const spread = Math.sqrt(squares / n - (sum / n) ** 2);
      near(sum / n, centroid(region, axis) - start, { absolute: (4.5 * spread) / Math.sqrt(n) });
    }
  });
});

/** Centroid by Green's theorem from the rings, not from the triangles. */
function centroid(region: Region, axis: number): number {
  let moment = 0;
  let area = 0;
  const [x0, y0] = region.rings[0];
  for (const r of region.rings) {
    for (let i = 0; i < r.length; i += 2) {
      const j = (i + 2) % r.length;
      const cross = (r[i] - x0) * (r[j + 1] - y0) - (r[j] - x0) * (r[i + 1] - y0);
      moment += cross * (r[i + axis] + r[j + axis] - 2 * region.rings[0][axis]);
      area += 3 * cross;
    }
  }
  return moment / area + region.rings[0][axis];
}

test('square metres of an L-shaped dig are filled evenly (χ²)', () => {
  const region = windows['an L with an undug patch'];
  const xy = new Float64Array(2 * 40_000);
  uniformPoints(region)(xy, randomStream(1, 0));
  const counts = new Map<string, number>();
  for (let i = 0; i < xy.length; i += 2) {
    const cell = `${Math.floor(xy[i])},${Math.floor(xy[i + 1])}`;
    counts.set(cell, (counts.get(cell) ?? 0) + 1);
  }
  expect(counts.size).toBe(79);
  const expected = 40_000 / 79;
  let square = 0;
  for (const c of counts.values()) square += (c - expected) ** 2 / expected;
  expect(chiSquareUpperTail(square, 78)).toBeGreaterThan(1e-3);
});

test('inside one square of a slanting window points are even as well (χ²)', () => {
  const region = orientRings([[ring(-2, -1, 5, 0.3, 3, 4, -1, 3)]]);
  const xy = new Float64Array(2 * 60_000);
  uniformPoints(region)(xy, randomStream(2, 0));
  const counts = new Array<number>(64).fill(0);
  let inside = 0;
  for (let i = 0; i < xy.length; i += 2) {
    const column = Math.floor(xy[i] * 4);
    const row = Math.floor((xy[i + 1] - 0.6) * 4);
    if (column < 0 || column > 7 || row < 0 || row > 7) continue;
    counts[row * 8 + column]++;
    inside++;
  }
  near(inside / 60_000, 4 / regionArea(region), { absolute: 0.01 });
  const expected = inside / 64;
  expect(
    chiSquareUpperTail(
      counts.reduce((s, c) => s + (c - expected) ** 2 / expected, 0),
      63,
    ),
  ).toBeGreaterThan(1e-3);
});

test('equal streams give equal points', () => {
  const region = windows['an L with an undug patch'];
  const draw = () => {
    const xy = new Float64Array(200);
    uniformPoints(region)(xy, randomStream(8, 417));
    return xy;
  };
  expect(draw()).toEqual(draw());
});

test('a window without area is refused', () => {
  expect(() => uniformPoints({ rings: [] })).toThrow(/window with an area/);
  expect(() => uniformPoints({ rings: [ring(0, 0, 1, 0, 2, 0)] })).toThrow(/window with an area/);
  expect(() => uniformPoints({ rings: [ring(1, 1, 1, 1, 1, 1, 1, 1)] })).toThrow(/window with an area/);
});
