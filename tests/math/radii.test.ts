import { expect, test } from 'vitest';
import { radiiOf } from '../../src/math/radii.js';
import { randomStream } from '../../src/math/random.js';

test('a distance counts from the first radius that is not below it; an equal one counts', () => {
  const radii = radiiOf([0, 0.1, 0.30000000000000004, 5]);
  expect([0, 0.05, 0.1, 0.1000001, 0.30000000000000004, 5, 5.1].map(radii.from)).toEqual([0, 1, 1, 2, 2, 3, 4]);
  expect([0, 0.05, 0.1, 0.2, 5, 6].map(radii.beyond)).toEqual([1, 1, 2, 2, 4, 4]);
  expect(radiiOf([0]).from(0)).toBe(0);
  expect(radiiOf([0]).from(1)).toBe(1);
});

test('equal to a look through the whole list, for any spacing', () => {
  const random = randomStream(4, 0);
  for (let round = 0; round < 200; round++) {
    let r = random.next() < 0.5 ? 0 : random.next();
    const values = Array.from({ length: 1 + random.below(40) }, () => {
      r += random.next() ** 6 + 1e-9;
      return r;
    });
    const radii = radiiOf(values);
    for (let k = 0; k < 20; k++) {
      const d = random.next() < 0.3 ? values[random.below(values.length)] : random.next() * r * 1.1;
      expect(radii.from(d)).toBe(values.filter((v) => v < d).length);
      expect(radii.beyond(d)).toBe(values.filter((v) => v <= d).length);
    }
  }
});

test('radii that do not rise, are negative or missing are refused by name', () => {
  expect(() => radiiOf([0.5, 0.3])).toThrow(/r must rise: 0.3 follows 0.5/);
  expect(() => radiiOf([0.5, 0.5])).toThrow(/r must rise/);
  expect(() => radiiOf([-1, 2])).toThrow(/-1 is no radius/);
  expect(() => radiiOf([Number.NaN])).toThrow(/no radius/);
  expect(() => radiiOf([])).toThrow(/at least one radius/);
});
