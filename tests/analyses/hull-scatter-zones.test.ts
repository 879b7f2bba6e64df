import { expect, test } from 'vitest';
import analysis from '../../src/analyses/hull-scatter/index.js';
import type { NamedRegion, Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { near, uniformScatter } from '../support/near.js';
import { hullOf, sampleOf, windowOf } from '../support/sample-of.js';

const ring = (west: number, south: number, east: number, north: number) => [
  [west, south],
  [east, south],
  [east, north],
  [west, north],
];
const rectangle = (...corners: Parameters<typeof ring>) => windowOf([[ring(...corners)]]);
const zone = (name: string, ...corners: Parameters<typeof ring>): NamedRegion => ({
  name,
  kind: null,
  region: rectangle(...corners),
});
const window = windowOf([[ring(0, 0, 20, 10), ring(6, 2, 8, 4)]]);
const places = uniformScatter({ n: 400, seed: 8, width: 20, height: 10 });
const finds = Array.from({ length: 400 }, (_, i) => [places[2 * i], places[2 * i + 1]] as const).filter(
  ([x, y]) => !(x > 6 && x < 8 && y > 2 && y < 4),
);
const n = finds.length;

function dig(more: Partial<Sample> = {}): Sample {
  return sampleOf(finds, window, {
    hull: hullOf([
      {
        element: 'keelson',
        line: [
          [2, 5],
          [18, 5],
        ],
      },
    ]),
    shipAxis: { after: [2, 5], bow: [18, 5], bowEnd: 'resolved' },
    zones: [zone('hold', 0, 0, 12, 10), zone('cabin', 10, 0, 16, 10)],
    classes: ['jar', 'nail'],
    classCode: Uint32Array.from(finds, (_, i) => 1 + (i % 2)),
    ...more,
  });
}
const summaryOf = (sample: Sample, own: Record<string, unknown> = {}, simulations = 199) =>
  analysis.run(sample, analysis.parameters.parse(own), { seed: 3, simulations, draws: 1, progress: () => {} }).summary;

test('steps along the keel share out every find and every square metre; dug length counts ground abreast only', () => {
  for (const keel_step of [1, 0.75, 3]) {
    const bins = summaryOf(dig(), { keel_step }, 0).along_keel ?? [];
    expect(bins.reduce((sum, bin) => sum + bin.n, 0)).toBe(n);
    near(
      bins.reduce((sum, bin) => sum + bin.area_m2, 0),
      196,
      { relative: 1e-9 },
    );
    near(
      bins.reduce((sum, bin) => sum + bin.dug_length_m, 0),
      20,
      { relative: 1e-9 },
    );
  }
  // counted by hand: x from 2 to 3 is the first metre of the keel
  const first = summaryOf(dig(), {}, 0).along_keel?.find((bin) => bin.from_m === 0);
  expect(first?.n).toBe(finds.filter(([x]) => x >= 2 && x < 3).length);
  expect(first?.area_m2).toBeCloseTo(10, 9);
});

test('ground in two zones belongs to the first; zones and the rest share out finds and ground', () => {
  const zones = summaryOf(dig(), {}, 0).zones ?? [];
  expect(zones.map(({ zone: name }) => name)).toEqual(['hold', 'cabin', null]);
  [116, 40, 40].forEach((area, z) => {
    near(zones[z].area_m2, area, { relative: 1e-9 });
  });
  expect(zones.map((z) => z.n)).toEqual([
    finds.filter(([x]) => x <= 12).length,
    finds.filter(([x]) => x > 12 && x <= 16).length,
    finds.filter(([x]) => x > 16).length,
  ]);
});

test('classes dealt without regard to place show nothing; a class kept to the cabin is named', () => {
  const nothing = summaryOf(dig()).zones_by_class;
  expect(nothing?.p).toBeGreaterThan(0.01);
  const planted = dig({ classCode: Uint32Array.from(finds, ([x], i) => (x > 12 && x < 16 && i % 4 > 0 ? 2 : 1)) });
  const seen = summaryOf(planted).zones_by_class;
  expect(seen?.p).toBeLessThanOrEqual(0.005);
  const cell = seen?.cells.find((c) => c.zone === 'cabin' && c.artefact_class === 'nail');
  expect(cell?.departure).toBeGreaterThan(5);
});

test('χ² of the table is that of the textbook', () => {
  const table = summaryOf(dig(), {}, 0).zones_by_class;
  const counts = table?.counts ?? [];
  const rows = counts.map((row) => row[0] + row[1]);
  const columns = [0, 1].map((c) => counts.reduce((sum, row) => sum + row[c], 0));
  let chi2 = 0;
  counts.forEach((row, r) => {
    row.forEach((value, c) => {
      const expected = (rows[r] * columns[c]) / n;
      chi2 += (value - expected) ** 2 / expected;
    });
  });
  near(table?.chi2, chi2, { relative: 1e-12 });
  expect(table?.p).toBeNull();
});

test('sherds of one pot are one unit: a heap of one broken pot proves nothing about its class', () => {
  const classCode = Uint32Array.from(finds, ([x, y]) => (x > 13 && x < 15 && y > 3 && y < 7 ? 2 : 1));
  const jars = classCode.reduce((sum, code) => sum + (code === 2 ? 1 : 0), 0);
  expect(jars).toBeGreaterThan(8);
  const alone = summaryOf(dig({ classCode })).zones_by_class;
  const detail = { ...unknownDetail(n), potVessel: Array.from(classCode, (code) => (code === 2 ? 'P1' : null)) };
  const pot = summaryOf(dig({ classCode, detail })).zones_by_class;
  expect(alone?.p).toBeLessThanOrEqual(0.01);
  expect(pot?.p).toBe(1);
  expect(pot?.units).toBe(n - jars + 1);
});

test('each season is held to the ground it dug', () => {
  const west = rectangle(0, 0, 10, 10);
  const east = rectangle(10, 0, 20, 10);
  const dug = [
    { season: 'S1', region: west },
    { season: 'S2', region: east },
  ].map((area) => ({ ...area, progress: 'finished', areaM2: 100, dugFraction: 1, meshMm: null, tool: null }));
  const sample = dig({
    dug,
    seasons: ['S1', 'S2'],
    seasonCode: Uint32Array.from(finds, ([x]) => (x < 10 ? 1 : 2)),
  });
  const seasons = summaryOf(sample, {}, 0).seasons ?? [];
  expect(seasons.map((s) => s.season)).toEqual(['S1', 'S2']);
  near(seasons[0].area_m2, 96, { relative: 1e-9 });
  near(seasons[1].area_m2, 100, { relative: 1e-9 });
  expect(seasons[0].n + seasons[1].n).toBe(n);
  // the season alone, in a window of its own ground, gives the same numbers
  const own = finds.filter(([x]) => x >= 10);
  const alone = summaryOf(sampleOf(own, east, { hull: dig().hull, shipAxis: dig().shipAxis }), {}, 0);
  near(seasons[1].median_m, alone.distance_m.median as number, { relative: 1e-12 });
  near(seasons[1].expected_median_m, alone.expected_median_m, { relative: 1e-6 });
  near(seasons[1].d, alone.ks.d as number, { relative: 1e-9 });
});
