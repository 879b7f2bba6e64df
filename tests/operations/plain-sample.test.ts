import { expect, test } from 'vitest';
import { plainSample } from '../../src/operations/plain-sample.js';
import { windowOf } from '../support/sample-of.js';

const points = {
  x: Float64Array.of(0.1, 0.2, 0.3, 9),
  y: Float64Array.of(0.1, 0.1, 0.1, 0.1),
  classes: ['jar', 'nail', 'jar', 'jar'],
  seasons: ['2021', '2022', '2023', '2021'],
  z: new Float64Array(4).fill(Number.NaN),
  weight: new Float64Array(4).fill(Number.NaN),
};
const window = windowOf([
  [
    [
      [0, 0],
      [1, 0],
      [1, 1],
      [0, 1],
    ],
  ],
]);
const sample = (chosenSeasons: readonly string[], chosenClasses: readonly string[] = []) =>
  plainSample({ points, window, hull: [], chosenSeasons, chosenClasses });

test('all seasons of the file, or only those asked for: one not asked for is none without finds', () => {
  expect(sample([])).toMatchObject({ seasons: ['2021', '2022', '2023'], seasonCode: Uint32Array.of(1, 2, 3) });
  expect(sample(['2023', '2021'])).toMatchObject({ seasons: ['2023', '2021'], seasonCode: Uint32Array.of(2, 1) });
});

test('a season asked for stays, though the class chosen has no find in it', () => {
  expect(sample(['2021', '2022'], ['jar'])).toMatchObject({ seasons: ['2021', '2022'], seasonCode: Uint32Array.of(1) });
});

test('points outside the window are left out and counted; an unknown season is refused with the known ones', () => {
  expect(sample([])).toMatchObject({ selected: 4, excluded: [{ reason: 'outside the window', count: 1 }] });
  expect(() => sample(['1999'])).toThrow(/the file has 2021, 2022, 2023/);
});
