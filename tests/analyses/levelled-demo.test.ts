import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { thickness } from '../../data-demo/generator/deposit.js';
import type { RunAnswer } from '../../src/analyses/execute.js';
import { partsOf } from '../../src/domain/columns.js';
import { type FeatureTable, valueAt } from '../../src/domain/feature-table.js';
import { type DemoStore, openDemo, truth } from '../support/demo.js';
import { near } from '../support/near.js';

// whether the analyses of levels find what the generator of the demonstration site planted
let demo: DemoStore;
beforeAll(async () => {
  demo = await openDemo();
});
afterAll(() => demo.close());

const cells = (table: FeatureTable, name: string) => {
  const column = table.columns.get(name);
  if (!column) throw new Error(`no column ${name}`);
  return Array.from({ length: table.length }, (_, i) => valueAt(column, i));
};

describe('deposit-volume', () => {
  let answer: RunAnswer;
  beforeAll(async () => {
    answer = await demo.run('deposit-volume', { simulations: 99 });
  });

  test('the volume of the squares measured is the planted one, within its interval', () => {
    const { features } = answer;
    if (features?.geometry?.type !== 'area') return expect.fail('no squares');
    const { geometry } = features;
    const measured = cells(features, 'measured_m2');
    const volume = cells(features, 'volume_m3');
    let [planted, found, squares] = [0, 0, 0];
    for (let i = 0; i < features.length; i++) {
      const [{ ring }] = partsOf(geometry, i);
      if (Math.abs((measured[i] as number) - 1) > 1e-9) continue;
      const [x, y] = [Math.min(ring[0], ring[2], ring[4]), Math.min(ring[1], ring[3], ring[5])];
      // whole squares of the first grid: the generator is bilinear between the same nodes
      planted += (thickness(x, y) + thickness(x + 1, y) + thickness(x, y + 1) + thickness(x + 1, y + 1)) / 4;
      found += volume[i] as number;
      squares++;
    }
    expect(squares).toBeGreaterThan(150);
    const { sigma_m3, area_m2 } = answer.summary as { sigma_m3: number; area_m2: number };
    near(found, planted, { absolute: (1.96 * sigma_m3 * squares) / area_m2 });
    // top and bottom were shifted alike: the random error and two inverted nodes are all there is
    near(found, planted, { absolute: 2 });
  });

  test('seasons: areas, half-dug squares and volumes per m² as planted', () => {
    const seasons = answer.summary['by_season'] as {
      name: string;
      area_m2: number;
      dug_m2: number;
      mean_thickness_m: number;
    }[];
    expect(seasons.map((s) => [s.name, Math.round(s.area_m2), s.dug_m2])).toEqual([
      ['S1', 24, expect.closeTo(24, 6)],
      ['S2', 88, expect.closeTo(88, 6)],
      ['S3', 74, expect.closeTo(74, 6)],
      ['S4', 61, expect.closeTo(55.5, 6)],
    ]);
    near(seasons[0].mean_thickness_m, 0.156, { absolute: 0.02 });
    near(seasons[1].mean_thickness_m, 0.319, { absolute: 0.04 });
  });

  test('the deposit thins away from the keel on both sides', () => {
    const { strips } = answer.summary['keel'] as { strips: { from_m: number; mean_m: number | null }[] };
    const at = (m: number) => strips.find((s) => s.from_m === m)?.mean_m ?? Number.NaN;
    expect(at(0)).toBeGreaterThan(0.5);
    expect(at(0)).toBeGreaterThan(at(2) + 0.2);
    expect(at(0)).toBeGreaterThan(at(-3) + 0.2);
  });
});

test('section: the thickness along the ship is the planted one', async () => {
  const { summary } = await demo.run('section', { step_m: 0.5 });
  const profile = summary['profile'] as { local_x_m: number; local_y_m: number; thickness_m: number | null }[];
  const known = profile.filter((p) => p.thickness_m !== null);
  expect(known.length).toBeGreaterThan(25);
  const gaps = known.map((p) => (p.thickness_m as number) - thickness(p.local_x_m, p.local_y_m));
  near(gaps.reduce((a, b) => a + b, 0) / gaps.length, 0, { absolute: 0.02 });
});

test('surface-change: the shift between the levels of two seasons is found', async () => {
  const { summary } = await demo.run('surface-change', { from_season: 'S2', to_season: 'S4' });
  const { S2, S4 } = truth.levels.shared_shift_m;
  near(summary['mean_difference_m'] as number, S4 - S2, { absolute: 0.01 });
});
