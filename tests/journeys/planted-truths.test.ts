import { afterAll, beforeAll, expect, test } from 'vitest';
import { numbers, wordReader } from '../../src/domain/columns.js';
import { quantile } from '../../src/math/quantiles.js';
import { type DemoStore, openDemo, truth } from '../support/demo.js';

// the demo site was made with known facts in it (data-demo/truth.json): the analyses have to find them

let demo: DemoStore;
beforeAll(async () => {
  demo = await openDemo();
}, 60_000);
afterAll(() => demo?.close());

interface NearestSummary {
  n: number;
  mean_distance_m: number;
  simulated: { p_clustered: number; p_regular: number; p_two_sided: number };
}
const nearest = async (inputs: Record<string, unknown>) =>
  (await demo.run('nearest-neighbour', inputs)).summary as unknown as NearestSummary;

test('every find of the register is in the collection, by class and season as planted', async () => {
  const { survey } = await demo.shelf.get('tarn-ledge', null);
  const finds = survey.collection('finds');
  expect(finds?.length).toBe(truth.finds.total);
  const season = wordReader(finds!, 'season');
  const registered = survey.knownAt('2024-12-31').classAt(null);
  const counts = new Map<string, number>();
  for (let row = 0; row < finds!.length; row++) {
    const key = `${registered.words[registered.codes[row]]}|${season(row)}`;
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  for (const [name, planted] of Object.entries(truth.finds.counts as Record<string, Record<string, number>>)) {
    for (const s of ['S1', 'S2', 'S3', 'S4'])
      expect(counts.get(`${name}|${s}`) ?? 0, `${name} in ${s}`).toBe(planted[s]);
  }
});

test('the window of each season has the planted area, and the union its hole', async () => {
  for (const [season, { area_m2 }] of Object.entries(truth.ground.seasons as Record<string, { area_m2: number }>)) {
    const { summary } = await demo.run('nearest-neighbour', { season, simulations: 0 });
    expect(summary['window_area_m2']).toBeCloseTo(area_m2, 6);
  }
  const { summary } = await demo.run('nearest-neighbour', { simulations: 0 });
  expect(summary['window_area_m2']).toBeCloseTo(238, 6);
});

test('clay pipes lie at random in the dug area', async () => {
  const { simulated } = await nearest({ artefact_class: 'clay pipe' });
  expect(simulated.p_two_sided).toBeGreaterThan(0.05);
});

test('stoneware jars, window glass and hearth brick are clustered', async () => {
  for (const name of ['stoneware jar', 'window glass', 'hearth brick']) {
    const { simulated } = await nearest({ artefact_class: name });
    expect(simulated.p_clustered, name).toBe(0.001);
  }
});

test('spikes keep their spacing along the frames, and stand in the articulated hull', async () => {
  const { mean_distance_m } = await nearest({ artefact_class: 'copper-alloy spike', simulations: 0 });
  expect(Math.abs(mean_distance_m - truth.finds.spikes.mean_nearest_m)).toBeLessThan(0.02);
  const { summary } = await demo.run('hull-scatter', { artefact_class: 'copper-alloy spike', simulations: 199 });
  const { distance_m, against_others, simulated } = summary as unknown as {
    distance_m: { median: number };
    against_others: { p_closer: number };
    simulated: { p_closer: number };
  };
  expect(distance_m.median).toBeLessThan(0.05);
  expect(simulated.p_closer).toBe(0.005);
  expect(against_others.p_closer).toBe(0.005);
});

test('density peaks where the clusters were planted, within their own spread', async () => {
  for (const cluster of truth.finds.clusters as {
    artefact_class: string;
    centre: [number, number];
    sigma_m: number;
    came_out: { mean: [number, number] };
  }[]) {
    const { summary } = await demo.run('kernel-density', { artefact_class: cluster.artefact_class });
    const { peak_x_m: x, peak_y_m: y, integral, total_weight: total } = summary as Record<string, number>;
    const [cx, cy] = cluster.came_out.mean;
    expect(Math.hypot(x - cx, y - cy), cluster.artefact_class).toBeLessThan(cluster.sigma_m);
    expect(Math.abs(integral - total)).toBeLessThan(1e-3 * total);
  }
});

test('bone keeps away from sheathing', async () => {
  const { survey } = await demo.shelf.get('tarn-ledge', null);
  const { xy, kind } = survey.placed;
  const codes = survey.classAt(null);
  const placesOf = (name: string) =>
    [...kind.keys()]
      .filter((row) => kind[row] === 'point' && codes.words[codes.codes[row]] === name)
      .map((row) => [xy[2 * row], xy[2 * row + 1]]);
  const sheathing = placesOf('copper sheathing');
  const least = placesOf('bone').map(([x, y]) => Math.min(...sheathing.map(([a, b]) => Math.hypot(x - a, y - b))));
  // recorded positions carry their own error beside the planted 0.8 m
  expect(Math.min(...least)).toBeGreaterThan(truth.finds.bone_and_sheathing.keeps_m - 0.15);
});

test('lead shot lies low in the deposit, the jars in its middle', async () => {
  const { survey } = await demo.shelf.get('tarn-ledge', null);
  const finds = survey.collection('finds');
  const u = numbers(finds!, 'relative_depth');
  const thickness = numbers(finds!, 'thickness_at_find');
  const name = wordReader(finds!, 'artefact_class');
  const middle = (wanted: string) =>
    quantile(
      [...u].filter((value, row) => name(row) === wanted && !Number.isNaN(value) && thickness[row] > 0.15),
      0.5,
    ) ?? Number.NaN;
  expect(middle('lead shot')).toBeGreaterThan(0.7);
  expect(middle('stoneware jar')).toBeLessThan(0.55);
  expect(middle('lead shot') - middle('stoneware jar')).toBeGreaterThan(0.2);
});

test('wood is found only where the deposit is thick', async () => {
  const { survey } = await demo.shelf.get('tarn-ledge', null);
  const finds = survey.collection('finds');
  const thickness = numbers(finds!, 'thickness_at_find');
  const name = wordReader(finds!, 'artefact_class');
  const known = [...thickness].filter((value, row) => name(row) === 'wood' && !Number.isNaN(value));
  // levels carry 0.02 m random and 0.03 m shared error on each surface
  expect(quantile(known, 0.1)).toBeGreaterThan(truth.finds.wood.needs_thickness_m - 0.1);
});

test('axe heads appear with their X-ray in 2025', async () => {
  const { survey } = await demo.shelf.get('tarn-ledge', null);
  const count = (asOf: string | null) => {
    const codes = survey.classAt(asOf);
    return [...codes.codes].filter((code) => codes.words[code] === 'axe head').length;
  };
  expect(count('2024-12-31')).toBe(0);
  expect(count(null)).toBe(truth.finds.axe_heads.length);
  expect(truth.finds.axe_heads.length).toBe(23);
});

test('concretions and their children, joins, long bars', async () => {
  const { survey } = await demo.shelf.get('tarn-ledge', null);
  const concretions = survey.collection('concretions');
  expect(concretions?.length).toBe(truth.finds.concretions.count);
  expect([...numbers(concretions!, 'children')].reduce((a, b) => a + b, 0)).toBe(truth.finds.concretions.children);
  expect(survey.collection('refits')?.length).toBe(140);
  expect(survey.collection('find-lines')?.length).toBe(46);
});
