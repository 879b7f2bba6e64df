import { describe, expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import seasonComparison from '../../src/analyses/season-comparison/index.js';
import type { Summary } from '../../src/analyses/season-comparison/schemas.js';
import type { Sample } from '../../src/domain/sample.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';
import { pointFind, smallSample } from '../support/small-samples.js';
import { box } from '../support/small-site.js';

const analysis = seasonComparison as unknown as Analysis;

function run(sample: Sample, inputs: Record<string, unknown> = {}) {
  const answer = executeAnalysis(analysis, sample, checkInputs(analysis, { simulations: 99, ...inputs }), () => {});
  return { ...answer, summary: answer.summary as unknown as Summary };
}

const area = (season: string, ring: readonly number[], more: Record<string, string | number | null> = {}) => ({
  season,
  progress: 'to_deposit_bottom',
  ring,
  tool: 'hand-fan',
  mesh_mm: 2,
  ...more,
});

/** finds in the middle of squares, numbered on */
function findsIn(season: string, squares: readonly (readonly [number, number, number])[], more = {}) {
  return squares.flatMap(([x, y, count]) =>
    Array.from({ length: count }, (_, k) =>
      pointFind(`${season}-${x}-${y}-${k}`, x + 0.5 + 0.01 * k, y + 0.5, { season, ...more }),
    ),
  );
}

describe('seasons that dug different squares', () => {
  const sample = smallSample({
    areas: [area('S1', box(0, 0, 4, 1)), area('S2', box(4, 0, 8, 2), { mesh_mm: 6 })],
    finds: [
      ...findsIn('S1', [
        [0, 0, 4],
        [1, 0, 4],
        [2, 0, 4],
        [3, 0, 4],
      ]),
      ...findsIn('S2', [
        [4, 0, 1],
        [5, 0, 1],
        [6, 0, 1],
        [7, 1, 1],
      ]),
    ],
  });
  const { summary, cautions } = run(sample);

  test('the headline says that place and recovery differ', () => {
    expect(summary.headline).toBe('Place and recovery differ');
    expect(summary.sentence).toMatch(/^Place and recovery differ: no square was dug in both\. S2 has 0\.125 times/);
    expect(summary.pairs[0]).toMatchObject({ place: 'differs', shared_squares: 0, shared: null });
    expect(cautions.join(' ')).toMatch(/S1 and S2 dug different squares/);
  });

  test('each season is held to its own ground', () => {
    expect(summary.seasons.map(({ season, n, dug_m2, per_m2 }) => [season, n, dug_m2, per_m2])).toEqual([
      ['S1', 16, 4, 4],
      ['S2', 4, 8, 0.5],
    ]);
    near(summary.ratio, 1 / 8, { relative: 1e-12 });
    expect(summary).toMatchObject({ over: 'all_ground', reading: 'differ', n: 20, window_area_m2: 12 });
  });

  test('Syrjala’s test is refused in a sentence', () => {
    expect(summary.pairs[0].syrjala).toBeNull();
    expect(summary.pairs[0].syrjala_reason).toMatch(
      /not made on fewer than 8 squares dug in both seasons; there are none/,
    );
    expect(cautions).toContain(summary.pairs[0].syrjala_reason);
  });

  test('ground dug differently is told apart and not compared', () => {
    const { strata, strata_reason } = summary.pairs[0];
    expect(strata.map(({ stratum, n_first, n_second }) => [stratum, n_first, n_second])).toEqual([
      ['hand-fan, 2 mm mesh', 16, 0],
      ['hand-fan, 6 mm mesh', 0, 4],
    ]);
    expect(strata_reason).toMatch(/no ground was dug alike in both seasons \(S1: hand-fan, 2 mm mesh against S2/);
  });

  test('the pair can be asked for the other way round', () => {
    const turned = run(sample, { first: 'S2', second: 'S1' }).summary;
    near(turned.ratio, 8, { relative: 1e-12 });
    near(turned.ratio_low, 1 / (summary.ratio_high as number), { relative: 1e-9 });
    expect(turned.p).toBe(summary.p);
    expect(() => run(sample, { first: 'S2' })).toThrow(/needs two different seasons/);
    expect(() => run(sample, { first: 'S2', second: 'S9' })).toThrow(/season "S9" dug no ground.*S1, S2/);
  });
});

describe('seasons that dug the same squares', () => {
  const squares = Array.from({ length: 10 }, (_, k) => [k % 5, Math.floor(k / 5)] as const);
  const counts = [3, 1, 2, 0, 4, 2, 5, 1, 0, 2];
  const sample = smallSample({
    areas: [area('S1', box(0, 0, 5, 2)), area('S2', box(0, 0, 5, 2)), area('S2', box(6, 0, 8, 2))],
    finds: [
      ...findsIn(
        'S1',
        squares.map(([x, y], k) => [x, y, counts[k]]),
        { recovery_method: 'by hand' },
      ),
      ...findsIn(
        'S2',
        squares.map(([x, y], k) => [x, y, 2 * counts[k]]),
        { recovery_method: 'sieve' },
      ),
      ...findsIn('S2', [[6, 0, 7]]),
    ],
  });
  const { summary, table, features } = run(sample, { list: 'squares' });
  const [pair] = summary.pairs;

  test('the answer leads with them', () => {
    expect(summary.headline).toBe('Squares are shared');
    expect(summary.sentence).toMatch(/^On the 10 squares dug in both, S2 has 2 times/);
    expect(summary.sentence).toMatch(/On all ground dug, where place differs too, 1\.68 times/);
    expect(summary).toMatchObject({ over: 'shared_squares', ratio: 2, p: pair.shared?.p });
  });

  test('the same pattern in other numbers is the same pattern', () => {
    near(pair.syrjala?.psi, 0, { absolute: 1e-25 });
    expect(pair.syrjala).toMatchObject({ p: 1, exact: true, swaps: 1024 });
    near(pair.shared?.centre_shift_m, 0, { absolute: 0.05 });
  });

  test('all squares richer in the second season: only two swaps in 1024 are as uneven, but for empty squares', () => {
    // two squares hold nothing in either season: their swaps change nothing
    expect(pair.shared?.p).toBe((2 * 4) / 1024);
    expect(summary.reading).toBe('differ');
  });

  test('the table lists them, the layer has every square once for each season, and the ellipses', () => {
    expect(table.rows).toHaveLength(10);
    expect(table.rows.reduce((sum, row) => sum + (row[3] as number), 0)).toBe(20);
    expect(features?.length).toBe(10 + 14 + 2);
  });

  test('ways of recovery stand side by side', () => {
    const byHand = pair.strata.filter(({ by }) => by === 'recovery_method');
    expect(byHand.map(({ stratum, n_first, n_second }) => [stratum, n_first, n_second])).toEqual([
      ['by hand', 20, 0],
      ['sieve', 0, 40],
    ]);
    expect(pair.strata_reason).toBeNull();
  });
});

describe('what counts as one', () => {
  const records = {
    areas: [area('S1', box(0, 0, 2, 1)), area('S2', box(2, 0, 4, 1))],
    finds: [
      ...['S1', 'S2'].flatMap((season, s) =>
        [0, 1, 2].map((k) => pointFind(`${season}-${k}`, 2 * s + 0.2 * k + 0.3, 0.5, { season, pot_vessel: 'JV1' })),
      ),
      ...[0, 1, 2, 3].map((k) =>
        pointFind(`c${k}`, 0.7, 0.6, { artefact_class: 'nail', concretion: 'K1', count: 5, weight_g: 10 }),
      ),
      pointFind('by square', 0, 0, {
        position_kind: 'square',
        local_x: null,
        local_y: null,
        square: 'A1',
        artefact_class: 'bowl',
      }),
    ],
  };
  const counts = (inputs: Parameters<typeof smallSample>[1]) =>
    run(smallSample(records, { squareOnly: 'exclude', ...inputs })).summary.seasons.map(({ n }) => n);

  test('a concretion is one spot, unless every find is asked for; a find known by its square counts', () => {
    expect(counts({ spot: 'concretion' })).toEqual([3 + 1 + 1, 3]);
    expect(counts({ spot: 'find' })).toEqual([3 + 4 + 1, 3]);
  });

  test('a pot vessel met in two seasons counts in both', () => {
    const { summary } = run(smallSample(records, { countUnit: 'pot_vessel' }));
    expect(summary.seasons.map(({ n, uncounted, placed }) => [n, uncounted, placed])).toEqual([
      [1, 5, 1],
      [1, 0, 1],
    ]);
  });

  test('pieces and grams of finds that state them; grams have no interval', () => {
    expect(counts({ countUnit: 'piece' })).toEqual([20, 0]);
    const { summary } = run(smallSample(records, { countUnit: 'weight' }));
    expect(summary.seasons[0]).toMatchObject({ n: 40, per_m2: 20, per_m2_low: null, dispersion: null });
    expect(summary.reading).toBe('cannot_tell');
  });
});

describe('plain files', () => {
  const window = windowOf([
    [
      [
        [0, 0],
        [6, 0],
        [6, 3],
        [0, 3],
      ],
    ],
  ]);
  const random = randomStream(5, 5);
  const xy = Array.from({ length: 60 }, (): [number, number] => [6 * random.next(), 3 * random.next()]);
  const sample = sampleOf(xy, window, {
    seasons: ['2021', '2022'],
    seasonCode: Uint32Array.from(xy, (_, i) => 1 + (i % 2)),
    z: Float64Array.from(xy, (_, i) => (i % 2 === 0 ? 1 : 0) + 0.01 * i),
  });

  test('one window serves all seasons, and the answer says so', () => {
    const { summary, cautions } = run(sample);
    expect(summary.pairs[0]).toMatchObject({ shared_squares: 18, place: 'shared' });
    expect(cautions.join(' ')).toMatch(/One window was used for all seasons/);
    expect(summary.pairs[0].syrjala).toMatchObject({ exact: false, swaps: 99 });
  });

  test('elevations are compared where nothing was levelled', () => {
    const { depth } = run(sample).summary.pairs[0];
    expect(depth).toMatchObject({ measure: 'elevation', n_first: 30, n_second: 30 });
    expect(depth?.share_larger).toBeLessThan(0.25);
    expect(depth?.p_mann_whitney).toBeLessThan(0.001);
  });

  test('one season is nothing to compare; few finds cannot tell, and the answer says what they could have shown', () => {
    const alone = run({ ...sample, seasons: ['2021'], seasonCode: new Uint32Array(60).fill(1) }).summary;
    expect(alone).toMatchObject({ headline: 'Nothing to compare', pairs: [], p: null });
    expect(alone.sentence).toMatch(/Only 2021 dug ground/);
    const few = run(
      sampleOf(xy.slice(0, 9), window, { seasons: sample.seasons, seasonCode: sample.seasonCode.slice(0, 9) }),
    );
    expect(few.summary.reading).toBe('cannot_tell');
    expect(few.summary.sentence).toMatch(/Cannot tell: with so few independent finds only ratios of \d/);
  });
});

describe('centres against random scatters in the season’s own ground', () => {
  const window = windowOf([
    [
      [
        [0, 0],
        [20, 0],
        [20, 4],
        [0, 4],
      ],
    ],
  ]);
  const random = randomStream(9, 9);
  const place = (heap: boolean): [number, number] =>
    heap ? [2 + 3 * random.next(), 1 + random.next()] : [20 * random.next(), 4 * random.next()];
  const xy = Array.from({ length: 80 }, (_, i) => place(i % 2 === 1));
  const { summary } = run(
    sampleOf(xy, window, { seasons: ['even', 'heap'], seasonCode: Uint32Array.from(xy, (_, i) => 1 + (i % 2)) }),
  );

  test('an even scatter is like chance, a heap is off the middle and gathered', () => {
    const [even, heap] = summary.seasons;
    expect(even).toMatchObject({ ground_x_m: 10, ground_y_m: 2 });
    expect(Math.min(even.p_centre ?? 0, even.p_spread ?? 0)).toBeGreaterThan(0.02);
    expect(heap).toMatchObject({ p_centre: 0.01, p_spread: 0.02 });
    expect(heap.expected_standard_distance_m).toBeGreaterThan(5);
  });

  test('the centre shifts by more than the ground does', () => {
    const shift = summary.pairs[0].centre_shift;
    expect(shift?.ground_shift_m).toBe(0);
    expect(shift?.p).toBe(0.01);
    expect(shift?.low_m).toBeLessThan(shift?.shift_m ?? 0);
    expect(shift?.high_m).toBeGreaterThan(shift?.shift_m ?? 0);
    expect(summary.pairs[0].shared?.p_centre_shift).toBe(0.01);
  });
});
