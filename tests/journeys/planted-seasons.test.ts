import { afterAll, beforeAll, expect, test } from 'vitest';
import type { PairRow, Summary } from '../../src/analyses/season-comparison/schemas.js';
import { type DemoStore, openDemo, truth } from '../support/demo.js';
import { near } from '../support/near.js';

// what was planted about seasons: nails as frequent per m³, twice as frequent per m² in S2; a coarse sieve in S1

let demo: DemoStore;
beforeAll(async () => {
  demo = await openDemo();
}, 60_000);
afterAll(() => demo?.close());

const compare = async (inputs: Record<string, unknown>) => {
  const answer = await demo.run('season-comparison', { simulations: 199, ...inputs });
  return { ...answer, summary: answer.summary as unknown as Summary };
};
const pairOf = ({ pairs }: Summary, first: string, second: string) =>
  pairs.find((pair) => pair.first === first && pair.second === second) as PairRow;
const holds = (ratio: PairRow['per_m2'] | null, planted: number) =>
  ratio?.low !== null && ratio?.high !== null && ratio !== null && ratio.low <= planted && planted <= ratio.high;

test('nails: twice as many per m² in S2 as in S1, equally many per m³', async () => {
  const { summary } = await compare({ artefact_class: 'nail', spot: 'find' });
  const { nails, counts } = truth.finds;
  const registered = summary.seasons.map(({ season, finds }) => [season, finds]);
  expect(registered).toEqual(['S1', 'S2', 'S3', 'S4'].map((season) => [season, counts.nail[season]]));
  const pair = pairOf(summary, 'S1', 'S2');
  expect(holds(pair.per_m2, nails.per_m2.S2_to_S1)).toBe(true);
  expect(holds(pair.per_m2, 1)).toBe(false);
  expect(pair.p).toBeLessThan(0.05);
  expect(holds(pair.per_m3, nails.per_m3.S2_to_S1)).toBe(true);
  near(pair.per_m3?.value, nails.per_m3.S2_to_S1, { relative: 0.15 });
  expect(pair.per_m3?.exact_high).toBeLessThan(2);
  expect(pair.p_per_m3).toBeGreaterThan(0.05);
  const [s1] = summary.seasons;
  expect(s1.per_m2).toBeCloseTo(nails.per_m2.S1, 9);
  expect(s1.dug_m2).toBeCloseTo(truth.ground.seasons.S1.area_m2, 6);
});

test('S1 and S2 share the reopened squares, other seasons none: only there the headline does not warn of the place', async () => {
  const { summary } = await compare({ artefact_class: 'nail', list: 'squares' });
  expect(summary).toMatchObject({ first: 'S1', second: 'S2', headline: 'Squares are shared, recovery differs' });
  const { table } = await compare({ artefact_class: 'nail', list: 'squares', season: ['S1', 'S2'] });
  expect(table.rows.map(([square]) => square).sort()).toEqual([...truth.ground.reopened_squares].sort());
  const pair = pairOf(summary, 'S1', 'S2');
  expect(pair.syrjala).toMatchObject({ exact: true, swaps: 512 });
  for (const other of summary.pairs.filter((own) => own !== pair)) {
    expect(other).toMatchObject({ place: 'differs', shared: null, syrjala: null });
    expect(other.syrjala_reason).toMatch(/there are none/);
  }
  const apart = await compare({ artefact_class: 'nail', season: ['S2', 'S3'] });
  expect(apart.summary.headline).toBe('Place and recovery differ');
  expect(apart.summary.sentence).toMatch(/^Place and recovery differ/);
});

test('the coarse sieve of S1 lost small things: they differ far more than those the mesh keeps', async () => {
  const { summary, cautions } = await compare({
    artefact_class: ['nail', 'lead shot', 'bone'],
    season: ['S1', 'S2'],
    simulations: 999,
  });
  const pair = pairOf(summary, 'S1', 'S2');
  const size = (name: string) =>
    pair.strata.find(({ by, stratum }) => by === 'size_class' && stratum === name)?.per_m2.value ?? Number.NaN;
  expect(size('small')).toBeGreaterThan(3 * size('medium'));
  expect(pair.strata_reason).toMatch(/6 mm mesh against S2: water dredge, 2 mm mesh/);
  expect(cautions.join(' ')).toMatch(/A coarse mesh loses small things first/);
  const { mesh_mm, classes } = truth.finds.recovery;
  expect(summary.seasons[0].meshes_of_finds_mm).toEqual([mesh_mm]);
  const shot = summary.class_mix?.cells.find((cell) => cell.season === 'S1' && cell.artefact_class === 'lead shot');
  expect(classes['lead shot'].kept).toBeLessThan(0.5);
  expect(shot?.residual).toBeLessThan(-2);
  expect(shot?.p_holm).toBeLessThan(0.05);
});

test('half-dug squares of S4 are held to the share dug', async () => {
  const { summary } = await compare({ artefact_class: 'nail', season: 'S4', simulations: 0 });
  const { area_m2 } = truth.ground.seasons.S4;
  expect(summary.window_area_m2).toBeCloseTo(area_m2, 6);
  expect(summary.seasons[0].dug_m2).toBeCloseTo(area_m2 - truth.ground.half_dug_squares.length / 2, 6);
  expect(summary.headline).toBe('Nothing to compare');
});

test('a jar whose sherds both seasons lifted counts in both', async () => {
  const { summary } = await compare({
    artefact_class: 'stoneware jar',
    count_unit: 'pot_vessel',
    season: ['S1', 'S2'],
    simulations: 0,
  });
  const [s1, s2] = summary.seasons.map(({ n }) => n);
  expect(s2).toBeLessThanOrEqual(truth.finds.stoneware_jars.vessels);
  expect(s1).toBeGreaterThan(0);
  expect(s1 + s2).toBeGreaterThan(truth.finds.stoneware_jars.vessels);
});

test('X-ray of 2025 made axe heads of unidentified iron objects', async () => {
  const answer = await demo.run('class-table', { compare_identified_as_of: '2024-12-31', list: 'changes' });
  const changes = answer.summary['changes'] as {
    by_class: { artefact_class: string; before: number; after: number; became: number; ceased: number }[];
  };
  const row = (name: string) => changes.by_class.find((own) => own.artefact_class === name);
  const heads = truth.finds.axe_heads as string[];
  expect(row('axe head')).toMatchObject({ before: 0, became: heads.length, after: heads.length });
  expect(row('unidentified iron object')).toMatchObject({ before: 60, ceased: heads.length, after: 60 - heads.length });
  expect(answer.table.rows.map(([find]) => find).sort()).toEqual([...heads].sort());
});
