import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import densityRatio from '../../src/analyses/density-ratio/index.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { DugArea } from '../../src/domain/sample.js';
import { svgText } from '../../src/figures/svg.js';
import { contains, orientRings, regionArea } from '../../src/math/rings.js';
import { rectangle } from '../support/kernel-reference.js';
import { near } from '../support/near.js';
import { cellsWhereNumber } from '../support/raster-cells.js';
import {
  glass,
  glassDig,
  jars,
  nails,
  namedFinds,
  ratioControl,
  ratioWindow,
  runRatio,
} from '../support/ratio-samples.js';
import { sampleOf } from '../support/sample-of.js';

const reference = JSON.parse(
  readFileSync(join(import.meta.dirname, '../reference/density_ratio_site_a.json'), 'utf8'),
) as {
  parameters: Record<'early' | 'late', [number, number, number, number]>;
  input: { window: { outer: number[][]; holes: number[][][] }; points: [number, number][]; marks: string[] };
  expected: Record<string, number[]> & { places: [number, number][]; shared_places: [number, number][] };
  spatstat: { amphora_to_all_at_amphora: number[] };
};
const siteWindow = orientRings([
  [reference.input.window.outer, ...reference.input.window.holes].map((ring) => Float64Array.from(ring.flat())),
]);
const site = namedFinds(
  reference.input.points.map((p, i) => [reference.input.marks[i], p] as const),
  siteWindow,
);

describe('against other programs', () => {
  const ask = { bandwidth: 0.83, floor_finds: 0.01 };

  test('a class against all finds, and against another class', () => {
    const { places: at } = reference.expected;
    const all = runRatio(site, { ...ask, numerator: 'amphora', at }, 0).summary;
    reference.expected.amphora_to_all.forEach((v, k) => {
      near(all.at[k], v, { relative: 1e-9 });
    });
    const two = runRatio(site, { ...ask, numerator: 'amphora', denominator: 'ballast', at }, 0).summary;
    // hardly a find of the denominator in effect at the first place: no value
    expect(two.at[0]).toBeNull();
    reference.expected.amphora_to_ballast.slice(1).forEach((v, k) => {
      near(two.at[k + 1], v, { relative: 1e-9 });
    });
  });

  test('densities of spatstat at the finds give the same ratio', () => {
    const at = reference.input.points.filter((_, i) => reference.input.marks[i] === 'amphora');
    const { summary } = runRatio(site, { ...ask, numerator: 'amphora', at }, 0);
    reference.spatstat.amphora_to_all_at_amphora.forEach((v, k) => {
      near(summary.at[k], v, { absolute: 1e-12 });
    });
  });

  test('unequal ground: a season in the east against one in the west', () => {
    const dugBy = (season: string, box: [number, number, number, number]): DugArea => ({
      season,
      progress: 'to_deposit_bottom',
      region: rectangle(box),
      areaM2: regionArea(rectangle(box)),
      dugFraction: 1,
      meshMm: null,
      tool: null,
    });
    const { early, late } = reference.parameters;
    const inside = (i: number) =>
      contains(rectangle(reference.input.marks[i] === 'amphora' ? late : early), ...reference.input.points[i], 0);
    const chosen = reference.input.marks.flatMap((mark, i) => (mark !== 'fastener' && inside(i) ? [i] : []));
    const whole = rectangle([0, 0, 12, 5]);
    const sample = sampleOf(
      chosen.map((i) => reference.input.points[i]),
      whole,
      {
        seasons: ['early', 'late'],
        seasonCode: Uint32Array.from(chosen, (i) => (reference.input.marks[i] === 'ballast' ? 1 : 2)),
        dug: [dugBy('early', early), dugBy('late', late)],
      },
    );
    const { summary } = runRatio(sample, { ...ask, by: 'season', at: reference.expected.shared_places }, 0);
    expect([summary.numerator, summary.denominator]).toEqual(['late', 'early']);
    near(summary.shared_area_m2, 15, { relative: 1e-12 });
    reference.expected.late_amphora_to_early_ballast.forEach((v, k) => {
      near(summary.at[k], v, { absolute: 1e-9 });
    });
  });
});

describe('a class in a corner', () => {
  const { summary, table, features, coverage, methods, cautions, figure } = runRatio(
    glassDig,
    { numerator: 'glass' },
    199,
  );

  test('is found where it lies, with a test of the whole surface', () => {
    expect(summary.global?.p).toBe(0.005);
    expect(Math.hypot((summary.highest?.place_x_m ?? 0) - 7.8, (summary.highest?.place_y_m ?? 0) - 3.8)).toBeLessThan(
      1.2,
    );
    expect(summary.highest?.ratio).toBeGreaterThan(2);
    expect(summary.highest?.ratio).toBeGreaterThan(summary.highest?.dealt_high ?? Infinity);
    expect(summary.lowest?.ratio).toBeLessThan(0.1);
    expect(summary.reading).toMatch(
      /^glass and all finds do not lie alike: .* p = 0.005 for the whole surface; 40 finds of glass and 190 of all finds/,
    );
    expect(summary.tests_made).toBe(1);
  });

  test('tolerance areas: one that is thicker, around it, with its size and its finds', () => {
    const column = (name: string) => table.columns.findIndex((c) => c.name === name);
    const [first] = table.rows;
    expect(first[column('side')]).toBe('thicker than chance');
    expect(first[column('finds_numerator')]).toBe(40);
    expect(first[column('p_pointwise')]).toBe(0.005);
    const higher = table.rows.filter((row) => row[column('side')] === 'thicker than chance');
    const sum = higher.reduce((total, row) => total + Number(row[column('area_m2')]), 0);
    near(summary.pointwise?.higher_area_m2, sum, { relative: 1e-12 });
    expect(summary.pointwise).toMatchObject({ level: 0.025, higher_areas: higher.length });
    expect(features?.length).toBe(table.rows.length);
    const layer = features ?? expect.fail('no layer');
    const geometry = layer.geometry?.type === 'area' ? layer.geometry : expect.fail('no areas');
    const ring = geometry.coordinates.slice(0, 2 * geometry.partStart[1]);
    expect(contains({ rings: [ring] }, 7.8, 3.8, 0)).toBe(true);
    expect(valueAt(layer.columns.get('finds_numerator') ?? expect.fail(''), 0)).toBe(40);
    expect(summary.pointwise?.expected_area_m2).toBeLessThanOrEqual(0.05 * 60 + 1e-9);
  });

  test('the surface is the log ratio at its cells, and the words name rule, floor, dealings and seed', () => {
    const cells = cellsWhereNumber(coverage);
    const probe = cells.filter((_, k) => k % 997 === 0).map(({ x, y, value }) => ({ at: [x, y], value }));
    const at = runRatio(glassDig, { numerator: 'glass', at: probe.map((p) => p.at) }, 0).summary.at;
    probe.forEach(({ value }, k) => {
      near(value, at[k] ?? Number.NaN, { absolute: 1e-5 });
    });
    expect(coverage).toMatchObject({ title: 'Log ratio of densities', unit: '1' });
    expect(methods).toMatch(/Scott's rule on all finds pooled/);
    expect(methods).toMatch(/60 m²/);
    expect(methods).toMatch(/199 times .* Seed 3, generator/);
    expect(methods).toMatch(/rank p 0.025 on either side hold for one place chosen beforehand: pointwise/);
    expect(cautions.join(' ')).toMatch(/pointwise: names dealt at random would mark about 2\.\d+ m²/);
    expect(svgText(figure)).toMatch(/thicker than chance, pointwise p 0.025/);
  });

  test('the bandwidth is that of the pool, with the geometric mean of both numbers', () => {
    const all = [...jars, ...nails, ...glass];
    const sd = (axis: number) => {
      const mean = all.reduce((s, p) => s + p[axis], 0) / all.length;
      return Math.sqrt(all.reduce((s, p) => s + (p[axis] - mean) ** 2, 0) / (all.length - 1));
    };
    near(summary.bandwidth_m, Math.sqrt(sd(0) * sd(1)) * (40 * 190) ** (-1 / 12), { relative: 1e-9 });
    near(runRatio(glassDig, { numerator: 'glass', bandwidth: 0.7 }, 0).summary.bandwidth_m, 0.7, { relative: 1e-15 });
    for (const bandwidth of ['lcv', 'lscv']) {
      const chosen = runRatio(glassDig, { numerator: 'glass', bandwidth }, 0).summary;
      expect(chosen.bandwidth_rule).toBe(bandwidth);
      expect(chosen.bandwidth_m).toBe(runRatio(glassDig, { numerator: 'jar', bandwidth }, 0).summary.bandwidth_m);
    }
  });
});

describe('laws', () => {
  test('turning numerator and denominator over turns the sign and keeps p', () => {
    const at = [
      [2, 2],
      [7.5, 3.5],
      [9, 1],
    ];
    const one = runRatio(glassDig, { numerator: 'glass', denominator: 'nail', bandwidth: 0.9, at }).summary;
    const other = runRatio(glassDig, {
      numerator: 'nail',
      denominator: 'glass',
      bandwidth: 0.9,
      at,
      floor_finds: 0.01,
    }).summary;
    one.at.forEach((v, k) => {
      if (v !== null && other.at[k] !== null) near(other.at[k], -v, { absolute: 1e-9 });
    });
    near(other.overall_ratio, 1 / one.overall_ratio, { relative: 1e-12 });
    const all = runRatio(glassDig, { numerator: 'glass', bandwidth: 0.9, at }).summary;
    const over = runRatio(glassDig, { denominator: 'glass', bandwidth: 0.9, at, floor_finds: 0.01 }).summary;
    expect([over.numerator, over.denominator]).toEqual(['all finds', 'glass']);
    near(over.at[1], -(all.at[1] ?? Number.NaN), { absolute: 1e-9 });
    // with all ground above the floor on either way round
    const p = (numerator: string, denominator: string) =>
      runRatio(glassDig, { numerator, denominator, bandwidth: 0.9, floor_finds: 0.01 }).summary.global?.p;
    expect(p('jar', 'nail')).toBe(p('nail', 'jar'));
  });

  test('two classes at the same places are equal everywhere', () => {
    const twins = namedFinds(
      [...jars.map((p) => ['a', p] as const), ...jars.map((p) => ['b', p] as const)],
      ratioWindow,
    );
    const { summary, coverage, table } = runRatio(twins, { numerator: 'a', denominator: 'b' });
    near(summary.root_mean_square_log_ratio, 0, { absolute: 1e-9 });
    expect(summary.global?.p).toBe(1);
    for (const { value } of cellsWhereNumber(coverage)) near(value, 0, { absolute: 1e-7 });
    expect(table.rows).toEqual([]);
    expect(summary.reading).toMatch(/^No difference was seen/);
  });

  test('weights count: three jars of one weigh as one of three', () => {
    const third = jars.map((p) => ['jar', p] as const);
    const rest = nails.map((p) => ['nail', p] as const);
    const at = [[3, 3]];
    const ask = { numerator: 'jar', denominator: 'nail', bandwidth: 1, at };
    const repeated = namedFinds([...third, ...third, ...third, ...rest], ratioWindow);
    const heavy = namedFinds([...third, ...rest], ratioWindow);
    const weight = Float64Array.from(heavy.classCode, (code) => (code === 1 ? 3 : 1));
    near(runRatio({ ...heavy, weight }, ask, 0).summary.at[0], runRatio(repeated, ask, 0).summary.at[0] ?? Number.NaN, {
      absolute: 1e-9,
    });
  });

  test('the same seed gives the same bytes, another seed another p', () => {
    const one = runRatio(glassDig, { numerator: 'jar' });
    expect(JSON.stringify(runRatio(glassDig, { numerator: 'jar' }))).toBe(JSON.stringify(one));
    const other = densityRatio.run(glassDig, densityRatio.parameters.parse({ numerator: 'jar' }), {
      ...ratioControl(99),
      seed: 4,
    });
    expect(other.summary.global?.p).not.toBe(one.summary.global?.p);
    expect(other.summary.global?.statistic_m2).toBe(one.summary.global?.statistic_m2);
  });

  test('turning the map under the site leaves the answer', () => {
    const turned = runRatio({ ...glassDig, mapAzimuthDeg: 27 }, { numerator: 'glass' });
    const north = runRatio(glassDig, { numerator: 'glass' });
    expect({ ...turned.summary, cell_m: 0 }).toEqual({ ...north.summary, cell_m: 0 });
    expect(turned.table).toEqual(north.table);
  });
});

describe('guards', () => {
  test('no value where the denominator is too thin', () => {
    const west = jars.filter(([x]) => x < 4);
    const sample = namedFinds(
      [...nails.map((p) => ['nail', p] as const), ...west.map((p) => ['jar', p] as const)],
      ratioWindow,
    );
    const { summary, coverage, cautions } = runRatio(sample, { numerator: 'nail', denominator: 'jar', bandwidth: 0.6 });
    expect(summary.masked_area_m2).toBeGreaterThan(20);
    const cells = cellsWhereNumber(coverage);
    expect(cells.every(({ x }) => x < 7)).toBe(true);
    near(cells.length * summary.cell_m ** 2, 60 - summary.masked_area_m2, { relative: 0.05 });
    near(summary.floor_per_m2, 1 / (4 * Math.PI * 0.36), { relative: 1e-12 });
    expect(cautions.join(' ')).toMatch(/have no value: the denominator \(jar\) is too thin/);
    // a small class against many: one of its finds must be expected
    const few = namedFinds(
      [...nails.map((p) => ['nail', p] as const), ...west.slice(0, 5).map((p) => ['jar', p] as const)],
      ratioWindow,
    );
    const asked = runRatio(few, { numerator: 'jar', denominator: 'nail', bandwidth: 0.6 }, 0).summary;
    near(asked.floor_per_m2, 90 / 5 / (4 * Math.PI * 0.36), { relative: 1e-9 });
  });

  test('a floor above all: cannot tell', () => {
    const { summary, features, coverage } = runRatio(glassDig, { numerator: 'jar', floor_finds: 900 });
    expect(summary).toMatchObject({ highest: null, lowest: null, global: null, root_mean_square_log_ratio: null });
    expect(summary.reading).toMatch(/^Cannot tell: nowhere/);
    expect([features?.length, cellsWhereNumber(coverage).length]).toEqual([0, 0]);
  });

  test('few finds and a quiet test: cannot tell', () => {
    const few = namedFinds(
      [...jars.slice(0, 6).map((p) => ['jar', p] as const), ...nails.map((p) => ['nail', p] as const)],
      ratioWindow,
    );
    const { summary, cautions } = runRatio(few, { numerator: 'jar' });
    expect(summary.global?.p).toBeGreaterThan(0.05);
    expect(summary.reading).toMatch(/^Cannot tell: with 6 finds on one side/);
    expect(cautions.join(' ')).toMatch(/Only 6 finds on one side/);
  });

  test('too few dealings draw no tolerance areas; none make no test', () => {
    const nineteen = runRatio(glassDig, { numerator: 'nail', denominator: 'jar' }, 19);
    expect(nineteen.summary.pointwise).toBeNull();
    expect(nineteen.cautions.join(' ')).toMatch(/at least 39 simulations; 19 were asked for/);
    expect(nineteen.summary.reading).toMatch(/^Cannot tell: with 19 simulations/);
    const none = runRatio(glassDig, { numerator: 'jar' }, 0).summary;
    expect([none.global, none.pointwise, none.tests_made]).toEqual([null, null, 0]);
    expect(none.reading).toMatch(/^No test was made without simulations/);
  });

  test.each([
    [
      { numerator: 'anchor' },
      'unknown-class',
      /class "anchor" is not among the finds chosen; there are: jar, nail, glass/,
    ],
    [{ numerator: 'jar', denominator: ['nail', 'jar'] }, 'bad-parameter', /"jar" stands on both sides/],
    [{ by: 'season' }, 'cannot-answer', /needs finds of two seasons/],
    [{ numerator: ['jar', 'nail', 'glass'] }, 'cannot-answer', /leave artefact_class out/],
    [{ numerator: 'jar', bandwidth: 0.02 }, 'too-much-work', /ask for a larger bandwidth/],
  ])('refuses %j', (asked, code, message) => {
    expect(() => runRatio(glassDig, asked)).toThrow(
      expect.objectContaining({ code, message: expect.stringMatching(message) }),
    );
  });

  test('none asked: the commonest class against all', () => {
    const { summary } = runRatio(glassDig, {}, 0);
    expect([summary.numerator, summary.denominator, summary.n]).toEqual(['nail', 'all finds', 190]);
  });
});
