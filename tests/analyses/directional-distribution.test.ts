import { describe, expect, test } from 'vitest';
import directionalDistribution from '../../src/analyses/directional-distribution/index.js';
import { describeDirections, raoSpacing } from '../../src/analyses/directional-distribution/long-objects.js';
import { offsetsAgainstCrowd } from '../../src/analyses/directional-distribution/offsets.js';
import type { Summary } from '../../src/analyses/directional-distribution/schemas.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import type { Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { svgText } from '../../src/figures/svg.js';
import { turnBetween } from '../../src/math/circular.js';
import { randomStream } from '../../src/math/random.js';
import { nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { near } from '../support/near.js';
import { hullOf, sampleOf, windowOf } from '../support/sample-of.js';

const analysis = directionalDistribution;
const run = (sample: Sample, inputs: Record<string, unknown> = {}) => {
  const answer = executeAnalysis(analysis, sample, checkInputs(analysis, { simulations: 199, ...inputs }), () => {});
  return { ...answer, summary: answer.summary as unknown as Summary };
};

const window = windowOf([
  [
    [
      [0, 0],
      [20, 0],
      [20, 12],
      [0, 12],
    ],
  ],
]);
type Place = [number, number];

/** A crowd uniform in the window, and a class of 40 uniform in a box of it. */
function classIn([west, south, east, north]: readonly [number, number, number, number], more: Partial<Sample> = {}) {
  const random = randomStream(21, 0);
  const own = Array.from(
    { length: 40 },
    (): Place => [west + (east - west) * random.next(), south + (north - south) * random.next()],
  );
  const rest = Array.from({ length: 160 }, (): Place => [20 * random.next(), 12 * random.next()]);
  return sampleOf(own, window, {
    classes: ['jar'],
    classCode: new Uint32Array(40).fill(1),
    others: {
      xy: Float64Array.from([...own, ...rest].flat()),
      classCode: Uint32Array.from([...own, ...rest], (_, i) => (i < 40 ? 1 : 0)),
    },
    // the keel runs west to east through the middle, the bow to the east: port is north
    shipAxis: { after: [2, 6], bow: [18, 6], bowEnd: 'resolved' },
    ...more,
  });
}

describe('offset from the ship', () => {
  test('a class to port is found to port, with an interval and against names dealt out', () => {
    const { summary } = run(classIn([4, 7, 16, 10]));
    near(summary.effect, 2.5, { absolute: 0.3 });
    expect(summary.low).toBeLessThan(summary.effect as number);
    expect(summary.high).toBeGreaterThan(summary.effect as number);
    expect(summary.p_two_sided).toBe(0.01);
    expect(summary.offset?.labelled_low_m).toBeLessThan(summary.offset?.expected_m as number);
    expect(summary.offset?.labelled_high_m).toBeGreaterThan(summary.offset?.expected_m as number);
    near(summary.offset?.offset_bearing_deg, 0, { absolute: 1e-6 });
    expect(summary.sentence).toMatch(/^They lie apart from other finds, to port: 2\.\d\d m/);
    expect(summary.tests_made).toBe(2);
  });

  test('a class spread like the crowd is not', () => {
    const { summary } = run(classIn([0, 0, 20, 12]));
    expect(summary.p_two_sided).toBeGreaterThan(0.05);
    expect(summary.sentence).toMatch(/^Cannot tell whether they lie to one side/);
  });

  test('down the slope of the deposit bottom', () => {
    // falls southwards
    const levels = readingsOf(
      nodeLevels({
        columns: 21,
        rows: 13,
        surface: 'deposit_bottom',
        field: (x, y) => 0.05 * y + 0.003 * Math.sin(7 * x + 3 * y),
      }),
    );
    const { summary } = run(classIn([4, 1, 16, 5], { levels }));
    near(summary.slope?.downslope_deg, 180, { absolute: 2 });
    near(summary.slope?.dip_deg, (Math.atan(0.05) * 180) / Math.PI, { absolute: 0.1 });
    near(summary.offset?.downslope_m, -(summary.offset?.off_axis_m as number), { absolute: 0.1 });
    expect(summary.offset?.p_downslope).toBe(0.01);
    expect(summary.sentence).toMatch(/Down the slope \(1[78]\d°\) they lie 2\.\d\d m/);
  });

  test('from the hull: nothing inside it, the nearest step outside', () => {
    const sample = classIn([4, 7, 16, 10], {
      hull: hullOf([
        {
          element: 'keelson',
          line: [
            [0, 6.5],
            [20, 6.5],
          ],
        },
      ]),
    });
    const { summary } = run(sample, { offset_from: 'hull' });
    expect(summary.offset_from).toMatch(/nearest of 1 articulated hull features/);
    near(summary.offset?.offset_m, (summary.offset?.off_axis_m as number) - 0.5, { absolute: 1e-6 });
  });

  test('without axis and hull the shift from all finds is left, and no side', () => {
    const { summary } = run(classIn([14, 7, 19, 11], { shipAxis: null }));
    expect(summary.offset?.off_axis_m).toBeNull();
    expect(summary.effect).toBeGreaterThan(4);
    expect(summary.p_two_sided).toBe(1 / 200);
    near(summary.offset?.shift_bearing_deg, 60, { absolute: 15 });
  });

  test('each class against the crowd, p raised for their number', () => {
    const sample = classIn([4, 7, 16, 10]);
    const code = Uint32Array.from({ length: 40 }, (_, i) => 1 + (i % 2));
    const { summary, table } = run({ ...sample, classes: ['jar', 'nail'], classCode: code });
    expect(summary.by_class.map((row) => row.n)).toEqual([20, 20]);
    expect(summary.by_class[0].p_holm).toBe(Math.min(1, 2 * (summary.by_class[0].p_off_axis as number)));
    expect(table.rows).toHaveLength(3);
    expect(summary.tests_made).toBe(6);
  });

  test('p is uniform when the class is the crowd’s own', () => {
    let small = 0;
    for (let k = 0; k < 400; k++) {
      const random = randomStream(5, k);
      const offAxis = Float64Array.from({ length: 60 }, () => random.next());
      const steps = (values: Float64Array) => ({
        xy: new Float64Array(2 * values.length),
        step: null,
        offAxis: values,
        downslope: null,
      });
      const [own] = offsetsAgainstCrowd(steps(offAxis), [steps(offAxis.slice(0, 15))], {
        count: 99,
        seed: 4000 + k,
        progress: () => {},
      });
      if ((own.pOffAxis ?? 1) <= 0.05) small++;
    }
    expect(small / 400).toBeGreaterThan(0.02);
    expect(small / 400).toBeLessThan(0.085);
  });
});

describe('long objects', () => {
  const aligned = (deg: number, spread: number, n = 40) => {
    const random = randomStream(2, 0);
    return Float64Array.from({ length: n }, (_, i) => deg + spread * (random.next() - 0.5) + 180 * (i % 2));
  };
  const withDirections = (orientationDeg: Float64Array) =>
    classIn([4, 7, 16, 10], { detail: { ...unknownDetail(40), orientationDeg } });

  test('a common axis leads the answer, and the rose is drawn', () => {
    const { summary, figure } = run(withDirections(aligned(61, 20)));
    near(summary.effect, 61, { absolute: 3 });
    expect(summary.low).toBeLessThan(61);
    expect(summary.high).toBeGreaterThan(61);
    expect(summary.p_two_sided).toBeLessThan(1e-10);
    near(summary.long_objects?.from_ship_axis_deg, -29, { absolute: 3 });
    expect(summary.long_objects?.rao_p).toBe(1 / 200);
    expect(summary.sentence).toMatch(/share an axis of 6\d° ± \d° from site_north/);
    expect(svgText(figure)).toContain('sectors of 10°');
    expect(run(withDirections(aligned(61, 20)), { axial: false }).summary.long_objects?.rbar).toBeLessThan(0.3);
  });

  test('directions at random: no axis is claimed', () => {
    const random = randomStream(9, 0);
    const { summary } = run(withDirections(Float64Array.from({ length: 40 }, () => 360 * random.next())));
    expect(summary.sentence).toMatch(/^Cannot tell a common axis/);
  });

  test('a few long objects among many finds do not lead', () => {
    const some = aligned(61, 20).map((deg, i) => (i < 6 ? deg : Number.NaN));
    const { summary, figure } = run(withDirections(some));
    expect(summary.long_objects?.n).toBe(6);
    expect(summary.effect_is).toMatch(/off the ship axis/);
    expect(svgText(figure)).toContain('mean centre');
    expect(svgText(run(withDirections(some), { drawing: 'rose' }).figure)).toContain('6 long objects');
  });

  test('Rao’s spacing sees two crossing groups that Rayleigh misses', () => {
    const random = randomStream(4, 4);
    const cross = Array.from({ length: 40 }, (_, i) => 90 * (i % 2) + 10 * random.next());
    const described = describeDirections(cross, { kind: 'axial', shipAxisDeg: null, simulations: 199, seed: 1 });
    expect(described.rayleigh_p).toBeGreaterThan(0.3);
    expect(described.rao_p).toBe(1 / 200);
    near(raoSpacing([0, 90, 180, 270]), 0, { absolute: 1e-9 });
    near(raoSpacing([5, 5, 5, 5]), 270, { absolute: 1e-9 });
  });
});

describe('norths', () => {
  test('map_grid_north adds the azimuth of site_north, true and magnetic where known', () => {
    const norths = { fromTrueNorthDeg: 26, fromMagneticNorthDeg: 35.4, declinationDate: '2021-06-15' };
    const { summary } = run(classIn([4, 7, 16, 10], { mapAzimuthDeg: 27.35, norths }));
    const bearing = summary.ellipse?.bearing_deg as number;
    expect(summary.bearings?.site_north_deg).toBe(bearing);
    near(summary.bearings?.map_grid_north_deg, (bearing + 27.35) % 180, { absolute: 1e-9 });
    near(summary.bearings?.true_north_deg, (bearing + 26) % 180, { absolute: 1e-9 });
    near(summary.bearings?.magnetic_north_deg, (bearing + 35.4) % 180, { absolute: 1e-9 });
    expect(run(classIn([4, 7, 16, 10])).summary.bearings).toMatchObject({ true_north_deg: null, magnetic_date: null });
  });
});

describe('laws', () => {
  const moved = (sample: Sample, dx: number, dy: number): Sample => {
    const xy = (values: Float64Array) => values.map((v, i) => v + (i % 2 === 0 ? dx : dy));
    const place = ([x, y]: readonly [number, number]) => [x + dx, y + dy] as const;
    return {
      ...sample,
      xy: xy(sample.xy),
      others: { ...sample.others, xy: xy(sample.others.xy) },
      window: { rings: sample.window.rings.map(xy) },
      shipAxis: sample.shipAxis && {
        ...sample.shipAxis,
        after: place(sample.shipAxis.after),
        bow: place(sample.shipAxis.bow),
      },
    };
  };

  test('moved to map coordinates the centres move along and nothing else changes', () => {
    const sample = classIn([4, 7, 16, 10]);
    const here = run(sample).summary;
    const there = run(moved(sample, 412_037, 4_984_118)).summary;
    near(there.mean_centre?.[0], (here.mean_centre?.[0] as number) + 412_037, { absolute: 1e-7 });
    near(there.median_centre?.[1], (here.median_centre?.[1] as number) + 4_984_118, { absolute: 1e-6 });
    near(there.standard_distance_m, here.standard_distance_m as number, { relative: 1e-8 });
    near(turnBetween(here.ellipse?.bearing_deg as number, there.ellipse?.bearing_deg as number, 'axial'), 0, {
      absolute: 1e-6,
    });
    near(there.effect, here.effect as number, { absolute: 1e-6 });
    expect(there.p_two_sided).toBe(here.p_two_sided);
  });

  test('equal seeds give equal numbers; finds known by a square are redrawn', () => {
    const sample = classIn([4, 7, 16, 10], {
      areas: [
        {
          label: 'q',
          region: windowOf([
            [
              [
                [1, 1],
                [2, 1],
                [2, 2],
                [1, 2],
              ],
            ],
          ]),
          areaM2: 1,
          weight: 1,
          classCode: 1,
          seasonCode: 0,
        },
      ],
    });
    const drawn = run(sample, { square_only: 'spread', draws: 3, seed: 9 }).summary;
    expect(drawn).toEqual(run(sample, { square_only: 'spread', draws: 3, seed: 9 }).summary);
    expect(drawn.n).toBe(41);
  });

  test('weights pull the weighted centre only; size classes stand by themselves', () => {
    const sample = sampleOf(
      [
        [1, 1],
        [3, 1],
        [3, 5],
      ],
      window,
      {
        weight: Float64Array.of(1, 3, 0),
        detail: { ...unknownDetail(3), sizeClass: ['small', 'large', 'large'] },
      },
    );
    const { summary } = run(sample);
    expect(summary.weighted_centre).toEqual([2.5, 1]);
    near(summary.mean_centre?.[1], 7 / 3, { absolute: 1e-12 });
    expect(summary.by_size_class).toEqual([
      { size_class: 'large', n: 2, weighted_centre: [3, 1] },
      { size_class: 'small', n: 1, weighted_centre: [1, 1] },
    ]);
  });
});

describe('thin data', () => {
  test('none, one, two finds and finds in one line', () => {
    const few = (places: Place[]) => run(sampleOf(places, window)).summary;
    expect(few([])).toMatchObject({ n: 0, mean_centre: null, ellipse: null, hull_area_m2: null, effect: null });
    expect(few([[3, 4]])).toMatchObject({
      n: 1,
      mean_centre: [3, 4],
      median_centre: [3, 4],
      standard_distance_m: 0,
      ellipse: null,
    });
    expect(
      few([
        [0, 0],
        [2, 0],
      ]),
    ).toMatchObject({ median_centre_unique: false, hull_area_m2: 0 });
    const line = few([
      [0, 0],
      [2, 2],
      [4, 4],
    ]);
    near(line.ellipse?.bearing_deg, 45, { absolute: 1e-9 });
    near(line.ellipse?.semi_minor_m, 0, { absolute: 1e-9 });
    const square = run(
      sampleOf(
        [
          [0, 0],
          [2, 0],
          [2, 2],
          [0, 2],
        ],
        window,
      ),
    );
    expect(square.summary.ellipse?.bearing_deg).toBeNull();
    expect(square.cautions.join(' ')).toMatch(/equally long: it has no bearing/);
  });

  test('the layer holds ellipse and hull of all finds and of each class', () => {
    const sample = classIn([4, 7, 16, 10]);
    const code = Uint32Array.from({ length: 40 }, (_, i) => 1 + (i % 2));
    const { features } = run({ ...sample, classes: ['jar', 'nail'], classCode: code });
    expect(features?.length).toBe(6);
    expect(features?.geometry?.type).toBe('area');
    if (features?.geometry?.type !== 'area') return;
    expect(features.geometry.partStart.at(-1)).toBe(features.geometry.coordinates.length / 2);
  });
});
