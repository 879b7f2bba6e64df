import { expect, test } from 'vitest';
import { countPeaks, highestCell } from '../../src/math/surface-peaks.js';

const surface = (rows: number[][], inside?: number[][]) => ({
  values: Float64Array.from(rows.flat()),
  inside: Uint8Array.from((inside ?? rows.map((r) => r.map(() => 1))).flat()),
  columns: rows[0].length,
  rows: rows.length,
});

test('two tops with a dip between are two peaks', () => {
  expect(countPeaks(surface([[1, 8, 5, 10, 2]]))).toBe(2);
});

test('a dip of less than a twentieth of the highest does not part them', () => {
  expect(countPeaks(surface([[1, 9, 8.6, 10, 2]]))).toBe(1);
  expect(countPeaks(surface([[1, 9, 8.4, 10, 2]]))).toBe(2);
});

test('tops below half of the highest do not count', () => {
  expect(countPeaks(surface([[4.9, 0, 10, 0, 5.1]]))).toBe(2);
});

test('cells touch at their corners, and not round the end of a row', () => {
  expect(
    countPeaks(
      surface([
        [10, 0, 0],
        [0, 9, 0],
        [0, 0, 8],
      ]),
    ),
  ).toBe(1);
  expect(
    countPeaks(
      surface([
        [0, 0, 10],
        [10, 0, 0],
        [0, 0, 0],
      ]),
    ),
  ).toBe(2);
});

test('a ridge of equal cells is one peak', () => {
  expect(
    countPeaks(
      surface([
        [0, 7, 7, 7, 0],
        [7, 7, 0, 7, 7],
      ]),
    ),
  ).toBe(1);
});

test('undug ground parts two peaks, and its own values never count', () => {
  const part = surface([[5, 9, 7, 1]], [[1, 1, 0, 1]]);
  expect(highestCell(part)).toBe(1);
  expect(countPeaks(surface([[6, 99, 7]], [[1, 0, 1]]))).toBe(2);
});

test('nothing above zero, or nothing dug: no peak', () => {
  expect(countPeaks(surface([[0, 0]]))).toBe(0);
  expect(countPeaks(surface([[3, 4]], [[0, 0]]))).toBe(0);
  expect(highestCell(surface([[3, 4]], [[0, 0]]))).toBe(-1);
});
