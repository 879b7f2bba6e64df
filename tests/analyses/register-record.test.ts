import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { z } from 'zod';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import registerCheck from '../../src/analyses/register-check/index.js';
import { checkRegister } from '../../src/analyses/register-check/register-numbers.js';
import type { DugArea, RegisterEntries, Sample } from '../../src/domain/sample.js';
import { orientRings, regionArea } from '../../src/math/rings.js';
import { type DemoStore, openDemo } from '../support/demo.js';
import { nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { sampleOf } from '../support/sample-of.js';
import { box, smallSite } from '../support/small-site.js';

type Summary = z.output<typeof registerCheck.result>;
const rowsOf = (summary: Summary, kind: string) => summary.rows.filter((row) => row.kind === kind);
const region = (ring: readonly number[]) => orientRings([[Float64Array.from(ring)]]);

/** A register of so many finds with nothing written but their numbers; class and season known. */
function registerOf(find: readonly string[], more: Partial<RegisterEntries> = {}): RegisterEntries {
  const n = find.length;
  const unknown = () => new Float64Array(n).fill(Number.NaN);
  const none = () => new Array<string | null>(n).fill(null);
  return {
    find,
    classCode: new Uint32Array(n).fill(1),
    classRegistered: none(),
    seasonCode: new Uint32Array(n).fill(1),
    square: none(),
    kind: new Array<string>(n).fill('point'),
    xy: new Float64Array(2 * n).fill(Number.NaN),
    pieces: unknown(),
    weightG: unknown(),
    potVessel: none(),
    concretion: none(),
    sizeClass: none(),
    recoveryMethod: none(),
    meshMm: unknown(),
    formerNumbers: none(),
    accessionNumber: none(),
    documents: [],
    potVessels: [],
    allNumbers: find,
    ...more,
  };
}

describe('register numbers', () => {
  const series = Array.from({ length: 30 }, (_, i) => `TL-${String(i + 1).padStart(4, '0')}`);

  test('an unbroken series is quiet', () => {
    expect(checkRegister(registerOf(series), ['S1'])).toEqual([]);
    expect(checkRegister(undefined, ['S1'])).toEqual([]);
  });

  test('numbers left out are told as runs', () => {
    const gaps = series.filter((_, i) => i !== 4 && (i < 10 || i > 12));
    const rows = checkRegister(registerOf(gaps), ['S1']);
    expect(rows.map(({ kind, where, value }) => [kind, where, value])).toEqual([
      ['missing_number', 'find TL-0005', 1],
      ['missing_number', 'finds TL-0011 to TL-0013', 3],
    ]);
  });

  test('numbers that were never a series are not', () => {
    const scattered = Array.from({ length: 30 }, (_, i) => `X${i * i * 7 + 3}`);
    expect(checkRegister(registerOf(scattered), ['S1'])).toEqual([]);
    expect(checkRegister(registerOf(['A1', 'A3', 'A9']), ['S1'])).toEqual([]);
  });

  test('numbers alike but for case, spaces, punctuation and leading zeros are serious', () => {
    const rows = checkRegister(registerOf([...series, 'tl 12', 'TL-120', 'TL-1-20']), ['S1']);
    const alike = rows.filter((row) => row.kind === 'duplicate_number');
    expect(alike.map(({ where, severity }) => [where, severity])).toEqual([
      ['finds TL-0012, tl 12', 'serious'],
      ['finds TL-120, TL-1-20', 'serious'],
    ]);
  });

  test('children without a parent, and finds without class or season', () => {
    const concretion = [null, 'TL-0001', 'TL-0099', 'TL-0099'];
    const register = registerOf(series.slice(0, 4), {
      concretion,
      classCode: Uint32Array.of(1, 0, 1, 1),
      seasonCode: Uint32Array.of(1, 1, 1, 0),
      allNumbers: series,
    });
    const rows = checkRegister(register, ['S1']);
    expect(rows.map(({ kind, where, season }) => [kind, where, season])).toEqual([
      ['child_without_parent', 'finds TL-0003, TL-0004', 'S1'],
      ['class_unknown', 'find TL-0002', 'S1'],
      ['season_unknown', 'find TL-0004', null],
    ]);
    expect(rows[0].rule).toContain('no find TL-0099');
  });
});

describe('on an invented dig of 6 × 4 squares', () => {
  const levels = (['deposit_top', 'deposit_bottom'] as const).flatMap((surface) =>
    nodeLevels({
      columns: 7,
      rows: 5,
      surface,
      season: 'S1',
      sigma: 0.01,
      field: (x) => (surface === 'deposit_top' ? 0 : -0.4) - 0.05 * x,
    }),
  );
  const area = (ring: number[], more: Partial<DugArea> = {}): DugArea => ({
    season: 'S1',
    progress: 'to_deposit_bottom',
    region: region(ring),
    areaM2: regionArea(region(ring)),
    dugFraction: 1,
    meshMm: null,
    tool: null,
    ...more,
  });
  const dig = (more: Partial<Sample> = {}): Sample =>
    sampleOf([], region(box(0, 0, 6, 4)), {
      grid: smallSite().grids[0],
      seasons: ['S1'],
      levels: readingsOf(levels),
      dug: [area(box(0, 0, 6, 4))],
      ...more,
    });
  const check = (sample: Sample): Summary =>
    executeAnalysis(registerCheck as never, sample, checkInputs(registerCheck as never, {}), () => {})
      .summary as unknown as Summary;

  test('finds known by a square are judged by the highest top and the lowest bottom in it', () => {
    // in square 2..3 the top lies between −0.10 and −0.15, the bottom between −0.50 and −0.55
    const z = [-0.12, -0.05, 0.02, Number.NaN, -0.6, Number.NaN, -0.52];
    const register = registerOf(
      z.map((_, i) => `${i + 1}`),
      {
        area: z.map(() => Float64Array.from(box(2, 1, 3, 2))),
        elevation: {
          z: Float64Array.from(z),
          zMin: Float64Array.from(z, (_, i) => (i === 3 ? 0.05 : Number.NaN)),
          zMax: Float64Array.from(z, (_, i) => (i === 3 ? 0.2 : Number.NaN)),
          sigmaZ: new Float64Array(z.length).fill(0.02),
        },
      },
    );
    const found = check(dig({ register }));
    expect(found.area_finds_against_surfaces).toBe(6);
    // −0.05 is 0.05 above the highest top, with 2 σ of 0.045; −0.52 is not below the lowest bottom
    expect(
      found.rows.map(({ kind, where }) => [kind, where]).filter(([kind]) => kind !== 'find_outside_dug_ground'),
    ).toEqual(
      expect.arrayContaining([
        ['above_top', 'find 2'],
        ['above_top', 'find 3'],
        ['above_top', 'find 4'],
        ['below_bottom', 'find 5'],
        ['find_without_elevation', 'find 6'],
      ]),
    );
    expect(rowsOf(found, 'above_top')).toHaveLength(3);
    expect(rowsOf(found, 'below_bottom')).toHaveLength(1);
    const [row] = rowsOf(found, 'above_top').filter(({ where }) => where === 'find 3');
    expect(row.value).toBeCloseTo(0.12, 9);
    expect(row).toMatchObject({ x_m: 2.5, y_m: 1.5, severity: 'serious' });
  });

  test('an area whose surface is known in part only is not judged', () => {
    const register = registerOf(['1'], {
      area: [Float64Array.from(box(5, 3, 8, 4))],
      elevation: {
        z: Float64Array.of(3),
        zMin: Float64Array.of(Number.NaN),
        zMax: Float64Array.of(Number.NaN),
        sigmaZ: Float64Array.of(Number.NaN),
      },
    });
    expect(check(dig({ register }))).toMatchObject({ area_finds_against_surfaces: 0, rows: [] });
  });

  test('opened squares are on the list before backfilling, those without a top first', () => {
    const undug = [
      area(box(2, 0, 4, 1), { progress: 'opened' }),
      area(box(8, 0, 9, 1), { progress: 'opened' }),
      area(box(10, 0, 12, 2), { progress: 'planned' }),
    ];
    const found = rowsOf(check(dig({ dug: [], undug })), 'open_square');
    expect(found.map(({ severity, before_backfill }) => [severity, before_backfill])).toEqual([
      ['look', true],
      ['note', true],
      ['note', true],
    ]);
    expect(found[0].rule).toContain('cannot be recovered');
  });

  test('ground backfilled already is off the list, ground still open beside it is not', () => {
    const bare = levels.filter(({ x, surface }) => surface === 'deposit_top' || x !== 3);
    const both = (backfilled: boolean | null) =>
      check(
        dig({
          levels: readingsOf(bare),
          dug: [area(box(0, 0, 3, 4), { backfilled: true }), area(box(3, 0, 6, 4), { backfilled })],
        }),
      );
    // the column of nodes without a bottom lies on the edge between both
    expect(rowsOf(both(false), 'missing_node').every((row) => row.before_backfill)).toBe(true);
    expect(rowsOf(both(null), 'missing_node').every((row) => row.before_backfill)).toBe(true);
    const closed = rowsOf(both(true), 'missing_node');
    expect(closed).toHaveLength(5);
    expect(closed.some((row) => row.before_backfill)).toBe(false);
    expect(closed[0].rule).toContain('backfilled already');
  });
});

describe('on the demo', () => {
  let demo: DemoStore;
  let found: Summary;
  beforeAll(async () => {
    demo = await openDemo();
    found = (await demo.run('register-check')).summary as unknown as Summary;
  });
  afterAll(() => demo.close());

  test('the register is whole: no number missing or alike, no child alone, every find with class and season', () => {
    for (const kind of [
      'duplicate_number',
      'missing_number',
      'child_without_parent',
      'class_unknown',
      'season_unknown',
    ])
      expect(rowsOf(found, kind)).toEqual([]);
  });

  test('finds known by a square are looked at, and only ground still open is on the list before backfilling', () => {
    expect(found.area_finds_against_surfaces).toBeGreaterThan(500);
    const open = found.rows.filter((row) => row.before_backfill);
    expect(open.length).toBeGreaterThan(0);
    expect(open.filter((row) => row.x_m !== null).every((row) => row.season === 'S4')).toBe(true);
  });
});
