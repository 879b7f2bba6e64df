import { describe, expect, test } from 'vitest';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import { labelsAgainstRest, labelTrend } from '../../src/analyses/vertical-distribution/comparison.js';
import verticalDistribution from '../../src/analyses/vertical-distribution/index.js';
import type { Summary } from '../../src/analyses/vertical-distribution/schemas.js';
import type { Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { randomStream } from '../../src/math/random.js';
import { Problem } from '../../src/problems.js';
import { type LevelRow, nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';

const analysis = verticalDistribution;
const run = (sample: Sample, inputs: Record<string, unknown> = {}) => {
  const answer = executeAnalysis(analysis, sample, checkInputs(analysis, { simulations: 199, ...inputs }), () => {});
  return { ...answer, summary: answer.summary as unknown as Summary };
};

const top = (x: number, y: number) => 0.2 - 0.03 * x + 0.01 * y;
// the deposit thickens eastwards, 0.3 to 0.9 m
const thickness = (x: number) => 0.3 + 0.05 * x;
const bottom = (x: number, y: number) => top(x, y) - thickness(x);

const levelRows = (season = 'S1', shift = 0): LevelRow[] => [
  ...nodeLevels({
    columns: 13,
    rows: 9,
    surface: 'deposit_top',
    season,
    sigma: 0.02,
    field: (x, y) => top(x, y) + shift,
  }),
  ...nodeLevels({
    columns: 13,
    rows: 9,
    surface: 'deposit_bottom',
    season,
    sigma: 0.02,
    field: (x, y) => bottom(x, y) + shift,
  }),
];

const box = (west: number, south: number, east: number, north: number) =>
  windowOf([
    [
      [
        [west, south],
        [east, south],
        [east, north],
        [west, north],
      ],
    ],
  ]);

interface PlantedFind {
  readonly x: number;
  readonly y: number;
  readonly u: number;
  readonly of: number;
}

/** A bed of 12 × 8 squares with finds at stated relative depths. */
function bed(finds: readonly PlantedFind[], classes: readonly string[], more: Partial<Sample> = {}): Sample {
  const window = box(0, 0, 12, 8);
  return sampleOf(
    finds.map(({ x, y }) => [x, y]),
    window,
    {
      classes,
      classCode: Uint32Array.from(finds, (find) => find.of),
      seasons: ['S1', 'S2'],
      seasonCode: new Uint32Array(finds.length).fill(1),
      z: Float64Array.from(finds, ({ x, y, u }) => top(x, y) - u * thickness(x)),
      levels: readingsOf(levelRows()),
      ...more,
    },
  );
}

/** Seeded finds of two classes: the middle of three uniforms, pulled down for the first. */
function twoClasses(seed: number, pull: number, n = 120): PlantedFind[] {
  const random = randomStream(seed, 0);
  return Array.from({ length: n }, (_, i) => {
    const own = [random.next(), random.next(), random.next()].sort((a, b) => a - b)[1];
    const of = 1 + (i % 2);
    return { x: 12 * random.next(), y: 8 * random.next(), u: of === 1 ? own + pull * (1 - own) : own, of };
  });
}

describe('planted truths', () => {
  test('a class pulled down by half is found, with an interval that holds the truth', () => {
    const finds = twoClasses(1, 0.5);
    const mean = (of: number) => {
      const own = finds.filter((find) => find.of === of);
      return own.reduce((sum, find) => sum + find.u / own.length, 0);
    };
    const { summary } = run(bed(finds, ['lead shot', 'jar']), { block_m: 4 });
    near(summary.effect, mean(1) - mean(2), { absolute: 1e-6 });
    expect(summary.low).toBeLessThan(mean(1) - mean(2));
    expect(summary.high).toBeGreaterThan(mean(1) - mean(2));
    expect(summary.p_two_sided).toBe(0.01);
    expect(summary.comparison?.p_deeper).toBe(1 / 200);
    expect(summary.sentence).toMatch(/^lead shot lie deeper than jar by 0\.\d\d of the thickness/);
    expect(summary.tests_made).toBe(1);
  });

  test('a class that lies where the deposit is thick is deeper in metres, not in the deposit', () => {
    const random = randomStream(5, 0);
    const finds = Array.from({ length: 200 }, (_, i) => {
      const of = 1 + (i % 2);
      const x = of === 1 ? 6 + 6 * random.next() : 9 * random.next();
      return { x, y: 8 * random.next(), u: random.next(), of };
    });
    const { summary } = run(bed(finds, ['nail', 'bone']), { block_m: 3 });
    expect(summary.comparison?.depth_below_top.low_m).toBeGreaterThan(0.03);
    expect(summary.p_two_sided).toBeGreaterThan(0.05);
    expect(summary.sentence).toMatch(/^Cannot tell .* would be missed\.$/);
  });

  test('what differs between squares only is not taken for a difference between classes', () => {
    const random = randomStream(8, 0);
    // in the west all lie high, in the east all low; nails are four times as frequent in the east
    const finds = Array.from({ length: 300 }, () => {
      const east = random.next() < 0.5;
      const of = random.next() < (east ? 0.8 : 0.2) ? 1 : 2;
      const u = (east ? 0.6 : 0.1) + 0.3 * random.next();
      return { x: (east ? 6 : 0) + 6 * random.next(), y: 8 * random.next(), u, of };
    });
    const { summary, cautions } = run(bed(finds, ['nail', 'bone']), { block_m: 2 });
    expect(summary.effect).toBeGreaterThan(0.2);
    near(summary.comparison?.expected_by_square, summary.effect as number, { absolute: 0.06 });
    expect(summary.p_two_sided).toBeGreaterThan(0.05);
    expect(cautions.join(' ')).toMatch(/squares they lie in alone would make a difference of 0\.\d\d/);
  });

  test('denser materials lie deeper: a trend over five classes', () => {
    const random = randomStream(2, 0);
    const finds = Array.from({ length: 250 }, (_, i) => {
      const of = 1 + (i % 5);
      return { x: 12 * random.next(), y: 8 * random.next(), u: 0.5 * random.next() + 0.1 * (of - 1), of };
    });
    const density = [1.1, 2, 7.8, 8.8, 11.3];
    const sample = bed(finds, ['wood', 'jar', 'nail', 'spike', 'lead shot'], {
      detail: {
        ...unknownDetail(finds.length),
        materialDensity: Float64Array.from(finds, (find) => density[find.of - 1]),
      },
    });
    const { summary } = run(sample, { block_m: 4 });
    expect(summary.trend?.spearman_rho).toBeGreaterThan(0.5);
    expect(summary.low).toBeGreaterThan(0.4);
    expect(summary.p_two_sided).toBe(0.01);
    expect(summary.sentence).toMatch(/^Denser materials lie deeper: .* stowage/);
    expect(summary.tests_made).toBe(6);
    expect(summary.by_class.map((row) => row.artefact_class)).toEqual(['wood', 'jar', 'nail', 'spike', 'lead shot']);
    expect(summary.by_class[4].p_holm).toBeLessThanOrEqual(0.05);
  });

  test('depth against distance from the keel: a planted slope', () => {
    const random = randomStream(3, 0);
    const finds = Array.from({ length: 150 }, () => {
      const y = 8 * random.next();
      return { x: 12 * random.next(), y, u: 0.2 + 0.1 * Math.abs(y - 4) + 0.1 * random.next(), of: 1 };
    });
    const sample = bed(finds, ['nail'], { shipAxis: { after: [0, 4], bow: [12, 4], bowEnd: 'resolved' } });
    const { summary } = run(sample, { question: 'keel_distance' });
    near(summary.effect, 0.1, { absolute: 0.01 });
    expect(summary.low).toBeLessThan(0.1);
    expect(summary.high).toBeGreaterThan(0.1);
    expect(summary.p_two_sided).toBeLessThan(0.05);
    expect(summary.sentence).toMatch(/deeper in the deposit away from the keel/);
  });

  test('finds later than the wreck lie higher', () => {
    const finds = twoClasses(6, 0).map((find, i) => ({ ...find, u: i % 3 === 0 ? 0.3 * find.u : find.u, of: 1 }));
    const intrusive = Uint8Array.from(finds, (_, i) => (i % 3 === 0 ? 2 : i % 7 === 1 ? 0 : 1));
    const sample = bed(finds, ['nail'], { detail: { ...unknownDetail(finds.length), intrusive } });
    const { summary } = run(sample, { question: 'intrusive', block_m: 4 });
    expect(summary.comparison?.first).toBe('finds later than the wreck');
    expect(summary.comparison?.n_first).toBe(40);
    expect(summary.effect).toBeLessThan(-0.2);
    expect(summary.p_two_sided).toBe(0.01);
  });
});

describe('units', () => {
  const finds = twoClasses(4, 0.3, 80);

  test('sherds of one pot in one square count once, however many there are', () => {
    const again = Array.from({ length: 15 }, () => ({ ...finds[1] }));
    const potsOf = (n: number) => ({
      ...unknownDetail(n),
      potVessel: Array.from({ length: n }, (_, i) => (i === 1 || i >= finds.length ? 'JV01' : null)),
    });
    const one = run(bed(finds, ['lead shot', 'jar'], { detail: potsOf(80) })).summary;
    const many = run(bed([...finds, ...again], ['lead shot', 'jar'], { detail: potsOf(95) })).summary;
    expect(many.n).toBe(one.n + 15);
    expect(many.units).toBe(one.units);
    near(many.effect, one.effect as number, { absolute: 1e-6 });
    expect(many.p_two_sided).toBe(one.p_two_sided);
  });

  test('children of one concretion count once', () => {
    const detail = {
      ...unknownDetail(80),
      concretion: finds.map((_, i) => (i === 0 || i === 2 ? 'K1' : null)),
    };
    const near2 = finds.map((find, i) => (i === 2 ? { ...find, x: finds[0].x, y: finds[0].y } : find));
    expect(run(bed(near2, ['lead shot', 'jar'], { detail })).summary.units).toBe(79);
  });
});

describe('what is left out, and counted', () => {
  const finds = twoClasses(9, 0.2, 60);

  test('finds without elevation by class; ranges count with their middle', () => {
    const sample = bed(finds, ['lead shot', 'jar']);
    const z = sample.z.slice();
    for (const i of [0, 2, 4, 5]) z[i] = Number.NaN;
    const detail = unknownDetail(60);
    detail.zMin[5] = sample.z[5] - 0.05;
    detail.zMax[5] = sample.z[5] + 0.05;
    const { summary, cautions } = run({ ...sample, z, detail });
    expect(summary.n).toBe(57);
    expect(summary.ranges).toBe(1);
    expect(summary.by_class.map((row) => row.without_elevation)).toEqual([3, 0]);
    expect(cautions.join(' ')).toMatch(/lead shot 3\).*sieve are not missing at random/);
    expect(run({ ...sample, z, detail }, { z_ranges: 'leave_out' }).summary.n).toBe(56);
  });

  test('finds far below the lower surface are listed, and do not drag the mean', () => {
    const sunk = finds.map((find, i) => (i === 3 ? { ...find, u: 4 } : find));
    const { summary, features } = run(bed(sunk, ['lead shot', 'jar']));
    expect(summary.below_lower_surface).toHaveLength(1);
    expect(summary.below_lower_surface[0]).toMatchObject({ find: '4', artefact_class: 'jar' });
    near(summary.below_lower_surface[0].relative_depth, 4, { absolute: 1e-9 });
    near(summary.below_lower_surface[0].below_m, 3 * thickness(sunk[3].x), { absolute: 1e-9 });
    expect(summary.left_out).toContainEqual({ reason: 'below deposit_bottom by more than two errors', count: 1 });
    expect(features?.length).toBe(60);
    const kept = run(bed(sunk, ['lead shot', 'jar']), { beyond_surfaces: 'keep' }).summary;
    expect(kept.n).toBe(60);
    expect(kept.below_lower_surface).toHaveLength(1);
  });

  test('deposit no thicker than four of its errors, and crossed surfaces', () => {
    const rows = levelRows().map((row) =>
      row.surface === 'deposit_bottom' && row.x < 6
        ? { ...row, elevation: top(row.x, row.y) - (row.x < 3 ? -0.5 : 0.05) }
        : row,
    );
    const { summary } = run(bed(finds, ['lead shot', 'jar'], { levels: readingsOf(rows) }));
    const reasons = summary.left_out.map((row) => row.reason);
    expect(reasons).toContain('deposit thinner than 4 of its errors');
    expect(reasons).toContain('top below the lower surface');
    expect(summary.n + summary.left_out.reduce((sum, row) => sum + row.count, 0)).toBe(60);
  });

  test('on a site only ground dug down to the bottom counts; another lower surface, another rule', () => {
    const part = (progress: string, west: number, east: number) => ({
      season: 'S1',
      progress,
      region: box(west, 0, east, 8),
      areaM2: 8 * (east - west),
      dugFraction: 1,
      meshMm: null,
      tool: null,
    });
    const dug = [part('to_deposit_bottom', 0, 6), part('part_dug', 6, 12)];
    const sample = bed(finds, ['lead shot', 'jar'], { site: 'small', dug });
    const inWest = finds.filter((find) => find.x <= 6).length;
    expect(run(sample).summary.n).toBe(inWest);
    expect(run(sample, { ground: 'all' }).summary.n).toBe(60);
    const limits = nodeLevels({ columns: 13, rows: 9, surface: 'excavation_limit', season: 'S1', field: bottom });
    const levels = readingsOf([...levelRows(), ...limits]);
    expect(run({ ...sample, levels }, { lower_surface: 'excavation_limit' }).summary.n).toBe(60);
  });

  test('finds over articulated hull and in disturbed ground', () => {
    const sample = bed(finds, ['lead shot', 'jar'], {
      hull: [
        {
          number: '1',
          element: 'planking',
          state: 'articulated',
          place: 'in_place',
          outline: 'surviving',
          type: 'area',
          parts: box(0, 0, 4, 8).rings,
        },
      ],
      contexts: [
        { name: 'C4', kind: 'disturbance', region: box(8, 0, 12, 8) },
        { name: 'C1', kind: 'layer', region: box(0, 0, 12, 8) },
      ],
    });
    const { summary, cautions } = run(sample);
    expect(summary.over_hull).toBe(finds.filter((find) => find.x <= 4).length);
    expect(summary.in_disturbed_ground).toBe(finds.filter((find) => find.x >= 8).length);
    expect(cautions.join(' ')).toMatch(/over articulated hull: there the ship, not the sediment/);
    expect(run(sample, { disturbed_ground: 'leave_out' }).summary.n).toBe(60 - summary.in_disturbed_ground);
  });
});

describe('which season’s surfaces', () => {
  const finds = twoClasses(12, 0.2, 40);
  const inSecond = { seasonCode: new Uint32Array(40).fill(2) };

  test('the season of the find comes first: an error shared by its levels and its finds cancels', () => {
    const levels = readingsOf([...levelRows('S1', 0.3), ...levelRows('S2')]);
    near(
      run(bed(finds, ['a', 'b'], { ...inSecond, levels })).summary.mean,
      run(bed(finds, ['a', 'b'])).summary.mean as number,
      {
        absolute: 1e-9,
      },
    );
  });

  test('a top that was dug or backfilled by then is none; the season that opened the ground has it', () => {
    const lowered = levelRows('S2').map((row) =>
      row.surface === 'deposit_top' ? { ...row, elevation: row.elevation - 0.2, state: 'backfilled' } : row,
    );
    const levels = readingsOf([...levelRows('S1'), ...lowered]);
    const { summary } = run(bed(finds, ['a', 'b'], { ...inSecond, levels }));
    near(summary.mean, run(bed(finds, ['a', 'b'])).summary.mean as number, { absolute: 1e-9 });
    expect(summary.mixed_seasons).toBe(40);
  });

  test('where the later reading does not say its state, the earlier dig decides', () => {
    const lowered = (state?: string) =>
      readingsOf([
        ...levelRows('S1'),
        ...levelRows('S2').map((row) =>
          row.surface === 'deposit_top' ? { ...row, elevation: row.elevation - 0.1, ...(state ? { state } : {}) } : row,
        ),
      ]);
    const dug = ['S1', 'S2'].map((season) => ({
      season,
      progress: 'to_deposit_bottom',
      region: box(0, 0, 12, 8),
      areaM2: 96,
      dugFraction: 1,
      meshMm: null,
      tool: null,
    }));
    const undisturbed = run(bed(finds, ['a', 'b'])).summary.mean as number;
    const mean = (state?: string, inputs = {}) =>
      run(bed(finds, ['a', 'b'], { ...inSecond, dug, levels: lowered(state) }), { beyond_surfaces: 'keep', ...inputs })
        .summary.mean as number;
    near(mean(), undisturbed, { absolute: 1e-9 });
    expect(mean('after_overburden')).toBeLessThan(undisturbed - 0.05);
    near(mean('after_overburden', { top_season: 'opening' }), undisturbed, { absolute: 1e-9 });
  });
});

describe('laws', () => {
  const sample = bed(twoClasses(20, 0.3, 80), ['lead shot', 'jar']);

  test('with first and second exchanged the difference turns round and p stays but for chance', () => {
    const one = run(sample, { first: 'lead shot', second: 'jar' }).summary;
    const other = run(sample, { first: 'jar', second: 'lead shot' }).summary;
    near(other.effect, -(one.effect as number), { absolute: 1e-9 });
    near(other.comparison?.p_deeper, one.comparison?.p_shallower as number, { absolute: 0.05 });
    expect(run(sample, { first: ['lead shot'] }).summary.comparison?.second).toBe('all other finds chosen');
  });

  test('all elevations raised by a metre change nothing but raw elevations', () => {
    const levels = sample.levels!;
    const raised = {
      ...sample,
      z: sample.z.map((v) => v + 1),
      levels: { ...levels, elevation: levels.elevation.map((v) => v + 1) },
    };
    const [here, there] = [run(sample).summary, run(raised).summary];
    near(there.effect, here.effect as number, { absolute: 1e-7 });
    expect(there.p_two_sided).toBe(here.p_two_sided);
    near(there.by_class[0].median_elevation_m, (here.by_class[0].median_elevation_m as number) + 1, { absolute: 1e-9 });
  });

  test('equal seeds give equal numbers, other seeds other ones', () => {
    expect(run(sample, { seed: 3 }).summary).toEqual(run(sample, { seed: 3 }).summary);
    expect(run(sample, { seed: 4 }).summary.low).not.toBe(run(sample, { seed: 3 }).summary.low);
  });

  test('p is uniform when class has nothing to do with depth', () => {
    let small = 0;
    const sets = 600;
    for (let k = 0; k < sets; k++) {
      const random = randomStream(77, k);
      const units = {
        u: Float64Array.from({ length: 40 }, () => random.next()),
        block: Uint32Array.from({ length: 40 }, (_, i) => i % 8),
        label: Uint32Array.from({ length: 40 }, () => random.below(2)),
        labels: 2,
      };
      const [first] = labelsAgainstRest(units, [], { count: 99, seed: 1000 + k });
      if ((first.p?.twoSided ?? 1) <= 0.05) small++;
    }
    expect(small / sets).toBeGreaterThan(0.025);
    expect(small / sets).toBeLessThan(0.075);
  });

  test('the trend sees nothing in labels that mean nothing, and is null where the property does not vary', () => {
    const random = randomStream(1, 1);
    const units = {
      u: Float64Array.from({ length: 60 }, () => random.next()),
      block: Uint32Array.from({ length: 60 }, (_, i) => i % 6),
      label: Uint32Array.from({ length: 60 }, () => random.below(3)),
      labels: 3,
    };
    expect(labelTrend(units, [1, 2, 3], { count: 99, seed: 1 })?.p).toBeGreaterThan(0.05);
    expect(labelTrend(units, [2, 2, 2], { count: 99, seed: 1 })).toBeNull();
  });
});

describe('refusals and thin data', () => {
  const finds = twoClasses(30, 0, 20);
  const refusal = (sample: Sample, inputs: Record<string, unknown> = {}) => {
    try {
      run(sample, inputs);
    } catch (error) {
      expect(error).toBeInstanceOf(Problem);
      return (error as Problem).message;
    }
    return 'not refused';
  };

  test('say what was needed, what came, and what to do', () => {
    const sample = bed(finds, ['lead shot', 'jar']);
    expect(refusal({ ...sample, levels: null })).toMatch(/has no levels: load levels\.csv, or give --levels/);
    expect(refusal(sample, { lower_surface: 'hard_substrate' })).toMatch(
      /no levels of hard_substrate .* deposit_top, deposit_bottom/,
    );
    expect(refusal(sample, { first: 'amphora' })).toMatch(
      /"amphora" is not among those chosen; they are lead shot, jar/,
    );
    expect(refusal(sample, { second: 'jar' })).toMatch(/name the classes to compare/);
    expect(refusal(sample, { first: 'jar', second: ['jar'] })).toMatch(/jar stands in both groups/);
    expect(refusal(sample, { question: 'keel_distance' })).toMatch(/needs a ship axis/);
  });

  test('no find with a depth, one find, one class: no invented p', () => {
    const none = bed(finds, ['lead shot', 'jar']);
    const empty = run({ ...none, z: new Float64Array(20).fill(Number.NaN) }).summary;
    expect(empty).toMatchObject({ n: 0, effect: null, p_two_sided: null, comparison: null, tests_made: 0 });
    expect(empty.sentence).toMatch(/^Cannot tell/);
    const one = run(bed(finds.slice(0, 1), ['lead shot'])).summary;
    expect(one).toMatchObject({ n: 1, p_two_sided: null, tests_made: 0 });
    near(one.effect, finds[0].u, { absolute: 1e-6 });
    const apart = [
      { x: 1, y: 1, u: 0.2, of: 1 },
      { x: 9, y: 6, u: 0.8, of: 2 },
    ];
    const split = run(bed(apart, ['lead shot', 'jar'])).summary;
    expect(split.p_two_sided).toBeNull();
    expect(split.sentence).toMatch(/no square holds both/);
  });
});
