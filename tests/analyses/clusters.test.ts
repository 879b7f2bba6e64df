import { expect, test } from 'vitest';
import {
  chosenGroups,
  densityChance,
  type GapPlace,
  gapCurve,
  randomGroups,
} from '../../src/analyses/clusters/chance.js';
import clusters from '../../src/analyses/clusters/index.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import { partsOf } from '../../src/domain/columns.js';
import type { Sample } from '../../src/domain/sample.js';
import { densityClusters } from '../../src/math/density-clusters.js';
import { sseCurve } from '../../src/math/k-means.js';
import { normalDeviate, randomStream, shuffle } from '../../src/math/random.js';
import { boxRegion } from '../../src/math/tiles.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { near } from '../support/near.js';
import { sampleOf } from '../support/sample-of.js';
import { pointFind, smallSample } from '../support/small-samples.js';
import { box } from '../support/small-site.js';

const field = boxRegion([0, 0, 12, 8]);

function run(sample: Sample, inputs: Record<string, unknown> = {}) {
  return executeAnalysis(clusters as never, sample, checkInputs(clusters as never, inputs), () => {});
}
// biome-ignore lint/suspicious/noExplicitAny: a summary is read by its published names
const summaryOf = (sample: Sample, inputs: Record<string, unknown> = {}) => run(sample, inputs).summary as any;

/** two heaps, of jars and of nails, amid strays */
function twoHeaps(): Sample {
  const random = randomStream(21, 0);
  const heap = (x: number, y: number, n: number) =>
    Array.from({ length: n }, (): [number, number] => [
      x + 0.3 * normalDeviate(random),
      y + 0.3 * normalDeviate(random),
    ]);
  const strays = Array.from({ length: 12 }, (): [number, number] => [12 * random.next(), 8 * random.next()]);
  const xy = [...heap(3, 3, 40), ...heap(9, 5, 30), ...strays];
  return sampleOf(xy, field, {
    classes: ['jar', 'nail'],
    classCode: Uint32Array.from(xy, (_, i) => (i < 40 ? 1 : i < 70 ? 2 : 0)),
    seasons: ['S1', 'S2'],
    seasonCode: Uint32Array.from(xy, (_, i) => (i < 50 ? 1 : 2)),
  });
}

const uniform = (n: number, seed: number): Sample => {
  const xy = new Float64Array(2 * n);
  uniformPoints(field)(xy, randomStream(seed, 0));
  return sampleOf(
    Array.from({ length: n }, (_, i): [number, number] => [xy[2 * i], xy[2 * i + 1]]),
    field,
  );
};

test('two planted heaps are found by both methods, with what lies in them', () => {
  const density = summaryOf(twoHeaps());
  expect(density.density.clusters).toBe(2);
  expect(density.density.p_clustered).toBe(0.01);
  expect(density.sentence).toMatch(/^2 density clusters .* hold .* of 82 finds.*p = 0\.01\): denser than random/);
  const [first, second, outside] = density.clusters;
  near(first.centre_x_m, 3, { absolute: 0.2 });
  near(second.centre_x_m, 9, { absolute: 0.2 });
  expect(first.classes[0].name).toBe('jar');
  expect(second.classes[0].name).toBe('nail');
  expect(outside.cluster).toBe(0);
  expect(density.clusters.reduce((sum: number, c: { n: number }) => sum + c.n, 0)).toBe(82);

  const parted = summaryOf(twoHeaps(), { method: 'k_means' });
  expect(parted.k_means.k).toBe(2);
  expect(parted.k_means.better_than_random).toBe(true);
  expect(parted.sentence).toMatch(/^k-means in 2 groups: sum of squares 0\.\d+ times that of random points/);
  expect(parted.clusters.map((c: { cluster: number }) => c.cluster)).toEqual([1, 2]);
});

test('table, layer and summary tell the same counts', () => {
  const answer = run(twoHeaps());
  const { columns, rows } = answer.table;
  const at = (name: string) => columns.findIndex((column) => column.name === name);
  const sum = (name: string) => rows.reduce((total, row) => total + Number(row[at(name)]), 0);
  expect([sum('class jar'), sum('class nail'), sum('class unknown')]).toEqual([40, 30, 12]);
  expect([sum('season S1'), sum('season S2'), sum('n')]).toEqual([50, 32, 82]);
  expect(rows.at(-1)?.[0]).toBe('in none');
  const layer = answer.features!;
  expect(layer.length).toBe(2);
  const geometry = layer.geometry as Extract<typeof layer.geometry, { type: 'line' | 'area' }>;
  for (let f = 0; f < 2; f++) {
    const [{ ring }] = partsOf(geometry, f);
    for (let i = 0; i < ring.length; i += 2) {
      // every corner of a hull is a find
      const isFind = Array.from({ length: 82 }, (_, k) => k).some(
        (k) => Math.hypot(twoHeaps().xy[2 * k] - ring[i], twoHeaps().xy[2 * k + 1] - ring[i + 1]) < 1e-9,
      );
      expect(isFind).toBe(true);
    }
  }
});

test('random finds: no better than random, said plainly for both methods', () => {
  let plain = 0;
  for (let seed = 1; seed <= 5; seed++) {
    const { sentence, density, k_means: parted } = summaryOf(uniform(60, seed));
    if (density.p_clustered > 0.05) expect(sentence).toMatch(/density cluster.*no better than random/);
    if (parted.p > 0.05) {
      expect(sentence).toContain('k-means: no better than random points in the same window');
      expect(parted.k).toBeNull();
      plain++;
    }
  }
  expect(plain).toBeGreaterThanOrEqual(4);
  const given = run(uniform(60, 2), { method: 'k_means', k: 4 });
  expect(given.summary['sentence']).toMatch(/^k-means in 4 groups: .*: no better than random\./);
  expect(given.cautions.join(' ')).toContain('these are no better than those of random points');
  expect(given.features?.length).toBe(4);
});

test('the order of the file changes no number', () => {
  const sample = twoHeaps();
  const order = Uint32Array.from({ length: 82 }, (_, i) => i);
  shuffle(order, randomStream(5, 0));
  const dealt: Sample = {
    ...sample,
    xy: Float64Array.from([...order].flatMap((i) => [sample.xy[2 * i], sample.xy[2 * i + 1]])),
    classCode: Uint32Array.from(order, (i) => sample.classCode[i]),
    seasonCode: Uint32Array.from(order, (i) => sample.seasonCode[i]),
  };
  for (const method of ['density', 'k_means']) {
    const rounded = (value: unknown) =>
      JSON.parse(JSON.stringify(value, (_, v) => (typeof v === 'number' ? Number(v.toPrecision(12)) : v)));
    expect(rounded(summaryOf(dealt, { method }))).toEqual(rounded(summaryOf(sample, { method })));
  }
});

test('a concretion is one spot: its children make no cluster', () => {
  const records = {
    areas: [{ season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 10, 8) }],
    finds: [
      ...Array.from({ length: 9 }, (_, i) => pointFind(`C${i}`, 5, 4, { concretion: 'CON1' })),
      ...Array.from({ length: 12 }, (_, i) => pointFind(`F${i}`, 0.5 + 0.75 * i, 1 + ((i * 5) % 7))),
    ],
  };
  const spots = summaryOf(smallSample(records, { spot: 'concretion', squareOnly: 'exclude' }));
  expect([spots.n, spots.density.clusters]).toEqual([13, 0]);
  const finds = summaryOf(smallSample(records, { spot: 'find', squareOnly: 'exclude' }));
  expect([finds.n, finds.density.clusters, finds.coincident]).toEqual([21, 1, 9]);
});

test('seed, restarts and start rule are published, and other seeds draw other scatters', () => {
  const one = run(uniform(40, 3), { restarts: 3, seed: 7 });
  expect(one.summary['k_means']).toMatchObject({ seed: 7, restarts: 3, start: 'k-means++' });
  expect(one.methods).toMatch(/3 restarts, each seeded by k-means\+\+.*Seed 7/);
  expect(summaryOf(uniform(40, 3), { restarts: 3, seed: 8 }).k_means.curve[1].random_sse_m2).not.toBe(
    summaryOf(uniform(40, 3), { restarts: 3, seed: 7 }).k_means.curve[1].random_sse_m2,
  );
});

test('without simulations nothing is called more than chance', () => {
  const { sentence, density, k_means: parted, tests_made } = summaryOf(twoHeaps(), { simulations: 0 });
  expect(sentence).toContain('without simulations it cannot be said whether that is more than chance');
  expect([density.better_than_random, parted.better_than_random, parted.k, tests_made]).toEqual([null, null, null, 0]);
});

test('groups beyond the curve, or beyond the places, are refused', () => {
  expect(() => run(twoHeaps(), { k: 4, k_max: 3 })).toThrow(/k = 4 lies beyond k_max = 3/);
  expect(() => run(uniform(4, 1), { k: 4 })).toThrow(/4 groups need finds at more than 4 different places, got 4/);
  const few = run(uniform(3, 1));
  expect(few.cautions.join(' ')).toContain('too few to speak of clusters');
});

const grouping = { rule: { reachM: 0.9, minFinds: 4 }, kMost: 3, restarts: 2 };
const quiet = () => {};

test('the test of the share and the test of the curve reject random finds one time in twenty', () => {
  const sets = 400;
  let share = 0;
  let curve = 0;
  for (let set = 0; set < sets; set++) {
    const xy = uniform(25, 500 + set).xy;
    const random = randomGroups({ n: 25, window: field, grouping }, { simulations: 19, seed: set, tick: quiet });
    if (densityChance(densityClusters(xy, grouping.rule), random).pClustered <= 0.05) share++;
    if (gapCurve(sseCurve(xy, grouping, randomStream(set, 77)), random)!.p <= 0.05) curve++;
  }
  // 400 sets: 0.05 ± three standard errors; whole curves tie, which makes the second test lean to the safe side
  near(share / sets, 0.05, { absolute: 0.033 });
  expect(curve / sets).toBeLessThan(0.083);
});

test('the p of the share: the observed one among the random ones, ties settled by nearness', () => {
  const random = {
    simulations: 4,
    clustered: Float64Array.of(5, 0, 5, 8),
    closeness: Float64Array.of(1, 9, 3, 2),
    clusters: Float64Array.of(1, 0, 1, 2),
    sse: new Float64Array(0),
  };
  const observed = { ...densityClusters(new Float64Array(0), grouping.rule), clustered: 5, closeness: 2 };
  // 8 in clusters, and 5 with nearer pairs, are as extreme
  expect(densityChance(observed, random).pClustered).toBe(3 / 5);
});

test('the gap is the mean log of random over finds', () => {
  const random = randomGroups({ n: 30, window: field, grouping }, { simulations: 39, seed: 2, tick: quiet });
  const sse = Float64Array.of(500, 90, 40);
  const { places } = gapCurve(sse, random)!;
  places.forEach((place, i) => {
    const logs = Array.from({ length: 39 }, (_, s) => Math.log(random.sse[3 * s + i]));
    const mean = logs.reduce((a, b) => a + b) / 39;
    near(place.gap, mean - Math.log(sse[i]), { relative: 1e-10 });
    near(place.randomSse, Math.exp(mean), { relative: 1e-12 });
    near(place.gapError, Math.sqrt((logs.reduce((a, b) => a + (b - mean) ** 2, 0) / 39) * (40 / 39)), {
      relative: 1e-9,
    });
    expect(place.low).toBeLessThan(place.randomSse);
    expect(place.high).toBeGreaterThan(place.randomSse);
  });
});

test('the number of groups: the smallest below the band that one more does not better', () => {
  const place = (k: number, gap: number, sse: number): GapPlace => ({
    k,
    sse,
    randomSse: sse * Math.exp(gap),
    gap,
    gapError: 0.1,
    low: 10,
    high: 20,
  });
  const groups = (...places: GapPlace[]) => chosenGroups({ p: 0.01, places });
  expect(groups(place(1, 0.1, 15), place(2, 1, 5), place(3, 1.05, 4))).toBe(2);
  expect(groups(place(1, 0.1, 15), place(2, 1, 5), place(3, 1.5, 4))).toBe(3);
  expect(groups(place(1, 2, 5), place(2, 1, 5))).toBe(1);
  // wide gaps inside the band do not count
  expect(groups(place(1, 2, 15), place(2, 1, 5))).toBe(2);
  expect(groups(place(1, 2, 15), place(2, 1, 12))).toBeNull();
});

test('progress runs from 0 towards 1 and never back', () => {
  const shares: number[] = [];
  const inputs = checkInputs(clusters as never, { simulations: 19 });
  executeAnalysis(clusters as never, uniform(20, 1), inputs, (share) => shares.push(share));
  expect(shares).toEqual([...shares].sort((a, b) => a - b));
  expect(shares.at(-1)).toBeLessThanOrEqual(1);
  expect(shares.at(-1)).toBeGreaterThan(0.9);
});
