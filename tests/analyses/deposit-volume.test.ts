import { describe, expect, test } from 'vitest';
import type { RunControl, WorkedExample } from '../../src/analyses/contract.js';
import depositVolume from '../../src/analyses/deposit-volume/index.js';
import { keelProfile } from '../../src/analyses/deposit-volume/keel-profile.js';
import type { Bathymetry } from '../../src/domain/bathymetry.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { DugArea, Sample } from '../../src/domain/sample.js';
import { svgText } from '../../src/figures/svg.js';
import { orientRings, regionArea } from '../../src/math/rings.js';
import { Problem } from '../../src/problems.js';
import { bathymetryOf } from '../support/flat-bathymetry.js';
import { type LevelRow, nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { near } from '../support/near.js';
import { sampleOf } from '../support/sample-of.js';
import { box, smallSite } from '../support/small-site.js';

const control: RunControl = { seed: 1, simulations: 99, draws: 1, progress: () => {} };
const region = (...rings: number[][]) => orientRings(rings.map((ring) => [Float64Array.from(ring)]));
const nowhere = { rings: [] };

function run(sample: Sample, asked: Record<string, unknown> = {}) {
  const answer = depositVolume.run(sample, depositVolume.parameters.parse(asked), control);
  depositVolume.result.parse(answer.summary);
  return answer;
}

const plain = (rows: readonly LevelRow[]) => sampleOf([], nowhere, { levels: readingsOf(rows), dug: [] });

/** top and bottom over a grid of nodes, 10 × 10 squares unless said otherwise */
function pair(thickness: (x: number, y: number) => number, more: Partial<Parameters<typeof nodeLevels>[0]> = {}) {
  const bottom = (x: number, y: number) => -14 + 0.05 * x - 0.02 * y;
  const shape = { columns: 11, rows: 11, ...more };
  return [
    ...nodeLevels({ ...shape, surface: 'deposit_bottom', field: bottom }),
    ...nodeLevels({ ...shape, surface: 'deposit_top', field: (x, y) => bottom(x, y) + thickness(x, y) }),
  ];
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

describe.each(depositVolume.worked.map((w, k) => [`${k + 1}`, w] as const))(
  'worked example %s',
  (_, w: WorkedExample) => {
    test('gives the numbers another program gave', () => {
      const { summary } = run(plain(w.levels ?? []), w.parameters);
      for (const [path, value] of Object.entries(w.expected)) {
        const found = path.split('.').reduce<unknown>((at, key) => (at as Record<string, unknown>)[key], summary);
        near(found as number, value, { relative: w.tolerance });
      }
    });
  },
);

describe('plain level files', () => {
  test('ten by ten squares: 30 mm a level make 0.40 m³, a common shift of 30 mm makes 3.0 m³', () => {
    const { summary } = run(plain(pair(() => 0.3)));
    expect(summary).toMatchObject({ n: 121, squares: 100, squares_without: 0, prisms_m3: null, by_season: [] });
    near(summary.volume_m3, 30, { relative: 1e-12 });
    near(summary.thickness_sigma_m, Math.sqrt(0.03 ** 2 + 0.03 ** 2), { relative: 1e-12 });
    near(summary.sigma_random_m3, 0.4, { absolute: 0.005 });
    near(summary.sigma_shared_m3, 3, { relative: 1e-12 });
    near(summary.sigma_m3, Math.hypot(summary.sigma_random_m3, 3), { relative: 1e-12 });
    near(summary.interval95_m3.high - summary.volume_m3, 1.959963984540054 * summary.sigma_m3, { relative: 1e-9 });
    const cancelled = run(plain(pair(() => 0.3)), { shared_error: 'cancels' }).summary;
    expect(cancelled.sigma_shared_m3).toBe(0);
    expect(cancelled.sigma_m3).toBe(cancelled.sigma_random_m3);
  });

  test('stated errors count, a given one replaces them, and several readings of a node share the error', () => {
    const stated = run(plain(pair(() => 0.3, { sigma: 0.01 }))).summary;
    near(stated.sigma_random_m3, summaryOfSigma(0.01), { relative: 1e-9 });
    near(
      run(plain(pair(() => 0.3, { sigma: 0.01 })), { sigma_random_m: 0.05 }).summary.sigma_random_m3,
      summaryOfSigma(0.05),
      {
        relative: 1e-9,
      },
    );
    const twice = run(plain([...pair(() => 0.3, { sigma: 0.01 }), ...pair(() => 0.3, { sigma: 0.01 })]));
    near(twice.summary.sigma_random_m3, summaryOfSigma(0.01) / Math.SQRT2, { relative: 1e-9 });
    expect(twice.cautions.join(' ')).toContain('121 nodes were levelled more than once');
  });
  const summaryOfSigma = (sigma: number) => sigma * Math.SQRT2 * Math.sqrt(81 + 36 / 4 + 4 / 16);

  test('a grid far from zero, half-metre steps and the names top and bottom', () => {
    const rows = pair((x, y) => 0.2 + 0.01 * x * y, { stepM: 0.5, at: [412037, 4984118] }).map((row) => ({
      ...row,
      surface: row.surface.replace('deposit_', ''),
    }));
    const { summary, features, coverage } = run(plain(rows));
    near(summary.cell_area_m2, 0.25, { relative: 1e-9 });
    // ∫ 0.2 + 0.01 x y over 5 × 5 m
    near(summary.volume_m3, 5 + 0.01 * 12.5 ** 2, { relative: 1e-9 });
    const geometry = features?.geometry;
    expect(geometry?.type === 'area' && Math.min(...geometry.coordinates)).toBeGreaterThan(412036);
    near(coverage?.corner[0], 412037, { absolute: 0.2 });
    const known = [...(coverage?.values ?? [])].filter((v) => !Number.isNaN(v));
    near(known.reduce((a, b) => a + b, 0) / known.length, summary.volume_m3 / 25, { relative: 2e-3 });
  });

  test('top and bottom swapped turn every sign', () => {
    const rows = pair((x, y) => 0.4 - 0.07 * x + 0.02 * y);
    const [here, there] = [
      run(plain(rows)).summary,
      run(plain(rows), { top: 'deposit_bottom', bottom: 'deposit_top' }).summary,
    ];
    near(there.volume_m3, -here.volume_m3, { relative: 1e-12 });
    near(there.positive_m3, -here.negative_m3, { relative: 1e-12 });
    near(there.negative_m3, -here.positive_m3, { relative: 1e-12 });
    expect(there.sigma_m3).toBe(here.sigma_m3);
  });

  test('a missing node takes its four squares, and nothing is filled in', () => {
    const { summary, features, cautions } = run(plain(pair((x, y) => (x === 4 && y === 6 ? Number.NaN : 0.3))));
    expect(summary).toMatchObject({ squares: 96, squares_without: 4, unmeasured_m2: 4 });
    near(summary.volume_m3, 28.8, { relative: 1e-12 });
    near(summary.whole_estimate?.volume_m3, 30, { relative: 1e-12 });
    expect(cautions.join(' ')).toContain('nothing is filled in');
    const thickness = features?.columns.get('thickness_m');
    const unknown = Array.from({ length: features?.length ?? 0 }, (_, i) => thickness && valueAt(thickness, i)).filter(
      (v) => v === null,
    );
    expect(unknown).toHaveLength(4);
  });

  test('isopachs of a wedge: areas in proportion, from exact integration', () => {
    const { summary, table } = run(plain(pair((x) => 0.1 * x)), { isopach_interval_m: 0.25 });
    expect(summary.isopachs.map((i) => i.level_m)).toEqual([0, 0.25, 0.5, 0.75, 1]);
    summary.isopachs.forEach(({ level_m, area_m2 }) => {
      near(area_m2, 100 - 100 * level_m, { absolute: 1e-9 });
    });
    expect(table.rows.filter(([group]) => group === 'isopach')).toHaveLength(5);
  });
});

describe('a site', () => {
  const grid = smallSite().grids[0];
  const area = (season: string, ring: number[], more: Partial<DugArea> = {}): DugArea => ({
    season,
    progress: 'to_deposit_bottom',
    region: region(ring),
    areaM2: regionArea(region(ring)),
    dugFraction: 1,
    meshMm: null,
    tool: null,
    ...more,
  });
  const levels = [
    ...pair((x) => 0.1 + 0.02 * x, { columns: 6, rows: 9, season: 'S1', sigma: 0.02 }),
    ...pair((x) => 0.1 + 0.02 * x, { columns: 11, rows: 9, season: 'S2', sigma: 0.02 }),
  ];
  const dug = [
    area('S1', box(0, 0, 4, 8)),
    area('S2', box(4, 0, 9, 4)),
    area('S2', box(4, 4, 6, 6), { progress: 'part_dug', dugFraction: 0.5 }),
  ];
  const window = region(box(0, 0, 4, 8), box(4, 0, 9, 4), box(4, 4, 6, 6));
  const site = (more: Partial<Sample> = {}) =>
    sampleOf([], window, { grid, seasons: ['S1', 'S2'], levels: readingsOf(levels), dug, windowAreaM2: 56, ...more });
  const strip = (from: number, to: number, height: number) =>
    height * (0.1 * (to - from) + 0.01 * (to ** 2 - from ** 2));

  test('only the dug area counts; seasons and squares add up to the total', () => {
    const { summary, features } = run(site());
    near(summary.volume_m3, strip(0, 4, 8) + strip(4, 9, 4) + strip(4, 6, 2), { relative: 1e-12 });
    expect(summary).toMatchObject({ area_m2: 56, unmeasured_m2: 0, whole_estimate: null });
    near(
      summary.by_season.reduce((sum, s) => sum + s.volume_m3, 0),
      summary.volume_m3,
      { relative: 1e-12 },
    );
    near(
      summary.by_progress.reduce((sum, s) => sum + s.volume_m3, 0),
      summary.volume_m3,
      { relative: 1e-12 },
    );
    const volume = features?.columns.get('volume_m3');
    const squares = Array.from({ length: features?.length ?? 0 }, (_, i) => (volume ? Number(valueAt(volume, i)) : 0));
    expect(squares).toHaveLength(56);
    near(
      squares.reduce((a, b) => a + b, 0),
      summary.volume_m3,
      { relative: 1e-12 },
    );
  });

  test('dug, half dug and left', () => {
    const { summary } = run(site());
    near(summary.left_m3, strip(4, 6, 2) / 2, { relative: 1e-9 });
    near(summary.dug_m2, 54, { relative: 1e-12 });
    near(summary.dug_m3, summary.volume_m3 - summary.left_m3, { relative: 1e-12 });
    const s2 = summary.by_season.find((s) => s.name === 'S2');
    near(s2?.dug_m3, strip(4, 9, 4) + strip(4, 6, 2) / 2, { relative: 1e-9 });
    near(s2?.dug_m2, 22, { relative: 1e-12 });
  });

  test('ground dug twice counts once in the total, in both seasons by themselves', () => {
    const twice = [area('S1', box(0, 0, 4, 8)), area('S2', box(2, 0, 9, 4))];
    const { summary } = run(site({ dug: twice, window: region(box(0, 0, 4, 4), box(4, 0, 9, 4), box(0, 4, 4, 8)) }));
    near(summary.volume_m3, strip(0, 4, 8) + strip(4, 9, 4), { relative: 1e-9 });
    near(summary.by_season.reduce((sum, s) => sum + s.volume_m3, 0) - summary.volume_m3, strip(2, 4, 4), {
      relative: 1e-9,
    });
  });

  test('a limit of excavation shows what lies below it', () => {
    const limit = nodeLevels({
      columns: 7,
      rows: 7,
      surface: 'excavation_limit',
      season: 'S2',
      field: (x, y) => -14 + 0.05 * x - 0.02 * y + 0.04,
    });
    const { summary } = run(site({ levels: readingsOf([...levels, ...limit]) }));
    near(summary.by_season.find((s) => s.name === 'S2')?.below_limit_m3, 0.16, { relative: 1e-9 });
    expect(summary.by_season.find((s) => s.name === 'S1')?.below_limit_m3).toBeNull();
  });

  test('a season on a re-laid grid is measured on its own nodes', () => {
    const turn = 0.01;
    const relaid = pair((x) => 0.1 + 0.02 * x, { columns: 13, rows: 11, season: 'S2' }).map((row) => {
      const [x, y] = [row.x - 1, row.y - 1];
      const at = [0.12 + x * Math.cos(turn) - y * Math.sin(turn), -0.07 + x * Math.sin(turn) + y * Math.cos(turn)];
      const bottom = -14 + 0.05 * at[0] - 0.02 * at[1];
      return {
        ...row,
        x: at[0],
        y: at[1],
        elevation: bottom + (row.surface === 'deposit_top' ? 0.1 + 0.02 * at[0] : 0),
      };
    });
    const first = pair((x) => 0.1 + 0.02 * x, { columns: 5, rows: 9, season: 'S1' });
    const { summary, cautions } = run(site({ levels: readingsOf([...first, ...relaid]) }));
    near(summary.volume_m3, strip(0, 4, 8) + strip(4, 9, 4) + strip(4, 6, 2), { relative: 1e-9 });
    near(summary.unmeasured_m2, 0, { absolute: 1e-9 });
    expect(cautions.join(' ')).toContain('2 grids of nodes');
  });

  test('zones of the ship, and thickness beside the keel with a band that holds the mean', () => {
    const { summary } = run(
      site({
        zones: [{ name: 'hold', kind: null, region: region(box(1, 1, 3, 3)) }],
        shipAxis: { after: [0, 4], bow: [9, 4], bowEnd: 'resolved' },
      }),
      { keel_bin_m: 1, keel_block_m: 1.5 },
    );
    near(summary.by_zone[0].volume_m3, strip(1, 3, 2), { relative: 1e-9 });
    expect(summary.keel?.strips).toHaveLength(9);
    for (const strip of summary.keel?.strips ?? []) {
      expect(strip.low_m).toBeLessThanOrEqual(strip.mean_m as number);
      expect(strip.high_m).toBeGreaterThanOrEqual(strip.mean_m as number);
    }
  });

  test('figure, methods and cautions are whole, and nothing lent is changed', () => {
    const sample = site();
    const before = JSON.stringify(sample, (_, v) => (ArrayBuffer.isView(v) ? [...(v as Float64Array)] : v));
    const { figure, methods, cautions } = run(sample);
    expect(svgText(figure)).not.toMatch(/NaN|undefined|Infinity/);
    expect(methods).toContain('56 m²');
    expect(cautions.join(' ')).toContain('shared error');
    expect(JSON.stringify(sample, (_, v) => (ArrayBuffer.isView(v) ? [...(v as Float64Array)] : v))).toBe(before);
  });
});

test('port is the positive side of the keel, nodes beyond its ends are left out', () => {
  const profile = keelProfile(
    { xy: Float64Array.of(1, 2, 1, -2, 12, 0, -1, 0), thickness: Float64Array.of(0.5, 0.1, 9, 9) },
    { after: [0, 0], bow: [10, 0] },
    { binM: 1, blockM: 3, count: 0, seed: 1, progress: () => {} },
  );
  expect(profile?.n).toBe(2);
  expect(profile?.strips[0]).toMatchObject({ fromM: -2, mean: 0.1 });
  expect(profile?.strips[4]).toMatchObject({ fromM: 2, mean: 0.5 });
});

describe('refusals say what is missing', () => {
  test('no levels, one surface only, equal surfaces, scattered readings, too many isopachs', () => {
    expect(refusal(sampleOf([], nowhere)).message).toContain('--levels');
    expect(
      refusal(plain(nodeLevels({ columns: 3, rows: 3, surface: 'deposit_top', field: () => 1 }))).message,
    ).toContain('no levels of deposit_bottom');
    expect(refusal(plain(pair(() => 1)), { top: 'deposit_bottom' }).code).toBe('bad-parameter');
    const scattered = pair(() => 1, { columns: 4, rows: 4 }).map((row) => ({
      ...row,
      x: row.x + 0.41 * Math.sin(7.3 * row.x + 3.1 * row.y),
      y: row.y + 0.37 * Math.sin(2.7 * row.x - 5.9 * row.y),
    }));
    expect(refusal(plain(scattered)).message).toContain('no grid of nodes');
    expect(refusal(plain(pair((x) => x)), { isopach_interval_m: 0.001 }).message).toContain('wider interval');
  });
});

describe('beside a bathymetry', () => {
  const mound = (x: number, y: number) => 0.05 + 0.9 * Math.exp(-((x - 5) ** 2 + (y - 5) ** 2) / 4);
  const slope = (x: number, y: number) => -14 + 0.1 * x + 0.05 * y;
  const beside = (field: (x: number, y: number) => number, more: Partial<Bathymetry> = {}) =>
    sampleOf([], nowhere, { levels: readingsOf(pair(mound)), dug: [], bathymetry: bathymetryOf(field, more) });

  test('highs on the thick deposit agree with it, with both errors told and no volume changed', () => {
    const { summary, cautions, methods } = run(beside((x, y) => slope(x, y) + mound(x, y)));
    const found = summary.bathymetry;
    expect(found?.n).toBe(121);
    expect(found?.rank_correlation).toBeGreaterThan(0.85);
    expect(found?.highs).toBeGreaterThan(5);
    expect(found?.mean_thickness_on_highs_m).toBeGreaterThan(0.4);
    expect(found?.mean_thickness_elsewhere_m).toBeLessThan(0.2);
    near(found?.survey_sigma_m, 0.1, { relative: 1e-12 });
    near(found?.thickness_sigma_m, Math.hypot(0.03, 0.03), { relative: 1e-12 });
    expect(summary.volume_m3).toBe(run(plain(pair(mound))).summary.volume_m3);
    expect(cautions.join(' ')).toMatch(/σ of the bathymetry 0\.10 m, of the thickness 0\.042 m/);
    expect(methods).toContain('rank correlation');
  });

  test('the slope of the seabed is no high, and a seabed flatter than its error says nothing', () => {
    const { summary, cautions } = run(beside(slope));
    expect(summary.bathymetry).toMatchObject({ highs: 0, mean_thickness_on_highs_m: null });
    near(summary.bathymetry?.relief_sd_m, 0, { absolute: 1e-9 });
    expect(cautions.join(' ')).toMatch(/no more than its own error/);
  });

  test('a datum that is not tied does not hinder a comparison by rank; off its cells there is none', () => {
    expect(run(beside((x, y) => slope(x, y) + mound(x, y), { tie: null })).summary.bathymetry?.n).toBe(121);
    expect(run(beside(() => Number.NaN)).summary.bathymetry).toBeNull();
    expect(run(plain(pair(mound))).summary.bathymetry).toBeNull();
  });
});
