import { describe, expect, test } from 'vitest';
import type { RunControl } from '../../src/analyses/contract.js';
import depositVolume from '../../src/analyses/deposit-volume/index.js';
import { partsOf } from '../../src/domain/columns.js';
import { type FeatureTable, valueAt } from '../../src/domain/feature-table.js';
import type { DugArea, Sample } from '../../src/domain/sample.js';
import { orientRings, regionArea, ringArea } from '../../src/math/rings.js';
import { nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { near } from '../support/near.js';
import { sampleOf } from '../support/sample-of.js';
import { box } from '../support/small-site.js';

const control: RunControl = { seed: 1, simulations: 0, draws: 1, progress: () => {} };
const region = (...rings: number[][]) => orientRings(rings.map((ring) => [Float64Array.from(ring)]));

function run(sample: Sample, asked: Record<string, unknown> = {}) {
  const answer = depositVolume.run(sample, depositVolume.parameters.parse(asked), control);
  depositVolume.result.parse(answer.summary);
  return answer;
}

/** top and bottom at the nodes of 10 × 10 squares, moved by an offset */
function sampleOfThickness(thickness: (x: number, y: number) => number, offset = 0, more: Partial<Sample> = {}) {
  const shape = { columns: 11, rows: 11 };
  const rows = [
    ...nodeLevels({ ...shape, surface: 'deposit_bottom', field: () => -14 }),
    ...nodeLevels({ ...shape, surface: 'deposit_top', field: (x, y) => -14 + thickness(x, y) }),
  ].map((row) => ({ ...row, x: row.x + offset, y: row.y + offset }));
  return sampleOf([], { rings: [] }, { levels: readingsOf(rows), dug: [], ...more });
}

const numbersOf = (table: FeatureTable | undefined, name: string) => {
  const column = table?.columns.get(name);
  return Array.from({ length: table?.length ?? 0 }, (_, i) => (column ? valueAt(column, i) : null) as number | null);
};

describe('isopachs as a layer', () => {
  // a wedge: 0 m in the west, 1 m in the east
  const wedge = (x: number) => 0.1 * x;

  test('areas of a wedge are strips of their own width, together all of the ground', () => {
    const { features } = run(sampleOfThickness(wedge), { layer: 'isopach_areas', isopach_interval_m: 0.25 });
    if (features?.geometry?.type !== 'area') return expect.fail('no areas');
    expect(numbersOf(features, 'thickness_from_m')).toEqual([0, 0.25, 0.5, 0.75]);
    expect(numbersOf(features, 'thickness_to_m')).toEqual([0.25, 0.5, 0.75, 1]);
    const areas = numbersOf(features, 'area_m2');
    for (const area of areas) near(area, 25, { absolute: 1e-9 });
    near(
      areas.reduce<number>((sum, area) => sum + (area ?? 0), 0),
      100,
      { absolute: 1e-9 },
    );
  });

  test('lines of a wedge are straight, at their own thickness, wherever the site lies', () => {
    for (const offset of [0, 412_000]) {
      const { features } = run(sampleOfThickness(wedge, offset), { layer: 'isopach_lines', isopach_interval_m: 0.25 });
      const { geometry } = features ?? {};
      if (geometry?.type !== 'line') return expect.fail('no lines');
      expect(numbersOf(features, 'thickness_m')).toEqual([0.25, 0.5, 0.75, 1]);
      for (let i = 0; i < 4; i++) {
        const [{ ring }] = partsOf(geometry, i);
        for (let k = 0; k < ring.length; k += 2) near(ring[k] - offset, 2.5 * (i + 1), { absolute: 1e-9 });
      }
    }
  });

  test('a mound has rings round rings, and each area its hole', () => {
    const mound = (x: number, y: number) => 1 - Math.max(Math.abs(x - 5), Math.abs(y - 5)) / 5;
    const { features, summary } = run(sampleOfThickness(mound), { layer: 'isopach_areas', isopach_interval_m: 0.4 });
    const { geometry } = features ?? {};
    if (geometry?.type !== 'area') return expect.fail('no areas');
    const parts = Array.from({ length: features?.length ?? 0 }, (_, i) => partsOf(geometry, i));
    expect(parts.map((own) => own.map((part) => part.hole))).toEqual([[false, true], [false, true], [false]]);
    for (const own of parts) {
      expect(ringArea(own[0].ring)).toBeGreaterThan(0);
      for (const { ring } of own.slice(1)) expect(ringArea(ring)).toBeLessThan(0);
    }
    // a square pyramid cut at 0.4 and 0.8 of its height; corners of squares bend the lines a little
    const areas = numbersOf(features, 'area_m2');
    for (const [k, area] of [64, 32, 4].entries()) near(areas[k], area, { absolute: 0.3 });
    near(summary.isopachs[1].area_m2, 36, { absolute: 0.3 });
  });

  test('squares are what is given without asking', () => {
    expect(run(sampleOfThickness(wedge)).features?.columns.has('square')).toBe(true);
    expect(depositVolume.parameters.safeParse({ layer: 'bands' }).success).toBe(false);
  });
});

describe('closed forms', () => {
  test.each([
    ['a prism', () => 0.4, 40],
    ['a plane: area × mean', (x: number, y: number) => 0.2 + 0.05 * x + 0.02 * y, 100 * (0.2 + 0.25 + 0.1)],
    ['a wedge that ends in mid-ground', (x: number) => Math.max(0, x - 4), 180],
    // ridges of a pyramid run along the diagonals of squares: the mean of its corners is 1/12 m low in each of the 20
    ['a pyramid', (x: number, y: number) => 5 - Math.max(Math.abs(x - 5), Math.abs(y - 5)), 500 / 3 - 20 / 12],
  ])('%s', (_, thickness, volume) => {
    const { summary } = run(sampleOfThickness(thickness as (x: number, y: number) => number));
    near(summary.volume_m3, volume, { relative: 1e-12 });
    near(summary.positive_m3 + summary.negative_m3, summary.volume_m3, { relative: 1e-12 });
  });
});

describe('ground not dug', () => {
  const area = (progress: string, ring: number[]): DugArea => ({
    season: 'S1',
    progress,
    region: region(ring),
    areaM2: regionArea(region(ring)),
    dugFraction: 1,
    meshMm: null,
    tool: null,
  });
  const dug = [area('to_deposit_bottom', box(0, 0, 6, 10))];
  const site = (undug: DugArea[]) =>
    sampleOfThickness((x) => 0.1 * x, 0, {
      window: dug[0].region,
      windowAreaM2: 60,
      dug,
      undug,
    });

  test('is measured where it is levelled, and guessed beyond, never counted as dug', () => {
    // 4 × 10 m levelled, 2 × 10 m beyond the nodes, and 1 m of ground that was dug after all
    const { summary, table, cautions } = run(
      site([area('planned', box(5, 0, 12, 10)), area('abandoned', box(0, 0, 1, 1))]),
    );
    near(summary.volume_m3, 18, { relative: 1e-12 });
    near(summary.undug?.area_m2, 60, { absolute: 1e-9 });
    near(summary.undug?.measured_m2, 40, { absolute: 1e-9 });
    near(summary.undug?.volume_m3, 32, { absolute: 1e-9 });
    // the rest at the mean thickness of the ground dug, 0.3 m
    near(summary.undug?.estimate_m3, 32 + 20 * 0.3, { absolute: 1e-9 });
    expect(summary.undug?.sigma_m3).toBeGreaterThan(0);
    expect(table.rows.find((row) => row[0] === 'not dug')?.[1]).toBe('planned or opened');
    expect(cautions.join(' ')).toContain('planned or opened and not dug (60 m²)');
  });

  test('is null where none is known, and needs no guess where all is levelled', () => {
    expect(run(site([])).summary.undug).toBeNull();
    expect(run(site([area('abandoned', box(6, 0, 8, 2))])).summary.undug).toBeNull();
    const { summary } = run(site([area('opened', box(6, 0, 8, 10))]));
    near(summary.undug?.estimate_m3, 14, { absolute: 1e-9 });
  });
});
