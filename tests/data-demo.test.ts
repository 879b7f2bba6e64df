import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fromArrayBuffer } from 'geotiff';
import { beforeAll, describe, expect, test } from 'vitest';
import { dugFractionOf, dugUnion } from '../data-demo/generator/areas.js';
import { thickness } from '../data-demo/generator/deposit.js';
import { makeDemo } from '../data-demo/generator/make.js';
import { gridToGrid, nodeAt, partRing, squareAt } from '../src/domain/grid.js';
import { type Site, siteSchema } from '../src/domain/site.js';
import { contains, insideEvenOdd, orientRings, type Region, regionArea } from '../src/math/rings.js';

const folder = new URL('../data-demo/', import.meta.url);
const read = (name: string) => readFile(new URL(name, folder), 'utf8');

type Row = Record<string, string>;

/** Rows of a file that quotes nothing, which is itself asserted. */
async function rowsOf(name: string): Promise<Row[]> {
  const text = await read(name);
  expect(text).not.toMatch(/["\r]/);
  expect(text.endsWith('\n')).toBe(true);
  const [head, ...lines] = text.trimEnd().split('\n');
  const columns = head.split(',');
  return lines.map((line) => {
    const cells = line.split(',');
    expect(cells.length).toBe(columns.length);
    return Object.fromEntries(columns.map((column, i) => [column, cells[i]]));
  });
}

interface Area {
  readonly season: string;
  readonly progress: string;
  readonly fraction: number;
  readonly region: Region;
}

interface Fault {
  readonly row: number;
}
interface Ground {
  readonly area_m2: number;
  readonly volume_m3: number;
  readonly volume_dug_m3: number;
  readonly mean_thickness_m: number;
  readonly planes: { readonly deposit_top: { readonly dip_deg: number; readonly downslope_deg: number } };
}
type FaultName = 'poor' | 'one_metre' | 'tenth_of_a_metre' | 'swapped_names';
type SeasonNode = { readonly season: string; readonly node: string };
/** The part of truth.json that is asked for here. */
interface Truth {
  readonly grids: { readonly g2: { readonly rotation_deg_anticlockwise: number } };
  readonly ground: { readonly union: Ground; readonly seasons: Readonly<Record<string, Ground>> };
  readonly levels: {
    readonly missing_nodes: readonly string[];
    readonly nodes_due: number;
    readonly inverted_nodes: readonly SeasonNode[];
    readonly squares_without_bottom: readonly { readonly season: string; readonly square: string }[];
    readonly tide_not_reduced: { readonly reading_series: string; readonly readings: number };
  };
  readonly survey: {
    readonly rows: Readonly<Record<FaultName, readonly Fault[]>>;
    readonly true_points: readonly {
      readonly name: string;
      readonly x: number;
      readonly y: number;
      readonly z: number;
    }[];
  };
  readonly finds: {
    readonly clusters: readonly {
      readonly centre: readonly [number, number];
      readonly sigma_m: number;
      readonly distance_to_undug_m: number;
    }[];
    readonly axe_heads: readonly string[];
    readonly positions: { readonly outside_stated_square: readonly { readonly find: string }[] };
    readonly relative_depth: Readonly<Record<string, { readonly came_out_mean: number }>>;
    readonly iron_bars: { readonly came_out: { readonly mean_deg: number } };
    readonly wood: { readonly least_thickness_m: number };
    readonly stoneware_jars: { readonly came_out: Readonly<Record<string, number>> };
  };
}
interface AreaFeature {
  readonly properties: { readonly season: string; readonly progress: string; readonly dug_fraction: number };
  readonly geometry: { readonly coordinates: readonly number[][][] };
}

let truth: Truth;
let site: Site;
let finds: Row[];
let areas: Area[];

beforeAll(async () => {
  truth = JSON.parse(await read('truth.json'));
  site = siteSchema.parse(JSON.parse(await read('site.json')));
  finds = await rowsOf('finds.csv');
  const collection = JSON.parse(await read('excavated-areas.geojson'));
  expect(collection.coordinate_space).toBe('site-grid');
  areas = collection.features.map((feature: AreaFeature) => ({
    season: feature.properties.season,
    progress: feature.properties.progress,
    fraction: feature.properties.dug_fraction,
    region: orientRings([feature.geometry.coordinates.map((ring: number[][]) => Float64Array.from(ring.flat()))]),
  }));
});

const dug = (season?: string) =>
  areas.filter((area) => area.progress !== 'planned' && (season === undefined || area.season === season));
const isDug = (x: number, y: number, season?: string) => dug(season).some((area) => contains(area.region, x, y, 1e-6));
const toFirst = (grid: string) => gridToGrid(site.grids.find((g) => g.id === grid)!, site.grids[0]);
const points = (name: string): [number, number][] =>
  finds
    .filter((row) => row.artefact_class === name && row.position_kind === 'point')
    .map((row) => toFirst(row.grid)(Number(row.local_x), Number(row.local_y)));
const single = () => finds.filter((row) => row.concretion === '' && row.artefact_class !== 'iron bar');
const share = (count: number) => (100 * count) / single().length;
const distance = (a: readonly number[], b: readonly number[]) => Math.hypot(a[0] - b[0], a[1] - b[1]);

test('the files here are what the generator makes from its seed, byte by byte', async () => {
  const made = await mkdtemp(join(tmpdir(), 'demo-'));
  try {
    await makeDemo(made);
    const names = await readdir(made);
    expect(names).toHaveLength(18);
    for (const name of names) {
      const same = (await readFile(join(made, name))).equals(await readFile(new URL(name, folder)));
      expect(same, `${name} is stale: run npx tsx data-demo/generator/make.ts`).toBe(true);
    }
  } finally {
    await rm(made, { recursive: true });
  }
});

describe('areas', () => {
  test('seasons and their union have the areas planned, holes taken off', () => {
    const sum = (season: string) => dug(season).reduce((total, area) => total + regionArea(area.region), 0);
    expect(['S1', 'S2', 'S3', 'S4'].map(sum)).toEqual([24, 88, 74, 61]);
    expect(dug('S2').flatMap((area) => area.region.rings)).toHaveLength(2);
    const halves = areas.filter((area) => area.fraction === 0.5);
    expect(halves.map((area) => [area.season, regionArea(area.region)])).toEqual(Array(11).fill(['S4', 1]));
    expect(areas.filter((area) => area.progress === 'planned').map((area) => regionArea(area.region))).toEqual(
      Array(6).fill(1),
    );
    let union = 0;
    for (let x = 0.25; x < 34; x += 0.5) {
      for (let y = 0.25; y < 20; y += 0.5) {
        for (const season of ['S1', 'S2', 'S3', 'S4']) {
          expect(dug(season).filter((area) => insideEvenOdd(area.region, x, y)).length).toBeLessThan(2);
        }
        if (dug().some((area) => insideEvenOdd(area.region, x, y))) union += 0.25;
      }
    }
    expect(union).toBe(238);
    expect(truth.ground.union.area_m2).toBe(238);
  });

  test('every cluster centre lies three sigma inside the dug union', () => {
    for (const { centre, sigma_m, distance_to_undug_m } of truth.finds.clusters) {
      expect(distance_to_undug_m).toBeGreaterThanOrEqual(3 * sigma_m);
      for (let turn = 0; turn < 2 * Math.PI; turn += 0.03) {
        for (const radius of [1, 2, 3].map((k) => k * sigma_m)) {
          expect(isDug(centre[0] + radius * Math.cos(turn), centre[1] + radius * Math.sin(turn))).toBe(true);
        }
      }
    }
  });

  test('volumes agree with a fine sum over the squares', () => {
    let whole = 0;
    let halved = 0;
    for (const [c, r] of dugUnion) {
      let square = 0;
      for (let i = 0; i < 20; i++)
        for (let k = 0; k < 20; k++) square += thickness(c + (i + 0.5) / 20, r + (k + 0.5) / 20) / 400;
      whole += square;
      halved += square * dugFractionOf([c, r]);
    }
    expect(truth.ground.union.volume_m3).toBeCloseTo(whole, 5);
    expect(truth.ground.union.volume_dug_m3).toBeCloseTo(halved, 5);
    expect(truth.ground.seasons.S1.mean_thickness_m).toBeCloseTo(0.16, 2);
    expect(truth.ground.seasons.S2.mean_thickness_m).toBeCloseTo(0.32, 2);
    expect(truth.ground.union.planes.deposit_top.dip_deg).toBeCloseTo(3, 1);
    expect(Math.abs(truth.ground.union.planes.deposit_top.downslope_deg - 140)).toBeLessThan(5);
  });
});

describe('the register', () => {
  test('holds 6,400 finds in 17 classes of site.json, 18 after X-ray', async () => {
    const counts = new Map<string, number>();
    for (const row of finds) counts.set(row.artefact_class, (counts.get(row.artefact_class) ?? 0) + 1);
    expect(Object.fromEntries(counts)).toEqual({
      'stoneware jar': 1450,
      'window glass': 520,
      'hearth brick': 260,
      'clay pipe': 180,
      'copper-alloy spike': 340,
      bone: 270,
      'copper sheathing': 38,
      'lead shot': 640,
      'lead sheet': 26,
      'sounding lead': 3,
      wood: 310,
      'iron fastening': 1090,
      'unidentified iron object': 60,
      'iron bar': 46,
      nail: 620,
      tableware: 420,
      leather: 127,
    });
    expect(new Set(finds.map((row) => row.find)).size).toBe(6400);
    const ids = new Set(site.artefact_classes.map((kind) => kind.id));
    expect([...counts.keys(), 'axe head'].filter((id) => !ids.has(id))).toEqual([]);
    const identified = await rowsOf('identifications.csv');
    expect(identified.map((row) => row.find)).toEqual(truth.finds.axe_heads);
    expect(identified).toHaveLength(23);
    const odd = new Set(finds.filter((r) => r.artefact_class === 'unidentified iron object').map((r) => r.find));
    for (const row of identified) {
      expect(odd.has(row.find) && row.date.startsWith('2025') && row.artefact_class === 'axe head').toBe(true);
    }
  });

  test('positions have the shares planned, elevations too', () => {
    const kind = (...kinds: string[]) => share(single().filter((row) => kinds.includes(row.position_kind)).length);
    expect([kind('point'), kind('square'), kind('half_square', 'quarter_square'), kind('area'), kind('spoil')]).toEqual(
      [71, 17, 6, 4, 2],
    );
    const value = single().filter((row) => row.z_elevation !== '').length;
    const range = single().filter((row) => row.z_min !== '' && row.z_elevation === '').length;
    expect([share(value), share(range)]).toEqual([86, 9]);
    expect(single().filter((row) => row.position_kind === 'spoil' && row.z_elevation + row.z_min !== '')).toEqual([]);
  });

  test('210 concretions have one to nine children each, at their own place', () => {
    const byNumber = new Map(finds.map((row) => [row.find, row]));
    const children = new Map<string, number>();
    for (const row of finds.filter((find) => find.concretion !== '')) {
      children.set(row.concretion, (children.get(row.concretion) ?? 0) + 1);
      const own = byNumber.get(row.concretion)!;
      for (const column of ['season', 'dive', 'position_kind', 'local_x', 'local_y', 'square', 'part', 'z_elevation']) {
        expect(row[column]).toBe(own[column]);
      }
    }
    expect(children.size).toBe(210);
    expect([Math.min(...children.values()), Math.max(...children.values())]).toEqual([1, 9]);
  });

  test('every find lies in what its own season dug', () => {
    for (const row of finds) {
      const way = toFirst(row.grid);
      const at = (x: number, y: number) => isDug(...way(x, y), row.season);
      const [x, y, endX, endY] = [row.local_x, row.local_y, row.end_x, row.end_y].map(Number);
      if (row.position_kind === 'point') expect(at(x, y), row.find).toBe(true);
      if (row.position_kind === 'line' || row.position_kind === 'area') {
        for (let t = 0; t <= 1; t += 0.05) {
          expect(at(x + (endX - x) * t, y + (endY - y) * t), row.find).toBe(true);
          if (row.position_kind === 'area') expect(at(endX + (x - endX) * t, y + (endY - y) * t), row.find).toBe(true);
        }
      }
      if (row.position_kind.endsWith('square')) {
        const ring = partRing(site.grids.find((grid) => grid.id === row.grid)!, row.square, row.part);
        const middle = [(ring[0] + ring[4]) / 2, (ring[1] + ring[5]) / 2];
        expect(at(middle[0], middle[1]), row.find).toBe(true);
      }
    }
  });

  test('seven finds lie outside their stated square, the others by the boundary rule inside', () => {
    const outside = finds.filter((row) => {
      if (row.position_kind !== 'point' || row.concretion !== '') return false;
      const grid = site.grids.find((g) => g.id === row.grid)!;
      return squareAt(grid, Number(row.local_x), Number(row.local_y)) !== row.square;
    });
    expect(outside.map((row) => row.find)).toEqual(truth.finds.positions.outside_stated_square.map((o) => o.find));
    expect(outside).toHaveLength(7);
  });

  test('140 joins, each between two sherds of one of 60 vessels', async () => {
    const vessel = new Map(finds.map((row) => [row.find, row.pot_vessel]));
    const joins = await rowsOf('refits.csv');
    expect(new Set(joins.map((row) => `${row.find_a} ${row.find_b}`)).size).toBe(140);
    for (const row of joins) expect(vessel.get(row.find_a)).toBe(vessel.get(row.find_b));
    const vessels = (await rowsOf('pot-vessels.csv')).map((row) => row.pot_vessel);
    expect(vessels).toHaveLength(60);
    expect(new Set(finds.flatMap((row) => row.pot_vessel || []))).toEqual(new Set(vessels));
  });
});

describe('what was planted', () => {
  test('bone keeps away from copper sheathing, spikes keep their distance, bars lie together', () => {
    const scraps = points('copper sheathing');
    for (const bone of points('bone'))
      expect(Math.min(...scraps.map((scrap) => distance(bone, scrap)))).toBeGreaterThanOrEqual(0.799);
    const spikes = points('copper-alloy spike');
    expect(spikes).toHaveLength(340);
    const nearest = spikes.map((a) => Math.min(...spikes.filter((b) => b !== a).map((b) => distance(a, b))));
    expect(nearest.reduce((sum, d) => sum + d, 0) / 340).toBeCloseTo(0.44, 2);
    const bars = finds.filter((row) => row.position_kind === 'line');
    expect(bars).toHaveLength(46);
    for (const row of bars) {
      const way = toFirst(row.grid);
      const [a, b] = [way(Number(row.local_x), Number(row.local_y)), way(Number(row.end_x), Number(row.end_y))];
      const azimuth = (Math.atan2(b[0] - a[0], b[1] - a[1]) * 180) / Math.PI;
      expect(Math.abs(azimuth - 61)).toBeLessThan(8 * 3.5);
    }
    expect(Math.abs(truth.finds.iron_bars.came_out.mean_deg - 61)).toBeLessThan(3);
  });

  test('nails are twice as many per m² in S2 as in S1, and as many per m³', () => {
    const count = (season: string) => finds.filter((r) => r.artefact_class === 'nail' && r.season === season).length;
    expect(count('S2') / 88 / (count('S1') / 24)).toBe(2);
    const { S1, S2 } = truth.ground.seasons;
    expect(count('S2') / S2.volume_m3 / (count('S1') / S1.volume_m3)).toBeCloseTo(1, 1);
  });

  test('lead lies low, sherds drifted towards 140°, the lighter ones further', () => {
    const mean = (name: string) => truth.finds.relative_depth[name].came_out_mean;
    expect(mean('lead shot')).toBeCloseTo(6 / 7.6, 1);
    expect(mean('stoneware jar')).toBeCloseTo(2 / 4.4, 1);
    const { came_out } = truth.finds.stoneware_jars;
    expect(Math.abs(came_out.mean_direction_deg - 140)).toBeLessThan(3);
    expect(came_out.farthest_m).toBeGreaterThan(3.5);
    expect(came_out.farthest_m).toBeLessThanOrEqual(4.2);
    expect(came_out.mean_drift_lighter_half_m).toBeGreaterThan(3 * came_out.mean_drift_heavier_half_m);
    expect(truth.finds.wood.least_thickness_m).toBeGreaterThan(0.3);
  });
});

describe('readings', () => {
  test('the re-laid grid is turned and shifted as stated', () => {
    const turn = (truth.grids.g2.rotation_deg_anticlockwise * Math.PI) / 180;
    for (const [x, y] of [
      [0, 0],
      [34, 0],
      [12, 9],
    ] as const) {
      const [a, b] = toFirst('g2')(x, y);
      expect(a).toBeCloseTo(Math.cos(turn) * x - Math.sin(turn) * y + 0.12, 6);
      expect(b).toBeCloseTo(Math.sin(turn) * x + Math.cos(turn) * y - 0.07, 6);
    }
  });

  test('110 tapes to 46 details, their faults where truth.json says', async () => {
    const control = await rowsOf('control-points.csv');
    const named = (kind: string, season: string) => control.filter((r) => r.class === kind && r.season === season);
    expect([named('primary', 'S1'), named('detail', 'S2'), named('primary', 'S3')].map((l) => l.length)).toEqual([
      8, 46, 5,
    ]);
    const rows = await rowsOf('measurements.csv');
    expect(rows.filter((row) => row.kind === 'distance')).toHaveLength(110);
    const at = new Map(truth.survey.true_points.map((p) => [p.name, p]));
    const error = rows.slice(0, 110).map((row) => {
      const [a, b] = [at.get(row.from)!, at.get(row.to)!];
      return Number(row.value) - Math.hypot(a.x - b.x, a.y - b.y, a.z - b.z);
    });
    const faults = truth.survey.rows;
    const rowsWith = (name: FaultName): number[] => faults[name].map((fault) => fault.row - 1);
    expect(rowsWith('poor')).toHaveLength(20);
    for (const i of rowsWith('one_metre')) expect(Math.abs(Math.abs(error[i]) - 1)).toBeLessThan(0.1);
    for (const i of rowsWith('tenth_of_a_metre')) expect(Math.abs(Math.abs(error[i]) - 0.1)).toBeLessThan(0.08);
    for (const i of rowsWith('swapped_names')) expect(Math.abs(error[i])).toBeGreaterThan(0.3);
    const bad = new Set((['poor', 'one_metre', 'tenth_of_a_metre', 'swapped_names'] as const).flatMap(rowsWith));
    expect(bad.size).toBe(25);
    error.forEach((e, i) => {
      if (!bad.has(i)) expect(Math.abs(e)).toBeLessThan(4 * 0.025);
    });
  });

  test('levels miss, swap and shift the nodes that truth.json names', async () => {
    const rows = await rowsOf('levels.csv');
    const elevation = (row: Row) => (row.kind === 'depth' ? -1 : 1) * Number(row.value);
    const of = (node: string, surface: string, season?: string) =>
      rows.filter((r) => r.node === node && r.surface === surface && (!season || r.season === season));
    const { missing_nodes, nodes_due, inverted_nodes, squares_without_bottom, tide_not_reduced } = truth.levels;
    expect(missing_nodes.length / nodes_due).toBeCloseTo(0.06, 2);
    for (const node of missing_nodes) expect([...of(node, 'deposit_top'), ...of(node, 'deposit_bottom')]).toEqual([]);
    expect(inverted_nodes).toHaveLength(2);
    for (const { node, season } of inverted_nodes) {
      const [top] = of(node, 'deposit_top', season);
      expect(elevation(top)).toBeLessThan(elevation(of(node, 'deposit_bottom', season)[0]));
    }
    for (const { square, season } of squares_without_bottom) {
      expect(finds.some((row) => row.square === square && row.season === season)).toBe(true);
      const [x, y] = nodeAt(site.grids[0], square)!;
      const corners = [
        [x, y],
        [x + 1, y],
        [x, y + 1],
        [x + 1, y + 1],
      ];
      const bottoms = rows.filter((row) => row.surface === 'deposit_bottom').map((row) => row.node);
      for (const [cx, cy] of corners) {
        const label = bottoms.find((node) => String(nodeAt(site.grids[0], node)) === String([cx, cy]));
        expect(label).toBeUndefined();
      }
    }
    const series = rows.filter((row) => row.reading_series === tide_not_reduced.reading_series);
    expect(series).toHaveLength(tide_not_reduced.readings);
    const tide = (await rowsOf('tide.csv')).find((row) => row.reading_series === '7')!;
    expect(Number(tide.reference_depth) - Number(tide.start_depth)).toBeCloseTo(0.38, 9);
    expect(new Set(rows.map((row) => row.kind))).toEqual(new Set(['elevation', 'depth']));
    expect(new Set(rows.filter((row) => row.season === 'S3').map((row) => row.grid))).toEqual(new Set(['g2']));
  });

  test('the bathymetry lies round the site in the map CRS', async () => {
    const bytes = await readFile(new URL('bathymetry.tif', folder));
    const image = await (await fromArrayBuffer(new Uint8Array(bytes).buffer)).getImage();
    expect([image.getWidth(), image.getHeight()]).toEqual([480, 400]);
    expect(image.getResolution().slice(0, 2)).toEqual([0.5, -0.5]);
    expect(image.getGDALNoData()).toBe(-9999);
    expect(image.getGeoKeys()?.ProjectedCSTypeGeoKey).toBe(32626);
    const [values] = (await image.readRasters()) as unknown as Float32Array[];
    const seen = values.filter((v) => v !== -9999);
    expect(seen.length).toBeLessThan(values.length);
    expect(seen.every((v) => v > -22 && v < -8)).toBe(true);
  });
});
