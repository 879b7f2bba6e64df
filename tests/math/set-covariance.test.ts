import { describe, expect, test } from 'vitest';
import { intersection } from '../../src/math/overlay.js';
import { randomStream } from '../../src/math/random.js';
import { orientRings, type Region, regionArea, shiftRegion } from '../../src/math/rings.js';
import { setCovariance, tabulated } from '../../src/math/set-covariance.js';
import { Problem } from '../../src/problems.js';
import { thinArms } from '../support/kernel-reference.js';
import { trench } from '../support/local-pattern.js';
import { near } from '../support/near.js';

const ring = (...flat: number[]) => Float64Array.from(flat);
const twoTrenches = orientRings([[ring(0, 0, 4, 0, 4, 3, 0, 3)], [ring(6, 1, 9, 1.5, 8.5, 5, 6, 4)]]);
const steep: Region = { rings: [ring(0, 0, 10, 1e-7, 10, 4, 5, 4.0000001, 0, 4)] };

describe.each([
  ['an L with a hole', trench, 8],
  ['thin arms', thinArms, 9],
  ['two parts', twoTrenches, 9],
  ['nearly level edges', steep, 10],
] as const)('overlap of a window with itself moved: %s', (_, window, reachM) => {
  test('is the area of the polygon intersection, before and after squares are halved', () => {
    const covariance = setCovariance(window, reachM);
    const random = randomStream(3, 0);
    const moves = Array.from({ length: 60 }, () => [
      (2 * random.next() - 1) * reachM,
      (2 * random.next() - 1) * reachM,
    ]);
    const first = moves.map(([dx, dy]) => covariance(dx, dy));
    for (let k = 0; k < 30_000; k++) covariance((2 * random.next() - 1) * reachM, (2 * random.next() - 1) * reachM);
    moves.forEach(([dx, dy], k) => {
      const expected = regionArea(intersection(window, shiftRegion(window, -dx, -dy)));
      near(first[k], expected, { absolute: 1e-9 });
      near(covariance(dx, dy), first[k], { absolute: 1e-11 });
      expect(covariance(-dx, -dy)).toBe(covariance(dx, dy));
    });
  });

  test('no move leaves the whole area; far moves nothing', () => {
    const covariance = setCovariance(window, reachM);
    expect(covariance(0, 0)).toBe(regionArea(window));
    near(covariance(1e-9, 0), regionArea(window), { absolute: 1e-6 });
    expect(covariance(reachM * 3, 0)).toBeLessThan(1e-9);
  });
});

test('grid squares give the bilinear values between whole shifts', () => {
  const covariance = setCovariance(trench, 6);
  // between whole metres the overlap of a union of grid squares is bilinear
  const corner = (x: number, y: number) => regionArea(intersection(trench, shiftRegion(trench, -x, -y)));
  near(
    covariance(1.25, 2.5),
    0.5 * (0.75 * corner(1, 2) + 0.25 * corner(2, 2)) + 0.5 * (0.75 * corner(1, 3) + 0.25 * corner(2, 3)),
    { absolute: 1e-9 },
  );
});

test('a rectangle has its closed form', () => {
  const covariance = setCovariance({ rings: [ring(0, 0, 5, 0, 5, 2, 0, 2)] }, 5);
  expect(covariance(1, 0.5)).toBe(6);
  expect(covariance(-1, 0.5)).toBe(6);
  expect(covariance(6, 0)).toBe(0);
});

test('the table stays within 2e-3 of the area, exact at its nodes', () => {
  for (const [window, reachM] of [
    [trench, 2],
    [thinArms, 2.7],
  ] as const) {
    const exact = setCovariance(window, reachM);
    const table = tabulated(exact, reachM);
    const random = randomStream(8, 0);
    for (let k = 0; k < 2000; k++) {
      const [dx, dy] = [(2 * random.next() - 1) * reachM, (2 * random.next() - 1) * reachM];
      near(table(dx, dy), exact(dx, dy), { absolute: 2e-3 * regionArea(window) });
    }
    near(table(reachM / 2, -reachM / 4), exact(reachM / 2, -reachM / 4), { relative: 1e-6 });
    near(table(reachM, reachM), exact(reachM, reachM), { relative: 1e-6, absolute: 1e-6 });
  }
});

test('a window with thousands of corners is refused with what would help', () => {
  const round: Region = {
    rings: [
      Float64Array.from({ length: 8000 }, (_, k) =>
        k % 2 === 0 ? Math.cos((Math.PI * k) / 4000) : Math.sin((Math.PI * (k - 1)) / 4000),
      ),
    ],
  };
  expect(() => setCovariance(round, 1)).toThrow(Problem);
  expect(() => setCovariance(round, 1)).toThrow(/fewer corners/);
});
