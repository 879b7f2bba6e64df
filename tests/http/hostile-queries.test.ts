import { afterAll, beforeAll, expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { type Served, serve } from './fake-service.js';

let at: Served;
beforeAll(async () => {
  at = await serve();
});
afterAll(() => at.close());

const values = [
  '',
  '0',
  '-1',
  '1e309',
  'NaN',
  'Infinity',
  '0x10',
  '1,2',
  '-180,-90,180,90',
  '180,90,-180,-90',
  '1e300,1e300,1e300,1e300',
  '9'.repeat(400),
  '..',
  '../..',
  '/',
  '//',
  '2021-07-05/..',
  '9999-99-99',
  '%00',
  '%F0%9F%92%A3',
  "' OR 1=1 --",
  '{{7*7}}',
  '<script>',
  '../../etc/passwd',
  '__proto__',
  'null',
  'undefined',
  'true',
  '[]',
  '{}',
  'http://www.opengis.net/def/crs/EPSG/0/4326',
  'json',
  'html',
  '\u202e',
  'a'.repeat(2000),
];
const names = [
  'limit',
  'offset',
  'after',
  'bbox',
  'bbox-crs',
  'crs',
  'datetime',
  'season',
  'artefact_class',
  'version',
  'identified_as_of',
  'f',
  'find',
  'weight_g',
  'intrusive',
  'count',
  'found_on',
  '__proto__',
  'toString',
  'x[y]',
  '',
];
const paths = [
  '',
  '/collections/finds/items',
  '/collections/grid-squares/items',
  '/collections/finds/items/1001',
  '/xyz/finds/18/1/1.mvt',
  '/tiles/WebMercatorQuad/3/1/1',
  '/jobs',
  '/processes',
  '/collections/deposit-top/coverage',
  '/styles/sheet',
  '/tilejson/finds.json',
];

test('four hundred hostile addresses: an answer or a refusal in words, never a fault', async () => {
  const random = randomStream(1790, 7);
  const pick = (list: readonly string[]) => list[random.below(list.length)];
  const urls = Array.from({ length: 400 }, () => {
    const query = Array.from(
      { length: 1 + random.below(2) },
      () => `${encodeURIComponent(pick(names))}=${encodeURIComponent(pick(values))}`,
    );
    return `${at.site}${random.below(2) === 0 ? '/collections/finds/items' : pick(paths)}?${query.join('&')}`;
  });
  const counts = new Map<number, number>();
  for (let i = 0; i < urls.length; i += 20) {
    await Promise.all(
      urls.slice(i, i + 20).map(async (url) => {
        const response = await fetch(url);
        const text = await response.text();
        counts.set(response.status, (counts.get(response.status) ?? 0) + 1);
        expect([200, 400, 404], url).toContain(response.status);
        if (response.status !== 200) {
          expect(response.headers.get('content-type'), url).toBe('application/problem+json');
          expect(JSON.parse(text).detail.length, url).toBeLessThan(2000);
        }
      }),
    );
  }
  expect(at.bugs).toEqual([]);
  expect(counts.get(200)).toBeGreaterThan(3);
  expect(counts.get(400)).toBeGreaterThan(100);
  expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
});
