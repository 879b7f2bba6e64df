import { expect, test } from 'vitest';
import { dugGround } from '../../src/math/dug-ground.js';
import type { TileGrid } from '../../src/math/tiles.js';
import { boxRegion } from '../../src/math/tiles.js';
import { allNear } from '../support/near.js';

const tiles: TileGrid = { west: 0, south: 0, east: 4, north: 1, columns: 4, rows: 1 };
const strip = boxRegion([0, 0, 4, 1]);

test('whole, half-dug, overlapping and undug tiles', () => {
  const found = dugGround(
    [
      { region: boxRegion([0, 0, 1, 1]), share: 1 },
      { region: boxRegion([1, 0, 2, 1]), share: 0.5 },
      // dug twice in part: the shares add up; half the tile was dug by both
      { region: boxRegion([2, 0, 3, 1]), share: 0.5 },
      { region: boxRegion([2, 0, 2.5, 1]), share: 0.75 },
    ],
    strip,
    tiles,
  );
  allNear(found.areaM2, [1, 1, 1, 0], { absolute: 1e-12 });
  allNear(found.exposureM2, [1, 0.5, 0.5 + 0.25, 0], { absolute: 1e-12 });
});

test('ground dug twice counts once, and only inside the window', () => {
  const twice = [boxRegion([0, 0, 1.5, 1]), boxRegion([0.5, 0, 3, 0.5])].map((region) => ({ region, share: 1 }));
  const found = dugGround(twice, boxRegion([0.25, 0, 4, 1]), tiles);
  allNear(found.areaM2, [0.75, 0.75, 0.5, 0], { absolute: 1e-12 });
  expect([...found.exposureM2]).toEqual([...found.areaM2]);
});

test('nothing dug is nothing', () => {
  expect([...dugGround([], strip, tiles).areaM2]).toEqual([0, 0, 0, 0]);
});
