import { gunzipSync } from 'node:zlib';
import { expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { tileCache } from '../../src/tiles/tile-cache.js';

const tile = (size: number, fill = 1) => ({ bytes: new Uint8Array(size).fill(fill), etag: `"${fill}"` });

test('a tile comes back with its bytes, its tag and one packed form', async () => {
  const cache = tileCache();
  cache.put('/v3/public/finds/1/2/3', tile(5000, 7));
  const kept = cache.get('/v3/public/finds/1/2/3');
  expect(kept?.bytes).toEqual(tile(5000, 7).bytes);
  expect(kept?.etag).toBe('"7"');
  const before = cache.size;
  const [one, other] = await Promise.all([kept?.gzipped(), kept?.gzipped()]);
  expect(one).toBe(other);
  expect(gunzipSync(one ?? new Uint8Array(0))).toEqual(Buffer.from(tile(5000, 7).bytes));
  expect(cache.size).toBe(before + (one?.length ?? 0));
  expect(cache.get('/v3/team/finds/1/2/3')).toBeUndefined();
});

test('the bytes held stay within the bound, and what was asked for last stays', () => {
  const cache = tileCache({ maxBytes: 20_000 });
  const random = randomStream(4, 0);
  for (let k = 0; k < 500; k++) {
    cache.put(`a${k}`, tile(1 + random.below(3000)));
    if (k > 0) cache.get('a0');
    expect(cache.size).toBeLessThanOrEqual(20_000);
  }
  expect(cache.get('a0')).toBeDefined();
  expect(cache.get('a499')).toBeDefined();
  expect(cache.get('a1')).toBeUndefined();
});

test('a tile larger than the whole cache is handed on, not kept', () => {
  const cache = tileCache({ maxBytes: 1000 });
  expect(cache.put('large', tile(5000)).bytes.length).toBe(5000);
  expect(cache.get('large')).toBeUndefined();
  expect(cache.size).toBe(0);
});

test('a packed form that arrives after its tile was dropped is not counted', async () => {
  const cache = tileCache();
  const kept = cache.put('a', tile(5000));
  const packing = kept.gzipped();
  cache.drop('a');
  await packing;
  expect(cache.size).toBe(0);
});

test('putting an address again replaces it; dropping a beginning drops just those', () => {
  const cache = tileCache();
  cache.put('/v1/a', tile(100));
  const once = cache.size;
  cache.put('/v1/a', tile(100, 2));
  expect(cache.size).toBe(once);
  expect(cache.get('/v1/a')?.etag).toBe('"2"');
  cache.put('/v2/a', tile(100));
  cache.drop('/v1/');
  expect(cache.get('/v1/a')).toBeUndefined();
  expect(cache.get('/v2/a')).toBeDefined();
});
