import { describe, expect, test } from 'vitest';
import { distanceBands } from '../../src/analyses/hull-scatter/bands.js';
import { againstOthers, againstWindow, type Measure } from '../../src/analyses/hull-scatter/chance.js';
import analysis from '../../src/analyses/hull-scatter/index.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { HullElement, Sample } from '../../src/domain/sample.js';
import { lineStrips, signedLineDistance } from '../../src/math/line-strips.js';
import { randomStream } from '../../src/math/random.js';
import { boundaryDistance } from '../../src/math/rings.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { Problem } from '../../src/problems.js';
import { lineCovariates } from '../support/covariates.js';
import { allNear, near, uniformScatter } from '../support/near.js';
import { hullOf, sampleOf, windowOf } from '../support/sample-of.js';

const pairs = (xy: Float64Array) =>
  Array.from({ length: xy.length / 2 }, (_, i) => [xy[2 * i], xy[2 * i + 1]] as const);
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
const keelson = hullOf([
  {
    element: 'keelson',
    line: [
      [2, 5],
      [18, 5],
    ],
  },
]);
const plank: HullElement = {
  number: 'H7',
  element: 'plank',
  state: 'articulated',
  place: 'in_place',
  outline: 'surviving',
  type: 'area',
  parts: [Float64Array.of(4, 6, 16, 6, 16, 8, 4, 8)],
};
const axis = { after: [2, 5], bow: [18, 5], bowEnd: 'resolved' } as const;

function dig(more: Partial<Sample> = {}, n = 60): Sample {
  return sampleOf(pairs(uniformScatter({ n, seed: 5, width: 20, height: 10 })), rectangle(20, 10), {
    hull: keelson,
    shipAxis: axis,
    ...more,
  });
}

function answerOf(sample: Sample, own: Record<string, unknown> = {}, simulations = 0) {
  return analysis.run(sample, analysis.parameters.parse(own), { seed: 3, simulations, draws: 1, progress: () => {} });
}
const summaryOf = (...given: Parameters<typeof answerOf>) => answerOf(...given).summary;

function refusal(run: () => unknown): Problem {
  try {
    run();
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

describe.each(lineCovariates)('$name through the whole analysis', ({ window, xy, line, expected }) => {
  test('by numpy, scipy and shapely', () => {
    const { n, ks, berman, expected_mean_m: mean, f0_bound: bound } = summaryOf(sampleOf(pairs(xy), window), { line });
    expect(n).toBe(expected.Z.length);
    expect(bound).toBe(0);
    near(mean, expected.covariate_mean, { relative: 1e-9 });
    near(ks.d, expected.ks_D, { relative: 1e-9 });
    near(ks.p, expected.ks_p_exact, { relative: 1e-9 });
    near(berman.z1, expected.berman_Z1_poisson, { relative: 1e-9 });
    near(berman.p1, expected.p_Z1, { relative: 1e-9 });
    near(berman.z1_conditional, expected.berman_Z1_conditional_on_n, { relative: 1e-9 });
    near(berman.p1_conditional, expected.p_Z1_conditional, { relative: 1e-9 });
    near(berman.z2, expected.berman_Z2, { relative: 1e-9 });
    near(berman.p2, expected.p_Z2, { relative: 1e-9 });
  });
});

describe('each find', () => {
  const sample = sampleOf(
    [
      [4, 6.5],
      [1, 5],
      [10, 4],
      [10, 5],
      [19.9, 9],
    ],
    rectangle(20, 10),
    { hull: [...keelson, plank], shipAxis: axis },
  );
  const { features, summary } = answerOf(sample);
  const column = (name: string) =>
    Array.from({ length: 5 }, (_, i) => valueAt(features?.columns.get(name) ?? expect.fail(name), i));
  test('its distances, nearest hull feature and place along the keel', () => {
    allNear(column('distance_m') as number[], [0, 1, 1, 0, Math.hypot(3.9, 1)], { absolute: 1e-12 });
    expect(column('hull_element')).toEqual(['plank', 'keelson', 'keelson', 'keelson', 'plank']);
    expect(column('hull_number')).toEqual(['H7', '1', '1', '1', 'H7']);
    allNear(column('signed_distance_m') as number[], [0, Math.hypot(3, 1), 2, 1, Math.hypot(3.9, 1)], {
      absolute: 1e-12,
    });
    expect(column('along_keel_m')).toEqual([2, -1, 8, 8, 17.9]);
    expect(column('off_keel_m')).toEqual([1.5, 0, -1, 0, 4]);
    expect(column('side')).toEqual(['port', null, 'starboard', null, 'port']);
  });
  test('nearer to the trench edge than to the hull', () => {
    const edges = pairs(sample.xy).map(([x, y]) => boundaryDistance(sample.window, x, y));
    allNear(column('edge_distance_m') as number[], edges, { absolute: 1e-12 });
    expect(column('nearer_to_edge')).toEqual([false, false, false, false, true]);
    expect(summary.nearer_to_edge).toBe(1);
  });
  test('inside a hull area the signed distance is negative, and counted', () => {
    const inside = answerOf(
      sampleOf(
        [
          [10, 7.5],
          [10, 2],
        ],
        rectangle(20, 10),
        { hull: [plank] },
      ),
      { distance: 'outline' },
    );
    expect(inside.summary.signed_distance_m).toMatchObject({ min: -0.5, max: 4 });
    expect(inside.summary.inside_hull).toBe(1);
    near(inside.summary.in_out?.inside_area_m2, 24, { relative: 1e-9 });
    near(inside.summary.in_out?.rate_ratio, 1 / 24 / (1 / 176), { relative: 1e-9 });
  });
});

describe('laws', () => {
  const numbers = (sample: Sample, own: Record<string, unknown> = {}) => {
    const { ks, berman, distance_m: distance, expected_median_m: median, bands } = summaryOf(sample, own);
    return [
      ...Object.values({ ...ks, ...berman, ...distance }).map(Number),
      median,
      ...bands.flatMap((band) => [band.n, band.area_m2]),
    ];
  };
  const through = (sample: Sample, move: (x: number, y: number) => [number, number]): Sample => {
    const moved = (xy: Float64Array) => Float64Array.from(pairs(xy).flatMap(([x, y]) => move(x, y)));
    return {
      ...sample,
      xy: moved(sample.xy),
      window: { rings: sample.window.rings.map(moved) },
      hull: sample.hull.map((feature) => ({ ...feature, parts: feature.parts.map(moved) })),
      shipAxis: sample.shipAxis && {
        ...sample.shipAxis,
        after: move(...sample.shipAxis.after),
        bow: move(...sample.shipAxis.bow),
      },
    };
  };
  const here = dig({ hull: [...keelson, plank] });

  test.each(['nearest', 'outline', 'axis'])('%s: moved to map coordinates and turned, the same numbers', (distance) => {
    const before = numbers(here, { distance });
    allNear(
      numbers(
        through(here, (x, y) => [x + 412_037, y + 4_984_118]),
        { distance },
      ),
      before,
      { relative: 1e-6, absolute: 1e-6 },
    );
    const [c, s] = [Math.cos(0.5), Math.sin(0.5)];
    allNear(
      numbers(
        through(here, (x, y) => [c * x - s * y, s * x + c * y]),
        { distance },
      ),
      before,
      { relative: 1e-6, absolute: 1e-6 },
    );
  });
  test('doubled: distances double, areas grow fourfold, probabilities stay', () => {
    const before = summaryOf(here);
    const after = summaryOf(
      through(here, (x, y) => [2 * x, 2 * y]),
      { bands: [0, 1, 2, 4, 8, 16] },
    );
    near(after.distance_m.median, 2 * (before.distance_m.median ?? 0), { relative: 1e-12 });
    near(after.ks.p, before.ks.p ?? 0, { relative: 1e-9 });
    near(after.bands[1].area_m2, 4 * before.bands[1].area_m2, { relative: 1e-9 });
  });
  test('mirrored: port and starboard change places, all else stays', () => {
    const before = summaryOf(here);
    const mirrored = through(here, (x, y) => [x, 10 - y]);
    const flip = (ring: Float64Array) => Float64Array.from(pairs(ring).reverse().flat());
    const after = summaryOf({
      ...mirrored,
      window: { rings: mirrored.window.rings.map(flip) },
      hull: mirrored.hull.map((feature) => ({ ...feature, parts: feature.parts.map(flip) })),
    });
    expect([after.side?.port, after.side?.starboard]).toEqual([before.side?.starboard, before.side?.port]);
    near(after.side?.p, before.side?.p ?? 0, { relative: 1e-9 });
    near(after.ks.p, before.ks.p ?? 0, { relative: 1e-9 });
  });
  test('bands share out all finds and all dug ground', () => {
    for (const distance of ['nearest', 'outline', 'axis']) {
      const { bands, n } = summaryOf(here, { distance, bands: [0, 0.3, 1.5] });
      expect(bands.reduce((sum, band) => sum + band.n, 0)).toBe(n);
      near(
        bands.reduce((sum, band) => sum + band.area_m2, 0),
        200,
        { relative: 1e-9 },
      );
    }
  });
  test('a long straight hull piece and the line of the same course give the same tests', () => {
    const long = hullOf([
      {
        element: 'keelson',
        line: [
          [-80, -34],
          [100, 56],
        ],
      },
    ]);
    const drawn = summaryOf(dig({ hull: long }));
    const stated = summaryOf(dig({ hull: [] }), { line: [0.5, -1, 6] });
    for (const key of ['z1', 'z1_conditional', 'z2'] as const)
      near(drawn.berman[key], stated.berman[key] ?? 0, { relative: 1e-9 });
    near(drawn.ks.d, stated.ks.d ?? 0, { relative: 1e-9 });
    near(drawn.expected_median_m, stated.expected_median_m, { relative: 1e-9 });
  });
  test('distance=axis is the line through the two ends of the ship axis', () => {
    const byAxis = summaryOf(dig(), { distance: 'axis' });
    const byLine = summaryOf(dig(), { line: [0, 1, -5] });
    near(byAxis.ks.d, byLine.ks.d ?? 0, { relative: 1e-12 });
    expect(byAxis.f0_bound).toBe(0);
  });
});

describe('against chance', () => {
  const window = rectangle(20, 10);
  const measure: Measure = {
    distance: (x, y) => Math.abs(signedLineDistance([0, 1, -5], x, y)),
    law: lineStrips(window, [0, 1, -5]),
  };
  const plan = (simulations: number, seed = 1) => ({ simulations, seed, progress: () => {} });

  test('finds along the keel are closer than chance, finds at the edge farther; simulated p says so', () => {
    const close = sampleOf(
      pairs(uniformScatter({ n: 25, seed: 2, width: 20, height: 2 }).map((v, i) => v + 4 * (i % 2))),
      window,
      { hull: keelson },
    );
    const found = summaryOf(close, {}, 199);
    expect(found.simulated).toMatchObject({ p_closer: 0.005, p_farther: 1, simulations: 199 });
    expect(found.ks.p).toBeLessThan(1e-4);
    expect(found.berman.z1).toBeLessThan(0);
  });

  test('under chance alone the p of every test is even: 300 seeded scatters of 12', () => {
    const draw = uniformPoints(window);
    const p = { simulated: [] as number[], gap: [] as number[], z2: [] as number[] };
    for (let run = 0; run < 300; run++) {
      const xy = new Float64Array(24);
      draw(xy, randomStream(77, run));
      const found = summaryOf(sampleOf(pairs(xy), window), { line: [0, 1, -5] });
      const observed = Float64Array.from(pairs(xy), ([x, y]) => measure.distance(x, y));
      p.simulated.push(againstWindow(observed, measure, { window, plan: plan(39, run) }).chance.pCloser);
      p.gap.push(found.ks.p ?? 2);
      p.z2.push(found.berman.p2 ?? 2);
    }
    for (const values of Object.values(p)) {
      for (const level of [0.1, 0.25, 0.5]) {
        const share = values.filter((v) => v <= level + 1e-12).length / values.length;
        expect(Math.abs(share - level)).toBeLessThan(4 * Math.sqrt((level * (1 - level)) / values.length));
      }
    }
  });

  test('random labelling, slow twin: all ways to deal two names over five finds', () => {
    const observed = Float64Array.of(1, 2);
    const others = Float64Array.of(3, 4, 10);
    const { chance, medianDifferenceM } = againstOthers(observed, others, plan(20_000));
    // 10 deals; only {1, 2} is as close, all are as far
    near(chance?.pCloser, 0.1, { absolute: 0.01 });
    expect(chance?.pFarther).toBe(1);
    expect(medianDifferenceM).toBe(1.5 - 4);
    const swapped = againstOthers(others, observed, plan(20_000));
    near(swapped.chance?.pFarther, 0.1, { absolute: 0.01 });
  });

  test('random labelling keeps class sizes: every deal is a mean of n of the finds there are', () => {
    const observed = Float64Array.of(1, 1, 1);
    const { chance } = againstOthers(observed, Float64Array.of(1, 1), plan(99));
    // with equal distances every deal ties, whatever hand is dealt
    expect(chance).toEqual({ pCloser: 1, pFarther: 1, pTwoSided: 1 });
  });

  test('finds of the classes chosen do not count among the others', () => {
    const xy = uniformScatter({ n: 30, seed: 5, width: 20, height: 10 });
    const classCode = Uint32Array.from({ length: 30 }, (_, i) => 1 + (i % 3));
    const own = [...classCode.keys()].filter((i) => classCode[i] === 2);
    const sample = sampleOf(
      own.map((i) => pairs(xy)[i]),
      window,
      {
        hull: keelson,
        classes: ['jar', 'nail', 'shot'],
        classCode: new Uint32Array(own.length).fill(2),
        others: { xy, classCode },
      },
    );
    expect(summaryOf(sample, {}, 19).against_others?.others).toBe(20);
    expect(summaryOf(sample).against_others).toMatchObject({ p_two_sided: null, others: 20 });
    const alone = { ...sample, others: { xy: new Float64Array(0), classCode: new Uint32Array(0) } };
    expect(summaryOf(alone, {}, 19).against_others).toBeNull();
  });

  test('equal seeds give equal answers, other seeds others', () => {
    const run = (seed: number) =>
      analysis.run(dig(), analysis.parameters.parse({}), { seed, simulations: 99, draws: 1, progress: () => {} });
    expect(JSON.stringify(run(4).figure)).toBe(JSON.stringify(run(4).figure));
    expect(JSON.stringify(run(4).figure)).not.toBe(JSON.stringify(run(5).figure));
  });
});

describe('rates', () => {
  test('a find on a band limit belongs to the band that starts there', () => {
    const law = lineStrips(rectangle(1, 4), [0, 1, 0]);
    const bands = distanceBands(Float64Array.of(0, 1, 1.5, 4), law, { limits: [0, 1, 2], windowAreaM2: 4 });
    expect(bands.map((band) => [band.fromM, band.toM, band.n])).toEqual([
      [0, 1, 1],
      [1, 2, 2],
      [2, null, 1],
    ]);
    allNear(
      bands.map((band) => band.areaM2),
      [1, 1, 2],
      { relative: 1e-12 },
    );
    near(bands[1].rateRatio, 3, { relative: 1e-12 });
  });
});

describe('few finds and odd ones', () => {
  const at = (...xy: [number, number][]) =>
    sampleOf(xy, rectangle(20, 10), { hull: [...keelson, plank], shipAxis: axis });
  test('no find: numbers of the ground stand, the rest is unknown', () => {
    const { summary, cautions, features } = answerOf(at(), {}, 19);
    expect(summary).toMatchObject({
      n: 0,
      ks: { d: null, p: null },
      berman: { z1: null, z2: null },
      simulated: null,
      against_others: null,
      distance_m: { min: null, median: null },
    });
    expect(summary.expected_median_m).toBeGreaterThan(0);
    expect(features?.length).toBe(0);
    expect(cautions.join(' ')).toContain('No find');
    expect(JSON.stringify(summary)).not.toContain('NaN');
  });
  test.each([
    ['one find', at([3, 3])],
    ['two finds', at([3, 3], [9, 9])],
    ['all at one place', at([3, 3], [3, 3], [3, 3])],
    ['in one line', at([1, 1], [2, 1], [3, 1], [4, 1])],
    ['on corners and edges of the window', at([0, 0], [20, 0], [20, 10], [0, 5])],
    ['on the keelson', at([2, 5], [7, 5], [18, 5])],
  ])('%s: printed, with a caution', (_, sample) => {
    for (const distance of ['nearest', 'outline', 'axis']) {
      const { summary, cautions } = answerOf(sample, { distance }, 19);
      expect(analysis.result.safeParse(summary).error?.issues ?? []).toEqual([]);
      expect(
        JSON.stringify(summary, (_key, v) => (typeof v === 'number' && !Number.isFinite(v) ? 'bad' : v)),
      ).not.toContain('bad');
      expect(summary.ks.p).toBeGreaterThanOrEqual(0);
      expect(cautions.join(' ')).toContain(`Only ${sample.xy.length / 2}`);
    }
  });
  test('coincident finds are counted', () => {
    expect(answerOf(at([3, 3], [3, 3], [4, 4])).cautions.join(' ')).toContain('2 of 3 finds share their place');
  });
});

describe('hull chosen', () => {
  const loose: HullElement = {
    ...keelson[0],
    number: '2',
    element: 'frame',
    state: 'loose',
    parts: [Float64Array.of(0, 0, 1, 0)],
  };
  const drifted: HullElement = { ...loose, number: '3', state: 'articulated', place: 'displaced' };
  const thought: HullElement = { ...keelson[0], number: '4', element: 'garboard', outline: 'projected' };
  const unclear: HullElement = { ...keelson[0], number: '5', state: 'unknown', place: 'unknown', outline: 'unknown' };
  const sample = dig({ hull: [...keelson, loose, drifted, thought, unclear] });
  test.each([
    [{}, 3, 2],
    [{ timbers: 'all' }, 5, 0],
    [{ outline: 'surviving' }, 2, 3],
    [{ outline: 'projected' }, 1, 4],
    [{ elements: ['keelson', 'frame'] }, 2, 3],
  ])('%j: %i used, %i left out', (own, used, leftOut) => {
    const summary = summaryOf(sample, own);
    expect([summary.hull_features, summary.hull_features_left_out]).toEqual([used, leftOut]);
  });
  test('what the record does not say is said', () => {
    const words = answerOf(sample).cautions.join(' ');
    expect(words).toContain('1 hull features are counted as articulated and in place though');
    expect(words).toContain('1 of the hull features are projected');
  });
});

describe('refusals', () => {
  test('no hull: what is needed', () => {
    const none = refusal(() => answerOf(dig({ hull: [] })));
    expect(none.code).toBe('no-hull');
    expect(none.message).toMatch(/hull-features\.geojson.*ship axis.*line/);
    const drifted = keelson.map((feature) => ({ ...feature, place: 'displaced' as const }));
    expect(refusal(() => answerOf(dig({ hull: drifted }))).message).toContain('all 1 hull features are left out');
  });
  test('outline without areas, axis without an axis, an axis of no length', () => {
    expect(refusal(() => answerOf(dig(), { distance: 'outline' })).code).toBe('no-hull');
    expect(refusal(() => answerOf(dig({ shipAxis: null }), { distance: 'axis' })).code).toBe('cannot-answer');
    const point = { ...axis, bow: [2, 5] as const };
    expect(refusal(() => answerOf(dig({ shipAxis: point }))).code).toBe('bad-geometry');
  });
  test('an unknown element, bands that do not rise, a line without direction', () => {
    expect(refusal(() => answerOf(dig(), { elements: ['kelson'] })).message).toContain('elements here: keelson');
    expect(refusal(() => answerOf(dig(), { bands: [0, 2, 2] })).message).toContain('2 m comes after 2 m');
    expect(refusal(() => answerOf(dig(), { line: [0, 0, 1] })).code).toBe('bad-parameter');
  });
  test('the side, when the bow is not resolved: left out with a reason, refused when required', () => {
    const unresolved = dig({ shipAxis: { ...axis, bowEnd: 'unresolved' } });
    const { summary, cautions, features } = answerOf(unresolved);
    expect(summary.side).toBeNull();
    expect(summary.side_reason).toContain('not resolved');
    expect(cautions.join(' ')).toContain('wrong way round');
    expect(valueAt(features?.columns.get('side') ?? expect.fail('side'), 0)).toBeNull();
    expect(refusal(() => answerOf(unresolved, { side: 'required' })).code).toBe('cannot-answer');
    expect(summaryOf(dig({ shipAxis: null })).side_reason).toContain('no ship axis');
  });
  test('more simulations than a run can bear', () => {
    const many = dig({}, 6000);
    expect(refusal(() => answerOf(many, {}, 99_999)).code).toBe('too-much-work');
  });
});
