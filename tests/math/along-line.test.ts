import { expect, test } from 'vitest';
import { alongAxis } from '../../src/math/along-line.js';
import { near } from '../support/near.js';

test('looking from the after end to the bow, port is to the left', () => {
  const [ahead, left] = alongAxis(Float64Array.of(3, 0, 1, 2), { after: [0, 0], bow: [10, 0] });
  expect(ahead).toEqual({ alongM: 3, offM: 0 });
  expect(left).toEqual({ alongM: 1, offM: 2 });
});

test('a turned keel: 3-4-5', () => {
  const [place] = alongAxis(Float64Array.of(1 + 3 - 4, 2 + 4 + 3), { after: [1, 2], bow: [7, 10] });
  near(place.alongM, 5, { relative: 1e-14 });
  near(place.offM, 5, { relative: 1e-14 });
});

test('ends the wrong way round turn both over', () => {
  const xy = Float64Array.of(3, 1);
  const [there] = alongAxis(xy, { after: [0, 0], bow: [10, 0] });
  const [back] = alongAxis(xy, { after: [10, 0], bow: [0, 0] });
  expect(back).toEqual({ alongM: 10 - there.alongM, offM: -there.offM });
  expect([...xy]).toEqual([3, 1]);
});
