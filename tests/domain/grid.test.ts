import { describe, expect, test } from 'vitest';
import {
  gridFrame,
  gridToGrid,
  nodeAt,
  parseLabel,
  partRing,
  squareAt,
  squareLabel,
  squareRing,
} from '../../src/domain/grid.js';
import { type GridRecord, gridSchema } from '../../src/domain/site.js';

const grid: GridRecord = gridSchema.parse({
  id: 'g1',
  crs: 'EPSG:32626',
  origin_easting: 412037.4,
  origin_northing: 4984118.25,
  azimuth_deg: 27.35,
  scale: 0.999695,
  columns: 34,
  rows: 20,
  labels: { skip: 'IO' },
});

describe('labels', () => {
  test('letters leave out I and O, and go on with AA', () => {
    expect(squareLabel(grid, 0, 0)).toBe('A1');
    expect(squareLabel(grid, 7, 3)).toBe('H4');
    expect(squareLabel(grid, 8, 3)).toBe('J4');
    expect(squareLabel(grid, 23, 19)).toBe('Z20');
    expect(squareLabel(grid, 24, 0)).toBe('AA1');
    expect(squareLabel(grid, 33, 19)).toBe('AK20');
  });

  test('every label leads back to its square', () => {
    for (let row = 0; row < grid.rows; row++) {
      for (let column = 0; column < grid.columns; column++) {
        expect(parseLabel(grid, squareLabel(grid, column, row))).toEqual({ column, row });
      }
    }
  });

  test('what is no label of the grid is none', () => {
    for (const text of ['I4', 'O1', '', '4E', 'E', 'E0', 'E22', 'AM1', 'E4.5', 'E-1'])
      expect(parseLabel(grid, text)).toBeNull();
  });

  test('digits need their separator', () => {
    const digits = gridSchema.parse({
      ...grid,
      labels: { columns: 'digits', rows: 'digits', separator: '-', first: 0 },
    });
    expect(squareLabel(digits, 12, 3)).toBe('12-3');
    expect(parseLabel(digits, '12-3')).toEqual({ column: 12, row: 3 });
    expect(parseLabel(digits, '123')).toBeNull();
  });
});

describe('squares and their parts', () => {
  test('a label names the square by its south-west corner', () => {
    expect([...squareRing(grid, 'E4')]).toEqual([4, 3, 5, 3, 5, 4, 4, 4]);
  });

  test('the north-east corner names the square below and left of it', () => {
    const other = gridSchema.parse({ ...grid, corner: 'north-east' });
    expect([...squareRing(other, 'E4')]).toEqual([3, 2, 4, 2, 4, 3, 3, 3]);
    expect(squareAt(other, 3.5, 2.5)).toBe('E4');
  });

  test.each([
    ['N half of E4', '', [4, 3.5, 5, 3.5, 5, 4, 4, 4]],
    ['SW quarter of E4', '', [4, 3, 4.5, 3, 4.5, 3.5, 4, 3.5]],
    ['E4', 'W', [4, 3, 4.5, 3, 4.5, 4, 4, 4]],
    ['e4', 'ne quarter', [4.5, 3.5, 5, 3.5, 5, 4, 4.5, 4]],
  ])('%s %s', (text, part, ring) => {
    expect([...partRing(grid, text, part)]).toEqual(ring);
  });

  test.each([
    ['N quarter of E4', '', /a half is N, E, S or W/],
    ['E4', 'middle', /is no part of a square/],
    ['ZZ9', '', /names no square of grid g1 \(A1 to AK20\)/],
    ['A21', '', /names no square/],
  ])('%s %s is refused', (text, part, sentence) => {
    expect(() => partRing(grid, text, part)).toThrow(sentence);
  });

  test('a find on a line belongs to the lower square, by the published rule for slack tapes (Muckelroy 1975)', () => {
    expect(squareAt(grid, 4.5, 3.5)).toBe('E4');
    expect(squareAt(grid, 5, 3.5)).toBe('E4');
    expect(squareAt(grid, 5, 4)).toBe('E4');
    expect(squareAt(grid, 0, 0)).toBe('A1');
    expect(squareAt(grid, 34, 20)).toBe('AK20');
    expect(squareAt(grid, 34.001, 3)).toBeNull();
    const upper = gridSchema.parse({ ...grid, boundary_rule: 'upper' });
    expect(squareAt(upper, 5, 4)).toBe('F5');
    expect(squareAt(upper, 34, 20)).toBe('AK20');
  });

  test('nodes reach one line further than squares', () => {
    expect(nodeAt(grid, 'AL21')).toEqual([34, 20]);
    expect(nodeAt(grid, 'AM1')).toBeNull();
  });
});

describe('map coordinates', () => {
  const frame = gridFrame(grid);

  test('site_north lies at the stated azimuth: ten metres along it by hand', () => {
    const [e0, n0] = frame.toProjected(0, 0);
    const [e, n] = frame.toProjected(0, 10);
    expect([e0, n0]).toEqual([412037.4, 4984118.25]);
    // 10 m × 0.999695 at 27.35° from map_grid_north, clockwise
    expect(e - e0).toBeCloseTo(9.99695 * Math.sin((27.35 * Math.PI) / 180), 9);
    expect(n - n0).toBeCloseTo(9.99695 * Math.cos((27.35 * Math.PI) / 180), 9);
    expect((Math.atan2(e - e0, n - n0) * 180) / Math.PI).toBeCloseTo(27.35, 7);
  });

  test('there and back again within a micrometre', () => {
    for (const [x, y] of [
      [0, 0],
      [34, 20],
      [17.123, 9.456],
    ]) {
      const [x2, y2] = frame.fromLonLat(...frame.toLonLat(x, y));
      expect(Math.hypot(x2 - x, y2 - y)).toBeLessThan(1e-6);
    }
  });

  test('a re-laid grid: the stated shift and turn come out', () => {
    // g2 turned 0.18° anticlockwise against g1, its origin at (0.12, −0.07) of g1
    const [e, n] = frame.toProjected(0.12, -0.07);
    const second = gridSchema.parse({
      ...grid,
      id: 'g2',
      origin_easting: e,
      origin_northing: n,
      azimuth_deg: 27.35 - 0.18,
    });
    const convert = gridToGrid(second, grid);
    const turn = (0.18 * Math.PI) / 180;
    for (const [x, y] of [
      [0, 0],
      [10, 0],
      [0, 10],
      [12.5, 7.25],
    ]) {
      const [gx, gy] = convert(x, y);
      expect(gx).toBeCloseTo(0.12 + x * Math.cos(turn) - y * Math.sin(turn), 8);
      expect(gy).toBeCloseTo(-0.07 + x * Math.sin(turn) + y * Math.cos(turn), 8);
    }
  });
});
