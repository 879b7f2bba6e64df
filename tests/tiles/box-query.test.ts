import { describe, expect, test } from 'vitest';
import type { FeatureTable, Geometry } from '../../src/domain/feature-table.js';
import { randomStream } from '../../src/math/random.js';
import type { Box } from '../../src/math/rings.js';
import { boxIndex } from '../../src/tiles/box-query.js';

function table(length: number, geometry: Geometry | null): FeatureTable {
  return {
    name: 't',
    length,
    fields: [],
    columns: new Map(),
    geometry,
    ids: Float64Array.from({ length }, (_, i) => i + 1),
  };
}

function shapes(type: 'line' | 'area', parts: readonly (readonly number[])[][], holes: readonly number[] = []) {
  const coordinates = Float64Array.from(parts.flat(2));
  const partStart = [0];
  for (const part of parts.flat()) partStart.push((partStart.at(-1) ?? 0) + part.length / 2);
  const featureStart = [0];
  for (const feature of parts) featureStart.push((featureStart.at(-1) ?? 0) + feature.length);
  const hole = new Uint8Array(partStart.length - 1);
  for (const part of holes) hole[part] = 1;
  const geometry: Geometry = {
    type,
    coordinates,
    partStart: Uint32Array.from(partStart),
    featureStart: Uint32Array.from(featureStart),
    hole,
  };
  const index = boxIndex(table(parts.length, geometry), coordinates);
  return (...box: [number, number, number, number]) => [...index.rows(box)];
}

function randomBoxes(n: number, seed: number): Box[] {
  const random = randomStream(seed, 0);
  return Array.from({ length: n }, () => {
    const [x, y] = [random.next() * 10, random.next() * 10];
    return [x, y, x + 4 * random.next() ** 2, y + 4 * random.next() ** 2];
  });
}

test('points: the rows a plain walk finds, rising, with those without a place', () => {
  const random = randomStream(1, 0);
  const n = 2000;
  const xy = Float64Array.from({ length: 2 * n }, () => Math.round(random.next() * 100) / 10);
  for (let i = 0; i < n; i += 17) xy[2 * i] = Number.NaN;
  const index = boxIndex(table(n, { type: 'point', coordinates: xy }), xy);
  for (const box of [...randomBoxes(50, 2), [3, 3, 3, 3], [2, 0, 2, 10], [-5, -5, 20, 20], [50, 50, 60, 60]] as Box[]) {
    const [west, south, east, north] = box;
    const wanted: number[] = [];
    for (let i = 0; i < n; i++) {
      const [x, y] = [xy[2 * i], xy[2 * i + 1]];
      if (Number.isNaN(x) || (x >= west && x <= east && y >= south && y <= north)) wanted.push(i);
    }
    expect([...index.rows(box)]).toEqual(wanted);
  }
});

test('a box across the date line finds both sides, and each row once', () => {
  const xy = Float64Array.of(179.9, 0, -179.9, 0, 0, 0, 179.95, 50);
  const index = boxIndex(table(4, { type: 'point', coordinates: xy }), xy);
  expect([...index.rows([179.5, -1, -179.5, 1])]).toEqual([0, 1]);
  const line = shapes('line', [[[-179.9, 0, 179.9, 0]], [[10, 0, 20, 0]]]);
  expect(line(170, -1, -170, 1)).toEqual([0]);
});

test('a table without geometry matches every box', () => {
  const index = boxIndex(table(3, null), new Float64Array(0));
  expect([...index.rows([0, 0, 1, 1])]).toEqual([0, 1, 2]);
});

describe('shapes', () => {
  test('a line counts where it runs, not where its box lies; touching is enough', () => {
    const line = shapes('line', [[[0, 0, 10, 10]], [], [[0, 5, 10, 5]]]);
    expect(line(6, 1, 8, 3)).toEqual([1]);
    expect(line(4, 4, 4.5, 4.5)).toEqual([0, 1]);
    expect(line(10, 10, 12, 12)).toEqual([0, 1]);
    expect(line(-1, 5, 0, 6)).toEqual([1, 2]);
    expect(line(5, 5, 5, 5)).toEqual([0, 1, 2]);
  });

  test('an area counts where it covers the box, not inside its hole', () => {
    const area = shapes(
      'area',
      [
        [
          [0, 0, 10, 0, 10, 10, 0, 10],
          [2, 2, 2, 8, 8, 8, 8, 2],
        ],
      ],
      [1],
    );
    expect(area(1, 1, 1.5, 1.5)).toEqual([0]);
    expect(area(4, 4, 5, 5)).toEqual([]);
    expect(area(4, 4, 8, 5)).toEqual([0]);
    expect(area(-5, -5, 20, 20)).toEqual([0]);
    expect(area(10, 3, 11, 4)).toEqual([0]);
    expect(area(10.001, 3, 11, 4)).toEqual([]);
  });

  test('triangles agree with a test of finely spread points', () => {
    const random = randomStream(3, 0);
    const triangles = Array.from({ length: 200 }, () => {
      const [x, y] = [random.next() * 10, random.next() * 10];
      return [Array.from({ length: 6 }, (_, k) => (k % 2 === 0 ? x : y) + 2 * random.next())];
    });
    const index = shapes('area', triangles);
    const inside = ([ax, ay, bx, by, cx, cy]: readonly number[], x: number, y: number) => {
      const side = (px: number, py: number, qx: number, qy: number) => (qx - px) * (y - py) - (qy - py) * (x - px);
      const sides = [side(ax, ay, bx, by), side(bx, by, cx, cy), side(cx, cy, ax, ay)];
      return sides.every((s) => s >= 0) || sides.every((s) => s <= 0);
    };
    for (const [west, south, east, north] of randomBoxes(30, 4)) {
      const found = new Set(index(west, south, east, north));
      triangles.forEach(([ring], row) => {
        for (let k = 0; k <= 400; k++) {
          const [x, y] = [west + ((east - west) * (k % 21)) / 20, south + ((north - south) * Math.floor(k / 21)) / 19];
          if (inside(ring, x, y) && !found.has(row)) expect.fail(`triangle ${row} covers ${x}, ${y}`);
        }
        const outside = [0, 2, 4].every((k) => ring[k] < west) || [0, 2, 4].every((k) => ring[k] > east);
        if (outside) expect(found.has(row)).toBe(false);
      });
      expect(found.size).toBeLessThan(200);
    }
  });
});
