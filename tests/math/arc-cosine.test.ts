import { expect, test } from 'vitest';
import { arcCosine, directionAngle } from '../../src/math/arc-cosine.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';

test('the ends, the middle and 60 degrees', () => {
  expect(arcCosine(1)).toBe(0);
  expect(arcCosine(-1)).toBe(Math.PI);
  expect(arcCosine(1.0000000001)).toBe(0);
  near(arcCosine(0), Math.PI / 2, { relative: 1e-16 });
  near(arcCosine(0.5), Math.PI / 3, { absolute: 3e-16 });
  near(arcCosine(-0.5), (2 * Math.PI) / 3, { absolute: 5e-16 });
  near(arcCosine(1 - 2 ** -53), 2 ** -26, { relative: 1e-15 });
});

test('within two units of the last place of the engine, everywhere', () => {
  const random = randomStream(1, 0);
  for (let i = 0; i < 20_000; i++) {
    const x = 2 * random.next() - 1;
    near(arcCosine(x), Math.acos(x), { absolute: 9e-16 });
    const close = 1 - x * x * 1e-9;
    near(arcCosine(close), Math.acos(close), { relative: 1e-15 });
  }
});

test('the angle of a direction is that of the engine, also along the axes', () => {
  for (const [x, y] of [
    [1, 0],
    [0, 1],
    [-1, 0],
    [0, -1],
  ]) {
    near(directionAngle(x, y), Math.atan2(y, x), { absolute: 5e-16 });
  }
  for (let k = 0; k < 1000; k++) {
    const angle = 0.0063 * k - Math.PI + 1e-6;
    const [x, y] = [Math.cos(angle), Math.sin(angle)];
    near(directionAngle(x, y), Math.atan2(y, x), { absolute: 1e-15 });
  }
});
