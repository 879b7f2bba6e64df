import { expect, test } from 'vitest';
import { hashBytes, KeyIndex } from '../../../src/domain/records/key-index.js';
import { randomStream } from '../../../src/math/random.js';

const bytes = (text: string) => new TextEncoder().encode(text);

test('keys are numbered in the order they come, as a map would', () => {
  const random = randomStream(21, 0);
  const index = new KeyIndex();
  const twin = new Map<string, number>();
  for (let i = 0; i < 20_000; i++) {
    // few letters, so that many keys come twice and many differ in their last byte only
    const key = Array.from({ length: random.below(7) }, () => 'ab1ü'[random.below(4)]).join('');
    const padded = bytes(`<${key}>`);
    const known = twin.get(key) ?? -1;
    expect(index.find(padded, 1, padded.length - 1)).toBe(known);
    if (known < 0) twin.set(key, twin.size);
    expect(index.add(padded, 1, padded.length - 1)).toBe(twin.get(key));
  }
  expect(index.length).toBe(twin.size);
  const { bytes: all, ends } = index.slice(0, index.length);
  const read = [...ends].map((end, i) => new TextDecoder().decode(all.subarray(i === 0 ? 0 : ends[i - 1], end)));
  expect(read).toEqual([...twin.keys()]);
  const some = index.slice(10, 13);
  expect(new TextDecoder().decode(some.bytes)).toBe(read.slice(10, 13).join(''));
});

test('keys whose hashes are the same stay apart', () => {
  // two words of one length with the same 32-bit FNV-1a hash, known from collision lists
  const index = new KeyIndex();
  expect(hashBytes(bytes('declinate'), 0, 9)).toBe(hashBytes(bytes('macallums'), 0, 9));
  expect(index.add(bytes('declinate'), 0, 9)).toBe(0);
  expect(index.add(bytes('macallums'), 0, 9)).toBe(1);
  expect(index.find(bytes('declinate'), 0, 9)).toBe(0);
  expect(index.find(bytes('macallums'), 0, 9)).toBe(1);
});
