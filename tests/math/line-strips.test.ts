import { describe, expect, test } from 'vitest';
import { lawQuantile } from '../../src/math/distance-law.js';
import {
  areasBeside,
  type Line,
  lineStrips,
  lineThrough,
  shiftLine,
  signedLineDistance,
} from '../../src/math/line-strips.js';
import { insideEvenOdd, orientRings, type Region, regionArea, shiftRegion } from '../../src/math/rings.js';
import { lineCovariates } from '../support/covariates.js';
import { allNear, near } from '../support/near.js';

const trench: Region = orientRings([
  [Float64Array.of(0, 0, 12, 0, 12, 5, 7, 5, 7, 8, 0, 8), Float64Array.of(3, 2, 5, 2, 5, 3, 3, 3)],
  [Float64Array.of(14, 1, 17, 2, 16, 5)],
]);

describe.each(lineCovariates)('$name, by numpy and shapely', ({ window, xy, line, expected }) => {
  const law = lineStrips(window, line);
  test('distances, shares of ground, mean and second moment', () => {
    const distances = expected.Z.map((_, i) => Math.abs(signedLineDistance(line, xy[2 * i], xy[2 * i + 1])));
    allNear(distances, expected.Z, { relative: 1e-12, absolute: 1e-13 });
    allNear(law.shares(Float64Array.from(expected.Z)), expected.U, { absolute: 1e-12 });
    near(law.mean, expected.covariate_mean, { relative: 1e-12 });
    near(law.secondMoment, expected.covariate_second_moment, { relative: 1e-12 });
    expect(law.bound).toBe(0);
  });
  test('unchanged by the move to a local origin', () => {
    const x = 412_037;
    const y = 4_984_118;
    const moved = lineStrips(shiftRegion(shiftRegion(window, -x, -y), x, y), shiftLine(shiftLine(line, -x, -y), x, y));
    allNear(moved.shares(Float64Array.from(expected.Z)), expected.U, { absolute: 1e-8 });
  });
});

test('a line along the south side of a square: shares are the height', () => {
  const square = orientRings([[Float64Array.of(2, 3, 4, 3, 4, 5, 2, 5)]]);
  const law = lineStrips(square, [0, 2, -6]);
  allNear(law.shares(Float64Array.of(-1, 0, 0.5, 1, 2, 9)), [0, 0, 0.25, 0.5, 1, 1], { absolute: 1e-15 });
  near(law.mean, 1, { relative: 1e-15 });
  near(law.secondMoment, 4 / 3, { relative: 1e-15 });
  expect([law.least, law.greatest, law.atZero]).toEqual([0, 2, 0]);
  near(lawQuantile(law, 0.25), 0.5, { relative: 1e-12 });
});

test('a line clear of the window: the least distance is not 0', () => {
  const square = orientRings([[Float64Array.of(0, 0, 1, 0, 1, 1, 0, 1)]]);
  const law = lineStrips(square, [1, 0, 3]);
  expect([law.least, law.greatest]).toEqual([3, 4]);
  near(law.mean, 3.5, { relative: 1e-14 });
  near(lawQuantile(law, 0.5), 3.5, { relative: 1e-12 });
});

test('slow twin: the middles of a fine lattice', () => {
  const line: Line = [0.7, -1.1, 1.3];
  const law = lineStrips(trench, line);
  const values = Float64Array.of(0.3, 1.1, 2.77, 4.9);
  const counts = values.map(() => 0);
  let all = 0;
  const step = 0.02;
  for (let x = step / 2; x < 17; x += step) {
    for (let y = step / 2; y < 8; y += step) {
      if (!insideEvenOdd(trench, x, y)) continue;
      all++;
      const d = Math.abs(signedLineDistance(line, x, y));
      values.forEach((z, k) => {
        if (d <= z) counts[k]++;
      });
    }
  }
  allNear(
    law.shares(values),
    counts.map((c) => c / all),
    { absolute: 5e-4 },
  );
});

test('the two sides of a line make up the window, and swap when the ends do', () => {
  const there = areasBeside(trench, lineThrough([0, 1], [12, 6]));
  const back = areasBeside(trench, lineThrough([12, 6], [0, 1]));
  near(there.onNormalSide + there.onOtherSide, regionArea(trench), { relative: 1e-14 });
  near(there.onNormalSide, back.onOtherSide, { relative: 1e-13 });
  const square = orientRings([[Float64Array.of(0, 0, 4, 0, 4, 4, 0, 4)]]);
  const halves = areasBeside(square, lineThrough([0, 1], [4, 1]));
  near(halves.onNormalSide, 12, { relative: 1e-15 });
  near(halves.onOtherSide, 4, { relative: 1e-15 });
});
