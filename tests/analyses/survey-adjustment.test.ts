import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import surveyAdjustment from '../../src/analyses/survey-adjustment/index.js';
import type { Summary } from '../../src/analyses/survey-adjustment/schemas.js';
import type { SurveyReadings } from '../../src/domain/sample.js';
import { svgText } from '../../src/figures/svg.js';
import { near } from '../support/near.js';
import { sampleOf } from '../support/sample-of.js';
import { readingsOf } from '../support/survey-readings.js';

const analysis = surveyAdjustment as unknown as Analysis;

function run(readings: SurveyReadings | null, parameters: Record<string, unknown> = {}) {
  const sample = sampleOf([], { rings: [] }, { readings });
  const answer = executeAnalysis(analysis, sample, checkInputs(analysis, parameters), () => {});
  const fits = analysis.result.safeParse(answer.summary);
  expect(fits.success, fits.success ? '' : JSON.stringify(fits.error.issues)).toBe(true);
  return { ...answer, summary: answer.summary as Summary, caution: answer.cautions.join(' ') };
}

interface Reference {
  parameters: { dimension: number };
  input: {
    fixed: Record<string, number[]>;
    approximate: Record<string, number[]>;
    distances: { from: string; to: string; d: number; sigma: number }[];
    heights: { id: string; z: number; sigma: number }[] | null;
  };
  expected: {
    points: Record<
      string,
      {
        adjusted: number[];
        sd_a_priori: number[];
        ellipse_a_priori: { semi_major: number; semi_minor: number; azimuth_deg_clockwise_from_north: number };
        ellipse_a_posteriori: { semi_major: number; semi_minor: number };
        ellipse_95_a_priori_factor: number;
        ellipse_95_a_posteriori_factor: number;
      }
    >;
    redundancy: number;
    residuals: number[];
    variance_factor: number;
    redundancy_numbers: number[];
    normalised_residuals: number[];
    minimal_detectable_bias: number[];
    tau_statistics?: number[];
    global_test: { p_upper: number };
  };
}

const reference = (name: string): Reference =>
  JSON.parse(readFileSync(new URL(`../reference/${name}.json`, import.meta.url), 'utf8'));

function referenceReadings({ input }: Reference): SurveyReadings {
  return readingsOf({
    control: Object.entries(input.fixed).map(([name, [x, y, z]]) => [name, x, y, z] as const),
    measurements: [
      ...input.distances.map(({ from, to, d, sigma }) => [from, to, 'distance', d, sigma] as const),
      ...(input.heights ?? []).map(({ id, z, sigma }) => [null, id, 'elevation', z, sigma] as const),
    ],
  });
}

const startOf = ({ input }: Reference) =>
  Object.entries(input.approximate).map(([name, [x, y, z]]) => ({ name, x, y, ...(z === undefined ? {} : { z }) }));

describe.each([
  'trilat2d_one_point',
  'trilat2d_one_point_blunder',
  'trilat2d_exact_three_unequal_weights',
  'trilat2d_handbook',
  'trilat2d_network',
  'trilat3d_one_point',
  'trilat3d_one_point_depth',
])('%s', (name) => {
  const given = reference(name);
  const { expected } = given;
  // the network hangs on two control points: without start values its mirror image is the one left of them
  const parameters = name === 'trilat2d_network' ? { start: startOf(given) } : {};

  test('positions, their standard deviations and ellipses', () => {
    const { summary } = run(referenceReadings(given), parameters);
    expect(summary.dimensions).toBe(given.parameters.dimension);
    for (const [point, at] of Object.entries(expected.points)) {
      const found = summary.points[point];
      [found.x, found.y, found.z].slice(0, at.adjusted.length).forEach((v, k) => {
        near(v, at.adjusted[k], { absolute: 1e-8 });
      });
      [found.sx, found.sy, found.sz].slice(0, at.adjusted.length).forEach((v, k) => {
        near(v, at.sd_a_priori[k], { relative: 1e-8 });
      });
      const { ellipse_a_priori: prior, ellipse_a_posteriori: posterior } = at;
      near(found.ellipse.semi_major_m, prior.semi_major, { relative: 1e-8 });
      near(found.ellipse.semi_minor_m, prior.semi_minor, { relative: 1e-8 });
      near(found.ellipse.azimuth_deg, prior.azimuth_deg_clockwise_from_north, { absolute: 1e-6 });
      near(found.ellipse_95.semi_major_m, at.ellipse_95_a_priori_factor * prior.semi_major, { relative: 1e-8 });
      near(found.ellipse_95_a_posteriori?.semi_minor_m, at.ellipse_95_a_posteriori_factor * posterior.semi_minor, {
        relative: 1e-7,
      });
    }
  });

  test('variance factor, residuals and what checks them', () => {
    const { summary } = run(referenceReadings(given), parameters);
    near(summary.variance_factor, expected.variance_factor, { relative: 2e-7 });
    expect(summary.redundancy).toBe(expected.redundancy);
    near(summary.network.global_test_p, expected.global_test.p_upper, { absolute: 1e-7 });
    summary.measurements.forEach((row, i) => {
      near(row.residual, expected.residuals[i], { absolute: 1e-8 });
      near(row.redundancy, expected.redundancy_numbers[i], { absolute: 1e-8 });
      near(row.normalised, expected.normalised_residuals[i], { absolute: 1e-5 });
      near(row.mdb, expected.minimal_detectable_bias[i], { relative: 1e-7 });
      if (expected.tau_statistics) near(row.tau, expected.tau_statistics[i], { absolute: 1e-5 });
    });
  });

  test('the same far from the origin, as map coordinates are', () => {
    const here = referenceReadings(given);
    const moved = { ...here, control: here.control.map((p) => ({ ...p, x: p.x + 412_000, y: p.y + 4_984_000 })) };
    const start = startOf(given).map((p) => ({ ...p, x: p.x + 412_000, y: p.y + 4_984_000 }));
    const { summary } = run(moved, name === 'trilat2d_network' ? { start } : {});
    // control coordinates lose digits at 5 000 km: 1e-9 m
    near(summary.variance_factor, expected.variance_factor, { relative: 1e-4 });
    for (const [point, at] of Object.entries(expected.points)) {
      near(summary.points[point].x, at.adjusted[0] + 412_000, { absolute: 1e-7 });
      near(summary.points[point].y, at.adjusted[1] + 4_984_000, { absolute: 1e-7 });
    }
  });
});

test('the handbook point to the digits printed', () => {
  // Wolf & Ghilani, Adjustment Computations, ch. 14: U = (6861.32, 3727.82), residuals −0.04, 0.08, −0.05 ft
  const { summary } = run(referenceReadings(reference('trilat2d_handbook')));
  near(summary.points['U'].x, 6861.32, { absolute: 0.005 });
  near(summary.points['U'].y, 3727.82, { absolute: 0.005 });
});

test('the blunder of 0.30 m is found, measured and located', () => {
  const { summary, caution } = run(referenceReadings(reference('trilat2d_one_point_blunder')));
  expect(summary.measurements.map((row) => row.suspect)).toEqual([false, false, true, false]);
  near(summary.measurements[2].error, 0.3, { absolute: 0.03 });
  near(summary.network.critical_normalised, 3.29, { absolute: 0.001 });
  expect(caution).toContain('rows 3');
  const cleaned = run(referenceReadings(reference('trilat2d_one_point_blunder')), { suspects: 'set_aside' }).summary;
  expect(cleaned.measurements[2].state).toBe('set_aside');
  near(cleaned.points['P'].x, reference('trilat2d_one_point').expected.points['P'].adjusted[0], { absolute: 0.01 });
});

test('with one redundancy the gross error is seen but not located', () => {
  const { summary } = run(
    readingsOf({
      control: [
        ['A', 0, 0],
        ['B', 10, 0],
        ['C', 0, 10],
      ],
      measurements: [
        ['A', 'P', 'distance', Math.hypot(4, 5), 0.01],
        ['B', 'P', 'distance', Math.hypot(6, 5) + 0.37, 0.01],
        ['C', 'P', 'distance', Math.hypot(4, 5), 0.01],
      ],
    }),
  );
  expect(summary.redundancy).toBe(1);
  const sizes = summary.measurements.map((row) => Math.abs(row.normalised ?? 0));
  near(sizes[1], sizes[0], { relative: 1e-3 });
  expect(summary.measurements.every((row) => row.suspect)).toBe(true);
  expect(summary.measurements[0].cause).toContain('not located');
});

describe('two places that fit equally well', () => {
  const datumLine = readingsOf({
    control: [
      ['A', 0, 0],
      ['B', 5, 0],
      ['C', 10, 0],
    ],
    measurements: [
      ['A', 'P', 'distance', 5, 0.01],
      ['B', 'P', 'distance', Math.hypot(1, 3), 0.01],
      ['C', 'P', 'distance', Math.hypot(6, 3), 0.01],
    ],
  });

  test('control in one line: the one left of the first → last control point, the other as mirror', () => {
    const { summary, caution } = run(datumLine);
    near(summary.points['P'].x, 4, { absolute: 1e-8 });
    near(summary.points['P'].y, 3, { absolute: 1e-8 });
    near(summary.mirror?.points['P'].y, -summary.points['P'].y, { absolute: 1e-9 });
    expect(summary.mirror?.chosen_by).toBe('rule');
    expect(caution).toMatch(/P would fit as well in another place/);
    const turned = run({ ...datumLine, control: [...datumLine.control].reverse() }).summary;
    near(turned.points['P'].y, -summary.points['P'].y, { absolute: 1e-9 });
  });

  test('an approximate position decides', () => {
    const { summary } = run(datumLine, { start: [{ name: 'P', x: 3.5, y: -2 }] });
    expect(summary.points['P'].y).toBeLessThan(0);
    expect(summary.mirror?.points['P'].y).toBeGreaterThan(0);
    expect(summary.mirror?.chosen_by).toBe('start');
  });

  test('a datum ring at one depth: the higher one', () => {
    const to = (x: number, y: number) => Math.hypot(3 - x, 4 - y, 2);
    const { summary } = run(
      readingsOf({
        control: [
          ['A', 0, 0, -10],
          ['B', 10, 0, -10],
          ['C', 10, 9, -10],
          ['D', 0, 9, -10],
        ],
        measurements: [
          ['A', 'P', 'distance', to(0, 0), 0.01],
          ['B', 'P', 'distance', to(10, 0), 0.01],
          ['C', 'P', 'distance', to(10, 9), 0.01],
          ['D', 'P', 'distance', to(0, 9), 0.01],
        ],
      }),
    );
    expect(summary.dimensions).toBe(3);
    near(summary.points['P'].z, -8, { absolute: 1e-7 });
    near(summary.mirror?.points['P'].z, -12, { absolute: 1e-7 });
  });

  test('a network on two control points turns over as a whole', () => {
    const given = reference('trilat2d_network');
    const { summary } = run(referenceReadings(given));
    for (const [point, at] of Object.entries(given.expected.points)) {
      near(summary.mirror?.points[point].x, at.adjusted[0], { absolute: 1e-8 });
      near(summary.mirror?.points[point].y, at.adjusted[1], { absolute: 1e-8 });
    }
    near(summary.variance_factor, given.expected.variance_factor, { relative: 1e-7 });
  });
});

test('nothing redundant: residuals 0, variance factor null, and it is said', () => {
  const { summary, caution } = run(
    readingsOf({
      control: [
        ['A', 0, 0],
        ['B', 10, 0],
      ],
      measurements: [
        ['A', 'P', 'distance', 8],
        ['B', 'P', 'distance', 7],
      ],
    }),
  );
  expect(summary.redundancy).toBe(0);
  expect(summary.variance_factor).toBeNull();
  for (const row of summary.measurements) {
    near(row.residual, 0, { absolute: 1e-9 });
    expect([row.redundancy, row.normalised, row.mdb]).toEqual([0, null, null]);
  }
  expect(summary.points['P'].ellipse_95_a_posteriori).toBeNull();
  expect(summary.points['P'].weak).toBe(true);
  expect(caution).toContain('Nothing is redundant');
  expect(caution).toContain('0.025 m is assumed');
});

test('points that hang loose are named, not invented', () => {
  const { summary, caution } = run(
    readingsOf({
      control: [
        ['A', 0, 0],
        ['B', 10, 0],
        ['C', 0, 10],
      ],
      measurements: [
        ['A', 'P', 'distance', 5.1, 0.01],
        ['B', 'P', 'distance', 7.05, 0.01],
        ['C', 'P', 'distance', 7.04, 0.01],
        // one tape
        ['P', 'Q', 'distance', 3, 0.01],
        // an island
        ['R', 'S', 'distance', 3, 0.01],
        ['S', 'T', 'distance', 4, 0.01],
        ['T', 'R', 'distance', 5, 0.01],
        // two tapes of one point in one direction fix nothing across
        ['A', 'U', 'distance', 4, 0.01],
        ['A', 'U', 'distance', 4.01, 0.01],
        // tapes that do not meet
        ['A', 'V', 'distance', 3, 0.01],
        ['B', 'V', 'distance', 4, 0.01],
      ],
    }),
  );
  expect(Object.keys(summary.points)).toEqual(['P']);
  const reasons = Object.fromEntries(summary.undetermined.map(({ name, reason }) => [name, reason]));
  expect(Object.keys(reasons).sort()).toEqual(['Q', 'R', 'S', 'T', 'U', 'V']);
  expect(reasons['Q']).toMatch(/1 reading/);
  expect(reasons['R']).toMatch(/no chain of readings/);
  expect(reasons['U']).toMatch(/do not fix/);
  expect(reasons['V']).toMatch(/do not meet/);
  expect(caution).toContain('Not placed: ');
  expect(summary.measurements[3]).toMatchObject({ state: 'not_used', residual: null, cause: 'Q cannot be placed' });
  expect(summary.redundancy).toBe(1);
});

describe('kinds of readings', () => {
  test('offsets from a baseline place a point without a tape; out is positive to the left', () => {
    const { summary } = run(
      readingsOf({
        control: [
          ['A', 1, 1],
          ['B', 11, 1],
        ],
        measurements: [
          ['A>B', 'P', 'baseline_along', 4, 0.02],
          ['A>B', 'P', 'baseline_out', 2.5, 0.02],
          ['A-B', 'Q', 'baseline_along', 7, 0.02],
          ['A-B', 'Q', 'baseline_out', -1, 0.02],
          ['A', 'Q', 'distance', Math.hypot(7, 1), 0.02],
        ],
      }),
    );
    near(summary.points['P'].x, 5, { absolute: 1e-9 });
    near(summary.points['P'].y, 3.5, { absolute: 1e-9 });
    near(summary.points['P'].sx, 0.02, { relative: 1e-9 });
    near(summary.points['Q'].x, 8, { absolute: 1e-9 });
    near(summary.points['Q'].y, 0, { absolute: 1e-9 });
    expect(summary.mirror).toBeNull();
  });

  test('depths are down-positive, lose the tide of their series, and count from the level stated', () => {
    const readings = readingsOf({
      control: [
        ['A', 0, 0, 1],
        ['B', 10, 0, 0],
        ['C', 0, 10, 0.5],
      ],
      measurements: [
        ['A', 'P', 'distance', Math.hypot(3, 4, 2.2), 0.01],
        ['B', 'P', 'distance', Math.hypot(7, 4, 1.2), 0.01],
        ['C', 'P', 'distance', Math.hypot(3, 6, 1.7), 0.01],
        ['', 'P', 'depth', 15.9, 0.02, { series: 'T9', date: '2022-06-09', time: '11:00' }],
        ['A', 'P', 'vertical_offset', -2.2, 0.02],
      ],
      tide: [
        {
          series: 'T9',
          startTime: '2022-06-09T08:00:00Z',
          startDepth: 14.4,
          endTime: '2022-06-09T12:00:00Z',
          endDepth: 14.8,
          referenceDepth: 14.2,
        },
      ],
    });
    const { summary, methods } = run(readings, { zero_depth_elevation_m: 14.2 });
    // 0.20 m at the start, 0.60 m at the end, three quarters through: 0.50 m of tide
    near(summary.measurements[3].reduced, 14.2 - 15.4, { absolute: 1e-9 });
    near(summary.points['P'].z, -1.2, { absolute: 1e-9 });
    near(summary.variance_factor, 0, { absolute: 1e-12 });
    expect(methods).toContain('reduced for tide');
    const late = { ...readings, measurements: readings.measurements.map((m) => ({ ...m, time: '13:00' })) };
    const refused = run(late, { zero_depth_elevation_m: 14.2 }).summary.measurements[3];
    expect(refused.state).toBe('set_aside');
    expect(refused.cause).toMatch(/outside reading series T9/);
    const raw = run(readings, { zero_depth_elevation_m: 14.2, tide: 'as_read' }).summary;
    near(raw.measurements[3].reduced, 14.2 - 15.9, { absolute: 1e-9 });
  });

  test('in plan a tape between points of known elevation is reduced; as read it is found too long', () => {
    const slope = (x: number, y: number, dz: number) => Math.hypot(4 - x, 5 - y, dz);
    const readings = readingsOf({
      control: [
        ['A', 0, 0, 0],
        ['B', 10, 0, 0],
        ['C', 10, 10, 0],
        ['D', 0, 10, 2.5],
        ['E', 4, 14, 0],
        ['P', 4.1, 5.2, 0, { class: 'detail' }],
      ],
      measurements: [
        ['A', 'P', 'distance', slope(0, 0, 0), 0.01],
        ['B', 'P', 'distance', slope(10, 0, 0), 0.01],
        ['C', 'P', 'distance', slope(10, 10, 0), 0.01],
        ['D', 'P', 'distance', slope(0, 10, 2.5), 0.01],
        ['E', 'P', 'distance', slope(4, 14, 0), 0.01],
      ],
    });
    const reduced = run(readings, { dimensions: 2 });
    near(reduced.summary.points['P'].x, 4, { absolute: 1e-8 });
    expect(reduced.methods).toContain('1 tape reduced from slope to horizontal');
    const asRead = run(readings, { dimensions: '2', slope: 'as_read' }).summary;
    expect(asRead.measurements.map((row) => row.suspect)).toEqual([false, false, false, true, false]);
    expect(asRead.measurements[3].cause).toContain('slope not reduced');
    expect(run(readings, { dimensions: 2 }).summary.mirror).toBeNull();
  });

  test('what cannot be used is set aside with its row and reason', () => {
    const { summary, caution } = run(
      readingsOf({
        control: [
          ['A', 0, 0],
          ['B', 10, 0],
          ['C', 0, 10],
        ],
        measurements: [
          ['A', 'P', 'distance', 5.1],
          ['B', 'P', 'distance', 7.05],
          ['C', 'P', 'distance', 7.04],
          ['A', 'P', 'angle', 45],
          ['A', 'P', 'distance', Number.NaN],
          ['A', 'P', 'distance', -3],
          ['A', 'P', 'distance', 510, 1, { unit: 'cm' }],
          ['line 1', 'P', 'baseline_along', 4],
          [null, 'P', 'distance', 4],
          ['A', 'P', 'distance', 5.2],
        ],
      }),
      { set_aside: [10] },
    );
    expect(summary.measurements.map((row) => row.state)).toEqual([
      ...Array(3).fill('used'),
      ...Array(7).fill('set_aside'),
    ]);
    expect(summary.measurements.slice(3).map((row) => row.cause)).toEqual([
      'kind "angle" is not adjusted here',
      'it has no value',
      'a distance of -3 m cannot be',
      'unit "cm" is not read; give metres',
      '"line 1" names no baseline; write its two points as CP1>CP2, start first',
      'a distance needs two points',
      'set aside by request',
    ]);
    expect(caution).toContain('7 measurements set aside');
  });
});

test('swapped names, whole metres and tenths are told from each other', () => {
  const control = [
    ['A', 0, 0],
    ['B', 20, 0],
    ['C', 20, 20],
    ['D', 0, 20],
    ['E', 10, -3],
    ['F', 23, 10],
  ] as const;
  const points = { P: [7, 8], Q: [12, 13], R: [5, 14], S: [13, 6] } as const;
  const rows = Object.entries(points).flatMap(([name, [x, y]]) =>
    control.map(
      ([c, cx, cy]) =>
        [c, name, 'distance', Math.hypot(x - cx, y - cy), 0.01] as [string, string, string, number, number],
    ),
  );
  const at = (from: string, to: string) => rows.findIndex(([f, t]) => f === from && t === to);
  rows[at('A', 'P')][1] = 'Q';
  rows[at('C', 'Q')][1] = 'P';
  rows[at('B', 'R')][3] += 1;
  rows[at('E', 'S')][3] -= 0.1;
  const { summary } = run(readingsOf({ control, measurements: rows }));
  const suspects = summary.measurements.filter((row) => row.suspect);
  expect(suspects).toHaveLength(4);
  const causeOf = (from: string, to: string) => suspects.find((row) => row.from === from && row.to === to)?.cause;
  expect(causeOf('A', 'Q')).toContain('point names swapped with row');
  expect(causeOf('C', 'P')).toContain('point names swapped with row');
  expect(causeOf('B', 'R')).toContain('a slip of 1 m: 1.000 m too long');
  expect(causeOf('E', 'S')).toContain('a slip of 0.1 m: 0.100 m too short');
});

test('Pope: the same fit whatever the sigmas stated, as long as they agree among themselves', () => {
  const given = reference('trilat2d_network');
  const readings = referenceReadings(given);
  const start = startOf(given);
  const tenfold = { ...readings, measurements: readings.measurements.map((m) => ({ ...m, sigma: 10 * m.sigma })) };
  const here = run(readings, { test: 'pope', start }).summary;
  const there = run(tenfold, { test: 'pope', start }).summary;
  here.measurements.forEach((row, i) => {
    near(there.measurements[i].tau, row.tau ?? Number.NaN, { relative: 1e-8 });
  });
  // tau for 6 redundancies at 5 %: 1.848
  near(here.network.critical_normalised, 1.8481209896246933, { relative: 1e-9 });
  near(there.points['P1'].sx, 10 * here.points['P1'].sx, { relative: 1e-8 });
  near(
    there.points['P1'].ellipse_95_a_posteriori?.semi_major_m,
    here.points['P1'].ellipse_95_a_posteriori?.semi_major_m ?? Number.NaN,
    {
      relative: 1e-7,
    },
  );
});

test('two tapes of 25 mm: position error √2 σ / sin(cut), as the rule of thumb has it', () => {
  // measured values of the trade's handbook page: 90° 35 mm, 45° 50 mm, 30° 71 mm, 20° 103 mm, 10° 204 mm
  for (const [cut, millimetres] of [
    [90, 35],
    [45, 50],
    [30, 71],
    [20, 103],
    [10, 204],
  ]) {
    const t = (cut * Math.PI) / 180;
    const { summary } = run(
      readingsOf({
        control: [
          ['A', -10, 0],
          ['B', -10 * Math.cos(t), -10 * Math.sin(t)],
        ],
        measurements: [
          ['A', 'P', 'distance', 10, 0.025],
          ['B', 'P', 'distance', 10, 0.025],
        ],
      }),
      { start: [{ name: 'P', x: 0, y: 0 }] },
    );
    const { sx, sy, best_cut_deg: best, weak } = summary.points['P'];
    near(1000 * Math.hypot(sx, sy), millimetres, { absolute: 0.51 });
    near(best, cut, { absolute: 1e-6 });
    expect(weak).toBe(true);
  }
});

test('an offset judged square but 1, 2 or 5° off is 87, 174, 436 mm out at 5 m', () => {
  // measured values of the trade's handbook page
  for (const [angle, millimetres] of [
    [1, 87],
    [2, 174],
    [5, 436],
  ]) {
    const t = (angle * Math.PI) / 180;
    const { summary } = run(
      readingsOf({
        control: [
          ['A', 0, 0],
          ['B', 20, 0],
        ],
        measurements: [
          ['A>B', 'P', 'baseline_along', 8],
          ['A>B', 'P', 'baseline_out', 5],
        ],
      }),
    );
    const off = Math.hypot(summary.points['P'].x - 8 - 5 * Math.sin(t), summary.points['P'].y - 5 * Math.cos(t));
    near(1000 * off, millimetres, { absolute: 0.6 });
  }
});

test('refusals say what is missing', () => {
  expect(() => run(null)).toThrow(/needs control points and measurements/);
  expect(() => run(readingsOf({ control: [['A', 0, 0]] }))).toThrow(/no measurements to adjust/);
  expect(() => run(readingsOf({ measurements: [['A', 'P', 'distance', 3]] }))).toThrow(
    /no measurement touches a control point/,
  );
  expect(() =>
    run(readingsOf({ control: [['A', 0, 0]], measurements: [['A', 'P', 'distance', 3]] }), { dimensions: '3' }),
  ).toThrow(/needs an elevation of every control point .*; A has none/);
  expect(() =>
    run(
      readingsOf({
        control: [
          ['A', 0, 0],
          ['A', 1, 0],
        ],
        measurements: [['A', 'P', 'distance', 3]],
      }),
    ),
  ).toThrow(/A is listed at 0, 0 and at 1, 0/);
});

describe('the demo site', () => {
  const rows = (file: string) =>
    readFileSync(new URL(`../../data-demo/${file}`, import.meta.url), 'utf8')
      .trim()
      .split('\n')
      .slice(1)
      .map((line) => line.split(','));
  const number = (text: string) => (text === '' ? Number.NaN : Number(text));
  const readings = readingsOf({
    control: rows('control-points.csv').map(
      ([name, kind, x, y, z, sigma, season]) =>
        [name, Number(x), Number(y), number(z), { class: kind, sigma: number(sigma), season }] as const,
    ),
    measurements: rows('measurements.csv').map(
      ([from, to, kind, value, , sigma, , series]) =>
        [to === '' ? null : from, to === '' ? from : to, kind, Number(value), number(sigma), { series }] as const,
    ),
  });
  const truth = JSON.parse(readFileSync(new URL('../../data-demo/truth.json', import.meta.url), 'utf8')).survey as {
    rows: Record<string, { row: number }[]>;
    true_points: { name: string; x: number; y: number; z: number }[];
  };
  const planted = ['one_metre', 'tenth_of_a_metre', 'swapped_names'].flatMap((kind) =>
    truth.rows[kind].map(({ row }) => row),
  );

  test('the five gross errors are among the suspects, with their causes', () => {
    const { summary } = run(readings);
    expect(planted).toHaveLength(5);
    const suspects = new Map(summary.measurements.filter((row) => row.suspect).map((row) => [row.row, row.cause]));
    for (const row of planted) expect(suspects.has(row), `row ${row}`).toBe(true);
    expect(suspects.size).toBeLessThan(15);
    for (const { row } of truth.rows['one_metre']) expect(suspects.get(row)).toContain('slip of 1 m');
    for (const { row } of truth.rows['tenth_of_a_metre']) expect(suspects.get(row)).toContain('slip of 0.1 m');
    for (const { row } of truth.rows['swapped_names']) expect(suspects.get(row)).toContain('swapped');
  });

  test('without the suspects the points lie where they were put, by their own errors', () => {
    const { summary } = run(readings, { suspects: 'set_aside' });
    expect(summary.dimensions).toBe(3);
    expect(Object.keys(summary.points)).toHaveLength(46);
    const off = truth.true_points.flatMap(({ name, x, y }) => {
      const found = summary.points[name];
      return found ? [Math.hypot(found.x - x, found.y - y) / found.ellipse_95.semi_major_m] : [];
    });
    // poor tapes (σ 0.08 stated as 0.025) throw some points out of their ellipses
    expect(off.filter((share) => share < 1).length).toBeGreaterThan(35);
    expect(Math.max(...off)).toBeLessThan(5);
  });

  test('the figure draws every tape, and the layer every point', () => {
    const answer = run(readings);
    const svg = svgText(answer.figure);
    expect(svg).not.toMatch(/NaN|undefined|Infinity/);
    expect(svg).toMatch(/drawn \d+ times/);
    expect(answer.features?.length).toBe(8 + 46);
    expect(answer.table.rows).toHaveLength(readings.measurements.length);
  });
});
