import { describe, expect, test } from 'vitest';
import analysis from '../../src/analyses/local-autocorrelation/index.js';
import type { Summary } from '../../src/analyses/local-autocorrelation/schemas.js';
import { squareValues } from '../../src/analyses/local-autocorrelation/square-values.js';
import type { Sample } from '../../src/domain/sample.js';
import { randomStream } from '../../src/math/random.js';
import { allNear, near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';
import { pointFind, smallSample } from '../support/small-samples.js';
import { box } from '../support/small-site.js';

const control = { seed: 5, simulations: 0, draws: 1, progress: () => {} };
const run = (sample: Sample, own: Record<string, unknown> = {}, simulations = 0) =>
  analysis.run(sample, analysis.parameters.parse(own), { ...control, simulations });
const summaryOf = (sample: Sample, own: Record<string, unknown> = {}, simulations = 0): Summary =>
  run(sample, own, simulations).summary;

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
/** as many finds in the middle of each square as told, row by row from the south */
const counted = (columns: number, counts: readonly number[]): [number, number][] =>
  counts.flatMap((count, i) =>
    Array.from({ length: count }, (): [number, number] => [(i % columns) + 0.5, Math.floor(i / columns) + 0.5]),
  );

test('the same in every square is no field: no number, and a reason', () => {
  const summary = summaryOf(sampleOf(counted(4, new Array(12).fill(2)), rectangle(4, 3)), {}, 19);
  expect(summary).toMatchObject({ reason: 'every square holds the same value', n: 24, tests_made: 0 });
  expect(summary.moran).toMatchObject({ i: null, p_permutation: null });
  expect(summary.sentence).toMatch(/Cannot tell/);
});

test('none, and too few squares', () => {
  expect(summaryOf(sampleOf([], rectangle(4, 3)), {}, 9)).toMatchObject({ n: 0, reason: 'no find in the window' });
  const three = summaryOf(sampleOf([[0.5, 0.5]], rectangle(3, 1)), { block_m: 1 }, 9);
  expect(three.reason).toMatch(/3 dug squares .* at least 4/);
  expect(three.moran.i).toBeNull();
});

test('a rich corner: neighbours alike, the corner marked high, nothing marked low by Holm', () => {
  const random = randomStream(6, 0);
  const columns = 12;
  const counts = Array.from({ length: 120 }, (_, i) => {
    const isRich = i % columns < 4 && Math.floor(i / columns) < 4;
    return Math.floor((isRich ? 12 : 2) * random.next());
  });
  const { summary, table, features, cautions } = run(
    sampleOf(counted(columns, counts), rectangle(columns, 10)),
    { block_m: 1 },
    999,
  );
  expect(summary.moran.p_permutation).toBe(0.002);
  expect(summary.geary.c).toBeLessThan(1);
  expect(summary.local.high_fdr).toBeGreaterThan(4);
  expect(summary.sentence).toMatch(/neighbouring squares are alike/);
  expect(features?.length).toBe(120);
  const kind = table.columns.findIndex((column) => column.name === 'kind');
  const marked = table.rows.filter((row) => row[kind] === 'high amid high').map((row) => String(row[0]));
  expect(marked.length).toBeGreaterThan(3);
  for (const label of marked) {
    const [column, row] = label.split(',').map(Number);
    expect(Math.max(column, row)).toBeLessThanOrEqual(5);
  }
  // 999 dealings cannot pass Holm over 120 squares, and the caution says how many could
  expect(summary.local.high_holm).toBe(0);
  expect(cautions.join(' ')).toMatch(/ask for 4999 simulations/);
});

test('under chance the p of Moran’s I is even: 200 fields of random scatters', () => {
  let small = 0;
  for (let s = 0; s < 200; s++) {
    const random = randomStream(60, s);
    const xy = Array.from({ length: 60 }, (): [number, number] => [6 * random.next(), 6 * random.next()]);
    const found = analysis.run(sampleOf(xy, rectangle(6, 6)), analysis.parameters.parse({ block_m: 1 }), {
      ...control,
      seed: s,
      simulations: 39,
    }).summary;
    if ((found.moran.p_permutation ?? 1) <= 0.1) small++;
  }
  near(small / 200, 0.1, { absolute: 4 * Math.sqrt(0.09 / 200) });
});

describe('values of squares', () => {
  test('rates by hand', () => {
    allNear(squareValues(Float64Array.of(3, 1), Float64Array.of(1, 0.5), 'rate'), [3, 2], { relative: 1e-15 });
    expect([...squareValues(Float64Array.of(3, 1), Float64Array.of(1, 0.5), 'count')]).toEqual([3, 1]);
  });
  test('standardised by hand: mean 3, spread between 14/5 and chance 3 · 4 / 5', () => {
    // counts 6, 3, 6, 0 on 1, 1, 2, 1 m²: rates 6, 3, 3, 0; Σ e (r − 3)² / 5 = 18 / 5; less 3 · 4 / 5 = 12 / 5
    const found = squareValues(Float64Array.of(6, 3, 6, 0), Float64Array.of(1, 1, 2, 1), 'standardised_rate');
    const whole = Math.sqrt(6 / 5 + 3);
    allNear(found, [3 / whole, 0, 0, -3 / whole], { relative: 1e-13, absolute: 1e-15 });
  });
  test('nothing found is 0 everywhere', () => {
    expect([...squareValues(new Float64Array(2), Float64Array.of(1, 1), 'standardised_rate')]).toEqual([0, 0]);
  });
});

describe('on a site', () => {
  const areas = [
    { season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 4, 2) },
    { season: 'S1', progress: 'part_dug', dug_fraction: 0.5, ring: box(0, 2, 4, 3) },
    // a square of its own, with no dug neighbour
    { season: 'S1', progress: 'to_deposit_bottom', ring: box(7, 6, 8, 7) },
  ];
  const finds = [
    pointFind('1', 0.5, 0.5),
    pointFind('2', 0.6, 0.5),
    pointFind('3', 1.5, 0.5),
    pointFind('4', 0.5, 2.5, { artefact_class: 'nail' }),
    pointFind('5', 7.5, 6.5),
    { find: '6', season: 'S1', artefact_class: 'nail', position_kind: 'square', square: 'A2' },
  ];

  test('squares not dug are absent, one without neighbours is left out, half-dug ones have half the ground', () => {
    const { summary, table } = run(smallSample({ areas, finds }));
    expect(summary).toMatchObject({ squares: 12, squares_alone: 1, squares_with_finds: 4, n: 6 });
    const cell = (square: string, name: string) =>
      table.rows.find((row) => row[0] === square)?.[table.columns.findIndex((column) => column.name === name)];
    expect([cell('A1', 'count'), cell('A1', 'value')]).toEqual([2, 2]);
    expect([cell('A3', 'count'), cell('A3', 'value')]).toEqual([1, 2]);
    expect(cell('A2', 'count')).toBe(1);
    expect(cell('H7', 'count')).toBeUndefined();
  });
  test('each class is tested for itself, adjusted for all', () => {
    const { by_class: rows, tests_made: tests } = summaryOf(smallSample({ areas, finds }), {}, 19);
    expect(rows.map((row) => [row.artefact_class, row.n])).toEqual([
      ['jar', 4],
      ['nail', 2],
    ]);
    expect(tests).toBe(3 + 12 + 2);
  });
});
