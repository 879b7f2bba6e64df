import { expect, test } from 'vitest';
import { intersection } from '../../src/math/overlay.js';
import { randomStream } from '../../src/math/random.js';
import { regionArea } from '../../src/math/rings.js';
import { boxRegion, type TileGrid, tileAreas, tileAt, tileBox } from '../../src/math/tiles.js';
import { trench } from '../support/local-pattern.js';
import { near } from '../support/near.js';
import { windowOf } from '../support/sample-of.js';

const tiles: TileGrid = { west: 0, south: 0, east: 12, north: 8, columns: 4, rows: 4 };
test('the L with a hole: areas by hand, and exactly nothing in the corner that is not dug', () => {
  expect([...tileAreas(trench, tiles)]).toEqual([6, 6, 6, 6, 6, 4, 6, 6, 6, 6, 4, 3, 6, 6, 2, 0]);
});

test('slow twin: the same as cutting tile by tile with an overlay, and all tiles add up to the window', () => {
  const random = randomStream(3, 1);
  for (let k = 0; k < 40; k++) {
    const corners = Array.from({ length: 9 }, (_, i): [number, number] => {
      const angle = ((i + 0.8 * random.next()) / 9) * 2 * Math.PI;
      const reach = 1 + 3 * random.next();
      return [6 + 1.4 * reach * Math.cos(angle), 4 + 0.95 * reach * Math.sin(angle)];
    });
    const window = windowOf([[corners]]);
    const areas = tileAreas(window, tiles);
    areas.forEach((area, tile) => {
      near(area, regionArea(intersection(boxRegion(tileBox(tiles, tile)), window)), { absolute: 1e-8 });
    });
    near(
      areas.reduce((sum, a) => sum + a, 0),
      regionArea(window),
      { relative: 1e-12 },
    );
  }
});

test('a place on a line belongs to the tile east and north of it, on the last line to the last tile', () => {
  expect(tileAt(tiles, 3, 2)).toBe(1 * 4 + 1);
  expect(tileAt(tiles, 2.999999999, 1.999999999)).toBe(0);
  expect(tileAt(tiles, 12, 8)).toBe(15);
  expect(tileAt(tiles, -5, 99)).toBe(12);
  // 0.7 · 10 rounds to 7: the line decides, not the division
  const tenths: TileGrid = { west: 0, south: 0, east: 1, north: 1, columns: 10, rows: 1 };
  for (let k = 0; k < 10; k++) expect(tileAt(tenths, k / 10, 0.5)).toBe(k);
});
