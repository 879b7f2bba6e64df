import { describe, expect, test } from 'vitest';
import { circleFraction } from '../../src/math/circle-fraction.js';
import { randomStream } from '../../src/math/random.js';
import { rimShares } from '../../src/math/rim-share.js';
import { insideEvenOdd, orientRings, type Region, regionBox } from '../../src/math/rings.js';
import { rectangle, thinArms } from '../support/kernel-reference.js';
import { localPattern, trench } from '../support/local-pattern.js';
import { near } from '../support/near.js';

const twoTrenches = orientRings([[Float64Array.of(0, 0, 4, 0, 4, 3, 0, 3)], [Float64Array.of(6, 1, 9, 1, 9, 5, 6, 5)]]);

describe.each<[string, Region]>([
  ['rectangle', rectangle([0, 0, 4, 3])],
  ['an L with a hole', trench],
  ['thin arms', thinArms],
  ['two parts', twoTrenches],
])('shares of circles, %s', (_, window) => {
  const [, , east, north] = regionBox(window);
  const slow = circleFraction(window);

  test('equal those of the slow way at random centres and radii', () => {
    const rim = rimShares(window, 12);
    const random = randomStream(2, 0);
    for (let k = 0; k < 1500; k++) {
      const [x, y] = [random.next() * east, random.next() * north];
      if (!insideEvenOdd(window, x, y)) continue;
      rim.centre(x, y);
      for (const radius of [random.next() * 12, random.next() * 2]) {
        near(rim.share(radius), slow(x, y, radius), { absolute: 2e-14 });
      }
    }
  });

  test('also where centres, corners and radii share a lattice, and rims run through corners', () => {
    const rim = rimShares(window, 8);
    for (let x = 0.5; x < east; x += 0.5) {
      for (let y = 0.5; y < north; y += 0.5) {
        if (!insideEvenOdd(window, x, y)) continue;
        rim.centre(x, y);
        for (const radius of [0.5, 1, Math.SQRT1_2, Math.SQRT2, 1.5, 2, Math.sqrt(5), 2.5, 5]) {
          // a rim that touches an edge keeps half the digits
          near(rim.share(radius), slow(x, y, radius), { absolute: 2e-8 });
        }
      }
    }
  });
});

test('½ on an edge, ¼ in a corner, ¾ in a hollow corner, 1 below the edge distance', () => {
  const rim = rimShares(trench, 2);
  rim.centre(6, 0);
  near(rim.share(1), 0.5, { absolute: 1e-15 });
  rim.centre(12, 0);
  near(rim.share(1), 0.25, { absolute: 1e-15 });
  rim.centre(7, 5);
  near(rim.share(0.9), 0.75, { absolute: 1e-15 });
  rim.centre(9, 2);
  expect(rim.edgeM()).toBe(2);
  expect(rim.share(2)).toBe(1);
  expect(rim.share(0)).toBe(1);
});

test('pairs on whole coordinates, where rims meet corners exactly', () => {
  const { xy, window } = localPattern('k', 'humberside');
  const slow = circleFraction(window);
  const rim = rimShares(window, 60);
  for (let i = 0; i < xy.length; i += 10) {
    rim.centre(xy[i], xy[i + 1]);
    for (let j = 0; j < xy.length; j += 2) {
      const d = Math.sqrt((xy[i] - xy[j]) ** 2 + (xy[i + 1] - xy[j + 1]) ** 2);
      if (d > 0 && d <= 60) near(rim.share(d), slow(xy[i], xy[i + 1], d), { absolute: 1e-13 });
    }
  }
});
