import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { z } from 'zod';
import type { RunAnswer } from '../../src/analyses/execute.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import registerCheck from '../../src/analyses/register-check/index.js';
import { squareAt } from '../../src/domain/grid.js';
import type { Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { randomStream } from '../../src/math/random.js';
import { type DemoStore, openDemo, truth } from '../support/demo.js';
import { type LevelRow, nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { sampleOf, windowOf } from '../support/sample-of.js';
import { smallSite } from '../support/small-site.js';

type Summary = z.output<typeof registerCheck.result>;
const rowsOf = (summary: Summary, kind: string) => summary.rows.filter((row) => row.kind === kind);

describe('on the demo', () => {
  let demo: DemoStore;
  let answer: RunAnswer;
  let found: Summary;
  beforeAll(async () => {
    demo = await openDemo();
    answer = await demo.run('register-check');
    found = answer.summary as unknown as Summary;
  });
  afterAll(() => demo.close());

  test('the two nodes written into each other are found, and no third', () => {
    expect(found.inverted_nodes.map(({ season, node }) => ({ season, node }))).toEqual(truth.levels.inverted_nodes);
  });

  test('nodes without any reading are those left out, and squares without a bottom those planted', () => {
    const without = found.missing_nodes.filter((row) => row.missing === 'top and bottom').map((row) => row.node);
    expect([...new Set(without)].sort()).toEqual([...truth.levels.missing_nodes].sort());
    const squares = rowsOf(found, 'square_without_bottom').map((row) => ({
      season: row.season,
      square: row.where.replace('square ', ''),
    }));
    expect(squares).toEqual(truth.levels.squares_without_bottom);
    expect(rowsOf(found, 'square_without_top')).toEqual([]);
  });

  test('the series whose tide was never taken off is found with its shift, and no other', () => {
    const { reading_series, elevation_shift_m, readings } = truth.levels.tide_not_reduced;
    const off = found.series_offsets.filter((row) => row.looks_unreduced);
    expect(off.map((row) => row.reading_series)).toEqual([reading_series]);
    expect(off[0].readings).toBe(readings);
    expect(Math.abs((off[0].offset_m as number) - elevation_shift_m)).toBeLessThan(0.04);
    expect(found.series_offsets).toHaveLength(20);
  });

  test('finds outside their stated square are the seven, in the re-laid grid too', () => {
    const stated: { find: string }[] = truth.finds.positions.outside_stated_square;
    expect(
      rowsOf(found, 'outside_stated_square')
        .map((row) => row.where.replace('find ', ''))
        .sort(),
    ).toEqual(stated.map((row) => row.find).sort());
  });

  test('only the first season is heaped', () => {
    expect(found.heaping.filter((row) => row.heaped).map((row) => row.season)).toEqual(['S1']);
  });

  test('squares dug in part are on the list before backfilling', () => {
    const half = rowsOf(found, 'part_dug_square').filter((row) => row.season === 'S4');
    expect(half.map((row) => row.where.replace('square ', '')).sort()).toEqual(
      [...truth.ground.half_dug_squares].sort(),
    );
    expect(half.every((row) => row.before_backfill && row.value === 0.5)).toBe(true);
  });

  test('finds beside the series are not called serious, and the layer holds every row with a place', () => {
    const doubted = rowsOf(found, 'below_bottom').filter((row) => row.rule.includes('looks unreduced'));
    expect(doubted.length).toBeGreaterThan(20);
    expect(doubted.some((row) => row.severity === 'serious')).toBe(false);
    expect(answer.features?.length).toBe(found.rows.filter((row) => row.x_m !== null).length);
    expect(answer.table.rows).toHaveLength(found.rows_found);
    expect(found.counts.reduce((sum, row) => sum + row.rows, 0)).toBe(found.rows_found);
  });
});

describe('on an invented dig of 6 × 5 squares', () => {
  const grid = smallSite().grids[0];
  const window = windowOf([
    [
      [
        [0, 0],
        [6, 0],
        [6, 5],
        [0, 5],
      ],
    ],
  ]);

  /** top and bottom with a gentle slope and errors of 1 cm, the western half read in series 1, the rest in series 2 */
  function cleanLevels(): (LevelRow & { series: string })[] {
    const random = randomStream(11, 1);
    const error = () => 0.02 * (random.next() - 0.5);
    return [
      ...nodeLevels({
        columns: 7,
        rows: 6,
        surface: 'deposit_top',
        season: 'S1',
        sigma: 0.01,
        field: (x, y) => -0.03 * x + 0.02 * y + error(),
      }),
      ...nodeLevels({
        columns: 7,
        rows: 6,
        surface: 'deposit_bottom',
        season: 'S1',
        sigma: 0.01,
        field: (x, y) => -0.4 - 0.03 * x + 0.02 * y + error(),
      }),
    ].map((row) => ({ ...row, series: row.x < 3 ? '1' : '2' }));
  }

  function dig(levels = cleanLevels(), more: Partial<Sample> = {}): Sample {
    const random = randomStream(5, 2);
    const xy = Array.from({ length: 60 }, (): [number, number] => [6 * random.next(), 5 * random.next()]);
    const readings = { ...readingsOf(levels), series: levels.map((row) => row.series) };
    return sampleOf(xy, window, {
      grid,
      seasons: ['S1'],
      seasonCode: new Uint32Array(60).fill(1),
      z: Float64Array.from(xy, ([x, y]) => -0.2 - 0.03 * x + 0.02 * y),
      detail: { ...unknownDetail(60), square: xy.map(([x, y]) => squareAt(grid, x, y)) },
      levels: readings,
      dug: [
        {
          season: 'S1',
          progress: 'to_deposit_bottom',
          region: window,
          areaM2: 30,
          dugFraction: 1,
          meshMm: null,
          tool: null,
        },
      ],
      ...more,
    });
  }

  const check = (sample: Sample): Summary =>
    executeAnalysis(registerCheck as never, sample, checkInputs(registerCheck as never, {}), () => {})
      .summary as unknown as Summary;

  test('clean records give an empty list', () => {
    const found = check(dig());
    expect(found.rows).toEqual([]);
    expect(found.counts).toEqual([]);
    expect(found).toMatchObject({ n: 60, levels: 84, squares: 30, finds_against_surfaces: 60, rows_found: 0 });
  });

  test('one top 0.3 m too high is a spike at its node, and its neighbours are not', () => {
    const levels = cleanLevels().map((row) =>
      row.surface === 'deposit_top' && row.x === 3 && row.y === 2 ? { ...row, elevation: row.elevation + 0.3 } : row,
    );
    const spikes = rowsOf(check(dig(levels)), 'neighbour_spike');
    expect(spikes.map((row) => [row.x_m, row.y_m])).toEqual([[3, 2]]);
    expect(Math.abs((spikes[0].value as number) - 0.3)).toBeLessThan(0.03);
  });

  test('a reading set aside does not count; a second reading is told with its spread', () => {
    const levels = cleanLevels();
    const set = levels.map((row, i) => (i === 0 ? { ...row, state: 'set_aside' } : row));
    expect(check(dig(set)).missing_nodes).toEqual([{ node: 'A1', season: 'S1', missing: 'top' }]);
    const twice = [...levels, { ...levels[8], elevation: levels[8].elevation + 0.25 }];
    const [row] = rowsOf(check(dig(twice)), 'several_readings');
    expect(row).toMatchObject({ where: 'node B2', severity: 'serious' });
    expect(row.value).toBeCloseTo(0.25, 12);
  });

  test('finds above the top, below the bottom, at one place and without elevation are each told', () => {
    const clean = dig();
    const z = clean.z.slice();
    z[0] += 0.5;
    z[1] -= 0.5;
    z[2] = Number.NaN;
    const xy = clean.xy.slice();
    xy.set(xy.subarray(6, 8), 8);
    const square = clean.detail.square.map((name, i) => (i === 4 ? clean.detail.square[3] : name));
    const found = check({ ...clean, xy, z, detail: { ...clean.detail, square } });
    expect(rowsOf(found, 'above_top').map((row) => row.where)).toContain('find 1');
    expect(rowsOf(found, 'below_bottom').map((row) => row.where)).toContain('find 2');
    expect(rowsOf(found, 'find_without_elevation').map((row) => row.where)).toEqual(['find 3']);
    expect(rowsOf(found, 'identical_coordinates').map((row) => row.where)).toEqual(['finds 4, 5']);
  });

  test('ground dug without any top is not recoverable: every square is serious', () => {
    const found = check(dig(cleanLevels().filter((row) => row.surface === 'deposit_bottom')));
    const squares = rowsOf(found, 'square_without_top');
    expect(squares).toHaveLength(30);
    expect(squares.every((row) => row.severity === 'serious' && row.before_backfill)).toBe(true);
  });

  test('an input out of its range is refused by name', () => {
    expect(() => checkInputs(registerCheck as never, { spike_sigmas: 0 })).toThrow(/input spike_sigmas/);
  });
});
