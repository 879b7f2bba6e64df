import { expect, test } from 'vitest';
import { readRaster } from '../../src/math/cell-raster.js';
import { randomStream } from '../../src/math/random.js';
import { type Soundings, soundingsIn, soundingsRaster } from '../../src/math/soundings-raster.js';
import { near } from '../support/near.js';

const plane = (x: number, y: number) => -12 + 0.03 * (x - 412_000) - 0.05 * (y - 4_984_000);
const soundingsOf = (places: readonly (readonly [number, number])[], field = plane): Soundings => ({
  x: Float64Array.from(places, (p) => p[0]),
  y: Float64Array.from(places, (p) => p[1]),
  z: Float64Array.from(places, ([x, y]) => field(x, y)),
});
const gridded = (columns: number, rows: number, step: number): [number, number][] =>
  Array.from({ length: columns * rows }, (_, i) => [
    412_000 + (i % columns) * step,
    4_984_000 + Math.floor(i / columns) * step,
  ]);

test('gridded soundings stay where they are', () => {
  const field = (x: number, y: number) => Math.round(100 * Math.sin(x) + 70 * Math.cos(2 * y)) / 100;
  const soundings = soundingsOf(gridded(9, 6, 0.5), field);
  const raster = soundingsRaster(soundings, 1e6);
  expect([raster?.columns, raster?.rows, raster?.columnStep[0]]).toEqual([9, 6, 0.5]);
  const read = readRaster(raster!, Float64Array.from(gridded(9, 6, 0.5).flat()));
  read.forEach((v, i) => {
    near(v, soundings.z[i], { absolute: 1e-9 });
  });
});

test('scattered soundings of a plane give the plane', () => {
  const stream = randomStream(3, 1);
  const random = () => stream.next();
  const places = Array.from({ length: 600 }, (): [number, number] => [
    412_000 + 60 * random(),
    4_984_000 + 40 * random(),
  ]);
  const raster = soundingsRaster(soundingsOf(places), 1e6)!;
  let known = 0;
  for (let i = 0; i < 200; i++) {
    const [x, y] = [412_010 + 40 * random(), 4_984_010 + 20 * random()];
    const [v] = readRaster(raster, Float64Array.of(x, y));
    if (Number.isNaN(v)) continue;
    known++;
    near(v, plane(x, y), { absolute: 1e-6 });
  }
  expect(known).toBeGreaterThan(190);
});

test('a gap between two tracks is no seabed', () => {
  const near0 = gridded(20, 3, 1);
  const far = near0.map(([x, y]): [number, number] => [x, y + 40]);
  const raster = soundingsRaster(soundingsOf([...near0, ...far]), 1e6)!;
  expect(readRaster(raster, Float64Array.of(412_010, 4_984_001))[0]).not.toBeNaN();
  expect(readRaster(raster, Float64Array.of(412_010, 4_984_020))[0]).toBeNaN();
});

test('cells are no more than asked, soundings of a line or two make none, a box takes its own', () => {
  const raster = soundingsRaster(soundingsOf(gridded(60, 60, 1)), 400)!;
  expect(raster.columns * raster.rows).toBeLessThan(500);
  expect(soundingsRaster(soundingsOf(gridded(9, 1, 1)), 1e6)).toBeNull();
  expect(soundingsRaster(soundingsOf(gridded(2, 1, 1)), 1e6)).toBeNull();
  expect(soundingsIn(soundingsOf(gridded(5, 5, 1)), [412_001, 4_984_001, 412_002, 4_984_003]).x.length).toBe(6);
});
