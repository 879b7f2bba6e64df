import { describe, expect, test } from 'vitest';
import { siteSchema } from '../../src/domain/site.js';
import { surfaceContents } from '../../src/import/bathymetry.js';
import { checkFolder, complaintSentence } from '../../src/import/import-folder.js';
import { readSoundings, type SoundingsForm } from '../../src/import/soundings.js';
import { folderWith, siteWith } from '../support/site-folders.js';

const bytes = (text: string) => new TextEncoder().encode(text);
const up: SoundingsForm = { dialect: null, sign: 'elevation_up_positive' };
const down: SoundingsForm = { dialect: null, sign: 'depth_down_positive' };
const columns = (text: string, form = up) => {
  const { x, y, z } = readSoundings(bytes(text), form);
  return [...x].map((v, i) => [v, y[i], z[i]]);
};
const three = [
  [412000.5, 4984000, -12.5],
  [412001.5, 4984000, -12.25],
  [412000.5, 4984001, -13],
];

describe('soundings as programs write them', () => {
  test.each([
    ['blanks', '412000.5 4984000 -12.5\n412001.5   4984000  -12.25\n  412000.5\t4984001 -13  \n'],
    ['commas and a remark', '# soundings\r\n412000.5,4984000,-12.5\r\n412001.5,4984000,-12.25\r\n412000.5,4984001,-13'],
    [
      'semicolons, a heading, a byte order mark',
      '\ufeffx;y;z\n412000.5;4984000;-12.5\n412001.5;4984000;-12.25\n\n412000.5;4984001;-13\n',
    ],
    [
      'columns in another order',
      'northing easting elevation_m\n4984000 412000.5 -12.5\n4984000 412001.5 -12.25\n4984001 412000.5 -13\n',
    ],
  ])('%s', (_, text) => {
    expect(columns(text)).toEqual(three);
  });

  test('depths are turned over', () => {
    expect(columns('x y depth\n412000.5 4984000 12.5\n412001.5 4984000 12.25\n412000.5 4984001 13\n', down)).toEqual(
      three,
    );
  });

  test('a CSV in the dialect of site.json', () => {
    const form: SoundingsForm = { dialect: { delimiter: ';', decimal: ',' }, sign: 'elevation_up_positive' };
    expect(columns('412000,5;4984000;-12,5\n412001,5;4984000;-12,25\n412000,5;4984001;-13', form)).toEqual(three);
  });
});

test.each<[string, string, SoundingsForm, RegExp]>([
  ['a missing value', '1 2 3\n4 5\n6 7 8', up, /row 2 has 2 values/],
  ['a range', '1 2 3\n4 5 2.3-2.5\n6 7 8', up, /row 2: "2.3-2.5" is a range/],
  ['too few', '1 2 3\n4 5 6\n', up, /holds 2 soundings/],
  ['another system', '1 2 3\n412000 4984000 -12\n412001 4984000 -12', up, /more than 20 km apart/],
  ['an unknown heading', 'lon lat z\n1 2 3\n4 5 6\n6 7 8', up, /names the columns lon, lat, z/],
  [
    'a heading against the sign',
    'x y depth\n1 2 3\n4 5 6\n6 7 8',
    up,
    /depth, but site.json says elevation_up_positive/,
  ],
])('refuses %s', (_, text, form, sentence) => {
  expect(() => readSoundings(bytes(text), form)).toThrow(sentence);
});

const stated = (more: Record<string, unknown>) => ({
  bathymetry: {
    file: 'bathymetry.xyz',
    crs: 'EPSG:32631',
    vertical_datum: 'mean sea level',
    sign: 'elevation_up_positive',
    iho_order: 'special',
    licence: 'CC0-1.0',
    ...more,
  },
});
const said = async (site: Record<string, unknown>, text: string) =>
  (await checkFolder(folderWith({ 'site.json': siteWith(site), 'bathymetry.xyz': text }))).complaints.first.map(
    complaintSentence,
  );
const good = '500000 100 -12\n500001 100 -12.5\n500000 101 -12.25\n';

test('a folder with soundings is taken when site.json says what they are', async () => {
  expect(await said(stated({}), good)).toEqual([]);
  expect((await said(stated({ crs: null }), good))[0]).toMatch(/bathymetry, crs: is needed for soundings/);
  expect((await said(stated({ crs: 'EPSG:4326' }), good))[0]).toMatch(/crs: "EPSG:4326"/);
  expect((await said(stated({ iho_order: null }), good))[0]).toMatch(/uncertainty_m: is missing: give either/);
  expect((await said(stated({ sigma_m: 0.1 }), good))[0]).toMatch(/is stated in more than one way/);
  expect((await said(stated({}), '500000 100 -12\n500001 101 -12\n500002 102 -12\n'))[0]).toMatch(/on one line/);
  expect((await said({}, good))[0]).toMatch(/bathymetry.xyz: is not named in site.json/);
});

test('soundings become cells, up-positive, with their place', async () => {
  const { bathymetry, csv } = siteSchema.parse(JSON.parse(siteWith(stated({ sign: 'depth_down_positive' }))));
  const text = '500000 100 12\n500001 100 12.5\n500000 101 12.25\n500001 101 12.75\n';
  const surface = await surfaceContents(bytes(text), { stated: bathymetry!, csv, near: null, mostCells: 1000 });
  expect(surface.box).toEqual([500000, 100, 500001, 101]);
  expect(surface.crs).toBe('EPSG:32631');
  const { columns: wide, rows, values } = surface.cells();
  expect([wide, rows]).toEqual([2, 2]);
  expect(Array.from(values)).toEqual([-12.25, -12.75, -12, -12.5]);
});
