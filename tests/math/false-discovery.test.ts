import { expect, test } from 'vitest';
import { benjaminiHochberg, holm } from '../../src/math/false-discovery.js';
import { randomStream } from '../../src/math/random.js';
import { allNear } from '../support/near.js';

test('by hand', () => {
  const p = [0.01, 0.04, 0.03, 0.005];
  allNear(holm(p), [0.03, 0.06, 0.06, 0.02], { absolute: 1e-15 });
  allNear(benjaminiHochberg(p), [0.02, 0.04, 0.04, 0.02], { absolute: 1e-15 });
});

test('slow twin: a test stands at a level exactly when the step rule of the paper says so', () => {
  const random = randomStream(5, 2);
  for (let k = 0; k < 200; k++) {
    const p = Array.from({ length: 1 + random.below(9) }, () => random.next() ** 3);
    const sorted = [...p].sort((a, b) => a - b);
    const level = 0.05;
    let down = 0;
    while (down < p.length && sorted[down] <= level / (p.length - down)) down++;
    let up = p.length;
    while (up > 0 && sorted[up - 1] > (level * up) / p.length) up--;
    expect(holm(p).filter((q) => q <= level).length).toBe(down);
    expect(benjaminiHochberg(p).filter((q) => q <= level).length).toBe(up);
  }
});

test('what is no test stays none and counts for none', () => {
  expect([...holm([0.02, Number.NaN, 0.03])]).toEqual([0.04, Number.NaN, 0.04]);
  expect([...benjaminiHochberg([])]).toEqual([]);
});
