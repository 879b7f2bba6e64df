import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { describe, expect, test } from 'vitest';
import { shapes, tableOf } from '../../src/domain/columns.js';
import type { FeatureTable } from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import { randomStream } from '../../src/math/random.js';
import type { GeoPackageContent, GeoPackageLayer } from '../../src/storage/geopackage.js';
import { writeGeoPackage } from '../../src/storage/sqlite/geopackage/writer.js';
import { temporaryFolder } from '../support/temporary-store.js';

const fields: readonly Field[] = [
  { name: 'find', title: 'Find number', type: 'text', distinct: true },
  { name: 'z_elevation', title: 'Elevation', type: 'number', unit: 'm', description: 'Above the site zero' },
  { name: 'count', title: 'Pieces', type: 'integer', unit: '1' },
  { name: 'certainty', title: 'Certainty', type: 'text', choices: ['certain', 'probable'] },
  { name: 'intrusive', title: 'Intrusive', type: 'boolean' },
  { name: 'date', title: 'Date', type: 'date' },
  // names of the file's own columns
  { name: 'fid', title: 'Field id', type: 'text' },
  { name: 'geom', title: 'Find number', type: 'text' },
];

const points: FeatureTable = tableOf({
  name: 'finds',
  fields,
  ids: Float64Array.of(3, 7, 2_000_000_011),
  rows: [
    {
      find: 'O\'Neil "1"',
      z_elevation: -1.25,
      count: 2,
      certainty: 'certain',
      intrusive: true,
      date: '2021-06-07',
      fid: 'x',
    },
    { find: 'F2', z_elevation: null, intrusive: false },
    { find: '=F3', z_elevation: 0.1 },
  ],
  geometry: { type: 'point', coordinates: Float64Array.of(1.5, 2.5, Number.NaN, Number.NaN, -3, 40) },
});

const layer = (table: FeatureTable, over: Partial<GeoPackageLayer> = {}): GeoPackageLayer => ({
  name: table.name,
  title: `Title of ${table.name}`,
  description: 'words',
  table,
  rows: Uint32Array.from({ length: table.length }, (_, row) => row),
  placed: table.geometry === null ? null : { referenceId: -1, coordinates: table.geometry.coordinates },
  ...over,
});

const plane = { organization: 'NONE', description: '', wkt1: 'undefined', wkt2: 'undefined' };
const content = (layers: readonly GeoPackageLayer[], over: Partial<GeoPackageContent> = {}): GeoPackageContent => ({
  changedAt: '2026-01-02T03:04:05.000Z',
  references: [
    { ...plane, id: -1, name: 'Undefined Cartesian SRS', code: -1 },
    { ...plane, id: 0, name: 'Undefined geographic SRS', code: 0 },
    { ...plane, id: 4326, name: 'WGS 84', code: 4326, organization: 'EPSG' },
  ],
  layers,
  surfaces: [],
  metadata: [{ standardUri: 'http://example.test/', mediaType: 'application/json', text: '{}' }],
  ...over,
});

async function written(given: GeoPackageContent) {
  const file = join(temporaryFolder(), 'a.gpkg');
  await writeGeoPackage(file, given);
  const database = new Sqlite(file, { readonly: true });
  const all = (sql: string) => database.prepare(sql).all() as Record<string, unknown>[];
  return { file, database, all };
}

test('the file says what it is, and its checks are clean', async () => {
  const { database, file } = await written(content([layer(points)]));
  expect(database.pragma('application_id', { simple: true })).toBe(0x47504b47);
  expect(database.pragma('user_version', { simple: true })).toBe(10_300);
  expect(database.pragma('integrity_check', { simple: true })).toBe('ok');
  expect(database.pragma('foreign_key_check')).toEqual([]);
  expect(readFileSync(file).subarray(0, 16).toString('latin1')).toBe('SQLite format 3\0');
});

test('records keep ids, unknown values and their types; clashing names get an underscore', async () => {
  const { all } = await written(content([layer(points)]));
  expect(all('select fid, find, z_elevation, count, intrusive, date, fid_, geom_ from finds')).toEqual([
    {
      fid: 3,
      find: 'O\'Neil "1"',
      z_elevation: -1.25,
      count: 2,
      intrusive: 1,
      date: '2021-06-07',
      fid_: 'x',
      geom_: null,
    },
    { fid: 7, find: 'F2', z_elevation: null, count: null, intrusive: 0, date: null, fid_: null, geom_: null },
    {
      fid: 2_000_000_011,
      find: '=F3',
      z_elevation: 0.1,
      count: null,
      intrusive: null,
      date: null,
      fid_: null,
      geom_: null,
    },
  ]);
});

test('a point is the header, the reference and little-endian WKB; a find without a place has none', async () => {
  const { all } = await written(content([layer(points)]));
  const [first, second] = all('select geom from finds').map(({ geom }) => geom as Buffer | null);
  expect(first?.toString('hex')).toBe(
    `${Buffer.from('GP').toString('hex')}0001ffffffff0101000000${'000000000000f83f'}${'0000000000000440'}`,
  );
  expect(second).toBeNull();
});

test('contents tell title, date of the data version and the box of what was written', async () => {
  const { all } = await written(content([layer(points, { rows: Uint32Array.of(0, 2) })]));
  expect(all('select * from gpkg_contents')).toEqual([
    {
      table_name: 'finds',
      data_type: 'features',
      identifier: 'Title of finds',
      description: 'words',
      last_change: '2026-01-02T03:04:05.000Z',
      min_x: -3,
      min_y: 2.5,
      max_x: 1.5,
      max_y: 40,
      srs_id: -1,
    },
  ]);
  expect(all('select count(*) as n from finds')).toEqual([{ n: 2 }]);
});

test('field titles, units and word lists stand where desktops look for them', async () => {
  const { all } = await written(content([layer(points)]));
  const described = all('select column_name, name, title, description, constraint_name from gpkg_data_columns');
  expect(described).toContainEqual({
    column_name: 'z_elevation',
    name: 'Elevation',
    title: 'Elevation',
    description: 'Above the site zero. Unit: m',
    constraint_name: null,
  });
  // a name may stand once in a table: the second find number has a title only
  expect(described.at(-1)).toMatchObject({ column_name: 'geom_', name: null, title: 'Find number' });
  expect(all("select value from gpkg_data_column_constraints where constraint_name = 'finds_certainty'")).toEqual([
    { value: 'certain' },
    { value: 'probable' },
  ]);
});

describe('lines and areas', () => {
  const ring = (...corners: number[]) => ({ ring: Float64Array.from(corners) });
  const hole = (...corners: number[]) => ({ ring: Float64Array.from(corners), hole: true as const });
  const table = (name: string, geometry: ReturnType<typeof shapes>): FeatureTable =>
    tableOf({
      name,
      fields: [],
      rows: Array.from({ length: geometry.type === 'point' ? 0 : geometry.featureStart.length - 1 }, () => ({})),
      geometry,
    });

  test('rings are closed, holes follow their outer ring, the box goes in front', async () => {
    const areas = table('areas', shapes('area', [[ring(0, 0, 4, 0, 4, 4, 0, 4), hole(1, 1, 1, 2, 2, 2)], []]));
    const { all } = await written(content([layer(areas)]));
    const blob = all('select geom from areas')[0]['geom'] as Buffer;
    expect(blob[3]).toBe(0x03);
    expect([0, 1, 2, 3].map((k) => blob.readDoubleLE(8 + 8 * k))).toEqual([0, 4, 0, 4]);
    const wkb = blob.subarray(40);
    expect([wkb[0], wkb.readUInt32LE(1), wkb.readUInt32LE(5), wkb.readUInt32LE(9)]).toEqual([1, 3, 2, 5]);
    const corner = (at: number) => [wkb.readDoubleLE(at), wkb.readDoubleLE(at + 8)];
    expect(corner(13 + 4 * 16)).toEqual([0, 0]);
    expect(wkb.readUInt32LE(13 + 5 * 16)).toBe(4);
    expect(wkb.length).toBe(9 + 4 + 5 * 16 + 4 + 4 * 16);
    expect(all('select geometry_type_name as type from gpkg_geometry_columns')).toEqual([{ type: 'POLYGON' }]);
    expect(all('select geom from areas')[1]['geom']).toBeNull();
  });

  test('one shape of several parts makes all of them so: one type in a layer', async () => {
    const lines = table('lines', shapes('line', [[ring(0, 0, 1, 1)], [ring(0, 0, 1, 0), ring(5, 5, 6, 6, 7, 6)]]));
    const { all } = await written(content([layer(lines)]));
    expect(all('select geometry_type_name as type from gpkg_geometry_columns')).toEqual([{ type: 'MULTILINESTRING' }]);
    const types = all('select geom from lines').map(({ geom }) => (geom as Buffer).readUInt32LE(41));
    expect(types).toEqual([5, 5]);
    const second = (all('select geom from lines')[1]['geom'] as Buffer).subarray(40);
    expect(second.length).toBe(9 + 9 + 32 + 9 + 48);
  });
});

test('the index finds what a plain walk finds', async () => {
  const random = randomStream(5, 0);
  const n = 3000;
  const coordinates = Float64Array.from({ length: 2 * n }, () => 412_000 + 100 * random.next());
  const many = tableOf({
    name: 'many',
    fields: [],
    rows: Array.from({ length: n }, () => ({})),
    geometry: { type: 'point', coordinates },
  });
  const { database } = await written(content([layer(many)]));
  const inBox = database.prepare(
    'select id from rtree_many_geom where maxx >= ? and minx <= ? and maxy >= ? and miny <= ? order by id',
  );
  for (let round = 0; round < 20; round++) {
    const [west, south] = [412_000 + 90 * random.next(), 412_000 + 90 * random.next()];
    const found = (inBox.all(west, west + 7, south, south + 7) as { id: number }[]).map(({ id }) => id);
    const wanted: number[] = [];
    for (let i = 0; i < n; i++) {
      const [x, y] = [coordinates[2 * i], coordinates[2 * i + 1]];
      if (x >= west && x <= west + 7 && y >= south && y <= south + 7) wanted.push(i + 1);
    }
    // the index keeps 32-bit numbers, rounded outwards: it may name a neighbour, it never misses one
    expect(wanted.every((id) => found.includes(id))).toBe(true);
    expect(found.length - wanted.length).toBeLessThan(4);
  }
  const triggers = database.prepare("select count(*) as n from sqlite_master where type = 'trigger'").get();
  expect(triggers).toEqual({ n: 6 });
});

test('the same content gives the same bytes', async () => {
  const [a, b] = [await written(content([layer(points)])), await written(content([layer(points)]))];
  expect(Buffer.compare(readFileSync(a.file), readFileSync(b.file))).toBe(0);
});

test('tiles of all surfaces have ids of their own, each with its numbers', async () => {
  const tile = (column: number, minimum: number) => ({
    column,
    row: 0,
    tiff: Uint8Array.of(1, 2, 3),
    minimum,
    maximum: minimum + 1,
    mean: minimum,
    standardDeviation: 0,
  });
  const surface = (name: string, minimum: number) => ({
    name,
    title: name,
    description: '',
    referenceId: 4326,
    unit: 'm',
    columns: 300,
    rows: 10,
    west: 100,
    north: 50,
    cellWidth: 0.5,
    cellHeight: 0.5,
    tileCells: 256,
    noData: -99_999,
    tiles: [tile(0, minimum), tile(1, minimum)],
  });
  const given = content([layer(points)], { surfaces: [surface('top', -14), surface('sigma', 0.1)] });
  const { all, database } = await written(given);
  expect(all('select tpudt_name, tpudt_id, min from gpkg_2d_gridded_tile_ancillary')).toEqual([
    { tpudt_name: 'top', tpudt_id: 1, min: -14 },
    { tpudt_name: 'top', tpudt_id: 2, min: -14 },
    { tpudt_name: 'sigma', tpudt_id: 3, min: 0.1 },
    { tpudt_name: 'sigma', tpudt_id: 4, min: 0.1 },
  ]);
  expect(all('select id from sigma')).toEqual([{ id: 3 }, { id: 4 }]);
  expect(all("select min_x, min_y, max_x, max_y from gpkg_contents where table_name = 'top'")).toEqual([
    { min_x: 100, min_y: 45, max_x: 250, max_y: 50 },
  ]);
  expect(all("select min_x, min_y, max_x, max_y from gpkg_tile_matrix_set where table_name = 'top'")).toEqual([
    { min_x: 100, min_y: 50 - 128, max_x: 356, max_y: 50 },
  ]);
  expect(database.pragma('foreign_key_check')).toEqual([]);
});
