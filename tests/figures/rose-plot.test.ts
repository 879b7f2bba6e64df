import { expect, test } from 'vitest';
import { plotRose, type RosePlot, sectorCounts } from '../../src/figures/rose-plot.js';
import type { Mark } from '../../src/figures/scene.js';
import { svgText } from '../../src/figures/svg.js';

const spec = (more: Partial<RosePlot> = {}): RosePlot => ({
  title: 'Directions',
  directions: [10, 12, 200, 95],
  kind: 'directed',
  name: 'timbers',
  notes: ['n = 4'],
  ...more,
});

const groupOf = (marks: readonly Mark[], name: string) => {
  const found = marks.find((mark) => mark.kind === 'group' && mark.name === name);
  return found?.kind === 'group' ? found.marks : [];
};

const areaOf = (mark: Mark): number => {
  if (mark.kind !== 'area') return 0;
  const [ring] = mark.rings;
  return Math.abs(
    ring.reduce((sum, [x, y], i) => {
      const [nx, ny] = ring[(i + 1) % ring.length];
      return sum + x * ny - nx * y;
    }, 0) / 2,
  );
};

test('sectors stand round the multiples of their width, north in the middle of the first', () => {
  const counts = sectorCounts([355, 4.9, 5, 14.9, 180, Number.NaN], { sectorDeg: 10, kind: 'directed' });
  expect(counts).toHaveLength(36);
  expect(counts[0]).toBe(2);
  expect(counts[1]).toBe(2);
  expect(counts[18]).toBe(1);
});

test('an axis stands at both of its ends', () => {
  const counts = sectorCounts([10, 250], { sectorDeg: 10, kind: 'axial' });
  for (let k = 0; k < 18; k++) expect(counts[k]).toBe(counts[k + 18]);
  expect(counts.reduce((sum, v) => sum + v, 0)).toBe(4);
});

test('the area of a petal is in proportion to its count', () => {
  const petals = groupOf(plotRose(spec({ directions: [0, 0, 0, 0, 90] })).marks, 'timbers');
  const areas = petals.map(areaOf);
  expect(areas).toHaveLength(2);
  expect(areas[0] / areas[1]).toBeCloseTo(4, 6);
});

test('a direction of 90° points to the right of the sheet', () => {
  const [petal] = groupOf(plotRose(spec({ directions: [90] })).marks, 'timbers');
  if (petal?.kind !== 'area') throw new Error('no petal');
  const [centre, ...arc] = petal.rings[0];
  for (const [x, y] of arc) {
    expect(x).toBeGreaterThan(centre[0]);
    expect(Math.abs(y - centre[1])).toBeLessThan(5);
  }
});

test('mean, references and norths are drawn and named, the sheet is well formed', () => {
  const scene = plotRose(
    spec({
      kind: 'axial',
      subtitle: 'An answer',
      mean: { deg: 61, errorDeg: 4 },
      references: [{ name: 'ship axis', deg: 63, kind: 'axial' }],
      norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -27 }],
    }),
  );
  const svg = svgText(scene);
  for (const words of ['mean axis, arc: 95 %', 'ship axis', 'map_grid_north', 'site_north', 'An answer']) {
    expect(svg).toContain(words);
  }
  expect(svg).not.toMatch(/NaN|undefined|Infinity/);
  expect(groupOf(scene.marks, 'mean')).toHaveLength(3);
});

test('no directions: rings without petals', () => {
  const scene = plotRose(spec({ directions: [] }));
  expect(groupOf(scene.marks, 'timbers')).toHaveLength(0);
  expect(svgText(scene)).not.toMatch(/NaN/);
});
