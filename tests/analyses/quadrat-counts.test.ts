import { describe, expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import analysis from '../../src/analyses/quadrat-counts/index.js';
import type { Summary } from '../../src/analyses/quadrat-counts/schemas.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { Sample } from '../../src/domain/sample.js';
import { randomStream } from '../../src/math/random.js';
import { Problem } from '../../src/problems.js';
import { near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';
import { pointFind, smallSample } from '../support/small-samples.js';
import { box } from '../support/small-site.js';

const control = { seed: 3, simulations: 0, draws: 5, progress: () => {} };
const summaryOf = (sample: Sample, own: Record<string, unknown> = {}, simulations = 0): Summary =>
  analysis.run(sample, analysis.parameters.parse(own), { ...control, simulations }).summary;

const dug = { season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 4, 4) };
const rectangle = (width: number, height: number) =>
  windowOf([
    [
      [
        [0, 0],
        [width, 0],
        [width, height],
        [0, height],
      ],
    ],
  ]);

describe('on a site', () => {
  const sample = smallSample({
    areas: [dug],
    finds: [
      pointFind('1', 0.5, 0.5),
      // on the line between A1 and B1: the lower column by the rule of the site
      pointFind('2', 1, 0.5),
      // recorded in C3 although measured into D4
      pointFind('3', 3.5, 3.5, { square: 'C3' }),
      // states a square that was not dug
      pointFind('4', 2.5, 0.5, { square: 'H8' }),
      { find: '5', season: 'S1', artefact_class: 'nail', position_kind: 'square', square: 'B2' },
      { find: '6', season: 'S1', artefact_class: 'nail', position_kind: 'half_square', square: 'B2', part: 'N' },
      { find: '7', season: 'S1', artefact_class: 'nail', position_kind: 'spoil' },
    ],
  });

  test('the stated square counts, then the boundary rule; finds known by their square count in it', () => {
    const summary = summaryOf(sample);
    expect([summary.columns, summary.rows, summary.n, summary.total]).toEqual([4, 4, 6, 6]);
    // from the north: row 4, 3, 2, 1
    expect(summary.counts).toEqual([0, 0, 0, 0, 0, 0, 1, 0, 0, 2, 0, 0, 2, 0, 1, 0]);
    expect(summary.by_area).toMatchObject({ counted: 2, straddling: 0 });
    const { cautions } = analysis.run(sample, analysis.parameters.parse({}), control);
    expect(cautions.join(' ')).toContain('1 finds state a square without dug ground');
  });
  test('tiles of the layer carry their labels and add up to the table', () => {
    const { features, table } = analysis.run(sample, analysis.parameters.parse({}), control);
    const square = features?.columns.get('square');
    const count = features?.columns.get('count');
    const rows = Array.from({ length: features?.length ?? 0 }, (_, i) => [
      square && valueAt(square, i),
      count && valueAt(count, i),
    ]);
    expect(rows).toHaveLength(16);
    expect(rows).toContainEqual(['B2', 2]);
    expect(table.rows.map((row) => row.slice(0, 2))).toEqual(rows);
  });
  test('blocks start at the first square of the grid and carry both labels', () => {
    const blocks = analysis.run(sample, analysis.parameters.parse({ block_m: 2 }), control);
    expect(blocks.summary.counts).toEqual([0, 1, 4, 1]);
    expect(blocks.table.rows.map((row) => row[0])).toEqual(['A3–B4', 'C3–D4', 'A1–B2', 'C1–D2']);
  });
  test('a block of the curve is a block asked for', () => {
    const [single, double] = summaryOf(sample).block_sizes;
    near(single.chi2, summaryOf(sample).chi2 ?? Number.NaN, { relative: 1e-13 });
    near(double.chi2, summaryOf(sample, { block_m: 2 }).chi2 ?? Number.NaN, { relative: 1e-13 });
  });
  test('refuses blocks that are no whole squares, and columns', () => {
    expect(() => summaryOf(sample, { block_m: 1.5 })).toThrow(/no whole multiple of the 1 m squares of grid g1/);
    expect(() => summaryOf(sample, { columns: 4 })).toThrow(/use block_m/);
    expect(() => summaryOf(sample, { columns: 4 })).toThrow(Problem);
  });
  test('a half-dug square expects half the finds', () => {
    const half = smallSample({
      areas: [
        { ...dug, ring: box(0, 0, 1, 1) },
        { ...dug, ring: box(1, 0, 2, 1), progress: 'part_dug', dug_fraction: 0.5 },
      ],
      finds: [pointFind('1', 0.5, 0.5), pointFind('2', 0.2, 0.2), pointFind('3', 1.5, 0.5)],
    });
    expect(summaryOf(half)).toMatchObject({ areas_m2: [1, 1], exposure_m2: [1, 0.5], chi2: 0, equal_tiles: false });
  });
  test('moved by whole squares, every number stays, blocks of four by four included', () => {
    const finds = (x: number, y: number) =>
      [
        [0.4, 0.6],
        [0.5, 1.5],
        [1.5, 0.5],
        [1.2, 3.1],
        [3.9, 3.9],
      ].map(([a, b], i) => pointFind(`${i}`, a + x, b + y));
    const here = summaryOf(smallSample({ areas: [dug], finds: finds(0, 0) }), {}, 19);
    const there = summaryOf(smallSample({ areas: [{ ...dug, ring: box(4, 4, 8, 8) }], finds: finds(4, 4) }), {}, 19);
    expect(there).toEqual(here);
  });
});

describe('under chance and against it', () => {
  test('variance over mean of random scatters is near 1, and the simulated p is even', () => {
    const window = rectangle(8, 5);
    let ratio = 0;
    let small = 0;
    const runs = 120;
    for (let s = 0; s < runs; s++) {
      const random = randomStream(40, s);
      const xy = Array.from({ length: 80 }, (): [number, number] => [8 * random.next(), 5 * random.next()]);
      const found = analysis.run(sampleOf(xy, window), analysis.parameters.parse({ columns: 8, rows: 5 }), {
        ...control,
        seed: s,
        simulations: 39,
      }).summary;
      ratio += (found.variance_mean_ratio ?? 0) / runs;
      if ((found.simulated?.p_clustered ?? 1) <= 0.1) small++;
    }
    near(ratio, 1, { absolute: 4 * Math.sqrt(2 / 39 / runs) });
    near(small / runs, 0.1, { absolute: 4 * Math.sqrt(0.09 / runs) });
  });
  test('heaps are found, with the sentence saying so', () => {
    const random = randomStream(41, 0);
    const xy = Array.from({ length: 60 }, (_, i): [number, number] => [(i % 3) + random.next(), random.next()]);
    const summary = summaryOf(sampleOf(xy, rectangle(8, 5)), { block_m: 1 }, 99);
    expect(summary.simulated?.p_clustered).toBe(0.01);
    expect(summary.negative_binomial_k?.k).toBeLessThan(0.5);
    expect(summary.sentence).toMatch(/60 finds in 40 tiles .* unevenly spread/);
  });
  test('pieces that fall together get no p of the χ² law, but a simulated one', () => {
    const xy = Array.from({ length: 12 }, (_, i): [number, number] => [(i % 4) + 0.5, Math.floor(i / 4) + 0.5]);
    const sample = sampleOf(xy, rectangle(4, 3), { weight: new Float64Array(12).fill(20) });
    const summary = summaryOf(sample, { columns: 4, rows: 3 }, 19);
    expect(summary).toMatchObject({ p_two_sided: null, morisita: null, chi2: 0 });
    expect(summary.p_reason).toMatch(/fall together/);
    // one find in every tile, each of 20 pieces: evenly spread, whatever the pieces say
    expect(summary.simulated?.p_regular).toBe(0.05);
  });
  test('fewer than five expected in a tile is said', () => {
    const { cautions } = analysis.run(
      sampleOf(
        [
          [0.5, 0.5],
          [1, 1],
        ],
        rectangle(4, 3),
      ),
      analysis.parameters.parse({ block_m: 1 }),
      control,
    );
    expect(cautions.join(' ')).toMatch(/fewer than 5/);
  });
});

test('a find whose area reaches into two tiles counts where most of it lies; redraws give the range', () => {
  const area = { label: 'a', region: rectangle(1.25, 1), areaM2: 1.25, weight: 1, classCode: 0, seasonCode: 0 };
  const sample = sampleOf(
    [
      [1.5, 0.5],
      [0.5, 0.5],
    ],
    rectangle(2, 1),
    { areas: [area] },
  );
  const summary = summaryOf(sample, { columns: 2, rows: 1 });
  expect(summary.counts).toEqual([2, 1]);
  expect(summary.by_area).toMatchObject({ counted: 1, straddling: 1, draws: 5 });
  near(summary.by_area.dispersion_low, 1 / 3, { relative: 1e-12 });
  near(summary.by_area.dispersion_high, 1 / 3, { relative: 1e-12 });
});

test('no find and one find: counts, and nothing claimed', () => {
  const window = rectangle(4, 3);
  expect(summaryOf(sampleOf([], window), {}, 9)).toMatchObject({
    n: 0,
    dispersion: null,
    simulated: null,
    tests_made: 0,
  });
  const one = summaryOf(sampleOf([[1, 1]], window), { columns: 2, rows: 2 });
  expect(one).toMatchObject({ n: 1, morisita: null, variance_mean_ratio: 1, counts: [0, 0, 1, 0] });
});

test('classes are counted each for itself, and together make the whole', () => {
  const random = randomStream(43, 0);
  const xy = Array.from({ length: 50 }, (): [number, number] => [4 * random.next(), 3 * random.next()]);
  const classCode = Uint32Array.from(xy, (_, i) => (i % 5 === 0 ? 0 : 1 + (i % 2)));
  const sample = sampleOf(xy, rectangle(4, 3), { classes: ['jar', 'nail'], classCode });
  const inputs = checkInputs(analysis as unknown as Analysis, { columns: 4, rows: 3, simulations: 19 });
  const { summary } = executeAnalysis(analysis as unknown as Analysis, sample, inputs, () => {});
  const { by_class: rows, tests_made: tests } = summary as Summary;
  expect(rows.map((row) => [row.artefact_class, row.n])).toEqual([
    ['jar', 20],
    ['nail', 20],
    [null, 10],
  ]);
  expect(tests).toBe(4);
  for (const row of rows) expect(row.p_holm).toBeGreaterThanOrEqual(row.p_two_sided ?? 1);
});
