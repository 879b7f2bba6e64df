import { expect, test } from 'vitest';
import { type NamedFinds, nameDealer } from '../../src/math/name-dealing.js';
import { randomStream } from '../../src/math/random.js';

const finds = (label: number[], more: Partial<NamedFinds> = {}): NamedFinds => ({
  label: Uint8Array.from(label),
  group: new Int32Array(label.length).fill(-1),
  stratum: new Int32Array(label.length),
  ...more,
});

const dealings = (named: NamedFinds, count: number): Uint8Array[] => {
  const dealer = nameDealer(named);
  return Array.from({ length: count }, (_, s) => {
    const into = new Uint8Array(named.label.length);
    dealer.deal(into, randomStream(9, s));
    return into;
  });
};

test('every dealing holds the same names, and each find gets each name as often as it occurs', () => {
  const all = dealings(finds([0, 0, 0, 1, 1, 2]), 6000);
  expect(all.every((dealt) => [...dealt].sort().join('') === '000112')).toBe(true);
  for (let i = 0; i < 6; i++) {
    const share = all.filter((dealt) => dealt[i] === 1).length / all.length;
    expect(Math.abs(share - 1 / 3)).toBeLessThan(4 * Math.sqrt(2 / 9 / all.length));
  }
});

test('all orders of single finds come equally often', () => {
  const seen = new Map<string, number>();
  for (const dealt of dealings(finds([0, 1, 2]), 6000)) seen.set(dealt.join(''), (seen.get(dealt.join('')) ?? 0) + 1);
  expect(seen.size).toBe(6);
  for (const times of seen.values()) expect(Math.abs(times - 1000)).toBeLessThan(4 * Math.sqrt(1000));
});

test('a group moves whole, in its order, to a group of its size', () => {
  // two concretions of two finds, three single finds
  const named = finds([0, 1, 2, 2, 3, 3, 4], { group: Int32Array.of(7, 7, 5, 5, -1, -1, -1) });
  const dealer = nameDealer(named);
  expect(dealer.units).toBe(5);
  expect(dealer.grouped).toBe(4);
  expect([...dealer.fixed]).toEqual([0, 0, 0, 0, 0, 0, 0]);
  const pairs = new Set(dealings(named, 200).map((dealt) => dealt.subarray(0, 4).join('')));
  expect([...pairs].sort()).toEqual(['0122', '2201']);
});

test('a group of a size of its own, and finds among their own name, stay as they are', () => {
  const named = finds([0, 0, 0, 1, 1], { group: Int32Array.of(1, 1, 1, -1, -1) });
  expect([...nameDealer(named).fixed]).toEqual([1, 1, 1, 1, 1]);
  for (const dealt of dealings(named, 20)) expect([...dealt]).toEqual([0, 0, 0, 1, 1]);
});

test('names stay inside their stratum, and a group is cut where strata part it', () => {
  const named = finds([0, 1, 0, 2, 2, 3], {
    group: Int32Array.of(4, -1, 4, -1, -1, -1),
    stratum: Int32Array.of(0, 0, 1, 1, 1, 0),
  });
  const dealer = nameDealer(named);
  expect(dealer.grouped).toBe(0);
  const seen = Array.from({ length: 6 }, () => new Set<number>());
  for (const dealt of dealings(named, 300)) for (const [i, name] of dealt.entries()) seen[i].add(name);
  expect([...seen[0]].sort()).toEqual([0, 1, 3]);
  expect([...seen[2]].sort()).toEqual([0, 2]);
});

test('a dealing depends on its stream alone, and the names given are left untouched', () => {
  const named = finds([0, 1, 2, 3, 4, 5, 6, 7]);
  const dealer = nameDealer(named);
  const [once, again] = [new Uint8Array(8), new Uint8Array(8)];
  dealer.deal(once, randomStream(1, 417));
  dealer.deal(again, randomStream(1, 3));
  dealer.deal(again, randomStream(1, 417));
  expect(again).toEqual(once);
  expect([...named.label]).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
});
