import { expect, test } from 'vitest';
import { nameDealer } from '../../src/math/dealt-names.js';
import { randomStream } from '../../src/math/random.js';

const group = ['a', null, 'b', 'a', null, 'b', 'c', 'c', 'c', null];

test('every deal is a permutation that keeps groups together and among groups of their size', () => {
  const dealer = nameDealer(group);
  expect(dealer.units).toBe(6);
  expect(dealer.fixed).toBe(3);
  expect(dealer.grouped).toBe(7);
  const giver = new Uint32Array(group.length);
  for (let s = 0; s < 200; s++) {
    dealer.deal(giver, randomStream(4, s));
    expect([...giver].sort((a, b) => a - b)).toEqual([...group.keys()]);
    for (const [i, j] of [
      [0, 3],
      [2, 5],
    ])
      expect(group[giver[i]]).toBe(group[giver[j]]);
    expect([...giver.subarray(6, 9)]).toEqual([6, 7, 8]);
    for (const i of [1, 4, 9]) expect(group[giver[i]]).toBeNull();
  }
});

test('each name comes to each place of its kind equally often', () => {
  const dealer = nameDealer([null, null, null, null]);
  const giver = new Uint32Array(4);
  const counts = new Uint32Array(16);
  const deals = 8000;
  for (let s = 0; s < deals; s++) {
    dealer.deal(giver, randomStream(9, s));
    giver.forEach((from, to) => {
      counts[4 * to + from]++;
    });
  }
  // five standard errors of a share of a quarter
  for (const count of counts) expect(Math.abs(count / deals - 0.25)).toBeLessThan(5 * Math.sqrt(0.1875 / deals));
});
