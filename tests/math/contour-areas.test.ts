import { describe, expect, test } from 'vitest';
import { contourAreas } from '../../src/math/contour-areas.js';
import { contains, regionArea, ringArea } from '../../src/math/rings.js';
import { rectangle, thinArms } from '../support/kernel-reference.js';
import { near } from '../support/near.js';

/** Values of a function at cell centres of side `cell` from the north-west corner. */
function field(
  of: (x: number, y: number) => number,
  spec: { cell: number; west: number; north: number; columns: number; rows: number },
) {
  const { cell, west, north, columns, rows } = spec;
  const place = (c: number, r: number) => [west + (c + 0.5) * cell, north - (r + 0.5) * cell] as const;
  const values = Float64Array.from({ length: columns * rows }, (_, k) =>
    of(...place(k % columns, Math.floor(k / columns))),
  );
  return { values, columns, rows, place };
}

const wide = { cell: 0.1, west: -1, north: 12, columns: 170, rows: 130 };

test('a level falls where the surface has it, not half a cell beside', () => {
  const slope = field((x) => x, wide);
  const [area] = contourAreas(slope, rectangle([0, 0, 10, 4]), { at: [6.25], highest: 10 });
  near(regionArea(area.region), (10 - 6.25) * 4, { relative: 1e-9 });
  for (const ring of area.region.rings) {
    for (let i = 0; i < ring.length; i += 2) expect(ring[i]).toBeGreaterThanOrEqual(6.25 - 1e-9);
  }
});

test('a level falls right on the other axis too, rows running south', () => {
  const slope = field((_, y) => y, wide);
  const [area] = contourAreas(slope, rectangle([0, 0, 10, 4]), { at: [1.13], highest: 4 });
  near(regionArea(area.region), 10 * (4 - 1.13), { relative: 1e-9 });
});

describe('a round hill', () => {
  const hill = field((x, y) => 10 - Math.hypot(x - 5, y - 5), wide);
  const window = rectangle([0, 0, 10, 10]);
  const areas = contourAreas(hill, window, { at: [6, 7, 8, 9], highest: 10 });

  test('rings between levels have the area of the annulus', () => {
    expect(areas.map((a) => [a.level, a.levelTo])).toEqual([
      [6, 7],
      [7, 8],
      [8, 9],
      [9, 10],
    ]);
    areas.forEach((a, k) => {
      const [outer, inner] = [4 - k, 3 - k];
      near(regionArea(a.region), Math.PI * (outer ** 2 - inner ** 2), { relative: 0.005 });
    });
  });

  test('each outer ring runs anticlockwise and its hole clockwise, after it', () => {
    expect(areas[0].region.rings.map((ring) => Math.sign(ringArea(ring)))).toEqual([1, -1]);
    expect(areas[3].region.rings.map((ring) => Math.sign(ringArea(ring)))).toEqual([1]);
  });
});

test('a pit on a hill on a plain: islands within holes keep their own holes', () => {
  const ripples = field((x, y) => 5 + 4 * Math.cos(1.5 * Math.hypot(x - 7, y - 5)), wide);
  const window = rectangle([0.5, 0.5, 14, 9.5]);
  const areas = contourAreas(ripples, window, { at: [0, 3, 7], highest: 9 });
  let total = 0;
  for (const a of areas) total += regionArea(a.region);
  near(total, regionArea(window), { relative: 1e-9 });
  let counted = 0;
  const cell = 0.05;
  for (let x = 0.5 + cell / 2; x < 14; x += cell) {
    for (let y = 0.5 + cell / 2; y < 9.5; y += cell)
      if (5 + 4 * Math.cos(1.5 * Math.hypot(x - 7, y - 5)) > 7) counted += cell * cell;
  }
  near(regionArea(areas[2].region), counted, { relative: 0.01 });
});

test('areas are cut at the true edge of the window and fill it from the lowest level on', () => {
  const slope = field((x, y) => x + 0.3 * y, wide);
  const areas = contourAreas(slope, thinArms, { at: [-5, 2, 4, 8, 12], highest: 20 });
  near(
    areas.reduce((sum, a) => sum + regionArea(a.region), 0),
    regionArea(thinArms),
    { relative: 1e-9 },
  );
  for (const { region } of areas) {
    for (const ring of region.rings) {
      for (let i = 0; i < ring.length; i += 2) expect(contains(thinArms, ring[i], ring[i + 1], 1e-7)).toBe(true);
    }
  }
});

test('levels above everything make no area; cells without a value are outside', () => {
  const flat = field(() => 1, wide);
  expect(contourAreas(flat, rectangle([0, 0, 4, 4]), { at: [2, 3], highest: 4 })).toEqual([]);
  const half = field((x) => (x > 2 ? Number.NaN : 1), wide);
  const [area] = contourAreas(half, rectangle([0, 0, 4, 4]), { at: [0.5], highest: 1 });
  near(regionArea(area.region), 8, { absolute: 0.4 });
});
