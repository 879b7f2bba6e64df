import { expect, test } from 'vitest';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import nextSquares from '../../src/analyses/next-squares/index.js';
import type { DugArea, Sample } from '../../src/domain/sample.js';
import { randomStream } from '../../src/math/random.js';
import { boxRegion } from '../../src/math/tiles.js';
import { near } from '../support/near.js';
import { gridOf, hullOf, plannedAreas, sampleOf } from '../support/sample-of.js';

function run(sample: Sample, inputs: Record<string, unknown> = {}) {
  return executeAnalysis(nextSquares as never, sample, checkInputs(nextSquares as never, inputs), () => {});
}
// biome-ignore lint/suspicious/noExplicitAny: a summary is read by its published names
const summaryOf = (sample: Sample, inputs: Record<string, unknown> = {}) => run(sample, inputs).summary as any;
const named = (summary: { squares: { square: string }[] }, square: string) =>
  // biome-ignore lint/suspicious/noExplicitAny: as above
  summary.squares.find((row) => row.square === square) as any;

const area = (box: [number, number, number, number], progress: string, dugFraction = 1): DugArea => ({
  season: 'S1',
  progress,
  region: boxRegion(box),
  areaM2: (box[2] - box[0]) * (box[3] - box[1]),
  dugFraction,
  meshMm: null,
  tool: null,
});

/** 6 × 4 squares finished, G1 half dug, G2 opened whole but not finished, H1 and H2 planned, H3 opened, H4 given up */
function dig(more: Partial<Sample> = {}): Sample {
  const random = randomStream(17, 0);
  const xy = Array.from({ length: 120 }, (): [number, number] => [6 * random.next(), 4 * random.next()]);
  xy.push([6.2, 0.5], [6.4, 0.2], [6.5, 1.5]);
  return sampleOf(xy, boxRegion([0, 0, 7, 4]), {
    classes: ['jar', 'nail'],
    // jars to the west, nails to the east, none of them alone
    classCode: Uint32Array.from(xy, ([x], i) => ((i * 7) % 10 < 10 - 1.6 * x ? 1 : 2)),
    grid: gridOf({ columns: 12, rows: 8 }),
    dug: [
      area([0, 0, 6, 4], 'to_deposit_bottom'),
      area([6, 0, 7, 1], 'part_dug', 0.5),
      area([6, 1, 7, 2], 'part_dug'),
      area([6, 2, 7, 4], 'to_hard_substrate'),
      // begun earlier, finished later
      area([2, 2, 3, 3], 'part_dug', 0.3),
    ],
    undug: [
      ...plannedAreas([
        [
          [7, 0],
          [8, 0],
          [8, 2],
          [7, 2],
        ],
      ]),
      area([7, 2, 8, 3], 'opened', 0),
      area([7, 3, 8, 4], 'abandoned', 0),
    ],
    hull: hullOf([
      {
        element: 'keelson',
        line: [
          [0.5, 2.5],
          [6.9, 2.5],
        ],
      },
    ]),
    shipAxis: { after: [0.5, 2.5], bow: [6.9, 2.5], bowEnd: 'resolved' },
    ...more,
  });
}

test('unfinished and planned squares are proposed, with the ground left of each', () => {
  const { squares } = summaryOf(dig());
  const told = (squares as { square: string; state: string; ground_left_m2: number | null }[])
    .map(({ square, state, ground_left_m2 }) => `${square} ${state} ${ground_left_m2}`)
    .sort();
  expect(told).toEqual(['G1 part_dug 0.5', 'G2 part_dug null', 'H1 planned 1', 'H2 planned 1', 'H3 opened 1']);
});

test('edge candidates: every undug square that shares a side with dug ground, given-up ones left out', () => {
  const { squares } = summaryOf(dig(), { candidates: 'edge' });
  const undug = (squares as { square: string; state: string }[])
    .filter(({ state }) => state === 'undug')
    .map(({ square }) => square)
    .sort();
  // the row north of the trench; west and south lies the edge of the grid, east all is planned, opened or given up
  expect(undug).toEqual(['A5', 'B5', 'C5', 'D5', 'E5', 'F5', 'G5']);
});

test('around a trench amid the grid every side is an edge, and a square dug in part of its ground is one too', () => {
  const sample = dig({
    window: { rings: [Float64Array.of(2, 2, 4.5, 2, 4.5, 4, 2, 4)] },
    windowAreaM2: 5,
    dug: [area([2, 2, 4.5, 4], 'to_deposit_bottom')],
    undug: [],
  });
  const { squares } = summaryOf(sample, { candidates: 'edge', trend: 'none' });
  const left = (squares as { square: string; ground_left_m2: number }[]).map(
    ({ square, ground_left_m2 }) => `${square} ${ground_left_m2}`,
  );
  expect(left.sort()).toEqual(
    ['B3 1', 'B4 1', 'C2 1', 'C5 1', 'D2 1', 'D5 1', 'E2 1', 'E5 1', 'E3 0.5', 'E4 0.5', 'F3 1', 'F4 1'].sort(),
  );
});

test('progress runs from 0 to 1 and never back', () => {
  const shares: number[] = [];
  const inputs = checkInputs(nextSquares as never, {});
  executeAnalysis(nextSquares as never, dig(), inputs, (share) => shares.push(share));
  expect(shares.length).toBeGreaterThan(20);
  expect(shares).toEqual([...shares].sort((a, b) => a - b));
  expect(shares.at(0)).toBe(0);
  expect(shares.at(-1)).toBeLessThanOrEqual(1);
  expect(shares.at(-1)).toBeGreaterThan(0.9);
});

test('the decision is not the tool’s: said with every answer, and for analysts only', () => {
  const { cautions } = run(dig());
  expect(cautions[0]).toContain('permit and project design decide; preservation in place is considered first');
  expect(nextSquares.access).toBe('analyst');
  expect(cautions.join(' ')).toContain('1 abandoned square is not proposed');
  expect(cautions.join(' ')).toContain('1 square was opened whole but not dug to the bottom');
});

test('hull limits: the keelson cut off at the edge puts its square first', () => {
  const summary = summaryOf(dig());
  expect(summary.sentence).toMatch(
    /^Of 5 squares .*, H3 would tell most of how far the hull goes on: whether 1 keelson goes on/,
  );
  expect(named(summary, 'H3')).toMatchObject({ rank: 1, hull_ends: ['1 keelson'], ship_axis: 'beyond_bow' });
  expect(named(summary, 'H3').reasons).toMatch(
    /1 keelson stops at its edge; the ship axis runs through it 0\.1 m beyond its bow end/,
  );
  expect(named(summary, 'H1')).toMatchObject({ rank: null, hull_ends: [], hull_points: [], ship_axis: null });
  // loose and displaced timbers do not speak for the hull
  const loose = dig().hull.map((part) => ({ ...part, state: 'loose' as const }));
  expect(named(summaryOf(dig({ hull: loose, shipAxis: null })), 'H3').rank).toBeNull();
});

test('one mean rate: counts over ground, and the sum of the squares with its variance', () => {
  const summary = summaryOf(dig(), { trend: 'none', extrapolation_m: 9 });
  // 24 + 0.5 + 1 + 2 m² dug
  near(named(summary, 'H1').expected, 123 / 27.5, { relative: 1e-9 });
  near(named(summary, 'G1').expected, 123 / 27.5 / 2, { relative: 1e-9 });
  expect(named(summary, 'G1').found).toBe(2);
  expect(named(summary, 'G2').expected).toBeNull();
  const mean = 3.5 * (123 / 27.5);
  near(summary.expected_total.expected, mean, { relative: 1e-9 });
  expect(summary.expected_total.squares).toBe(4);
  expect(summary.expected_total.low).toBeLessThan(mean);
  expect(summary.expected_total.high).toBeGreaterThan(mean);
  const [{ term, estimate, standard_error: error }] = summary.terms;
  expect(term).toBe('intercept');
  near(estimate, Math.log(123 / 27.5), { relative: 1e-9 });
  near(error, Math.sqrt(Math.max(1, summary.dispersion) / 123), { relative: 1e-9 });
});

test('distance to the nearest dug square is stated, and flagged beyond the limit', () => {
  const far = dig({
    undug: plannedAreas([
      [
        [10, 0],
        [11, 0],
        [11, 1],
        [10, 1],
      ],
    ]),
  });
  const summary = summaryOf(far);
  expect(named(summary, 'K1')).toMatchObject({
    distance_to_dug_m: 4,
    extrapolated: true,
    neighbours: 0,
    neighbours_per_m2: null,
  });
  expect(named(summary, 'G1')).toMatchObject({ distance_to_dug_m: 0, extrapolated: false });
  expect(summary.squares_extrapolated).toBe(1);
  expect(run(far).cautions.join(' ')).toContain('1 square of 3 lie beyond what the dug squares can tell (K1)');
  expect(named(summaryOf(far, { extrapolation_m: 4, trend: 'none' }), 'K1').extrapolated).toBe(false);
});

test('rate of the neighbourhood: count over ground of the dug squares within reach', () => {
  const sample = dig();
  const row = named(summaryOf(sample, { neighbour_m: 1.5 }), 'H1');
  // G1 and G2: three finds on 0.5 + 1 m²
  expect(row.neighbours).toBe(2);
  near(row.neighbours_per_m2, 3 / 1.5, { relative: 1e-12 });
});

test('scatter limits: even odds of finding none settle most', () => {
  const summary = summaryOf(dig(), { question: 'scatter_limits' });
  for (const row of summary.squares) {
    if (row.chance_of_none === null) continue;
    near(row.settles_value, 4 * row.chance_of_none * (1 - row.chance_of_none), { relative: 1e-12 });
  }
  const values = summary.squares.map((row: { settles_value: number | null }) => row.settles_value ?? -1);
  expect(values).toEqual([...values].sort((a, b) => b - a));
});

test('class boundary: where neither class is surely the denser', () => {
  const summary = summaryOf(dig(), { question: 'class_boundary', candidates: 'edge', trend: 'linear' });
  expect([...summary.boundary_classes].sort()).toEqual(['jar', 'nail']);
  const row = summary.squares[0];
  expect(row.square).toMatch(/^[BCDE]5$/);
  expect(row.settles_value).toBeGreaterThan(0.5);
  expect(named(summary, 'H1').settles_value).toBeLessThan(row.settles_value);
  const one = summaryOf(dig({ classCode: new Uint32Array(123).fill(1) }), { question: 'class_boundary' });
  expect(one.squares[0].settles).toMatch(/two classes with finds enough are needed/);
  expect(one.sentence).toContain('none is known to tell where one class gives way to the other');
});

test('how the intervals fared on dug squares is part of the answer', () => {
  const { cross_validation: alone, cross_validation_apart: apart, sentence, squares_dug } = summaryOf(dig());
  expect(squares_dug).toBe(28);
  expect(alone.squares).toBe(28);
  near(alone.coverage, alone.covered / 28, { relative: 1e-12 });
  expect(alone.coverage).toBeGreaterThan(0.85);
  expect(apart.squares).toBe(28);
  expect(sentence).toMatch(/Left out one at a time, \d+ of 28 dug squares \([\d.]+ %\) fell in their 95 % interval/);
});

test('no find of the kind: the hull still speaks, no number is made up', () => {
  const none = { ...dig(), ...sampleOf([], boxRegion([0, 0, 7, 4])) };
  const { grid, dug, undug, hull, shipAxis } = dig();
  const summary = summaryOf({ ...none, grid, dug, undug: undug ?? [], hull, shipAxis });
  expect(summary).toMatchObject({ n: 0, trend: null, dispersion: null, expected_total: null, cross_validation: null });
  expect(named(summary, 'H3')).toMatchObject({ rank: 1, expected: null, per_m2: null });
  expect(summary.sentence).toContain('No number of finds can be foretold');
});

test('plain files have no squares: refused with what to do', () => {
  expect(() => run(dig({ grid: null }))).toThrow(
    /squares of a site grid, and plain files have none; import a site folder/,
  );
  expect(() => run(dig({ undug: [], dug: [area([0, 0, 7, 4], 'to_deposit_bottom')] }))).toThrow(
    /no square is unfinished or planned/,
  );
});
