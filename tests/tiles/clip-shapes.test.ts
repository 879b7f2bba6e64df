import { describe, expect, test } from 'vitest';
import { partsOf, shapes, tableOf } from '../../src/domain/columns.js';
import type { FeatureTable } from '../../src/domain/feature-table.js';
import { randomStream } from '../../src/math/random.js';
import { ringArea } from '../../src/math/rings.js';
import { clipShapes } from '../../src/tiles/clip-shapes.js';

const table = (type: 'line' | 'area', rings: readonly (readonly number[])[]): FeatureTable =>
  tableOf({
    name: 't',
    fields: [],
    rows: rings.map(() => ({})),
    geometry: shapes(
      type,
      rings.map((ring) => [{ ring: Float64Array.from(ring) }]),
    ),
  });

const clipped = (given: FeatureTable) => {
  const unit = given.geometry?.coordinates ?? new Float64Array(0);
  const made = clipShapes(given, unit);
  const geometry = made.table.geometry;
  if (geometry === null || geometry.type === 'point') throw new Error('no shapes');
  return { ...made, parts: (row: number) => partsOf({ ...geometry, coordinates: made.unit }, row).map((p) => p.ring) };
};

test('what lies within the root square and a strip around it is left as it is', () => {
  const given = table('area', [[0, 0, 1, 0, 1.3, 1, 0, 1]]);
  const unit = given.geometry?.coordinates as Float64Array;
  expect(clipShapes(given, unit)).toEqual({ table: given, unit });
  const points = tableOf({
    name: 'p',
    fields: [],
    rows: [{}],
    geometry: { type: 'point', coordinates: Float64Array.of(50, 50) },
  });
  expect(clipShapes(points, Float64Array.of(50, 50)).table).toBe(points);
});

test('a footprint around everything becomes the frame; a shape far away becomes nothing; the others keep their rows', () => {
  const made = clipped(
    table('area', [
      [-50, -50, 60, -50, 60, 60, -50, 60],
      [20, 20, 21, 20, 21, 21],
      [0.1, 0.1, 0.2, 0.1, 0.2, 0.2],
    ]),
  );
  expect(ringArea(made.parts(0)[0])).toBeCloseTo(1.8 ** 2, 12);
  expect(made.parts(1)).toEqual([]);
  expect([...made.parts(2)[0]]).toEqual([0.1, 0.1, 0.2, 0.1, 0.2, 0.2]);
});

describe('against a plain count of points', () => {
  test('the cut area covers what the area covers inside the frame', () => {
    const random = randomStream(11, 0);
    const inside = (ring: Float64Array, x: number, y: number) => {
      let odd = false;
      for (let k = 0, j = ring.length - 2; k < ring.length; j = k, k += 2) {
        const [ay, by] = [ring[k + 1], ring[j + 1]];
        if (ay > y !== by > y && x < ((ring[j] - ring[k]) * (y - ay)) / (by - ay) + ring[k]) odd = !odd;
      }
      return odd;
    };
    for (let round = 0; round < 60; round++) {
      const ring = Float64Array.from({ length: 6 + 2 * (round % 4) }, () => 8 * random.next() - 3.5);
      const parts = clipped(table('area', [[...ring]])).parts(0);
      for (let k = 0; k < 300; k++) {
        const [x, y] = [1.8 * random.next() - 0.4, 1.8 * random.next() - 0.4];
        expect(
          parts.some((part) => inside(part, x, y)),
          `${round}: ${x}, ${y}`,
        ).toBe(inside(ring, x, y));
      }
    }
  });

  test('the cut line is as long as the part of the line inside the frame', () => {
    const random = randomStream(12, 0);
    for (let round = 0; round < 40; round++) {
      const line = Array.from({ length: 10 }, () => 6 * random.next() - 2.5);
      const parts = clipped(table('line', [line])).parts(0);
      const length = (ring: Float64Array) => {
        let sum = 0;
        for (let k = 0; k + 3 < ring.length; k += 2)
          sum += Math.hypot(ring[k + 2] - ring[k], ring[k + 3] - ring[k + 1]);
        return sum;
      };
      let wanted = 0;
      const steps = 20_000;
      for (let k = 0; k + 3 < line.length; k += 2) {
        const [ax, ay, bx, by] = line.slice(k, k + 4);
        let within = 0;
        for (let s = 0; s < steps; s++) {
          const t = (s + 0.5) / steps;
          const [x, y] = [ax + t * (bx - ax), ay + t * (by - ay)];
          if (x >= -0.4 && x <= 1.4 && y >= -0.4 && y <= 1.4) within++;
        }
        wanted += (within / steps) * Math.hypot(bx - ax, by - ay);
      }
      expect(Math.abs(parts.reduce((sum, part) => sum + length(part), 0) - wanted)).toBeLessThan(0.005);
    }
  });
});
