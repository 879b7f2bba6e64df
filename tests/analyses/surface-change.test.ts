import { describe, expect, test } from 'vitest';
import type { RunControl } from '../../src/analyses/contract.js';
import { normalDeviate } from '../../src/analyses/surface-change/change.js';
import surfaceChange from '../../src/analyses/surface-change/index.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { DugArea, Sample } from '../../src/domain/sample.js';
import { svgText } from '../../src/figures/svg.js';
import { randomStream } from '../../src/math/random.js';
import { orientRings, type Region } from '../../src/math/rings.js';
import { Problem } from '../../src/problems.js';
import { type LevelRow, nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { near } from '../support/near.js';
import { sampleOf } from '../support/sample-of.js';
import { box } from '../support/small-site.js';

const control: RunControl = { seed: 1, simulations: 0, draws: 1, progress: () => {} };
const ground = (x: number, y: number) => -2 + 0.04 * x + 0.01 * y;
const nowhere: Region = { rings: [] };

function levels(season: string, change: (x: number, y: number) => number, more: Partial<LevelRow> = {}): LevelRow[] {
  return nodeLevels({
    columns: 11,
    rows: 9,
    surface: 'deposit_top',
    season,
    field: (x, y) => ground(x, y) + change(x, y),
  }).map((row) => ({ sigma: 0.02, ...row, ...more }));
}

const dugArea = (ring: number[]): DugArea => ({
  season: 'S2',
  progress: 'to_deposit_bottom',
  region: orientRings([[Float64Array.from(ring)]]),
  areaM2: 0,
  dugFraction: 1,
  meshMm: null,
  tool: null,
});

const site = (rows: readonly LevelRow[], more: Partial<Sample> = {}) =>
  sampleOf([], nowhere, {
    levels: readingsOf(rows),
    seasons: ['S1', 'S2'],
    dug: [dugArea(box(2.5, 2.5, 6.5, 5.5))],
    ...more,
  });

function run(sample: Sample, asked: Record<string, unknown> = {}) {
  const answer = surfaceChange.run(sample, surfaceChange.parameters.parse(asked), control);
  surfaceChange.result.parse(answer.summary);
  return answer;
}

function refusal(sample: Sample, asked: Record<string, unknown> = {}): Problem {
  try {
    run(sample, asked);
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  return expect.fail('the question was answered');
}

test('the worked example gives the numbers another program gave', () => {
  for (const w of surfaceChange.worked) {
    const { summary } = run(sampleOf([], nowhere, { levels: readingsOf(w.levels ?? []), dug: [] }), w.parameters);
    for (const [path, value] of Object.entries(w.expected)) {
      near((summary as unknown as Record<string, number>)[path], value, { relative: w.tolerance });
    }
  }
});

describe('a pit of known size', () => {
  // nodes 3..6 × 3..5 fall by half a metre: each of the twelve stands for one square metre
  const pit = (x: number, y: number) => (x >= 3 && x <= 6 && y >= 3 && y <= 5 ? -0.5 : 0);
  const { summary, features, figure, methods } = run(site([...levels('S1', () => 0), ...levels('S2', pit)]));

  test('is found beyond the level of detection with its area and volume', () => {
    expect(summary).toMatchObject({
      n: 99,
      compared_m2: 80,
      significant_nodes: 12,
      from_season: 'S1',
      to_season: 'S2',
    });
    expect(summary.raised).toEqual({ nodes: 0, area_m2: 0, volume_m3: 0, sigma_m3: 0 });
    near(summary.lowered.area_m2, 12, { relative: 1e-12 });
    near(summary.lowered.volume_m3, -6, { relative: 1e-12 });
    near(summary.net_m3, -6, { relative: 1e-12 });
  });

  test('the level of detection comes from both errors and the shared one', () => {
    near(summary.level_of_detection_m, 1.959963984540054 * Math.sqrt(2 * 0.02 ** 2 + 0.03 ** 2), { relative: 1e-9 });
    near(summary.lowered.sigma_m3, Math.hypot(Math.sqrt(12 * 2 * 0.02 ** 2), 12 * 0.03), { relative: 1e-9 });
    near(summary.sigma_shared_m3, 80 * 0.03, { relative: 1e-9 });
  });

  test('stable nodes outside the dug area show no shift', () => {
    expect(summary.stable).toMatchObject({ nodes: 87, is_shifted: false });
    near(summary.stable?.median_m, 0, { absolute: 1e-12 });
  });

  test('the layer marks the nodes, the figure keeps what is inside white', () => {
    const significant = features?.columns.get('significant');
    const marks = Array.from({ length: features?.length ?? 0 }, (_, i) => significant && valueAt(significant, i));
    expect(marks.filter((m) => m === true)).toHaveLength(12);
    const svg = svgText(figure);
    expect(svg).not.toMatch(/NaN|undefined|Infinity/);
    expect(svg).toContain('level of detection');
    expect(svg).toContain('#ffffff');
    expect(methods).toContain('Wheaton');
  });

  test('the other way round it is a rise', () => {
    const back = run(site([...levels('S1', () => 0), ...levels('S2', pit)]), {
      from_season: 'S2',
      to_season: 'S1',
    }).summary;
    near(back.raised.volume_m3, 6, { relative: 1e-12 });
    near(back.net_m3, -summary.net_m3, { relative: 1e-12 });
  });
});

describe('a shift of datum', () => {
  const shifted = site([...levels('S1', () => 0), ...levels('S2', () => 0.2)]);

  test('is seen at the stable nodes, said, and taken off on request', () => {
    const { summary, cautions } = run(shifted);
    expect(summary.stable).toMatchObject({ is_shifted: true });
    near(summary.stable?.median_m, 0.2, { absolute: 1e-12 });
    expect(summary.significant_nodes).toBe(99);
    expect(cautions.join(' ')).toContain('stable_shift = remove');
    const without = run(shifted, { stable_shift: 'remove' }).summary;
    near(without.removed_shift_m, 0.2, { absolute: 1e-12 });
    expect(without.significant_nodes).toBe(0);
  });

  test('cannot be told where no node is stable', () => {
    const all = { ...shifted, dug: [dugArea(box(-1, -1, 20, 20))] };
    expect(run(all).summary.stable).toBeNull();
    expect(run(all).cautions.join(' ')).toContain('cannot be told');
    expect(run({ ...shifted, dug: [] }).summary.stable).toBeNull();
  });
});

test('without change about five in a hundred nodes stand out, and the sum stays inside its error', () => {
  let [beyond, within] = [0, 0];
  for (let k = 0; k < 60; k++) {
    const random = randomStream(9, k);
    const noise = () => {
      const u = Math.sqrt(-2 * Math.log(1 - random.next()));
      return 0.02 * u * Math.cos(2 * Math.PI * random.next());
    };
    const { summary } = run(site([...levels('S1', noise), ...levels('S2', noise)]), { sigma_shared_m: 0 });
    beyond += summary.significant_nodes / 99 / 60;
    within += Math.abs(summary.net_m3) < 1.96 * summary.sigma_random_m3 ? 1 : 0;
  }
  near(beyond, 0.05, { absolute: 0.012 });
  expect(within).toBeGreaterThanOrEqual(53);
});

test('a re-laid grid is compared by reading the later surface between its nodes', () => {
  const turn = 0.02;
  const relaid = levels('S2', () => 0).map((row) => {
    const x = 0.13 + row.x * Math.cos(turn) - row.y * Math.sin(turn);
    const y = -0.08 + row.x * Math.sin(turn) + row.y * Math.cos(turn);
    return { ...row, x, y, elevation: ground(x, y) + 0.3 };
  });
  const { summary } = run(site([...levels('S1', () => 0), ...relaid]));
  expect(summary.read_between).toBe(summary.n);
  expect(summary.n).toBeGreaterThan(60);
  near(summary.mean_difference_m, 0.3, { absolute: 1e-9 });
});

test('of several pairs of seasons the one with most common nodes is taken, and said', () => {
  const few = levels('S3', () => 0).filter((row) => row.x < 3);
  const sample = site([...levels('S1', () => 0), ...levels('S2', () => 0), ...few], { seasons: ['S1', 'S2', 'S3'] });
  const { summary, cautions } = run(sample);
  expect([summary.from_season, summary.to_season]).toEqual(['S1', 'S2']);
  expect(cautions.join(' ')).toContain('share most nodes');
  expect(run(sample, { to_season: 'S3' }).summary.from_season).toBe('S2');
});

test('states of one season can be compared', () => {
  const sample = site([
    ...levels('S1', () => 0, { state: 'undisturbed' }),
    ...levels('S1', () => -0.4, { state: 'after_dig' }),
  ]);
  const asked = { from_season: 'S1', to_season: 'S1', from_state: 'undisturbed', to_state: 'after_dig' };
  near(run(sample, asked).summary.mean_difference_m, -0.4, { absolute: 1e-12 });
});

test('the deviate of a confidence is the normal quantile', () => {
  near(normalDeviate(0.95), 1.959963984540054, { absolute: 1e-12 });
  near(normalDeviate(0.99), 2.5758293035489004, { absolute: 1e-12 });
});

test('refusals say what is missing', () => {
  const both = [...levels('S1', () => 0), ...levels('S2', () => 0)];
  expect(refusal(sampleOf([], nowhere)).message).toContain('no levels');
  expect(refusal(site(levels('S1', () => 0))).message).toContain('one season only (S1)');
  expect(refusal(site(both), { from_season: 'S1', to_season: 'S1' }).code).toBe('bad-parameter');
  expect(refusal(site(both), { from_season: 'S1', to_season: 'S7' }).message).toContain('levelled in S1, S2');
  expect(refusal(site(both), { surface: 'hard_substrate' }).message).toContain('deposit_top');
  const apart = levels('S2', () => 0).map((row) => ({ ...row, x: row.x + 40 }));
  expect(refusal(site([...levels('S1', () => 0), ...apart])).message).toMatch(/share 0 nodes; at least 4/);
  const datums = [...levels('S1', () => 0, { datum: 'CP1' }), ...levels('S2', () => 0, { datum: 'mean sea level' })];
  expect(refusal(site(datums)).message).toContain('different vertical datums');
});
