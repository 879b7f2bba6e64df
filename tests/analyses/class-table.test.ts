import { describe, expect, test } from 'vitest';
import analysis from '../../src/analyses/class-table/index.js';
import { mergedTally, tallyBy } from '../../src/analyses/class-table/tally.js';
import type { AnswerTable } from '../../src/analyses/contract.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { SampleRequest } from '../../src/domain/make-sample.js';
import type { Sample } from '../../src/domain/sample.js';
import { near } from '../support/near.js';
import { pointFind, smallSample } from '../support/small-samples.js';
import { box, type SmallRecords } from '../support/small-site.js';

const control = { seed: 2, simulations: 0, draws: 1, progress: () => {} };
const run = (sample: Sample, own: Record<string, unknown> = {}) =>
  analysis.run(sample, analysis.parameters.parse(own), control);

const column = (table: AnswerTable, name: string) => {
  const k = table.columns.findIndex((c) => c.name === name);
  expect(k, name).toBeGreaterThanOrEqual(0);
  return table.rows.map((row) => row[k]);
};
const total = (cells: readonly unknown[]) => cells.reduce<number>((sum, v) => sum + ((v as number | null) ?? 0), 0);

const areas = [
  { season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 3, 2) },
  { season: 'S2', progress: 'to_deposit_bottom', ring: box(2, 0, 4, 2) },
  { season: 'S2', progress: 'planned', ring: box(5, 0, 6, 1) },
];
const vessel = (find: string, x: number, y: number, pot: string) =>
  pointFind(find, x, y, { pot_vessel: pot, weight_g: 100, count: 3 });
const finds = [
  vessel('1', 0.5, 0.5, 'V1'),
  vessel('2', 0.6, 0.5, 'V1'),
  vessel('3', 1.5, 0.5, 'V2'),
  pointFind('4', 2.5, 0.5, { artefact_class: 'nail', season: 'S2', count: 1 }),
  pointFind('5', 2.5, 0.5, { artefact_class: 'nail' }),
  // a child of a concretion is still a find
  pointFind('6', 3.5, 1.5, { artefact_class: 'nail', season: 'S2', concretion: 'K1' }),
  pointFind('7', 3.5, 1.5, { artefact_class: 'axe head', season: 'S2', concretion: 'K1', accession_number: 'M 7' }),
  { find: '8', season: 'S1', artefact_class: 'bowl', position_kind: 'square', square: 'B2', former_numbers: 'T2/17' },
  { find: '9', season: 'S1', artefact_class: 'bowl', position_kind: 'spoil' },
  { find: '10', season: 'S2', artefact_class: 'nail', position_kind: 'unknown' },
  // states a square that was only planned
  { find: '11', season: 'S2', artefact_class: 'nail', position_kind: 'square', square: 'F1' },
  // measured in C1, which S1 dug, but stated in a square nobody dug
  pointFind('12', 2.5, 0.5, { square: 'J8' }),
];
const sampleWith = (more: SmallRecords = {}, asked: Partial<SampleRequest> = {}) =>
  smallSample({ areas, finds, ...more }, { spot: 'concretion', ...asked });

describe('every find is in exactly one row', () => {
  const sample = sampleWith();
  test.each(['squares', 'classes'])('%s add up to the selection', (list) => {
    const { table, summary } = run(sample, { list });
    expect(total(column(table, 'finds'))).toBe(12);
    expect(summary).toMatchObject({ n: 12, finds: 12, in_dug_squares: 9, in_other_squares: 1, without_square: 2 });
  });
  test('the wide table adds up too, and class by class to the classes', () => {
    const { table, summary } = run(sample, { list: 'squares_wide' });
    const names = table.columns.map((c) => c.name).filter((name) => name.startsWith('n_'));
    expect(names).toEqual(['n_jar', 'n_bowl', 'n_nail', 'n_axe_head']);
    expect(names.map((name) => total(column(table, name)))).toEqual(summary.by_class.map((row) => row.finds));
  });
  test('the square-only find, spoil and unknown are there under their season', () => {
    const rows = run(sample).table.rows.map((row) => row.slice(0, 5));
    expect(rows).toContainEqual(['S1', 'B2', 'dug', 'bowl', 1]);
    expect(rows).toContainEqual(['S1', null, 'no square (position spoil)', 'bowl', 1]);
    expect(rows).toContainEqual(['S2', null, 'no square (position unknown)', 'nail', 1]);
    expect(rows).toContainEqual(['S2', 'F1', 'not dug in this season', 'nail', 1]);
  });
  test('zeros in squares dug in the season, nothing where no ground was dug', () => {
    const { table } = run(sample);
    const dug = table.rows.filter((row) => row[2] === 'dug');
    // 6 squares of S1 and 4 of S2, four classes each
    expect(dug).toHaveLength(40);
    expect(dug.map((row) => row.slice(0, 5))).toContainEqual(['S2', 'D1', 'dug', 'jar', 0]);
    expect(dug.some((row) => row[0] === 'S1' && row[1] === 'D1')).toBe(false);
    expect(table.rows.some((row) => row[1] === 'E1')).toBe(false);
  });
  test('the same with and without spots, pieces, or square-only finds asked for', () => {
    const answer = run(sample);
    for (const asked of [
      { spot: 'find' },
      { countUnit: 'piece' },
      { countUnit: 'pot_vessel' },
      { squareOnly: 'exclude' },
    ] as const) {
      const other = run(sampleWith({}, asked));
      expect(other.table, JSON.stringify(asked)).toEqual(answer.table);
    }
  });
  test('the layer has the dug squares, and the finds that lie in them', () => {
    const { features } = run(sample);
    const cells = (name: string) => {
      const of = features?.columns.get(name);
      return Array.from({ length: features?.length ?? 0 }, (_, i) => of && valueAt(of, i));
    };
    expect(cells('square')).toEqual(['A2', 'B2', 'C2', 'D2', 'A1', 'B1', 'C1', 'D1']);
    expect(total(cells('finds'))).toBe(9);
    expect(total(cells('n_nail'))).toBe(3);
    expect(cells('seasons')[6]).toBe('S1, S2');
  });
});

test('a class split in two adds up to what it was', () => {
  const split = finds.map((find, i) =>
    find.artefact_class === 'nail' && i % 2 === 0 ? { ...find, artefact_class: 'axe head' } : find,
  );
  const rowsOf = (records: SmallRecords) => run(sampleWith(records), { list: 'squares' }).table;
  const sumOf = (table: AnswerTable) => {
    const sums = new Map<string, number>();
    for (const [season, square, ground, name, count] of table.rows) {
      if (name !== 'nail' && name !== 'axe head') continue;
      const key = JSON.stringify([season, square, ground]);
      sums.set(key, (sums.get(key) ?? 0) + Number(count));
    }
    return [...sums].filter(([, count]) => count > 0).sort();
  };
  expect(sumOf(rowsOf({ finds: split }))).toEqual(sumOf(rowsOf({})));
});

test('pieces, grams and pot vessels stand beside the finds; a vessel in two squares is one', () => {
  const { summary, cautions } = run(sampleWith());
  expect(summary).toMatchObject({ pieces: 10, uncounted: 8, weight_g: 300, unweighed: 9, pot_vessels: 2 });
  expect(summary.vessels).toMatchObject({ met: 2, minimum: null, without_record: 2 });
  expect(cautions.join(' ')).toContain('8 finds have no number of pieces');
  const moved = finds.map((find) => (find.find === '3' ? { ...find, pot_vessel: 'V1' } : find));
  const { summary: one, table } = run(sampleWith({ finds: moved }));
  expect(one.pot_vessels).toBe(1);
  expect(total(column(table, 'pot_vessels'))).toBe(2);
});

test('rates per m² by hand, with the interval of 5 finds', () => {
  const { summary } = run(sampleWith());
  const [first, second] = summary.by_season;
  expect(first).toMatchObject({ season: 'S1', squares: 6, dug_m2: 6, volume_m3: null, per_m3: null });
  near(first.per_m2, 6 / 6, { relative: 1e-14 });
  // 6 finds: 2.202 to 13.06 (exact Poisson limits)
  near(first.per_m2_low, 2.202 / 6, { absolute: 1e-4 });
  near(first.per_m2_high, 13.06 / 6, { absolute: 1e-3 });
  near(second.per_m2, 3 / 4, { relative: 1e-14 });
  near(summary.per_m2, 9 / 8, { relative: 1e-14 });
  expect(run(sampleWith(), { rate_of: 'weight' }).summary).toMatchObject({ per_m2: 300 / 8, per_m2_low: null });
});

test('a deposit half a metre thick: per m³ is twice per m², where both surfaces were levelled', () => {
  const levels = ['A1', 'B1', 'C1', 'A2', 'B2', 'C2', 'A3', 'B3', 'C3'].flatMap((node) => [
    { node, season: 'S1', surface: 'deposit_top', value: -1, kind: 'elevation' },
    { node, season: 'S1', surface: 'deposit_bottom', value: -1.5, kind: 'elevation' },
  ]);
  const { summary, cautions } = run(sampleWith({ levels }));
  const [first, second] = summary.by_season;
  expect(first).toMatchObject({ squares: 6, squares_with_volume: 4 });
  near(first.volume_m3, 2, { relative: 1e-12 });
  // finds 1, 2, 3 and 8 lie in the four squares between nodes
  near(first.per_m3, 4 / 2, { relative: 1e-12 });
  expect(second).toMatchObject({ volume_m3: null, squares_with_volume: 0 });
  expect(cautions.join(' ')).toContain('6 of 10 squares and seasons have no known thickness');
});

test('the concordance names every number a find goes by, and identifications that changed it', () => {
  const identifications = [{ find: '10', artefact_class: 'axe head', date: '2025-03-01' }];
  const { table, summary } = run(sampleWith({ identifications }), { list: 'concordance' });
  expect(table.rows).toHaveLength(12);
  const row = (find: string) =>
    Object.fromEntries(table.columns.map((c, k) => [c.name, table.rows.find((r) => r[0] === find)?.[k]]));
  expect(row('8')).toMatchObject({ square: 'B2', former_numbers: 'T2/17', accession_number: null });
  expect(row('7')).toMatchObject({ accession_number: 'M 7', season: 'S2' });
  expect(row('10')).toMatchObject({ artefact_class: 'axe head', class_registered: 'nail', square: null });
  expect(summary.reidentified).toEqual([{ registered: 'nail', known: 'axe head', finds: 1 }]);
});

test('one season, one class: the others are gone, dug squares stay with their zeros', () => {
  const { summary, table } = run(sampleWith({}, { seasons: ['S2'], classes: ['jar'] }));
  expect(summary).toMatchObject({ n: 0, squares: 4, squares_without_finds: 4, per_m2: 0 });
  expect(column(table, 'finds')).toEqual([0, 0, 0, 0]);
  expect(summary.sentence).toMatch(/No find in the selection; 4 dug squares/);
});

test('the curve of classes ends at the classes met, and its mean never falls', () => {
  const { accumulation } = run(sampleWith()).summary;
  const mean = accumulation?.mean ?? [];
  expect(mean.at(-1)).toBeCloseTo(4, 10);
  expect(accumulation?.squares.at(-1)).toBe(8);
  mean.slice(1).forEach((v, i) => {
    expect(v).toBeGreaterThanOrEqual(mean[i]);
  });
});

test('tallies merged are the tally of all', () => {
  const given = {
    pieces: Float64Array.of(1, Number.NaN, 3, 4),
    weightG: Float64Array.of(Number.NaN, 2, 2, 2),
    potVessel: ['a', null, 'b', 'a'],
  };
  const parts = tallyBy(given, (i) => i % 2);
  expect(mergedTally([...parts.values()])).toEqual(tallyBy(given, () => 0).get(0));
});
