import { describe, expect, test } from 'vitest';
import { lineLength, profileArea, projectOnLine, stationsAlong } from '../../src/math/profile.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';

const crooked = [
  [0, 0],
  [3, 0],
  [3, 4],
] as const;

describe('stations', () => {
  test('lie at equal steps from the start and at every corner, once', () => {
    const along = stationsAlong(crooked, 0.8).map((s) => Number(s.alongM.toFixed(9)));
    expect(along).toEqual([0, 0.8, 1.6, 2.4, 3, 3.2, 4, 4.8, 5.6, 6.4, 7]);
    expect(stationsAlong(crooked, 1).map((s) => s.alongM)).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    expect(stationsAlong(crooked, 50).map((s) => [s.x, s.y])).toEqual(crooked);
    near(lineLength(crooked), 7, { relative: 1e-15 });
  });

  test('repeated corners make no leg; no length and too many steps are refused', () => {
    expect(
      stationsAlong(
        [
          [0, 0],
          [0, 0],
          [1, 0],
        ],
        1,
      ),
    ).toHaveLength(2);
    expect(() =>
      stationsAlong(
        [
          [2, 2],
          [2, 2],
        ],
        1,
      ),
    ).toThrow(/no length/);
    expect(() => stationsAlong(crooked, 1e-4)).toThrow(/longer step/);
  });
});

describe('finds carried onto the line', () => {
  test('left is positive, ends are ends, the band holds its edge', () => {
    const xy = Float64Array.of(1, 0.5, 1, -0.5, -0.1, 0, 2, 0.6, 2.5, 3, 3, 4.1, 3.3, -0.3);
    const on = projectOnLine(crooked, xy, 0.5);
    expect(on.map((p) => p && [p.alongM, p.offM])).toEqual([
      [1, 0.5],
      [1, -0.5],
      null,
      null,
      [6, 0.5],
      null,
      [3, expect.closeTo(-Math.hypot(0.3, 0.3), 12)],
    ]);
  });

  test('slow twin: the nearest of very many places of the line', () => {
    const random = randomStream(2, 7);
    const xy = Float64Array.from({ length: 200 }, () => random.next() * 4);
    const fine = stationsAlong(crooked, 0.002);
    projectOnLine(crooked, xy, 0.7).forEach((place, i) => {
      const [x, y] = [xy[2 * i], xy[2 * i + 1]];
      const distances = fine.map((s) => Math.hypot(s.x - x, s.y - y));
      const least = Math.min(...distances);
      const at = fine[distances.indexOf(least)].alongM;
      const isBeyond = (at < 0.002 && x < 0) || (at > 6.998 && y > 4);
      if (least < 0.69 && !isBeyond) {
        near(Math.abs(place?.offM ?? Number.NaN), least, { absolute: 1e-3 });
        near(place?.alongM, at, { absolute: 0.01 });
      } else if (least > 0.71) expect(place).toBeNull();
    });
  });
});

test('the area under a straight slope is exact, gaps add nothing', () => {
  const stations = stationsAlong(
    [
      [0, 0],
      [4, 0],
    ],
    0.5,
  );
  const slope = Float64Array.from(stations, (s) => 0.1 * s.alongM);
  near(profileArea(stations, slope).areaM2, 0.8, { relative: 1e-13 });
  slope[4] = Number.NaN;
  const open = profileArea(stations, slope);
  near(open.knownM, 3, { relative: 1e-13 });
  near(open.areaM2, 0.8 - 0.2, { relative: 1e-12 });
});
