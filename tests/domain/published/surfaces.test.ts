import { expect, test, vi } from 'vitest';
import { collections, describedEntry, surfaceOfCollection } from '../../../src/domain/collections.js';
import { partsOf } from '../../../src/domain/columns.js';
import { type FeatureTable, valueAt } from '../../../src/domain/feature-table.js';
import { squareLabel } from '../../../src/domain/grid.js';
import { near } from '../../support/near.js';
import { smallSite, smallSurvey } from '../../support/small-site.js';

const site = smallSite();
const [grid] = site.grids;
const top = (x: number, y: number) => -0.1 + 0.05 * x - 0.04 * y;
const bottom = (x: number, y: number) => top(x, y) - 0.3 - 0.02 * x;

/** levels of a surface at the nodes of a block of squares */
const levelled = (
  surface: string,
  field: (x: number, y: number) => number,
  { from = 0, to = 10, rows = 8, season = 'S1', ...more }: Record<string, never> | Record<string, unknown> = {},
) => {
  const out = [];
  for (let row = 0; row <= (rows as number); row++) {
    for (let column = from as number; column <= (to as number); column++) {
      out.push({
        node: squareLabel(grid, column, row),
        season: season as string,
        surface,
        value: field(column, row),
        kind: 'elevation',
        sigma: 0.03,
        ...(more as Record<string, string | number>),
      });
    }
  }
  return out;
};

const whole = () => smallSurvey({ levels: [...levelled('deposit_top', top), ...levelled('deposit_bottom', bottom)] });
const all = new Set<string>();

const cell = (table: FeatureTable, name: string, row: number) => {
  const column = table.columns.get(name);
  return column ? valueAt(column, row) : undefined;
};
const lines = (table: FeatureTable) =>
  Array.from({ length: table.length }, (_, row) => {
    const { geometry } = table;
    if (geometry?.type !== 'line') return expect.fail('no lines');
    return { row, points: partsOf(geometry, row)[0].ring };
  });

test('contours of a plane are its straight lines, with the exact value and a label, at round steps', () => {
  const table = whole().collection('deposit-top-contours')!;
  expect(table.length).toBeGreaterThan(5);
  for (const { row, points } of lines(table)) {
    const level = cell(table, 'elevation_m', row) as number;
    for (let i = 0; i < points.length; i += 2) near(top(points[i], points[i + 1]), level, { absolute: 1e-9 });
    expect(points.length).toBe(4);
    expect(cell(table, 'label', row)).toBe(`${level < 0 ? '−' : ''}${Math.abs(level).toFixed(1)}`);
    near(level / 0.1, Math.round(level / 0.1), { absolute: 1e-9 });
    expect(cell(table, 'interval_m', row)).toBe(0.1);
    expect(cell(table, 'vertical_datum', row)).toBe('pin 1');
  }
  // the plane runs from −0.42 to 0.4: every tenth between
  expect(lines(table).map(({ row }) => cell(table, 'elevation_m', row))).toEqual([
    -0.4, -0.3, -0.2, -0.1, 0, 0.1, 0.2, 0.3,
  ]);
});

test('thickness has lines of its own, in metres of thickness', () => {
  const table = whole().collection('thickness-contours')!;
  for (const { row, points } of lines(table)) {
    const level = cell(table, 'thickness_m', row) as number;
    for (let i = 0; i < points.length; i += 2) near(0.3 + 0.02 * points[i], level, { absolute: 1e-9 });
  }
});

test('a surface answers one footprint with what it is, and σ of means of four nodes is half that of one', () => {
  const survey = whole();
  const table = survey.collection('deposit-bottom')!;
  expect(table.length).toBe(1);
  expect(cell(table, 'vertical_datum', 0)).toBe('pin 1');
  expect(cell(table, 'nodes', 0)).toBe(99);
  near(cell(table, 'area_m2', 0) as number, 80, { absolute: 4 });
  const { raster } = survey.modelled('deposit_bottom', all)!;
  expect(raster.sigma?.length).toBe(raster.values.length);
  expect(Math.min(...(raster.sigma ?? []).filter((s) => !Number.isNaN(s)))).toBeGreaterThan(0.03 / 2 - 1e-6);
});

test('every choice of seasons has its own surface; the newest counts where several levelled', () => {
  const survey = smallSurvey({
    levels: [
      ...levelled('deposit_top', () => 1, { to: 4 }),
      ...levelled('deposit_top', () => 2, { from: 3, to: 6, season: 'S2' }),
    ],
  });
  const range = (seasons: readonly string[]) => {
    const table = survey.collection('deposit-top', new Set(seasons))!;
    return [cell(table, 'seasons', 0), cell(table, 'lowest_m', 0), cell(table, 'highest_m', 0)];
  };
  expect(range([])).toEqual(['S1, S2', 1, 2]);
  expect(range(['S1'])).toEqual(['S1', 1, 1]);
  expect(range(['S2'])).toEqual(['S2', 2, 2]);
  const nodes = survey.collection('grid-nodes', new Set(['S1']))!;
  const at = (node: string) =>
    Array.from({ length: nodes.length }, (_, i) => i).find((i) => cell(nodes, 'node', i) === node);
  expect(cell(nodes, 'deposit_top', at('D1')!)).toBe(1);
  expect(cell(nodes, 'deposit_top', at('G1')!)).toBeNull();
  expect(cell(survey.collection('grid-nodes')!, 'deposit_top', at('D1')!)).toBe(2);
});

test('naming the collections works nothing out', () => {
  const survey = whole();
  const modelled = vi.spyOn(survey, 'modelled');
  const ids = survey.collectionEntries().map(({ id }) => id);
  expect(ids).toEqual(
    expect.arrayContaining([
      'deposit-top',
      'deposit-bottom',
      'thickness',
      'deposit-top-contours',
      'thickness-contours',
    ]),
  );
  for (const id of ids) expect(survey.collection(id)?.fields.length, id).toBeGreaterThan(0);
  for (const entry of collections) entry.deferred?.(survey);
  expect(modelled).not.toHaveBeenCalled();
  expect(survey.collection('thickness-contours')?.length).toBeGreaterThan(0);
  expect(modelled).toHaveBeenCalled();
});

test('without levels there are none of them, and levels that make no square make no surface', () => {
  const none = smallSurvey({ finds: [] });
  for (const id of ['deposit-top', 'thickness', 'deposit-top-contours', 'bathymetry-contours'])
    expect(none.collection(id), id).toBeNull();
  const onlyTop = smallSurvey({ levels: levelled('deposit_top', top) });
  expect(onlyTop.collection('deposit-top')).not.toBeNull();
  expect(onlyTop.collection('thickness')).toBeNull();
  const apart = smallSurvey({ levels: levelled('deposit_top', top).filter((_, i) => i % 2 === 0) });
  expect(apart.modelled('deposit_top', all)).toBeNull();
  expect(apart.collection('deposit-top')?.length).toBe(0);
  expect(apart.collection('deposit-top-contours')?.length).toBe(0);
});

test('grid nodes carry every level with σ, season and state, thickness with its σ, and what is missing', () => {
  const survey = smallSurvey({
    levels: [
      {
        node: 'A1',
        season: 'S1',
        surface: 'deposit_top',
        value: 0.1,
        kind: 'elevation',
        sigma: 0.03,
        state: 'after_dig',
      },
      {
        node: 'A1',
        season: 'S1',
        surface: 'deposit_top',
        value: 0.3,
        kind: 'elevation',
        sigma: 0.04,
        state: 'undisturbed',
      },
      { node: 'A1', season: 'S1', surface: 'deposit_bottom', value: 0.5, kind: 'depth', sigma: 0.03 },
      { node: 'A1', season: 'S1', surface: 'hard_substrate', value: -0.9, kind: 'elevation' },
      { node: 'B1', season: 'S2', surface: 'deposit_top', value: -0.2, kind: 'elevation', sigma: 0.02 },
      { node: 'C1', season: 'S2', surface: 'deposit_top', value: -0.5, kind: 'elevation' },
      { node: 'C1', season: 'S2', surface: 'deposit_bottom', value: -0.4, kind: 'elevation' },
      { node: 'D1', season: 'S2', surface: 'seabed_before', value: -0.4, kind: 'elevation' },
      { node: 'E1', season: 'S2', surface: 'deposit_top', value: 9, kind: 'elevation', state: 'set_aside' },
    ],
  });
  const table = survey.collection('grid-nodes')!;
  expect(table.length).toBe(11 * 9);
  const row = (node: string) =>
    Object.fromEntries(
      table.fields.map(({ name }) => {
        const at = Array.from({ length: table.length }, (_, i) => i).find((i) => cell(table, 'node', i) === node)!;
        return [name, cell(table, name, at)];
      }),
    );
  expect(row('A1')).toMatchObject({
    state: 'complete',
    deposit_top: 0.2,
    // two readings: √(0.03² + 0.04²) / 2
    sigma_deposit_top: 0.025,
    season_deposit_top: 'S1',
    state_deposit_top: 'after_dig, undisturbed',
    deposit_bottom: -0.5,
    sigma_deposit_bottom: 0.03,
    hard_substrate: -0.9,
    sigma_hard_substrate: null,
    thickness: 0.7,
    // √(0.025² + 0.03²)
    sigma_thickness: 0.0391,
    excavation_limit: null,
    vertical_datum: 'pin 1',
  });
  expect(['B1', 'C1', 'D1', 'E1', 'F1'].map((node) => row(node)['state'])).toEqual([
    'no_bottom',
    'inverted',
    'other_surfaces',
    'not_levelled',
    'not_levelled',
  ]);
});

test('nodes of a re-laid grid stand beside those of the first, where they were levelled', () => {
  const relaid = { ...grid, id: 'g2', azimuth_deg: grid.azimuth_deg + 1, valid_seasons: ['S2'] };
  const survey = smallSurvey({
    site: smallSite({ grids: [grid, relaid] }),
    levels: [
      { grid: 'g2', node: 'B3', season: 'S2', surface: 'deposit_top', value: -1, kind: 'elevation' },
      { grid: 'g1', node: 'B3', season: 'S1', surface: 'deposit_top', value: -2, kind: 'elevation' },
    ],
  });
  const table = survey.collection('grid-nodes')!;
  expect(table.length).toBe(11 * 9 + 1);
  expect([cell(table, 'grid', 99), cell(table, 'node', 99), cell(table, 'deposit_top', 99)]).toEqual(['g2', 'B3', -1]);
  // the same nodes under the same ids, whatever the seasons
  expect(survey.collection('grid-nodes', new Set(['S1']))?.length).toBe(100);
});

test('descriptions name the datum of elevations; ids lead to surfaces and back', () => {
  const survey = whole();
  const described = (id: string) => describedEntry(collections.find((entry) => entry.id === id)!, survey);
  expect(described('deposit-top-contours')).toMatch(/up-positive metres in the datum "pin 1"$/);
  expect(described('grid-nodes')).toMatch(/"pin 1"$/);
  expect(described('grid-squares')).not.toMatch(/datum/);
  expect(surfaceOfCollection('deposit-top')).toBe('deposit_top');
  expect(['finds', 'deposit-top-contours', 'constructor'].map(surfaceOfCollection)).toEqual([null, null, null]);
});
