import { expect, test } from 'vitest';
import { areaAround, nearestShapes, type Shape, straightPieces } from '../../src/math/hull-distance.js';
import { insideEvenOdd, segmentDistanceSquared } from '../../src/math/rings.js';
import { seededHull } from '../support/hulls.js';
import { near, uniformScatter } from '../support/near.js';

/** Every piece of every shape asked in turn. */
function slowNearest(shapes: readonly Shape[], x: number, y: number): { distance: number; shape: number } {
  let best = { distance: Infinity, shape: -1 };
  shapes.forEach((shape, k) => {
    let squared = Infinity;
    for (const part of shape.parts) {
      const m = part.length;
      for (let i = shape.type === 'area' ? 0 : 2, j = shape.type === 'area' ? m - 2 : 0; i < m; j = i, i += 2) {
        squared = Math.min(squared, segmentDistanceSquared(x, y, part[j], part[j + 1], part[i], part[i + 1]));
      }
    }
    if (shape.type === 'area' && insideEvenOdd({ rings: shape.parts }, x, y)) squared = -1;
    const distance = squared < 0 ? 0 : Math.sqrt(squared);
    if (distance < best.distance) best = { distance, shape: k };
  });
  return best;
}

test('slow twin: a thousand seeded finds about a seeded hull, some beyond the net', () => {
  const shapes = seededHull({ seed: 4, lines: 60, areas: 25 });
  const index = nearestShapes(straightPieces(shapes), [0, 0, 20, 15]);
  const xy = uniformScatter({ n: 1000, seed: 8, width: 24, height: 18 });
  for (let i = 0; i < 1000; i++) {
    const slow = slowNearest(shapes, xy[2 * i], xy[2 * i + 1]);
    near(index.distance(xy[2 * i], xy[2 * i + 1]), slow.distance, { absolute: 1e-13 });
    expect(index.shape(xy[2 * i], xy[2 * i + 1])).toBe(slow.shape);
  }
});

test('inside a hull area the signed distance is negative, the distance 0', () => {
  const plank: Shape = {
    type: 'area',
    parts: [Float64Array.of(0, 0, 4, 0, 4, 2, 0, 2), Float64Array.of(1, 0.5, 1, 1.5, 2, 1.5, 2, 0.5)],
  };
  const index = nearestShapes(straightPieces([plank]), [-5, -5, 5, 5]);
  expect(index.signedDistance(3, 1)).toBe(-1);
  expect(index.distance(3, 1)).toBe(0);
  // in its hole one is outside
  near(index.signedDistance(1.5, 1), 0.5, { relative: 1e-14 });
  near(index.signedDistance(5, 1), 1, { relative: 1e-14 });
});

test('a line of one corner is a point; a shape without corners is nothing', () => {
  const pieces = straightPieces([
    { type: 'line', parts: [Float64Array.of(1, 1)] },
    { type: 'line', parts: [new Float64Array(0)] },
  ]);
  expect([...pieces.ends]).toEqual([1, 1, 1, 1]);
  near(nearestShapes(pieces, [0, 0, 4, 4]).distance(4, 5), 5, { relative: 1e-15 });
  const none = nearestShapes(straightPieces([]), [0, 0, 1, 1]);
  expect([none.distance(0.5, 0.5), none.shape(0.5, 0.5)]).toEqual([Infinity, -1]);
  expect(areaAround(pieces, 1, 1)).toBe(-1);
});
