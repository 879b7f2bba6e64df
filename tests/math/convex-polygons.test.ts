import { expect, test } from 'vitest';
import { clipConvex, convexArea, convexPieces, discArea, otherSide } from '../../src/math/convex-polygons.js';
import { randomStream } from '../../src/math/random.js';
import { insideEvenOdd, orientRings, regionArea } from '../../src/math/rings.js';
import { near } from '../support/near.js';

const square = [0, 0, 2, 0, 2, 2, 0, 2];

test('disc around the middle of a square: whole, cut and swallowing', () => {
  near(discArea(square, 1, 1, 0.7), Math.PI * 0.49, { relative: 1e-14 });
  near(discArea(square, 1, 1, 9), 4, { relative: 1e-14 });
  // r = √2 · ½: four segments of half angle π/4 off
  const r = 1.2;
  const half = Math.acos(1 / r);
  near(discArea(square, 1, 1, r), Math.PI * r * r - 4 * r * r * (half - Math.sin(half) * Math.cos(half)), {
    relative: 1e-13,
  });
});

test('disc around a corner, a side and a point outside', () => {
  near(discArea(square, 0, 0, 1), Math.PI / 4, { relative: 1e-14 });
  near(discArea(square, 1, 0, 0.5), Math.PI / 8, { relative: 1e-14 });
  const half = Math.acos(0.5);
  near(discArea(square, 1, -0.5, 1), half - Math.sin(half) / 2, { relative: 1e-13 });
  near(discArea(square, 5, 5, 1), 0, { absolute: 1e-15 });
});

test('slow twin: discs over seeded triangles, counted on a lattice', () => {
  const random = randomStream(3, 0);
  for (let run = 0; run < 12; run++) {
    let triangle = Array.from({ length: 6 }, () => random.next());
    if (convexArea(triangle) < 0) triangle = [...triangle.slice(2, 4), ...triangle.slice(0, 2), ...triangle.slice(4)];
    const [x, y, r] = [2 * random.next() - 0.5, 2 * random.next() - 0.5, random.next()];
    const region = { rings: [Float64Array.from(triangle)] };
    const step = 1 / 400;
    let count = 0;
    for (let px = step / 2; px < 1; px += step) {
      for (let py = step / 2; py < 1; py += step) {
        if ((px - x) ** 2 + (py - y) ** 2 <= r * r && insideEvenOdd(region, px, py)) count++;
      }
    }
    near(discArea(triangle, x, y, r), count * step * step, { absolute: 2e-3 });
  }
});

test('a clip and its other side make up the whole', () => {
  const cut = { nx: 0.6, ny: 0.8, c: 1.3 };
  const near1 = convexArea(clipConvex(square, cut));
  const near2 = convexArea(clipConvex(square, otherSide(cut)));
  near(near1 + near2, 4, { relative: 1e-14 });
  expect(clipConvex(square, { nx: 1, ny: 0, c: 3 })).toEqual([]);
});

test('pieces of a trench with a hole and a second part are convex and make up its area', () => {
  const trench = orientRings([
    [Float64Array.of(0, 0, 12, 0.3, 12, 5, 7, 5.5, 7, 8, 0, 8), Float64Array.of(3, 2, 5, 2.5, 5, 3.5, 3, 3)],
    [Float64Array.of(14, 1, 17, 2, 16, 5)],
  ]);
  const pieces = convexPieces(trench);
  near(
    pieces.reduce((sum, piece) => sum + convexArea(piece), 0),
    regionArea(trench),
    { relative: 1e-14 },
  );
  for (const piece of pieces) {
    const m = piece.length;
    for (let i = 0; i < m; i += 2) {
      const [ax, ay, bx, by, cx, cy] = [0, 1, 2, 3, 4, 5].map((k) => piece[(i + k) % m]);
      expect((bx - ax) * (cy - by) - (by - ay) * (cx - bx)).toBeGreaterThanOrEqual(-1e-12);
    }
  }
});
