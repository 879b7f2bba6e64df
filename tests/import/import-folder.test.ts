import { existsSync, mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { gridFrame } from '../../src/domain/grid.js';
import { recordFiles } from '../../src/domain/records/records.js';
import { siteSchema } from '../../src/domain/site.js';
import {
  checkFolder,
  complaintSentence,
  importFolder,
  memoryFolder,
  refusalOf,
} from '../../src/import/import-folder.js';
import { defaultLimits } from '../../src/import/limits.js';
import { newFolder, newFolderFiles } from '../../src/import/new-folder.js';
import { folderWith, siteWith } from '../support/site-folders.js';
import { rowsOf, temporaryFolder, temporaryStore } from '../support/temporary-store.js';

const finds = (...rows: string[]) =>
  `find,season,artefact_class,count,local_x,local_y\n${rows.map((row) => `${row}\n`).join('')}`;

const said = async (changes: Parameters<typeof folderWith>[0]) =>
  (await checkFolder(folderWith(changes))).complaints.first.map(complaintSentence);

test('a new folder is right as it stands, has every file, and is imported', async () => {
  const folder = join(temporaryFolder(), 'site');
  const names = await newFolder(folder);
  const given = ['excavated-areas.geojson', 'hull-features.geojson'];
  expect(names).toEqual(['site.json', ...recordFiles.map(({ file }) => file).filter((file) => !given.includes(file))]);
  const checked = await checkFolder(folder);
  expect(checked).toMatchObject({ accepted: true, version: null, complaints: { total: 0 }, notRead: [] });
  expect(checked.rows.every(({ rows }) => rows > 0)).toBe(true);
  const { store } = temporaryStore();
  const imported = await importFolder(store, folder, { setAside: false });
  expect(imported).toMatchObject({ site: 'new-site', version: 1, accepted: true });
  expect(rowsOf(await store.readTable('new-site', 1, 'finds'))[0]).toMatchObject({
    id: 1,
    find: 'F1',
    position_kind: 'point',
    weight_g: 145.5,
    intrusive: false,
    geometry: [1.35, 1.8],
  });
  expect(rowsOf(await store.readTable('new-site', 1, 'excavated-areas'))[0].geometry).toEqual([
    { ring: [1, 1, 2, 1, 2, 2, 1, 2], hole: false },
  ]);
  expect(rowsOf(await store.readTable('new-site', 1, 'hull-lines'))[0].geometry).toEqual([
    { ring: [0.5, 1.5, 5.5, 3.5], hole: false },
  ]);
  expect(rowsOf(await store.readTable('new-site', 1, 'levels'))[0].geometry).toEqual([1, 1]);
  await expect(newFolder(folder)).rejects.toThrow(/is not empty/);
  await store.close();
});

test('the same files again are the same version; one byte more is the next', async () => {
  const { store } = temporaryStore();
  const version = async (changes: Parameters<typeof folderWith>[0]) =>
    (await importFolder(store, folderWith(changes), { setAside: false })).version;
  expect(await version({})).toBe(1);
  expect(await version({})).toBe(1);
  expect(await version({ 'finds.csv': finds('F1,S1,jar,1,1,1') })).toBe(2);
  expect(await version({})).toBe(1);
  expect(await version({ 'notes.txt': 'none of ours' })).toBe(1);
  expect((await store.versions('new-site')).map((v) => v.version)).toEqual([1, 2]);
  await store.close();
});

test('files are kept as received, byte by byte', async () => {
  const { store } = temporaryStore();
  const bytes = new TextEncoder().encode(`\ufeff${finds('F1,S1,jar,1,1,1').replaceAll('\n', '\r\n')}`);
  await importFolder(store, folderWith({ 'finds.csv': bytes }), { setAside: false });
  expect(await store.readFile('new-site', 1, 'finds.csv').then((kept) => [...(kept ?? [])])).toEqual([...bytes]);
  expect((await store.files('new-site', 1)).map(({ path }) => path)).toEqual([
    'excavated-squares.csv',
    'finds.csv',
    'site.json',
  ]);
  await store.close();
});

test('one bad row refuses the whole folder, and nothing of it stays', async () => {
  const { store } = temporaryStore();
  const bad = folderWith({ 'finds.csv': finds('F1,S1,jar,1,1,1', 'F2,S1,jar,x,1,1') });
  const report = await importFolder(store, bad, { setAside: false });
  expect(report).toMatchObject({ version: null, accepted: false, complaints: { total: 1 } });
  expect(refusalOf(report)).toMatchObject({
    code: 'bad-folder',
    message: expect.stringMatching(/row 3, column count/),
  });
  expect(await store.sites()).toEqual([]);
  await store.close();
});

test('set aside: the good rows are kept, the bad ones stand apart as they were', async () => {
  const { store } = temporaryStore();
  const text = finds('F1,S1,jar,1,1,1', 'F2,S1,"jar",x,1,1', 'F1,S1,jar,1,2,2', 'F3,S1,jar,1,3,3', 'F2,S1,jar,2,4,4');
  const folder = folderWith({ 'finds.csv': text });
  const report = await importFolder(store, folder, { setAside: true });
  expect(report).toMatchObject({ version: 1, accepted: true, setAside: [{ file: 'finds.csv', rows: 2 }] });
  const kept = rowsOf(await store.readTable('new-site', 1, 'finds'));
  expect(kept.map((row) => [row['find'], row['local_x'], row['position_kind']])).toEqual([
    ['F1', 1, 'point'],
    // the row set aside had no readable count, so it never took the number F2
    ['F3', 3, 'point'],
    ['F2', 4, 'point'],
  ]);
  expect(await store.setAsideRows('new-site', 1)).toEqual([
    { file: 'finds.csv', row: 3, reason: expect.stringMatching(/column count: "x"/), text: 'F2,S1,"jar",x,1,1' },
    { file: 'finds.csv', row: 4, reason: expect.stringMatching(/already in row 2/), text: 'F1,S1,jar,1,2,2' },
  ]);
  expect((await store.versions('new-site'))[0].setAside).toEqual([{ file: 'finds.csv', rows: 2 }]);
  const broken = await importFolder(store, folderWith({ 'finds.csv': 'number\nF1\n' }), { setAside: true });
  expect(broken).toMatchObject({ version: null, accepted: false });
  await store.close();
});

test('a find keeps its id when the register is sorted anew, and a new one gets the next number', async () => {
  const { store } = temporaryStore();
  const ids = async (version: number) =>
    rowsOf(await store.readTable('new-site', version, 'finds')).map((row) => [row['id'], row['find'], row['geometry']]);
  const load = (...rows: string[]) =>
    importFolder(store, folderWith({ 'finds.csv': finds(...rows) }), { setAside: false });
  await load('B,S1,jar,1,1,1', 'A,S1,jar,1,2,2', 'C,S1,jar,1,3,3');
  await load('N,S1,jar,1,9,9', 'C,S1,jar,1,3,3', 'B,S1,jar,1,1,1');
  await load('A,S1,jar,1,2,2', 'M,S1,jar,1,8,8');
  expect(await ids(1)).toEqual([
    [1, 'B', [1, 1]],
    [2, 'A', [2, 2]],
    [3, 'C', [3, 3]],
  ]);
  expect(await ids(2)).toEqual([
    [1, 'B', [1, 1]],
    [3, 'C', [3, 3]],
    [4, 'N', [9, 9]],
  ]);
  expect(await ids(3)).toEqual([
    [2, 'A', [2, 2]],
    [5, 'M', [8, 8]],
  ]);
  await store.close();
});

test('an empty position kind follows from the columns that are filled, row by row', async () => {
  const { store } = temporaryStore();
  const text = 'find,local_x,local_y,square,weight_g\nF1,1,1,,\nF2,,,B2,\nF3,,,,\nF4,1,1,,x\nF5,,,,\n';
  await importFolder(store, folderWith({ 'finds.csv': text }), { setAside: true });
  const rows = rowsOf(await store.readTable('new-site', 1, 'finds'));
  expect(rows.map((row) => [row['find'], row['position_kind'], row['geometry']])).toEqual([
    ['F1', 'point', [1, 1]],
    ['F2', 'square', null],
    ['F3', 'unknown', null],
    ['F5', 'unknown', null],
  ]);
  await store.close();
});

test('coordinates of a re-laid grid come into the first grid, in CSV and in GeoJSON', async () => {
  const { store } = temporaryStore();
  const grid = JSON.parse(newFolderFiles().get('site.json') ?? '').grids[0];
  const second = { ...grid, id: 'second', origin_easting: grid.origin_easting + 2, azimuth_deg: 90 };
  const site = siteWith({ grids: [grid, second] });
  const parsed = siteSchema.parse(JSON.parse(site));
  const [first, other] = parsed.grids.map(gridFrame);
  // a quarter turn clockwise, two metres east: (x, y) of the second grid lies at (2 + y, −x) of the first
  expect(first.fromProjected(...other.toProjected(3, 1))).toEqual([expect.closeTo(3, 9), expect.closeTo(-3, 9)]);
  const lonLat = [
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 0],
  ].map(([x, y]) => first.toLonLat(x, y));
  const polygon = (coordinates: unknown) => ({
    type: 'FeatureCollection',
    features: [
      { type: 'Feature', properties: { number: 'C1' }, geometry: { type: 'Polygon', coordinates: [coordinates] } },
    ],
  });
  const zones = {
    ...polygon([
      [0, 0],
      [1, 0],
      [1, 1],
      [0, 0],
    ]),
    coordinate_space: 'site-grid',
    grid: 'second',
  };
  zones.features[0].properties = { zone: 'hold' } as never;
  const report = await importFolder(
    store,
    folderWith({
      'site.json': site,
      'finds.csv': 'find,grid,local_x,local_y\nF1,,3,1\nF2,second,3,1\n',
      'contexts.geojson': JSON.stringify(polygon(lonLat)),
      'ship-zones.geojson': JSON.stringify(zones),
    }),
    { setAside: false },
  );
  expect(report.complaints.first).toEqual([]);
  const [one, two] = rowsOf(await store.readTable('new-site', 1, 'finds'));
  expect(one['geometry']).toEqual([3, 1]);
  expect(two['geometry']).toEqual([expect.closeTo(3, 9), expect.closeTo(-3, 9)]);
  // the columns stay as received
  expect([two['local_x'], two['local_y'], two['grid']]).toEqual([3, 1, 'second']);
  const near = (values: readonly number[]) => values.map((v) => expect.closeTo(v, 6));
  expect(rowsOf(await store.readTable('new-site', 1, 'contexts'))[0]['geometry']).toEqual([
    { ring: near([0, 0, 1, 0, 1, 1]), hole: false },
  ]);
  expect(rowsOf(await store.readTable('new-site', 1, 'ship-zones'))[0]['geometry']).toEqual([
    { ring: near([2, 0, 2, -1, 3, -1]), hole: false },
  ]);
  await store.close();
});

test.each<[string, Record<string, string>, RegExp]>([
  [
    'a level without place',
    { 'levels.csv': 'node,surface,value,kind\n,deposit_top,1,elevation\n' },
    /column node: is empty/,
  ],
  [
    'an unknown node',
    { 'levels.csv': 'node,surface,value,kind\nZZ9,deposit_top,1,elevation\n' },
    /"ZZ9": names no node/,
  ],
  ['an unknown grid', { 'levels.csv': 'grid,node,surface,kind\ng7,B2,deposit_top,depth\n' }, /"g7": is no grid/],
  [
    'a level in feet',
    { 'levels.csv': 'node,surface,value,kind,unit\nB2,deposit_top,1,depth,ft\n' },
    /"ft": is none of m/,
  ],
  [
    'half a square too many',
    { 'excavated-squares.csv': 'season,progress,square,part\nS1,planned,B2,N quarter\n' },
    /a half is N/,
  ],
  [
    'an identification of nothing',
    { 'identifications.csv': 'find,artefact_class,date\nF9,jar,2023-01-01\n' },
    /"F9": is no find/,
  ],
  [
    'a date off the calendar',
    { 'identifications.csv': 'find,artefact_class,date\nF1,jar,2023-02-29\n' },
    /"2023-02-29": is no date/,
  ],
  ['a join of one', { 'refits.csv': 'find_a,find_b\nF1,F1\n' }, /is the same find as find_a/],
  [
    'a timber without length',
    { 'hull-features.csv': 'number,element,start_x,start_y,end_x,end_y\nT1,keel,1,1,1,1\n' },
    /two different ends/,
  ],
  [
    'a control point twice',
    { 'control-points.csv': 'name\nCP1\nCP1\n' },
    /row 3, column name: "CP1": stands already in row 2/,
  ],
  [
    'a half square with a quarter',
    { 'finds.csv': 'find,position_kind,square,part\nF1,half_square,B2,NE\n' },
    /does not fit position_kind half_square/,
  ],
  [
    'a line with one end',
    { 'finds.csv': 'find,position_kind,local_x,local_y\nF1,line,1,1\n' },
    /needs local_x, local_y, end_x and end_y/,
  ],
  ['an area of nothing', { 'finds.csv': 'find,position_kind\nF1,area\n' }, /needs a square, or the corners/],
  ['elevations upside down', { 'finds.csv': 'find,z_min,z_max\nF1,2,1\n' }, /z_min: "2": is above z_max/],
  ['no finds', { 'finds.csv': '' }, /finds.csv: is empty/],
])('%s is a complaint', async (_, changes, expected) => {
  const complaints = await said(changes);
  expect(complaints[0]).toMatch(expected);
});

test('what is plausible but odd is not refused', async () => {
  const odd = {
    'finds.csv':
      'find,dive,concretion,pot_vessel,local_x,local_y,square,z_elevation,z_min,z_max\nF1,D9,F77,PV9,15,5,B2,9,1,2\n',
    'dives.csv': 'dive\nD1\n',
    'pot-vessels.csv': 'pot_vessel\nPV1\n',
    'levels.csv':
      'node,surface,value,kind\nB2,deposit_top,1,elevation\nB2,deposit_bottom,2,elevation\nB3,deposit_top,,elevation\n',
  };
  expect(await said(odd)).toEqual([]);
});

test('a missing minimum is named', async () => {
  expect(await said({ 'finds.csv': null })).toEqual([expect.stringMatching(/^finds.csv: is missing/)]);
  expect(await said({ 'excavated-squares.csv': null })).toEqual([
    expect.stringMatching(/^excavated-areas.geojson or excavated-squares.csv: is missing/),
  ]);
  expect(await said({ 'site.json': null })).toEqual([expect.stringMatching(/^site.json: is missing/)]);
});

test('polygons and squares may stand side by side; their rows are counted by file', async () => {
  const { store } = temporaryStore();
  const polygon = {
    type: 'FeatureCollection',
    coordinate_space: 'site-grid',
    features: [
      {
        type: 'Feature',
        properties: { season: 'S1', progress: 'planned', dug_fraction: 0.5, note: 'drawn' },
        geometry: {
          type: 'Polygon',
          coordinates: [
            [
              [5, 5],
              [6, 5],
              [6, 7],
              [5, 5],
            ],
          ],
        },
      },
    ],
  };
  // set aside after all its cells were read: nothing of it may be left in the row that takes its place
  const refused = structuredClone(polygon.features[0]);
  refused.geometry.coordinates[0].pop();
  polygon.features.push(refused);
  await importFolder(
    store,
    folderWith({
      'excavated-areas.geojson': JSON.stringify(polygon),
      'excavated-squares.csv': 'season,progress,square\nS1,to_deposit_bottom,B2\n',
    }),
    { setAside: true },
  );
  const rows = rowsOf(await store.readTable('new-site', 1, 'excavated-areas'));
  expect(rows.map((row) => [row['id'], row['progress'], row['square'], row['note'], row['dug_fraction']])).toEqual([
    [1, 'planned', null, 'drawn', 0.5],
    [2, 'to_deposit_bottom', 'B2', null, null],
  ]);
  await store.close();
});

test('a heading may have other names when site.json says so', async () => {
  const columns = { 'finds.csv': { Nr: 'find', Klasse: 'artefact_class' } };
  expect(await said({ 'site.json': siteWith({ columns }), 'finds.csv': 'Nr,Klasse\nF1,jar\n' })).toEqual([]);
});

test('the first hundred complaints and how many there were', async () => {
  const rows = Array.from({ length: 250 }, (_, i) => `F${i},S1,teapot,1,1,1`);
  const report = await checkFolder(folderWith({ 'finds.csv': finds(...rows) }));
  expect([report.complaints.first.length, report.complaints.total]).toEqual([100, 250]);
});

test('files beyond their cap are refused in clear words', async () => {
  const limits = { ...defaultLimits, csvBytes: 1000 };
  const rows = Array.from({ length: 100 }, (_, i) => `F${i},S1,jar,1,1,1`);
  const report = await checkFolder(
    folderWith({ 'finds.csv': finds(...rows), 'excavated-squares.csv': 'season,progress,square\nS1,planned,B2\n' }),
    { limits },
  );
  expect(report.complaints.first.map(complaintSentence)).toEqual([
    'finds.csv: is larger than 1000 bytes, the most that is read',
  ]);
});

test('links and folders are not followed; names with a path are not read', async () => {
  const outside = temporaryFolder();
  const folder = join(outside, 'site');
  await newFolder(folder);
  writeFileSync(join(outside, 'secret.csv'), 'dive\nsecret\n');
  mkdirSync(join(folder, 'generator'));
  writeFileSync(join(folder, 'README.md'), 'read me');
  expect((await checkFolder(folder)).notRead).toEqual(['README.md', 'generator/']);
  symlinkSync(join(outside, 'secret.csv'), join(folder, 'excavated-areas.geojson'));
  const report = await checkFolder(folder);
  expect(report.complaints.first.map(complaintSentence)).toEqual([
    expect.stringMatching(/excavated-areas.geojson: is a link/),
  ]);
  const strange = new Map([...newFolderFiles()].map(([name, text]) => [name, new TextEncoder().encode(text)] as const));
  for (const name of [
    '../../evil.csv',
    '/etc/passwd',
    '..',
    'a/finds.csv',
    'finds.csv\0',
    '~$site.xlsx',
    '.hidden.xlsx',
  ])
    strange.set(name, new TextEncoder().encode('x'));
  const read = await checkFolder(memoryFolder(strange));
  expect(read.complaints.first).toEqual([]);
  expect(read.notRead).toHaveLength(7);
  expect(existsSync(join(outside, 'evil.csv'))).toBe(false);
  await expect(checkFolder(join(outside, 'nowhere'))).rejects.toThrow(/is no folder that can be read/);
});
