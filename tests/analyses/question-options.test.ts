import { describe, expect, test } from 'vitest';
import classTable from '../../src/analyses/class-table/index.js';
import { distanceTrend } from '../../src/analyses/hull-scatter/edge-trend.js';
import hullScatter from '../../src/analyses/hull-scatter/index.js';
import { edgeMeasure } from '../../src/analyses/hull-scatter/trench-edge.js';
import { breakageOf } from '../../src/analyses/local-autocorrelation/breakage.js';
import localAutocorrelation from '../../src/analyses/local-autocorrelation/index.js';
import quadratCounts from '../../src/analyses/quadrat-counts/index.js';
import { thicknessTrend } from '../../src/analyses/quadrat-counts/thickness-trend.js';
import refitDistances from '../../src/analyses/refit-distances/index.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { randomStream } from '../../src/math/random.js';
import { squareLinks } from '../../src/math/square-links.js';
import { near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';
import { smallDig } from '../support/small-dig.js';

const control = { seed: 3, simulations: 99, draws: 3, progress: () => {} };
const rectangle = (west: number, south: number, east: number, north: number) => [
  [west, south],
  [east, south],
  [east, north],
  [west, north],
];
const windowBox = (...box: [number, number, number, number]) => windowOf([[rectangle(...box)]]);

describe('counts beyond thickness', () => {
  // five squares of 0.2 m and five of 0.6 m: the fitted rates are those of the two kinds
  const thickness = Float64Array.from([0.2, 0.2, 0.2, 0.2, 0.2, 0.6, 0.6, 0.6, 0.6, 0.6]);
  const exposure = Float64Array.from([1, 1, 1, 1, 0.5, 1, 1, 1, 1, 0.5]);
  const counts = Float64Array.from([3, 5, 4, 6, 2, 9, 14, 8, 12, 7]);

  test('two thicknesses: the slope is the log of the ratio of their rates over the difference', () => {
    const found = thicknessTrend({ counts, exposure, thickness }, 'thickness');
    const slope = Math.log(50 / 4.5 / (20 / 4.5)) / 0.4;
    near(found?.coefficient, slope, { relative: 1e-9 });
    const means = thickness.map((t, i) => exposure[i] * ((t < 0.5 ? 20 : 50) / 4.5));
    const pearson = counts.reduce((sum, c, i) => sum + (c - means[i]) ** 2 / means[i], 0) / 8;
    near(found?.dispersionAfter, pearson, { relative: 1e-9 });
    // Student's t of 8 degrees of freedom: 2.306004 (tables)
    const error = Math.sqrt((1 / 20 + 1 / 50) * Math.max(1, pearson)) / 0.4;
    near(found?.high, slope + 2.306004 * error, { relative: 1e-6 });
  });
  test('as a power of thickness: 1 where counts go with the volume', () => {
    const byVolume = thickness.map((t, i) => 30 * t * exposure[i]);
    near(thicknessTrend({ counts: byVolume, exposure, thickness }, 'log_thickness')?.coefficient, 1, {
      relative: 1e-9,
    });
  });
  test('thickness alike everywhere tells nothing; fewer than eight squares neither', () => {
    expect(thicknessTrend({ counts, exposure, thickness: new Float64Array(10).fill(0.3) }, 'thickness')).toBeNull();
    const few = (values: Float64Array) => values.subarray(0, 7);
    expect(
      thicknessTrend({ counts: few(counts), exposure: few(exposure), thickness: few(thickness) }, 'thickness'),
    ).toBeNull();
  });
  test('the layer carries thickness, what was expected of it, and the residual; the default answer has none', () => {
    const own = quadratCounts.parameters.parse({ beyond: 'thickness', columns: 12, rows: 8 });
    const { summary, features, table } = quadratCounts.run(smallDig(), own, control);
    const value = (name: string, i: number) => {
      const column = features?.columns.get(name);
      return column ? valueAt(column, i) : undefined;
    };
    expect(summary.beyond_thickness?.squares).toBeGreaterThan(40);
    // the dig's levels: 0.375 m and 0.0078125 m more with each metre north; the first tile lies 7 to 8 m north
    near(value('thickness_m', 0) as number, 0.375 + 0.0078125 * 7.5, { absolute: 1e-3 });
    const [count, expected, residual] = ['count', 'expected_by_thickness', 'residual_beyond_thickness'].map((name) =>
      Number(value(name, 0)),
    );
    expect(Math.sign(count - expected)).toBe(Math.sign(residual));
    expect(summary.sentence).toContain('0.1 m more of deposit');
    for (const row of table.rows) expect(row).toHaveLength(table.columns.length);
    const plain = quadratCounts.run(smallDig(), quadratCounts.parameters.parse({}), control);
    expect(plain.summary.beyond_thickness).toBeNull();
    expect(plain.table.columns).toHaveLength(6);
  });
  test('without levels it is refused, with what to give', () => {
    const own = quadratCounts.parameters.parse({ beyond: 'thickness' });
    expect(() => quadratCounts.run({ ...smallDig(), levels: null }, own, control)).toThrow(
      /deposit_top and deposit_bottom/,
    );
  });
});

describe('breakage from place to place', () => {
  const columns = 6;
  const links = squareLinks(
    Array.from({ length: 36 }, (_, i) => i % columns),
    Array.from({ length: 36 }, (_, i) => Math.floor(i / columns)),
    { contiguity: 'queen', style: 'W' },
  );
  const plan = { count: 99, seed: 5, progress: () => {} };
  /** 36 squares with four sherds each; a pot lies in two squares */
  const items = (gramsOf: (square: number, random: { next(): number }) => number, seed = 1) => {
    const random = randomStream(seed, 9);
    const square = Int32Array.from({ length: 144 }, (_, i) => i % 36);
    return {
      square,
      amount: Float64Array.from(square, (s) => gramsOf(s, random)),
      parts: new Float64Array(144).fill(1),
      pot: Int32Array.from(square, (_, i) => Math.floor(i / 2)),
      classCode: new Int32Array(144).fill(1),
    };
  };

  test('values are grams over sherds, and light sherds in the west are seen there', () => {
    const found = breakageOf(
      items((s, random) => (s % columns < 2 ? 5 : 50) * (0.5 + random.next())),
      links,
      plan,
    );
    near(found.mean, 35, { relative: 0.15 });
    expect(found.pSpread).toBe(0.01);
    expect(found.pMoran).toBeLessThanOrEqual(0.02);
    const west = [...found.values.keys()].filter((i) => found.pFdr[i] <= 0.1 && found.values[i] < found.mean);
    expect(west.every((i) => i % columns < 2)).toBe(true);
    expect([found.units, found.fixed]).toEqual([72, 0]);
  });
  test('where weights do not know their place, p falls below 0.05 about as often as it should', () => {
    let seen = 0;
    for (let set = 0; set < 100; set++) {
      const found = breakageOf(
        items((_, random) => 5 + 40 * random.next(), set + 10),
        links,
        { ...plan, seed: set, count: 39 },
      );
      if ((found.pSpread ?? 1) <= 0.05) seen++;
    }
    // of 100 at 0.05: 12 or more happen less than once in two hundred
    expect(seen).toBeLessThan(12);
  });

  const dig = (): Sample => {
    const sample = smallDig();
    const n = sample.xy.length / 2;
    return {
      ...sample,
      areas: [],
      detail: {
        ...sample.detail,
        weightG: Float64Array.from({ length: n }, (_, i) => 10 + (i % 5)),
        potVessel: Array.from({ length: n }, (_, i) => `P${i % 9}`),
      },
    };
  };
  test('the answer leads with breakage, its squares are those with sherds', () => {
    for (const value of ['mean_sherd_weight', 'sherds_per_vessel']) {
      const own = localAutocorrelation.parameters.parse({ value });
      const { summary, table } = localAutocorrelation.run(dig(), own, control);
      expect(summary.breakage).toMatchObject({ pot_vessels: 9, finds_left_out: 0, sherd_finds: 40 });
      expect(summary.squares).toBe(table.rows.length);
      expect(summary.by_class).toEqual([]);
      expect(localAutocorrelation.result.safeParse(summary).success).toBe(true);
      expect(table.columns.map(({ name }) => name)).toContain('p_breakage_fdr');
    }
  });
  test('refused without weights, and where sherds are already counted as vessels', () => {
    const own = localAutocorrelation.parameters.parse({ value: 'mean_sherd_weight' });
    expect(() => localAutocorrelation.run({ ...dig(), detail: unknownDetail(40) }, own, control)).toThrow(/weight_g/);
    const merged: Sample = { ...dig(), counting: { unit: 'pot_vessel', spot: 'find' } };
    expect(() => localAutocorrelation.run(merged, own, control)).toThrow(/count_unit = pot_vessel/);
  });
});

describe('disturbed ground', () => {
  const xy: [number, number][] = [
    ...Array.from({ length: 6 }, (_, i): [number, number] => [0.2 + 0.3 * i, 1]),
    ...Array.from({ length: 4 }, (_, i): [number, number] => [2.5 + 0.3 * i, 3]),
  ];
  const known = (label: string, box: [number, number, number, number]) => ({
    label,
    region: windowBox(...box),
    areaM2: 1,
    weight: 1,
    classCode: 1,
    seasonCode: 0,
  });
  const pit = { name: 'C4', kind: 'disturbance', region: windowBox(0, 0, 2.5, 2) };
  const layer = { name: 'C1', kind: 'layer', region: windowBox(0, 0, 4, 4) };
  const sample = sampleOf(xy, windowBox(0, 0, 4, 4), {
    classes: ['jar', 'nail'],
    classCode: Uint32Array.from(xy, (_, i) => 1 + (i % 2)),
    contexts: [layer, pit],
    areas: [known('a', [0, 0, 1, 1]), known('b', [2, 0, 3, 1]), known('c', [3, 3, 4, 4])],
  });
  const run = (own: Record<string, unknown>, of = sample) =>
    classTable.run(of, classTable.parameters.parse(own), control);

  test('rates and the exact p are those of the binomial; a square that holds both stands on neither side', () => {
    const all = run({ list: 'disturbed' }).summary.disturbed?.all;
    expect(all).toMatchObject({ disturbed: 7, undisturbed: 5, either: 1, disturbed_measured: 6 });
    near(all?.rate_ratio, 6 / 5 / (4 / 11), { relative: 1e-9 });
    const choose = [1, 10, 45, 120, 210, 252, 210, 120, 45, 10, 1];
    const share = 5 / 16;
    const tail = [6, 7, 8, 9, 10].reduce((sum, k) => sum + choose[k] * share ** k * (1 - share) ** (10 - k), 0);
    near(all?.p_two_sided, 2 * tail, { relative: 1e-9 });
  });
  test('lists the finds, by their register number, that lie there or may', () => {
    const rows = run({ list: 'disturbed_finds' }).table.rows;
    expect(rows.map((row) => [row[0], row[4], row[5]])).toEqual([
      ...['1', '2', '3', '4', '5', '6'].map((find) => [find, 'disturbed', 'C4']),
      ['a', 'disturbed', null],
      ['b', 'either', null],
    ]);
  });
  test('classes add up to all finds; another list says nothing of it', () => {
    const part = run({ list: 'disturbed' }).summary.disturbed;
    for (const side of ['disturbed', 'undisturbed', 'either'] as const) {
      expect(part?.by_class.reduce((sum, row) => sum + row[side], 0)).toBe(part?.all[side]);
    }
    expect(run({}).summary.disturbed).toBeNull();
  });
  test('refused where no context is disturbed, naming the kinds there are', () => {
    expect(() => run({ list: 'disturbed' }, { ...sample, contexts: [layer] })).toThrow(/kinds here: layer/);
    expect(() => run({ list: 'disturbed', disturbed_kinds: ['trawl'] })).toThrow(/kind trawl/);
  });
  test('weights by size class and square add up to the weights of the finds', () => {
    const n = xy.length;
    const weighed: Sample = {
      ...sample,
      areas: [],
      detail: {
        ...sample.detail,
        weightG: Float64Array.from({ length: n }, (_, i) => 100 * (i + 1)),
        sizeClass: xy.map((_, i) => (i < 5 ? 'cobble' : 'boulder')),
      },
    };
    const { summary, table } = run({ list: 'squares_by_size' }, weighed);
    expect(summary.by_size_class.map((row) => [row.size_class, row.finds, row.weight_g])).toEqual([
      ['boulder', 5, 4000],
      ['cobble', 5, 1500],
    ]);
    near(summary.by_size_class[0].g_per_m2, 250, { relative: 1e-9 });
    const weight = table.columns.findIndex(({ name }) => name === 'weight_g');
    expect(table.rows).toHaveLength(2 * 16);
    expect(table.rows.reduce((sum, row) => sum + Number(row[weight]), 0)).toBe(5500);
  });
});

describe('joins and class mix across areas', () => {
  const twoParts = windowOf([[rectangle(0, 0, 2, 2)], [rectangle(5, 0, 7, 2)]]);
  const xy: [number, number][] = [
    [0.5, 0.5],
    [1.5, 1],
    [5.5, 0.5],
    [6.5, 1],
  ];
  const parted = (classCode: number[], more: Partial<Sample> = {}) =>
    sampleOf(xy, twoParts, {
      classes: ['jar', 'nail'],
      classCode: Uint32Array.from(classCode),
      joins: [{ a: 0, b: 2, kind: 'physical_join' }],
      ...more,
    });
  const own = refitDistances.parameters.parse({ areas: 'dug_parts' });
  const areasOf = (sample: Sample, simulations = 999) =>
    refitDistances.run(sample, own, { ...control, simulations }).summary.areas;

  test('two finds in each area: a join crosses in two of three reallocations', () => {
    const areas = areasOf(parted([1, 1, 1, 1]));
    expect(areas).toMatchObject({ joins: 1, joins_across: 1, units_across: 1, outside: 0, class_mix: null });
    expect(areas?.areas.map(({ n }) => n)).toEqual([2, 2]);
    near(areas?.expected_across, 2 / 3, { absolute: 0.05 });
    expect(areas?.p_two_sided).toBe(1);
  });
  test('no class in common: V is 1, and of six ways to deal two do as much', () => {
    const mix = areasOf(parted([1, 1, 2, 2]))?.class_mix;
    near(mix?.cramers_v, 1, { relative: 1e-12 });
    near(mix?.chi2, 4, { relative: 1e-12 });
    near(mix?.p, 1 / 3, { absolute: 0.05 });
  });
  test('pots are dealt whole: the sherds of two pots are two things, not four', () => {
    const detail = { ...unknownDetail(4), potVessel: ['P1', 'P1', 'P2', 'P2'] };
    const mix = areasOf(parted([1, 1, 2, 2], { detail }))?.class_mix;
    expect([mix?.units, mix?.p]).toEqual([2, 1]);
  });
  test('zones of the ship do as well, and finds in none are counted', () => {
    const zones = [
      { name: 'hold', kind: null, region: windowBox(0, 0, 1, 2) },
      { name: 'stern', kind: null, region: windowBox(5, 0, 7, 2) },
    ];
    const asked = refitDistances.parameters.parse({ areas: 'ship_zones' });
    const { areas } = refitDistances.run(parted([1, 1, 1, 1], { zones }), asked, control).summary;
    expect(areas).toMatchObject({ joins: 1, joins_across: 1, outside: 1 });
  });
  test('one piece of ground is refused, and so are no zones', () => {
    expect(() => refitDistances.run(smallDig(), own, control)).toThrow(/the window is one piece/);
    const zones = refitDistances.parameters.parse({ areas: 'ship_zones' });
    expect(() => refitDistances.run(smallDig(), zones, control)).toThrow(/ship-zones\.geojson/);
  });
});

describe('richness towards the trench edge', () => {
  test('the law of a square of side a: mean distance a / 6', () => {
    const { law, distance } = edgeMeasure(windowBox(0, 0, 6, 6));
    near(law.mean, 1, { relative: 1e-9 });
    near(distance(1, 3), 1, { relative: 1e-12 });
    near(distance(5.5, 2), 0.5, { relative: 1e-12 });
  });
  test('finds that follow the ground show no trend; finds at exp(b d) give back b', () => {
    const { law } = edgeMeasure(windowBox(0, 0, 6, 6));
    // ground within d of the edge of a 6 m square: density 4 (6 − 2 d) / 36
    const meanUnder = (b: number) => {
      let [mass, sum] = [0, 0];
      for (let k = 0; k < 30_000; k++) {
        const d = (k + 0.5) / 10_000;
        const w = (6 - 2 * d) * Math.exp(b * d);
        mass += w;
        sum += w * d;
      }
      return sum / mass;
    };
    for (const b of [0, -1.2, 0.7]) {
      const trend = distanceTrend(new Float64Array(50).fill(meanUnder(b)), law);
      near(trend?.perM, b, { absolute: 1e-4 });
      expect(trend?.low).toBeLessThan(b);
      expect(trend?.high).toBeGreaterThan(b);
    }
  });
  test('needs no hull; bands hold all the ground, edge squares are named with their rates', () => {
    const own = hullScatter.parameters.parse({ distance: 'trench_edge', bands: [0, 1, 2] });
    const sample = { ...smallDig(), hull: [], areas: [] };
    const { summary, methods, cautions, table } = hullScatter.run(sample, own, control);
    near(
      summary.bands.reduce((sum, band) => sum + band.area_m2, 0),
      79,
      { relative: 1e-9 },
    );
    expect(summary.bands.reduce((sum, band) => sum + band.n, 0)).toBe(40);
    const squares = summary.trench_edge?.squares ?? [];
    // counted by hand: 35 along the outline of the L, 6 around its hole
    expect(squares.length).toBe(41);
    expect(squares.every((square) => square.dug_m2 === 1 && square.per_m2 === square.n)).toBe(true);
    expect(methods).toContain('its own edge');
    expect(cautions.join(' ')).not.toMatch(/hull beyond that edge/);
    expect(table.rows.filter((row) => row[0] === 'square at the edge')).toHaveLength(41);
    expect(() => hullScatter.run(sample, hullScatter.parameters.parse({}), control)).toThrow(/no hull|trench_edge/);
  });
  test('the same measured to the hull says nothing of the edge', () => {
    expect(hullScatter.run(smallDig(), hullScatter.parameters.parse({}), control).summary.trench_edge).toBeNull();
  });
});
