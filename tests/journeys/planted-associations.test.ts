import { afterAll, beforeAll, expect, test } from 'vitest';
import type { PairRow, Summary } from '../../src/analyses/class-association/schemas.js';
import { type DemoStore, openDemo, truth } from '../support/demo.js';

// which classes of the demo site were laid together and apart (data-demo/truth.json): the analysis has to find them

let demo: DemoStore;
let all: Summary;
const run = async (inputs: Record<string, unknown>) =>
  (await demo.run('class-association', inputs)).summary as unknown as Summary;
beforeAll(async () => {
  demo = await openDemo();
  all = await run({ simulations: 2999, draws: 1 });
}, 120_000);
afterAll(() => demo?.close());

const pair = (summary: Summary, one: string, other: string): PairRow => {
  const found = summary.pairs.find(
    (row) => (row.first === one && row.second === other) || (row.first === other && row.second === one),
  );
  if (!found) throw new Error(`no pair ${one}, ${other}`);
  return found;
};

test('bone keeps away from copper sheathing, as far as was planted, and shares no square with it', async () => {
  const { keeps_m: keeps } = truth.finds.bone_and_sheathing;
  const summary = await run({
    first: 'bone',
    second: 'copper sheathing',
    distances: [keeps / 2, keeps],
    simulations: 199,
    draws: 1,
  });
  const row = pair(summary, 'bone', 'copper sheathing');
  expect(row.at.map((at) => at.pairs)).toEqual([0, 0]);
  expect(row).toMatchObject({ reading: 'apart', ratio: 0, p: 0.005 });
  // pairs enough were to be expected, so that none is no accident
  expect(row.smallest_seen_below).toBeGreaterThan(0.3);
  expect(row.jaccard.value).toBe(0);
  expect(summary.sentence).toMatch(/^bone and copper sheathing lie apart: .*0\.00 times as many pairs .*p = 0\.005/);
}, 60_000);

test('the planted clusters lie apart from each other, allowing for all pairs', () => {
  const clusters = (truth.finds.clusters as { artefact_class: string; centre: [number, number] }[]).filter(
    ({ artefact_class: name }) => ['stoneware jar', 'window glass', 'hearth brick'].includes(name),
  );
  expect(clusters).toHaveLength(3);
  for (const [k, one] of clusters.entries()) {
    for (const other of clusters.slice(k + 1)) {
      const row = pair(all, one.artefact_class, other.artefact_class);
      expect(row, `${one.artefact_class}, ${other.artefact_class}`).toMatchObject({ reading: 'apart' });
      expect(row.p_holm).toBeLessThanOrEqual(0.05);
    }
  }
});

test('leather and window glass, both of the after part, lie together', () => {
  const row = pair(all, 'leather', 'window glass');
  expect(row.reading).toBe('together');
  expect(row.ratio).toBeGreaterThan(2);
});

test('clusters are their own neighbours, spikes that keep their spacing are not', () => {
  const { dixon } = all;
  const own = (name: string) => {
    const k = dixon.classes.indexOf(name);
    return { z: dixon.z[k][k] ?? Number.NaN, p: dixon.p_cell_simulated[k][k] };
  };
  for (const name of ['window glass', 'hearth brick']) {
    expect(own(name).z, name).toBeGreaterThan(5);
    expect(own(name).p, name).toBe(1 / 3000);
  }
  expect(own('copper-alloy spike').z).toBeLessThan(-4);
});

test('the sherds of the 60 pot vessels are dealt as vessels, and the answer says what that leaves fixed', () => {
  expect(all.labelling.fixed_classes).toEqual(['stoneware jar']);
  expect(all.labelling.grouped).toBe(all.dixon.counts[all.dixon.classes.indexOf('stoneware jar')]);
  expect(all.tests.pairs).toBe(136);
});
