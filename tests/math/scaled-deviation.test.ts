import { expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { scaledDeviation } from '../../src/math/scaled-deviation.js';
import { near } from '../support/near.js';

test('one place by hand: nineteen values, the observed one outside them', () => {
  const values = Float64Array.from({ length: 19 }, (_, k) => k);
  const outside = scaledDeviation([40], [values]);
  expect(outside?.p).toBe(1 / 20);
  expect(outside?.places[0]).toMatchObject({ upper: 1 / 20, lower: 1, mean: 9 });
  near(outside?.places[0].deviation, Math.sqrt(30), { relative: 1e-12 });
  expect(outside?.places[0]).toMatchObject({ low: 0, high: 18 });
  // the middle of all values: every other lies as far out or farther
  expect(scaledDeviation([9], [values])?.p).toBe(1);
});

test('a small value of a lopsided law counts by the reach of that side', () => {
  // mostly 0 to 4, now and then 100: far below the mean is nothing unusual
  const values = Float64Array.from({ length: 199 }, (_, k) => (k % 20 === 0 ? 100 : k % 5));
  const low = scaledDeviation([0], [values]);
  const high = scaledDeviation([130], [values]);
  expect(low?.places[0].scaled).toBeLessThan(0);
  expect(low?.p).toBeGreaterThan(0.1);
  expect(high?.p).toBe(1 / 200);
});

test('the strongest place is told, and a place that never varies adds nothing', () => {
  const vary = Float64Array.from({ length: 99 }, (_, k) => k % 10);
  const still = new Float64Array(99).fill(5);
  const found = scaledDeviation([5, 60, 4], [still, vary, vary]);
  expect(found?.strongest).toBe(1);
  expect(found?.places[0]).toMatchObject({ scaled: 0, deviation: 0 });
  expect(scaledDeviation([5], [still])).toBeNull();
  expect(scaledDeviation([5], [new Float64Array(0)])).toBeNull();
  expect(scaledDeviation([], [])).toBeNull();
});

test('p of exchangeable values is never small too often: 5,000 null sets, three lopsided places that go together', () => {
  const sets = 5000;
  const m = 99;
  let below = 0;
  for (let set = 0; set < sets; set++) {
    const random = randomStream(31, set);
    const draw = () => {
      const a = -Math.log(1 - random.next());
      return [a, a + random.next() ** 3, Math.floor(3 * random.next() ** 2)];
    };
    const simulated = [0, 1, 2].map(() => new Float64Array(m));
    for (let s = 0; s < m; s++) for (const [k, v] of draw().entries()) simulated[k][s] = v;
    if ((scaledDeviation(draw(), simulated)?.p ?? 1) <= 0.05) below++;
  }
  expect(below / sets).toBeGreaterThan(0.04);
  expect(below / sets).toBeLessThan(0.06);
});
