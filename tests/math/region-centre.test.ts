import { expect, test } from 'vitest';
import { polygonsRegion } from '../../src/math/overlay.js';
import { regionCentre } from '../../src/math/region-centre.js';
import { near } from '../support/near.js';

test('the middle of an L with a hole, far from the origin', () => {
  const at = ([x, y]: readonly number[]) => [4_500_000 + x, 6_500_000 + y];
  const l = polygonsRegion([
    [
      [
        [0, 0],
        [4, 0],
        [4, 1],
        [1, 1],
        [1, 3],
        [0, 3],
      ].map(at),
      [
        [2, 0.25],
        [3, 0.25],
        [3, 0.75],
        [2, 0.75],
      ].map(at),
    ],
  ]);
  // 4 × 1 about (2, 0.5), 1 × 2 about (0.5, 2), less 1 × 0.5 about (2.5, 0.5)
  const [x, y] = regionCentre(l) ?? [];
  near(x, 4_500_000 + (8 + 1 - 1.25) / 5.5, { absolute: 1e-9 });
  near(y, 6_500_000 + (2 + 4 - 0.25) / 5.5, { absolute: 1e-9 });
  expect(regionCentre({ rings: [] })).toBeNull();
});
