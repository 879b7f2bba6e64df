import { describe, expect, test } from 'vitest';
import { alongMapAxes, cellFrame, cellsInside, framePlace, regionAlongMapAxes } from '../../src/math/cell-frame.js';
import { contains, edgeSlack } from '../../src/math/rings.js';
import { rectangle, thinArms } from '../support/kernel-reference.js';
import { allNear, near } from '../support/near.js';

test('site_north at azimuth 90° from map_grid_north points east on the map', () => {
  allNear(alongMapAxes(Float64Array.of(0, 1), 90), [1, 0], { absolute: 1e-15 });
  allNear(alongMapAxes(Float64Array.of(1, 0), 90), [0, -1], { absolute: 1e-15 });
});

test('cells start on whole multiples of the cell and cover the window', () => {
  const frame = cellFrame(rectangle([0.3, -0.7, 5.2, 2.1]), 0.5, 0);
  expect([frame.columns, frame.rows]).toEqual([11, 7]);
  expect(frame.corner).toEqual([0, 2.5]);
  expect([frame.columnStep, frame.rowStep]).toEqual([
    [0.5, 0],
    [0, -0.5],
  ]);
  expect(framePlace(frame, 0, 0)).toEqual([0.25, 2.25]);
});

test('a window edge on a cell edge adds no empty cells', () => {
  const frame = cellFrame(rectangle([0, 0, 12, 8]), 0.1, 0);
  expect([frame.columns, frame.rows]).toEqual([120, 80]);
});

describe('on a turned grid', () => {
  const azimuth = 37;
  const turned = regionAlongMapAxes(thinArms, azimuth);
  const frame = cellFrame(turned, 0.25, azimuth);

  test('a cell has the same place from its corner and steps as along the map', () => {
    for (const [c, r] of [
      [0, 0],
      [13, 21],
      [frame.columns - 1, 2],
    ]) {
      const [east, north] = alongMapAxes(Float64Array.from(framePlace(frame, c, r)), azimuth);
      near(east, frame.x + c * frame.stepX, { absolute: 1e-12 });
      near(north, frame.y + r * frame.stepY, { absolute: 1e-12 });
    }
  });

  test('cells inside are those whose centre the window contains', () => {
    const inside = cellsInside(turned, frame);
    const slack = edgeSlack(thinArms);
    for (let r = 0; r < frame.rows; r++) {
      for (let c = 0; c < frame.columns; c++) {
        const [x, y] = framePlace(frame, c, r);
        expect(inside[r * frame.columns + c] === 1).toBe(contains(thinArms, x, y, slack));
      }
    }
  });
});

test('centres on an edge or a corner belong to the window, those in a hole do not', () => {
  const window = { rings: [...rectangle([0, 0, 4, 4]).rings, Float64Array.of(1, 1, 1, 3, 3, 3, 3, 1)] };
  const inside = cellsInside(window, { columns: 6, rows: 6, x: -1, y: 4, stepX: 1, stepY: -1 });
  expect([...inside].join('')).toBe('011111' + '011111' + '011011' + '011111' + '011111' + '000000');
});

test('more than four million cells are refused', () => {
  expect(() => cellFrame(rectangle([0, 0, 40, 40]), 0.01, 0)).toThrow(/4000 × 4000 cells/);
});
