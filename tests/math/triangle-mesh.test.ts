import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { circleSign, turnSign } from '../../src/math/exact-signs.js';
import { randomStream } from '../../src/math/random.js';
import { triangleMesh } from '../../src/math/triangle-mesh.js';
import { meshContains, triangleSurface } from '../../src/math/triangle-surface.js';
import { allNear, near } from '../support/near.js';

const { input, expected } = JSON.parse(
  readFileSync(new URL('../reference/tin_site_a_top.json', import.meta.url), 'utf8'),
);
const column = (pairs: number[][], k: number) => Float64Array.from(pairs, (p) => p[k]);
const places = {
  x: column(input.points, 0),
  y: column(input.points, 1),
  z: Float64Array.from(input.z as number[]),
  sigma: new Float64Array(input.z.length).fill(0.02),
};

const sorted = (corners: Uint32Array) =>
  Array.from({ length: corners.length / 3 }, (_, t) =>
    [...corners.subarray(3 * t, 3 * t + 3)].sort((a, b) => a - b),
  ).sort((a, b) => a[0] - b[0] || a[1] - b[1] || a[2] - b[2]);

const areaOf = (corners: Uint32Array, x: Float64Array, y: Float64Array) => {
  let twice = 0;
  for (let t = 0; t < corners.length; t += 3) {
    const [a, b, c] = corners.subarray(t, t + 3);
    const own = (x[b] - x[a]) * (y[c] - y[a]) - (y[b] - y[a]) * (x[c] - x[a]);
    expect(own).toBeGreaterThan(0);
    twice += own;
  }
  return twice / 2;
};

describe('signs', () => {
  test('a turn and a circle that rounding would misjudge are judged exactly', () => {
    const far = 2 ** 30;
    expect(turnSign(0, 0, far, far + 1, far - 1, far)).toBe(1);
    expect(turnSign(1, 1, 3, 3, 7, 7)).toBe(0);
    const a: [number, number] = [0, 0];
    const b: [number, number] = [far, 0];
    const c: [number, number] = [far, far];
    expect(circleSign({ a, b, c, d: [1, far - 1] })).toBe(1);
    expect(circleSign({ a, b, c, d: [-1, far] })).toBe(-1);
  });

  test('four places on a circle are never a tie, and swapping sides swaps the sign', () => {
    for (const [a, b, c, d] of [
      [
        [0, 0],
        [1, 0],
        [1, 1],
        [0, 1],
      ],
      [
        [-5, 0],
        [0, -5],
        [5, 0],
        [0, 5],
      ],
      [
        [-4, -3],
        [3, -4],
        [5, 0],
        [-3, 4],
      ],
    ] as [number, number][][]) {
      const one = circleSign({ a, b, c, d });
      expect(one).not.toBe(0);
      expect(circleSign({ a: c, b: d, c: a, d: b })).toBe(one);
      expect(circleSign({ a: b, b: c, c: d, d: a })).toBe(-one);
    }
  });
});

test('triangles and values of the reference, whose triangulation has no ties', () => {
  const mesh = triangleMesh(places.x, places.y);
  expect(sorted(mesh.corners)).toEqual(expected.triangles_sorted);
  const { value } = triangleSurface(mesh, places)(Float64Array.from(input.query.flat() as number[]));
  expected.values.forEach((v: number | null, i: number) => {
    if (v === null) expect(value[i]).toBeNaN();
    else near(value[i], v, { absolute: 1e-10 });
  });
});

test('squares of a grid are cut from south-west to north-east, holes and map coordinates or not', () => {
  const random = randomStream(3, 0);
  const all = Array.from({ length: 12 * 9 }, (_, i): [number, number] => [i % 12, Math.floor(i / 12)]);
  const kept = all.filter(() => random.next() > 0.12);
  const x = Float64Array.from(kept, ([c]) => 412_037.4 + 0.3 * c);
  const y = Float64Array.from(kept, ([, r]) => 4_984_118.25 + 0.3 * r);
  const { corners } = triangleMesh(x, y);
  const edges = new Set<string>();
  for (let t = 0; t < corners.length; t += 3) {
    for (const [p, q] of [
      [0, 1],
      [1, 2],
      [2, 0],
    ]) {
      const [a, b] = [kept[corners[t + p]], kept[corners[t + q]]];
      edges.add(`${a}>${b}`);
    }
  }
  const has = (c: number, r: number) => kept.some((k) => k[0] === c && k[1] === r);
  let squares = 0;
  for (const [c, r] of kept) {
    if (!has(c + 1, r) || !has(c, r + 1) || !has(c + 1, r + 1)) continue;
    squares++;
    expect(edges.has(`${[c, r]}>${[c + 1, r + 1]}`)).toBe(true);
    expect(edges.has(`${[c + 1, r]}>${[c, r + 1]}`)).toBe(false);
  }
  expect(squares).toBeGreaterThan(40);
});

test('seeded heaps, lines and circles: no place lies inside the circle of a triangle, and the outline is filled once', () => {
  for (let round = 0; round < 30; round++) {
    const random = randomStream(11, round);
    const n = 3 + random.below(60);
    const cells = round % 3 === 0 ? 6 : 5000;
    const place = () => random.below(cells) / 8;
    const x = Float64Array.from({ length: n }, place);
    const y = Float64Array.from({ length: n }, round % 5 === 0 ? () => Math.min(place(), 2) : place);
    const { corners, outline } = triangleMesh(x, y);
    const area = areaOf(corners, x, y);
    const ring = [...outline];
    const twice = ring.reduce((sum, a, i) => {
      const b = ring[(i + 1) % ring.length];
      return sum + x[a] * y[b] - x[b] * y[a];
    }, 0);
    near(area, twice / 2, { absolute: 1e-9 });
    for (let t = 0; t < corners.length; t += 3) {
      const [a, b, c] = corners.subarray(t, t + 3);
      const at = (i: number): [number, number] => [x[i] * 8, y[i] * 8];
      for (let d = 0; d < n; d++) {
        if ([a, b, c].some((k) => x[k] === x[d] && y[k] === y[d])) continue;
        expect(circleSign({ a: at(a), b: at(b), c: at(c), d: at(d) })).toBe(-1);
      }
    }
  }
});

test('no, one, two places, places on a line and a place given twice', () => {
  const none = { corners: new Uint32Array(0), outline: new Uint32Array(0) };
  const of = (...xy: number[][]) => triangleMesh(column(xy, 0), column(xy, 1));
  expect(of()).toEqual(none);
  expect(of([1, 2])).toEqual(none);
  expect(of([1, 2], [3, 4])).toEqual(none);
  expect(of([0, 0], [1, 1], [2, 2], [5, 5])).toEqual(none);
  expect(sorted(of([0, 0], [1, 0], [1, 0], [0, 1]).corners)).toEqual([[0, 1, 3]]);
  const empty = triangleSurface(triangleMesh(Float64Array.of(1), Float64Array.of(1)), {
    x: Float64Array.of(1),
    y: Float64Array.of(1),
    z: Float64Array.of(1),
    sigma: Float64Array.of(1),
  })(Float64Array.of(1, 1));
  expect(empty.value[0]).toBeNaN();
});

test('a plane is given back anywhere inside, its random error at a node is that of the node', () => {
  const plane = { ...places, z: places.x.map((x, i) => -31 + 0.1 * x - 0.05 * places.y[i]) };
  const mesh = triangleMesh(plane.x, plane.y);
  const inside = meshContains(mesh, plane);
  const random = randomStream(5, 0);
  const xy = Float64Array.from({ length: 400 }, (_, i) => (i % 2 === 0 ? 12 : 8) * random.next());
  const { value } = triangleSurface(mesh, plane)(xy);
  let known = 0;
  value.forEach((v, i) => {
    expect(Number.isNaN(v)).toBe(!inside(xy[2 * i], xy[2 * i + 1]));
    if (Number.isNaN(v)) return;
    known++;
    near(v, -31 + 0.1 * xy[2 * i] - 0.05 * xy[2 * i + 1], { absolute: 1e-12 });
  });
  expect(known).toBeGreaterThan(150);
  const atNodes = triangleSurface(mesh, plane)(Float64Array.from(input.points.flat() as number[]));
  allNear(atNodes.value, plane.z, { absolute: 1e-12 });
  allNear(atNodes.sigma, plane.sigma, { absolute: 1e-12 });
});
