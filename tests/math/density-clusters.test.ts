import { expect, test } from 'vitest';
import { type DensityRule, densityClusters, reachOfChance } from '../../src/math/density-clusters.js';
import { randomStream, shuffle } from '../../src/math/random.js';
import { heapedScatter, latticeScatter, near, uniformScatter } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

const reference = readReferenceFile<
  { points: number[][] },
  {
    density: {
      reach_m: number;
      min_finds: number;
      core: number[];
      labels: number[];
      clusters: number;
      borders_of_several: number[];
    }[];
  }
>('clusters_site_a');

const siteA = Float64Array.from(reference.input.points.flat());

/** every pair looked at, clusters grown one find at a time; by the definition, with its own numbering */
function grownClusters(xy: Float64Array, { reachM, minFinds }: DensityRule): number[] {
  const n = xy.length / 2;
  const d = (i: number, j: number) => Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]);
  const all = Array.from({ length: n }, (_, i) => i);
  const about = all.map((i) => all.filter((j) => d(i, j) <= reachM * (1 + 1e-9)));
  const core = about.map((own) => own.length >= minFinds);
  const label = new Array<number>(n).fill(-1);
  for (const start of all) {
    const queue = core[start] && label[start] < 0 ? [start] : [];
    for (const i of queue) {
      if (label[i] >= 0) continue;
      label[i] = start;
      queue.push(...about[i].filter((j) => core[j]));
    }
  }
  const place = (i: number, j: number) => xy[2 * i] - xy[2 * j] || xy[2 * i + 1] - xy[2 * j + 1];
  for (const i of all.filter((k) => !core[k])) {
    const cores = about[i].filter((j) => core[j]);
    const least = Math.min(...cores.map((j) => d(i, j)));
    const [nearest] = cores.filter((j) => d(i, j) <= least * (1 + 1e-9)).sort(place);
    if (nearest !== undefined) label[i] = label[nearest];
  }
  const groups = [...new Set(label.filter((l) => l >= 0))].map((l) => all.filter((i) => label[i] === l));
  const first = (group: number[]) => [...group].sort(place)[0];
  groups.sort((a, b) => b.length - a.length || place(first(a), first(b)));
  return all.map((i) => groups.findIndex((group) => group.includes(i)) + 1);
}

test('2,000 seeded scatters: the same clusters as grown from all pairs', () => {
  for (let seed = 1; seed <= 2000; seed++) {
    const random = randomStream(seed, 9);
    const n = random.below(26);
    const spec = { n, seed, width: 4, height: 3 };
    const xy =
      seed % 3 === 0
        ? heapedScatter({ ...spec, heaps: 3, spread: 0.8 })
        : seed % 3 === 1
          ? uniformScatter(spec)
          : // a coarse lattice: coincident finds, and distances equal to the reach
            latticeScatter(spec).map((v) => Math.round(4 * v) / 4);
    const rule = { reachM: [0.25, 0.5, 0.75][seed % 3] + (seed % 2) * 0.1, minFinds: 2 + random.below(4) };
    expect([...densityClusters(xy, rule).cluster], `seed ${seed}`).toEqual(grownClusters(xy, rule));
  }
});

test('core, border and cluster as another program has them', () => {
  expect(reference.expected.density.length).toBeGreaterThan(4);
  for (const { reach_m, min_finds, core, labels, clusters, borders_of_several } of reference.expected.density) {
    const found = densityClusters(siteA, { reachM: reach_m, minFinds: min_finds });
    expect([...found.role].map((r) => (r === 2 ? 1 : 0))).toEqual(core);
    expect(found.sizes).toHaveLength(clusters);
    expect(found.clustered).toBe(labels.filter((label) => label >= 0).length);
    expect(borders_of_several).toEqual([]);
    const pairs = new Set(labels.map((label, i) => `${label} ${found.cluster[i]}`));
    // each of their clusters is one of ours, and none means none
    expect(pairs.size).toBe(new Set(labels).size);
    labels.forEach((label, i) => {
      expect(label < 0).toBe(found.cluster[i] === 0);
    });
  }
});

test('the order of the file changes nothing but the order of the answer', () => {
  for (let seed = 1; seed <= 100; seed++) {
    const xy = latticeScatter({ n: 60, seed, width: 5, height: 4 }).map((v) => Math.round(8 * v) / 8);
    const order = Uint32Array.from({ length: 60 }, (_, i) => i);
    shuffle(order, randomStream(seed, 3));
    const dealt = Float64Array.from([...order].flatMap((i) => [xy[2 * i], xy[2 * i + 1]]));
    const rule = { reachM: 0.5, minFinds: 4 };
    const here = densityClusters(xy, rule);
    const there = densityClusters(dealt, rule);
    expect([...there.cluster]).toEqual([...order].map((i) => here.cluster[i]));
    expect(there.sizes).toEqual(here.sizes);
  }
});

test('a find on the border of two clusters joins the nearer one; between two equally near ones the western one', () => {
  const west = [0, 0, 0, 0.5, 0, -0.5];
  const east = [2, 0, 2, 0.5, 2, -0.5];
  const joins = (x: number) => {
    const xy = Float64Array.of(...east, ...west, x, 0);
    const { cluster, role } = densityClusters(xy, { reachM: 1.03, minFinds: 4 });
    // the end of either row is a core by this find alone
    expect([role[6], role[0], role[3]]).toEqual([1, 2, 2]);
    expect(cluster[0]).not.toBe(cluster[3]);
    return cluster[6] === cluster[3] ? 'west' : 'east';
  };
  expect([0.98, 1, 1.02].map(joins)).toEqual(['west', 'west', 'east']);
});

test('closeness adds up 1 − (d / reach)² over the pairs within the reach', () => {
  const row = Float64Array.of(0, 0, 1, 0, 3, 0);
  near(densityClusters(row, { reachM: 2, minFinds: 2 }).closeness, 1 - 1 / 4 + 0, { absolute: 1e-12 });
  near(densityClusters(row, { reachM: 4, minFinds: 2 }).closeness, 3 - (1 + 4 + 9) / 16, { absolute: 1e-12 });
});

test('a distance equal to the reach counts; one find alone is no cluster', () => {
  const pair = Float64Array.of(0.1, 0.1, 0.4, 0.1);
  expect(densityClusters(pair, { reachM: 0.3, minFinds: 2 }).sizes).toEqual([2]);
  expect(densityClusters(pair, { reachM: 0.29, minFinds: 2 }).sizes).toEqual([]);
  expect(densityClusters(new Float64Array(0), { reachM: 1, minFinds: 2 }).clustered).toBe(0);
});

test('the reach of chance: with one neighbour needed, 1 − e^(−λπr²); with two, 1 − (1 + m) e^(−m)', () => {
  const mean = (perM2: number, minFinds: number) => perM2 * Math.PI * reachOfChance(perM2, minFinds, 0.01) ** 2;
  near(mean(3.7, 2), -Math.log(0.99), { relative: 1e-10 });
  const m = mean(0.2, 3);
  near(1 - (1 + m) * Math.exp(-m), 0.01, { relative: 1e-9 });
  // four times the finds: half the reach
  near(reachOfChance(4, 5, 0.01), reachOfChance(1, 5, 0.01) / 2, { relative: 1e-12 });
});

test('about one find in a hundred of a random scatter is a core at that reach', () => {
  const n = 4000;
  const rule = { reachM: reachOfChance(n / 400, 4, 0.01), minFinds: 4 };
  let cores = 0;
  for (let seed = 1; seed <= 5; seed++) {
    const xy = uniformScatter({ n, seed, width: 20, height: 20 });
    cores += densityClusters(xy, rule).role.reduce((sum, r) => sum + (r === 2 ? 1 : 0), 0) / (5 * n);
  }
  near(cores, 0.01, { absolute: 0.002 });
});
