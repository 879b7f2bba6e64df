import { describe, expect, test } from 'vitest';
import { circleFraction } from '../../src/math/circle-fraction.js';
import { insideEvenOdd, type Region, regionArea } from '../../src/math/rings.js';
import { readReference, rectangle, thinArms } from '../support/kernel-reference.js';
import { near, uniformScatter } from '../support/near.js';

describe.each(['site_a', 'cells', 'demopat', 'humberside'] as const)(
  'circle shares make the isotropic K of %s',
  (pattern) => {
    const { expected, xy, window } = readReference<{ K: { r: number[]; iso: number[] } }>('k', pattern);

    test('Ripley 1977, weights capped at 100', () => {
      const { r, iso } = expected.K;
      const n = xy.length / 2;
      const fraction = circleFraction(window);
      const sums = new Float64Array(r.length);
      for (let i = 0; i < n; i++) {
        for (let j = 0; j < n; j++) {
          const d = Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]);
          if (i === j || d > r[r.length - 1]) continue;
          const stands = d === 0 ? 1 : Math.min(100, 1 / fraction(xy[2 * i], xy[2 * i + 1], d));
          for (let k = 0; k < r.length; k++) if (d <= r[k]) sums[k] += stands;
        }
      }
      const scale = regionArea(window) / (n * (n - 1));
      iso.forEach((value, k) => {
        near(scale * sums[k], value, { relative: 1e-9 });
      });
    });
  },
);

test('½ on a side, ¼ in a corner, 1 within, 0 beyond every corner', () => {
  for (const window of [rectangle([0, 0, 4, 3]), asPolygon([0, 0, 4, 3])]) {
    const fraction = circleFraction(window);
    near(fraction(2, 0, 1), 0.5, { absolute: 1e-9 });
    near(fraction(0, 0, 1), 0.25, { absolute: 1e-9 });
    near(fraction(2, 1.5, 1), 1, { absolute: 1e-12 });
    near(fraction(2, 1.5, 2.6), 0, { absolute: 1e-12 });
  }
});

/** The same rectangle with one more corner, so that the general way is taken. */
function asPolygon([west, south, east, north]: readonly [number, number, number, number]): Region {
  return { rings: [Float64Array.of(west, south, (west + east) / 2, south, east, south, east, north, west, north)] };
}

test('a rectangle in closed form equals the same rectangle as a polygon, at any radius', () => {
  const box = [0, 0, 4, 3] as const;
  const closed = circleFraction(rectangle(box));
  const general = circleFraction(asPolygon(box));
  const places = uniformScatter({ n: 200, seed: 6, width: 4, height: 3 });
  for (let i = 0; i < places.length; i += 2) {
    const radius = 0.05 + (i / places.length) * 5;
    near(closed(places[i], places[i + 1], radius), general(places[i], places[i + 1], radius), { absolute: 1e-12 });
  }
});

test('in arms, round a hole and along slants it equals a count of directions', () => {
  const fraction = circleFraction(thinArms);
  const places = uniformScatter({ n: 40, seed: 12, width: 9, height: 6 });
  const directions = 20_000;
  for (let i = 0; i < places.length; i += 2) {
    const [x, y] = [places[i], places[i + 1]];
    if (!insideEvenOdd(thinArms, x, y)) continue;
    const radius = 0.2 + (i / places.length) * 6;
    let inside = 0;
    for (let k = 0; k < directions; k++) {
      const angle = (2 * Math.PI * (k + 0.5)) / directions;
      if (insideEvenOdd(thinArms, x + radius * Math.cos(angle), y + radius * Math.sin(angle))) inside++;
    }
    near(fraction(x, y, radius), inside / directions, { absolute: 12 / directions });
  }
});

test('a circle through corners and one that touches a side', () => {
  const fraction = circleFraction(asPolygon([0, 0, 2, 2]));
  near(fraction(1, 1, Math.SQRT2), 0, { absolute: 1e-6 });
  near(fraction(1, 1, 1), 1, { absolute: 1e-6 });
  expect(fraction(1, 1, 5)).toBe(0);
});
