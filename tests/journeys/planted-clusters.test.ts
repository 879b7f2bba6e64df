import { afterAll, beforeAll, expect, test } from 'vitest';
import { type DemoStore, openDemo, truth } from '../support/demo.js';
import { near } from '../support/near.js';

// where the demo's heaps were planted, and which of its squares were left to dig

let demo: DemoStore;
beforeAll(async () => {
  demo = await openDemo();
}, 60_000);
afterAll(() => demo?.close());

// biome-ignore lint/suspicious/noExplicitAny: summaries are read by their published names
const summaryOf = async (process: string, inputs: Record<string, unknown>): Promise<any> =>
  (await demo.run(process, inputs)).summary;

/** quick: the curve of k-means is not asked far */
const quick = { k_max: 2, restarts: 2, simulations: 39 };

test('window glass, hearth brick and stoneware jars are found as one heap each', async () => {
  for (const name of ['window glass', 'hearth brick', 'stoneware jar']) {
    const {
      density,
      k_means: parted,
      clusters,
      sentence,
    } = await summaryOf('clusters', { ...quick, artefact_class: name });
    expect(density.p_clustered, name).toBe(1 / 40);
    expect(density.share, name).toBeGreaterThan(0.9);
    expect(clusters[0].n / density.clustered, name).toBeGreaterThan(0.9);
    expect(parted.k, name).toBe(1);
    expect(sentence).toContain('denser than random');
    expect(clusters[0].classes).toEqual([{ name, count: clusters[0].count }]);
  }
  const jars = await summaryOf('clusters', { ...quick, artefact_class: 'stoneware jar' });
  // planted at (17.0, 9.2), sherds drifting downslope towards 140°
  near(jars.clusters[0].centre_x_m, 17.4, { absolute: 0.5 });
  near(jars.clusters[0].centre_y_m, 8.8, { absolute: 0.5 });
});

test('clay pipes, planted at random, are no better than random by either method', async () => {
  const {
    density,
    k_means: parted,
    sentence,
  } = await summaryOf('clusters', {
    artefact_class: 'clay pipe',
    k_max: 6,
    restarts: 3,
    simulations: 99,
  });
  expect(density.better_than_random).toBe(false);
  expect(parted.k).toBeNull();
  expect(sentence.match(/no better than random/g)).toHaveLength(2);
});

test('the squares left half dug and the planned ones are proposed, and no others', async () => {
  const { half_dug_squares: half, planned_squares: planned } = truth.ground;
  const {
    squares,
    cross_validation: fared,
    window_area_m2,
  } = await summaryOf('next-squares', { artefact_class: 'tableware' });
  expect(window_area_m2).toBeCloseTo(238, 6);
  const named = (state: string) =>
    squares.flatMap((row: { state: string; square: string }) => (row.state === state ? [row.square] : [])).sort();
  expect(named('part_dug')).toEqual([...half].sort());
  expect(named('planned')).toEqual([...planned].sort());
  expect(squares).toHaveLength(half.length + planned.length);
  for (const row of squares) expect(row.ground_left_m2).toBeCloseTo(row.state === 'part_dug' ? 0.5 : 1, 9);
  expect(fared.squares).toBe(238);
  expect(fared.coverage).toBeGreaterThan(0.9);
});

test('tableware lies along the hull: the trend over the distance to it foretells best, and says so', async () => {
  const { trend, terms } = await summaryOf('next-squares', { artefact_class: 'tableware' });
  expect(trend).toMatch(/^hull/);
  const slope = terms.find(({ term }: { term: string }) => term === 'distance_to_hull');
  expect(slope.estimate).toBeLessThan(-2 * slope.standard_error);
});

test('from the trial trench alone, the baulk and the ground beside it are what the hull points to', async () => {
  const { squares } = await summaryOf('next-squares', { season: 'S1', candidates: 'edge' });
  const ranked = squares.filter(({ rank }: { rank: number | null }) => rank !== null);
  expect(ranked.length).toBeGreaterThan(2);
  expect(ranked[0].settles_value).toBeGreaterThan(1);
});
