import { expect, test } from 'vitest';
import { lineFault, polygonFault } from '../../src/import/ring-check.js';
import { randomStream } from '../../src/math/random.js';

type Corner = readonly [number, number];

/** Ten lines of the same: two segments on whole numbers share a point. */
function share(a: Corner, b: Corner, c: Corner, d: Corner): boolean {
  const turn = (p: Corner, q: Corner, r: Corner) =>
    Math.sign((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]));
  const inBox = (p: Corner, q: Corner, r: Corner) =>
    Math.min(p[0], q[0]) <= r[0] &&
    r[0] <= Math.max(p[0], q[0]) &&
    Math.min(p[1], q[1]) <= r[1] &&
    r[1] <= Math.max(p[1], q[1]);
  const [o1, o2, o3, o4] = [turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)];
  if (o1 !== o2 && o3 !== o4) return true;
  return (!o1 && inBox(a, b, c)) || (!o2 && inBox(a, b, d)) || (!o3 && inBox(c, d, a)) || (!o4 && inBox(c, d, b));
}

function isSimple(ring: readonly Corner[]): boolean {
  const n = ring.length;
  for (let i = 0; i < n; i++) {
    const [a, b, c] = [ring[i], ring[(i + 1) % n], ring[(i + 2) % n]];
    const flat = (b[0] - a[0]) * (c[1] - b[1]) === (b[1] - a[1]) * (c[0] - b[0]);
    const back = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) <= 0;
    if ((a[0] === b[0] && a[1] === b[1]) || (flat && back)) return false;
    for (let j = i + 2; j < n; j++) if ((j + 1) % n !== i && share(a, b, ring[j], ring[(j + 1) % n])) return false;
  }
  return true;
}

test('a ring is faulty exactly when two of its edges meet where they should not', () => {
  const random = randomStream(5, 0);
  let faulty = 0;
  for (let run = 0; run < 4000; run++) {
    const corners = Array.from({ length: 3 + random.below(5) }, (): Corner => [random.below(6), random.below(6)]);
    const ring = Float64Array.from([...corners, corners[0]].flat());
    const fault = polygonFault([[ring]]);
    expect([corners, fault === null]).toEqual([corners, isSimple(corners)]);
    if (fault !== null) faulty += 1;
  }
  expect(faulty).toBeGreaterThan(500);
  expect(faulty).toBeLessThan(3900);
});

test('a ring of ten thousand corners is looked at in good time', () => {
  const ring = new Float64Array(20_002);
  for (let i = 0; i <= 10_000; i++) {
    const angle = (2 * Math.PI * (i % 10_000)) / 10_000;
    ring[2 * i] = Math.cos(angle) * (10 + (i % 2));
    ring[2 * i + 1] = Math.sin(angle) * (10 + (i % 2));
  }
  const start = performance.now();
  expect(polygonFault([[ring]])).toBeNull();
  expect(performance.now() - start).toBeLessThan(2000);
});

test('a line needs two corners that differ', () => {
  expect(lineFault(Float64Array.of(0, 0))).toMatch(/at least two corners/);
  expect(lineFault(Float64Array.of(0, 0, 1, 1, 1, 1))).toMatch(/corner 3 repeats/);
  expect(lineFault(Float64Array.of(0, 0, 1, 1, 0, 1, 1, 0))).toBeNull();
});
