import { expect, test } from 'vitest';
import { type CellRaster, readRaster, widerCells } from '../../src/math/cell-raster.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';

const turned = (field: (x: number, y: number) => number, columns = 7, rows = 5): CellRaster => {
  const [c, s] = [Math.cos(0.4) * 0.5, Math.sin(0.4) * 0.5];
  const corner = [10, 20] as const;
  const values = new Float64Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    for (let k = 0; k < columns; k++) {
      values[r * columns + k] = field(
        corner[0] + (k + 0.5) * c + (r + 0.5) * s,
        corner[1] + (k + 0.5) * s - (r + 0.5) * c,
      );
    }
  }
  return { columns, rows, corner, columnStep: [c, s], rowStep: [s, -c], values };
};
const plane = (x: number, y: number) => 3 + 0.2 * x - 0.7 * y;
const middle = (raster: CellRaster, column: number, row: number): [number, number] => [
  raster.corner[0] + (column + 0.5) * raster.columnStep[0] + (row + 0.5) * raster.rowStep[0],
  raster.corner[1] + (column + 0.5) * raster.columnStep[1] + (row + 0.5) * raster.rowStep[1],
];

test('a plane on turned cells is read exactly between their middles, and nothing beyond them', () => {
  const raster = turned(plane);
  const places = [middle(raster, 0, 0), middle(raster, 2.25, 1.75), middle(raster, 6, 4)];
  const read = readRaster(raster, Float64Array.from(places.flat()));
  places.forEach(([x, y], i) => {
    near(read[i], plane(x, y), { absolute: 1e-12 });
  });
  const beyond = [middle(raster, -0.01, 2), middle(raster, 3, 4.01)];
  expect([...readRaster(raster, Float64Array.from(beyond.flat()))]).toEqual([Number.NaN, Number.NaN]);
});

test('the reader and its slow twin say the same of a thousand places', () => {
  const stream = randomStream(7, 0);
  const random = () => stream.next();
  const raster = turned(() => random());
  const slow = (u: number, v: number) => {
    let sum = 0;
    for (let r = 0; r < raster.rows; r++) {
      for (let c = 0; c < raster.columns; c++) {
        sum +=
          Math.max(0, 1 - Math.abs(u - c)) * Math.max(0, 1 - Math.abs(v - r)) * raster.values[r * raster.columns + c];
      }
    }
    return sum;
  };
  for (let i = 0; i < 1000; i++) {
    const [u, v] = [random() * 6, random() * 4];
    near(readRaster(raster, Float64Array.from(middle(raster, u, v)))[0], slow(u, v), { absolute: 1e-12 });
  }
});

test('past a cell without a value nothing is guessed, but on the line beside it two cells are enough', () => {
  const raster = turned(plane);
  (raster.values as Float64Array)[2 * 7 + 3] = Number.NaN;
  const read = (column: number, row: number) => readRaster(raster, Float64Array.from(middle(raster, column, row)))[0];
  expect(read(2.5, 1.5)).toBeNaN();
  expect(read(2, 1.5)).not.toBeNaN();
});

test('wider cells hold means; one known by less than half has none', () => {
  const raster = turned(plane, 4, 4);
  const wide = widerCells(raster, 2);
  expect([wide.columns, wide.rows]).toEqual([2, 2]);
  // the mean of a plane over a cell is its value in the middle
  for (const [c, r] of [
    [0, 0],
    [1, 1],
  ])
    near(wide.values[r * 2 + c], plane(...middle(wide, c, r)), { absolute: 1e-12 });
  const gaps = raster.values as Float64Array;
  for (const k of [0, 1, 4]) gaps[k] = Number.NaN;
  gaps[2] = Number.NaN;
  expect(widerCells(raster, 2).values[0]).toBeNaN();
  near(widerCells(raster, 2).values[1], (gaps[3] + gaps[6] + gaps[7]) / 3, { absolute: 1e-12 });
});
