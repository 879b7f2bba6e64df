import { describe, expect, test } from 'vitest';
import { edgeMass, normalBetween } from '../../src/math/kernel-edge.js';
import { insideEvenOdd, orientRings, type Region } from '../../src/math/rings.js';
import { patterns, readReference, rectangle, thinArms } from '../support/kernel-reference.js';
import { near, uniformScatter } from '../support/near.js';

interface EdgeExpected {
  sigma: number;
  grid_xy: [number, number][];
  grid_edge_mass: number[];
  points_edge_mass: number[];
}

describe.each(patterns)('share of the kernel inside the window of %s', (pattern) => {
  const { expected, xy, window, isRectangle } = readReference<EdgeExpected>('kde', pattern);
  const mass = edgeMass(window, expected.sigma);
  const relative = isRectangle ? 1e-12 : 1e-10;

  test('at grid places', () => {
    expected.grid_xy.forEach(([x, y], k) => {
      near(mass(x, y), expected.grid_edge_mass[k], { relative });
    });
  });

  test('at the finds', () => {
    expected.points_edge_mass.forEach((value, k) => {
      near(mass(xy[2 * k], xy[2 * k + 1]), value, { relative });
    });
  });
});

test('a normal number between two bounds, also far out in either tail', () => {
  near(normalBetween(-1, 1), 0.682689492137086, { relative: 1e-14 });
  // Python 3.11: 0.5 * math.erfc(7 / math.sqrt(2))
  near(normalBetween(7, 20), 1.279812543885835e-12, { relative: 1e-12 });
  near(normalBetween(-20, -7), 1.279812543885835e-12, { relative: 1e-12 });
  expect(normalBetween(-40, 40)).toBe(1);
});

test.each([
  [3, 0.0111089965],
  [4, 0.000335462628],
  [5, 3.72665317e-6],
])('a kernel cut at %s bandwidths loses exp(−k²/2)', (k, lost) => {
  const corners = 4000;
  const circle = {
    rings: [
      Float64Array.from({ length: 2 * corners }, (_, i) => {
        const angle = (Math.PI * 2 * (i >> 1)) / corners;
        return 0.7 * k * (i % 2 === 0 ? Math.cos(angle) : Math.sin(angle));
      }),
    ],
  };
  near(1 - edgeMass(circle, 0.7)(0, 0), lost, { relative: 1e-4 });
});

test('½ on a long straight edge, ¼ at a corner, ¾ at a reflex corner', () => {
  const lShape = orientRings([[Float64Array.of(0, 0, 200, 0, 200, 100, 100, 100, 100, 200, 0, 200)]]);
  const mass = edgeMass(lShape, 1);
  near(mass(100, 0), 0.5, { absolute: 1e-14 });
  near(mass(0, 0), 0.25, { absolute: 1e-14 });
  near(mass(100, 100), 0.75, { absolute: 1e-14 });
  near(mass(50, 50), 1, { absolute: 1e-14 });
});

test('a hole takes its own share off, and squares laid together add up', () => {
  const outer = rectangle([0, 0, 4, 3]);
  const hole = rectangle([1, 1, 2, 2]);
  const holed = orientRings([[outer.rings[0], hole.rings[0]]]);
  const twoHalves: Region = { rings: [...rectangle([0, 0, 1.5, 3]).rings, ...rectangle([1.5, 0, 4, 3]).rings] };
  for (const [x, y] of [
    [0.4, 0.3],
    [1.5, 1],
    [3.9, 2.9],
  ]) {
    near(edgeMass(holed, 0.6)(x, y), edgeMass(outer, 0.6)(x, y) - edgeMass(hole, 0.6)(x, y), { absolute: 1e-14 });
    near(edgeMass(twoHalves, 0.6)(x, y), edgeMass(outer, 0.6)(x, y), { absolute: 1e-14 });
  }
});

test('the sum along the edges equals a slow sum over small cells', () => {
  const sigma = 0.9;
  const mass = edgeMass(thinArms, sigma);
  const cell = 0.02;
  const places = uniformScatter({ n: 12, seed: 5, width: 9, height: 6 });
  for (let i = 0; i < places.length; i += 2) {
    let slow = 0;
    for (let x = cell / 2; x < 15; x += cell) {
      for (let y = cell / 2; y < 11; y += cell) {
        if (!insideEvenOdd(thinArms, x, y)) continue;
        slow += Math.exp(-((x - places[i]) ** 2 + (y - places[i + 1]) ** 2) / (2 * sigma * sigma));
      }
    }
    near(mass(places[i], places[i + 1]), (slow * cell * cell) / (2 * Math.PI * sigma * sigma), { absolute: 2e-3 });
  }
});

test('moved to map coordinates the share stays the same', () => {
  const moved = { rings: thinArms.rings.map((ring) => ring.map((v, k) => v + (k % 2 === 0 ? 524_288 : 4_194_304))) };
  near(edgeMass(moved, 0.9)(524_288 + 7, 4_194_304 + 2), edgeMass(thinArms, 0.9)(7, 2), { relative: 1e-8 });
});
