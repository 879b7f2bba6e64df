import { describe, expect, test } from 'vitest';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import refitDistances from '../../src/analyses/refit-distances/index.js';
import { joinDistances, reallocate, resultant } from '../../src/analyses/refit-distances/reallocation.js';
import type { Summary } from '../../src/analyses/refit-distances/schemas.js';
import type { Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { svgText } from '../../src/figures/svg.js';
import { circularSummary } from '../../src/math/circular.js';
import { randomStream } from '../../src/math/random.js';
import { near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';

const analysis = refitDistances;
const run = (sample: Sample, inputs: Record<string, unknown> = {}) => {
  const answer = executeAnalysis(analysis, sample, checkInputs(analysis, { simulations: 199, ...inputs }), () => {});
  return { ...answer, summary: answer.summary as unknown as Summary };
};

const ring = (west: number, south: number, east: number, north: number) => [
  [
    [west, south],
    [east, south],
    [east, north],
    [west, north],
  ],
];
const window = windowOf([ring(0, 0, 20, 12)]);
type Place = [number, number];

/** Twelve pots of eight sherds; each pot round its own place, its lighter sherds drifted to the south-east. */
function pots(more: { spread?: number; drift?: number; seed?: number } = {}): Sample {
  const { spread = 0.4, drift = 0, seed = 1 } = more;
  const random = randomStream(seed, 0);
  const xy: Place[] = [];
  const potVessel: string[] = [];
  const weightG: number[] = [];
  const joins: { a: number; b: number; kind: string }[] = [];
  for (let pot = 0; pot < 12; pot++) {
    const [x, y] = [3 + 12 * random.next(), 5 + 5 * random.next()];
    for (let k = 0; k < 8; k++) {
      const away = (drift * k) / 8;
      xy.push([x + spread * (random.next() - 0.5) + away, y + spread * (random.next() - 0.5) - away]);
      potVessel.push(`JV${pot}`);
      weightG.push(80 - 8 * k);
    }
    for (let k = 0; k < 4; k++) {
      const [a, b] = [8 * pot + k, 8 * pot + k + 3];
      joins.push(k % 2 === 0 ? { a, b, kind: 'physical_join' } : { a: b, b: a, kind: 'same_vessel' });
    }
  }
  return sampleOf(xy, window, {
    classes: ['jar'],
    classCode: new Uint32Array(xy.length).fill(1),
    detail: { ...unknownDetail(xy.length), potVessel, weightG: Float64Array.from(weightG) },
    joins,
  });
}

describe('planted truths', () => {
  test('pots that broke where they lie: joins much closer than the class is spread', () => {
    const { summary } = run(pots());
    expect(summary.distances).toMatchObject({ joins: 48, units: 12, p_two_sided: 0.01, p_closer: 1 / 200 });
    expect(summary.effect).toBeLessThan(-3);
    expect(summary.low).toBeLessThan(summary.effect as number);
    expect(summary.high).toBeGreaterThan(summary.effect as number);
    expect(summary.sentence).toMatch(/^Joining finds lie closer together: 0\.\d\d m/);
  });

  test('within the pot those joins are like any other two sherds of it', () => {
    const { summary } = run(pots(), { reallocate: 'pot_vessel' });
    expect(summary.distances.p_two_sided).toBeGreaterThan(0.05);
    expect(summary.sentence).toMatch(/^Cannot tell whether joins stay together/);
  });

  test('from heavy to light: sherds drifted to the south-east', () => {
    const { summary, figure } = run(pots({ drift: 2 }), {
      reallocate: 'pot_vessel',
      bearing: 'heavy_to_light',
      drawing: 'rose',
    });
    near(summary.bearings?.mean_deg, 135, { absolute: 5 });
    expect(summary.bearings).toMatchObject({ axial: false, joins: 48, p: 1 / 200 });
    expect(svgText(figure)).toContain('48 joins');
  });

  test('a long scatter aligns any pairs: its own axis is no answer', () => {
    const random = randomStream(6, 0);
    const xy = Array.from({ length: 60 }, (): Place => [20 * random.next(), 6 + random.next()]);
    const joins = Array.from({ length: 20 }, (_, k) => ({ a: k, b: k + 30, kind: 'physical_join' }));
    const { summary } = run(sampleOf(xy, window, { joins }));
    expect(summary.bearings?.rbar).toBeGreaterThan(0.8);
    expect(summary.bearings?.p).toBeGreaterThan(0.05);
  });
});

describe('units and classes', () => {
  test('a pot with many joins counts once', () => {
    const sample = pots();
    const many = { ...sample, joins: [...sample.joins, ...Array.from({ length: 30 }, () => sample.joins[0])] };
    const [one, more] = [run(sample).summary, run(many).summary];
    expect(more.distances.joins).toBe(78);
    expect(more.distances.units).toBe(12);
    near(more.distances.mean_m, one.distances.mean_m as number, { relative: 0.05 });
  });

  test('without pot numbers, finds that hang together by joins are one unit', () => {
    const xy: Place[] = [
      [0, 0],
      [3, 4],
      [3, 4],
      [10, 0],
      [10, 2],
      [5, 5],
    ];
    const joins = [
      { a: 0, b: 1, kind: 'physical_join' },
      { a: 1, b: 2, kind: 'physical_join' },
      { a: 3, b: 4, kind: 'physical_join' },
    ];
    const { summary } = run(sampleOf(xy, window, { joins }));
    expect(summary.distances).toMatchObject({ joins: 3, units: 2, median_m: 2, greatest_m: 5 });
    near(summary.distances.mean_m, (2.5 + 2) / 2, { absolute: 1e-6 });
    expect(summary.bearings?.joins).toBe(2);
  });

  test('classes side by side, joins between classes, kinds chosen', () => {
    const sample = pots();
    const code = Uint32Array.from({ length: 96 }, (_, i) => (i < 48 ? 1 : 2));
    const joins = [...sample.joins, { a: 0, b: 95, kind: 'physical_join' }];
    const { summary, table } = run({ ...sample, classes: ['jar', 'bowl'], classCode: code, joins });
    expect(summary.by_class.map((row) => [row.artefact_class, row.joins])).toEqual([
      ['jar', 24],
      ['bowl', 24],
    ]);
    expect(summary.between_classes).toBe(1);
    expect(summary.tests_made).toBe(4);
    expect(table.rows).toHaveLength(3);
    expect(run(sample, { kind: 'same_vessel' }).summary.distances.joins).toBe(24);
  });

  test('joins across separate dug areas are counted', () => {
    const two = windowOf([ring(0, 0, 4, 4), ring(6, 0, 10, 4)]);
    const xy: Place[] = [
      [1, 1],
      [2, 2],
      [7, 1],
      [8, 2],
    ];
    const joins = [
      { a: 0, b: 1, kind: 'physical_join' },
      { a: 1, b: 2, kind: 'physical_join' },
    ];
    const { summary, cautions } = run(sampleOf(xy, two, { joins }));
    expect(summary.across_areas).toBe(1);
    expect(cautions.join(' ')).toMatch(/1 joins tie separate dug areas/);
  });
});

describe('slow twins and laws', () => {
  const finds = () => {
    const sample = pots({ seed: 3 });
    return {
      xy: sample.xy,
      a: Uint32Array.from(sample.joins, (join) => join.a),
      b: Uint32Array.from(sample.joins, (join) => join.b),
      withBearing: Uint32Array.from(sample.joins.keys()),
      unit: Uint32Array.from(sample.joins, (join) => Math.floor(join.a / 8)),
      circles: Array.from({ length: 12 }, (_, pot) => Uint32Array.from({ length: 8 }, (_unused, k) => 8 * pot + k)),
    };
  };

  test('the resultant without trigonometry is that of the bearings', () => {
    const own = finds();
    const still = Array.from({ length: 96 }, (_, i) => i);
    const bearings = Array.from(own.a, (a, k) => {
      const b = own.b[k];
      return (Math.atan2(own.xy[2 * b] - own.xy[2 * a], own.xy[2 * b + 1] - own.xy[2 * a + 1]) * 180) / Math.PI;
    });
    for (const kind of ['axial', 'directed'] as const) {
      near(resultant(own, still, kind), circularSummary(bearings, kind).rBar, { absolute: 1e-11 });
    }
  });

  test('the mean of reallocated distances is that of all pairs of the circle', () => {
    const own = finds();
    const { distance } = reallocate(own, { count: 1500, seed: 2, kind: 'axial', progress: () => {} });
    let pairs = 0;
    for (let i = 0; i < 8; i++) {
      for (let j = 0; j < 8; j++) {
        if (i !== j) pairs += Math.hypot(own.xy[2 * i] - own.xy[2 * j], own.xy[2 * i + 1] - own.xy[2 * j + 1]) / 56;
      }
    }
    let mean = 0;
    for (let s = 0; s < 1500; s++) for (let k = 0; k < 4; k++) mean += distance[48 * s + k] / 6000 / 2 ** 20;
    near(mean, pairs, { relative: 0.03 });
    near(joinDistances(own)[0] / 2 ** 20, Math.hypot(own.xy[6] - own.xy[0], own.xy[7] - own.xy[1]), { absolute: 1e-6 });
  });

  test('p is uniform when joins are drawn at random from a class', () => {
    let small = 0;
    for (let k = 0; k < 300; k++) {
      const random = randomStream(50, k);
      const xy = Array.from({ length: 24 }, (): Place => [20 * random.next(), 12 * random.next()]);
      const joins = Array.from({ length: 10 }, (_, j) => ({ a: 2 * j, b: 2 * j + 1, kind: 'physical_join' }));
      const { summary } = run(sampleOf(xy, window, { joins }), { simulations: 99, seed: 9000 + k });
      if ((summary.p_two_sided ?? 1) <= 0.05) small++;
    }
    expect(small / 300).toBeGreaterThan(0.015);
    expect(small / 300).toBeLessThan(0.09);
  });

  test('equal seeds give equal numbers', () => {
    expect(run(pots(), { seed: 8 }).summary).toEqual(run(pots(), { seed: 8 }).summary);
    expect(run(pots(), { seed: 8 }).summary.distances.expected_m).not.toBe(
      run(pots(), { seed: 9 }).summary.distances.expected_m,
    );
  });

  test('the layer draws every join from find to find', () => {
    const sample = pots();
    const { features } = run(sample);
    expect(features?.length).toBe(48);
    if (features?.geometry?.type !== 'line') throw new Error('no lines');
    expect([...features.geometry.coordinates.subarray(0, 4)]).toEqual([
      ...sample.xy.subarray(0, 2),
      ...sample.xy.subarray(6, 8),
    ]);
  });
});

describe('thin data', () => {
  test('no join: numbers that are not known, and a sentence', () => {
    const { summary, cautions, features } = run({ ...pots(), joins: [] });
    expect(summary).toMatchObject({ effect: null, p_two_sided: null, bearings: null, tests_made: 0 });
    expect(summary.sentence).toMatch(/^Cannot tell: no two finds/);
    expect(cautions.join(' ')).toMatch(/No join is recorded/);
    expect(features?.length).toBe(0);
  });

  test('joins inside one spot have no distance; finds without weights no bearing from heavy to light', () => {
    const sample = pots();
    const same = run({ ...sample, joins: [{ a: 1, b: 1, kind: 'physical_join' }, ...sample.joins] }).summary;
    expect(same.same_place).toBe(1);
    expect(same.distances.joins).toBe(48);
    const weightless = { ...sample, detail: { ...sample.detail, weightG: new Float64Array(96).fill(Number.NaN) } };
    const { summary, cautions } = run(weightless, { bearing: 'heavy_to_light' });
    expect(summary.bearings).toBeNull();
    expect(cautions.join(' ')).toMatch(/48 joins have no bearing from heavy to light/);
  });

  test('too many reallocations are refused with what would fit', () => {
    const sample = pots();
    const joins = Array.from({ length: 300 }, () => sample.joins[0]);
    expect(() => run({ ...sample, joins }, { simulations: 99_999 })).toThrow(/at most \d+ fit/);
  });
});
