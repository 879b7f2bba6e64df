import { afterAll, beforeAll, expect, test } from 'vitest';
import { contains } from '../../src/math/rings.js';
import { type DemoStore, openDemo, truth } from '../support/demo.js';

// densities of the demo site, held against what was planted in it (data-demo/truth.json)

let demo: DemoStore;
beforeAll(async () => {
  demo = await openDemo();
}, 90_000);
afterAll(() => demo?.close());

interface Peak {
  x_m: number;
  y_m: number;
  persists: boolean | null;
}
const clusters = truth.finds.clusters as {
  artefact_class: string;
  centre: [number, number];
  sigma_m: number;
  came_out: { mean: [number, number] };
}[];

test('a planted cluster is a peak that persists, adaptive kernels sharpen it', { timeout: 90_000 }, async () => {
  for (const { artefact_class, sigma_m, came_out } of clusters.slice(2)) {
    const fixed = (await demo.run('kernel-density', { artefact_class })).summary as Record<string, unknown>;
    const [peak] = fixed['peak_list'] as Peak[];
    expect(peak.persists, artefact_class).toBe(true);
    expect(Math.hypot(peak.x_m - came_out.mean[0], peak.y_m - came_out.mean[1])).toBeLessThan(sigma_m);
    const adaptive = (await demo.run('kernel-density', { artefact_class, kernel: 'adaptive' })).summary;
    expect(Number(adaptive['peak_per_m2'])).toBeGreaterThan(Number(fixed['peak_per_m2']));
    expect(Math.abs(Number(adaptive['integral']) / Number(adaptive['total_weight']) - 1)).toBeLessThan(2e-3);
  }
});

test('nails: twice as many per m² in S2 as in S1, as many per m³', { timeout: 90_000 }, async () => {
  const nails = async (season: string) =>
    (await demo.run('kernel-density', { artefact_class: 'nail', season, per: 'm3', cell_m: 0.2 })).summary as {
      mean_per_m2: number;
      volume: { mean_per_m3: number; area_m2: number; thin_area_m2: number };
    };
  const [first, second] = [await nails('S1'), await nails('S2')];
  const { per_m2, per_m3 } = truth.finds.nails;
  expect(second.mean_per_m2 / first.mean_per_m2 / per_m2.S2_to_S1).toBeGreaterThan(0.9);
  expect(second.mean_per_m2 / first.mean_per_m2 / per_m2.S2_to_S1).toBeLessThan(1.1);
  // 42 nails of S1: one standard error is 15 %
  const ratio = second.volume.mean_per_m3 / first.volume.mean_per_m3 / per_m3.S2_to_S1;
  expect(ratio).toBeGreaterThan(0.7);
  expect(ratio).toBeLessThan(1.3);
});

test('glass and brick lie apart from all other finds, thickest about their planted centres', {
  timeout: 90_000,
}, async () => {
  for (const { artefact_class, centre } of clusters.slice(1)) {
    const { summary, features } = await demo.run('density-ratio', { numerator: artefact_class, simulations: 199 });
    expect((summary as { global: { p: number } }).global.p, artefact_class).toBe(0.005);
    const geometry = features?.geometry?.type === 'area' ? features.geometry : expect.fail('no tolerance areas');
    const ring = geometry.coordinates.slice(0, 2 * geometry.partStart[1]);
    expect(contains({ rings: [ring] }, ...centre, 0), artefact_class).toBe(true);
  }
});

test('bone keeps away from sheathing: each is thin where the other is thick', async () => {
  const { summary } = await demo.run('density-ratio', {
    numerator: 'bone',
    denominator: 'copper sheathing',
    simulations: 199,
  });
  const { global, lowest } = summary as { global: { p: number }; lowest: { ratio: number; dealt_low: number } };
  expect(global.p).toBeLessThan(0.05);
  expect(lowest.ratio).toBeLessThan(lowest.dealt_low);
});

test('S2 against S1: compared on the nine squares both dug, where no contrast was planted', async () => {
  const { summary } = await demo.run('density-ratio', {
    by: 'season',
    numerator: 'S2',
    denominator: 'S1',
    simulations: 199,
  });
  expect(summary['shared_area_m2']).toBeCloseTo(truth.ground.reopened_squares.length, 6);
  expect((summary as { global: { p: number } }).global.p).toBeGreaterThan(0.05);
});
