import { expect, test } from 'vitest';
import { Complaints, complaintSentence } from '../../src/import/complaints.js';
import { newFolderFiles } from '../../src/import/new-folder.js';
import { isPlainName, readSiteFile } from '../../src/import/site-file.js';
import { siteWith } from '../support/site-folders.js';

function said(text: string): string[] {
  const complaints = new Complaints();
  const site = readSiteFile(new TextEncoder().encode(text), complaints);
  expect(site === null).toBe(complaints.total > 0);
  return complaints.first.map(complaintSentence);
}

const example = JSON.parse(newFolderFiles().get('site.json') ?? '');
const grid = example.grids[0];

test('the example is right, with a byte order mark too', () => {
  expect(said(JSON.stringify(example))).toEqual([]);
  expect(said(`\ufeff${JSON.stringify(example)}`)).toEqual([]);
});

test.each<[string, Record<string, unknown>, RegExp]>([
  ['an unknown member', { nmae: 'x' }, /nmae/],
  [
    'a wrong type',
    { grids: [{ ...grid, azimuth_deg: '27' }] },
    /^site.json, column grids, entry 1, azimuth_deg: "27": /,
  ],
  ['a season twice', { seasons: [{ id: 'S1' }, { id: 'S1' }] }, /seasons, entry 2, id: "S1": stands twice/],
  ['a class without parent', { artefact_classes: [{ id: 'jar', parent: 'pots' }] }, /names the parent "pots"/],
  [
    'a circle of classes',
    {
      artefact_classes: [
        { id: 'a', parent: 'b' },
        { id: 'b', parent: 'a' },
      ],
    },
    /is its own ancestor/,
  ],
  [
    'an unknown CRS',
    { grids: [{ ...grid, crs: 'EPSG:27700' }] },
    /grids, entry 1, crs: "EPSG:27700": .*not in the table/,
  ],
  ['a grid for no season', { grids: [{ ...grid, valid_seasons: ['S7'] }] }, /"S7": is no season of this site/],
  [
    'labels that run into each other',
    { grids: [{ ...grid, labels: { columns: 'digits', rows: 'digits' } }] },
    /separator: "": is needed/,
  ],
  ['a renamed column of no file', { columns: { 'find.csv': { No: 'find' } } }, /columns, find.csv: is no file/],
  ['a renaming to no column', { columns: { 'finds.csv': { No: 'number' } } }, /finds.csv, No: "number": is no column/],
  ['an axis without length', { ship_axis: { after_end: [1, 1], bow_end: [1, 1], certainty: 'certain' } }, /two ends/],
  [
    'a bathymetry elsewhere',
    {
      bathymetry: {
        file: '../secret.tif',
        vertical_datum: 'msl',
        sign: 'elevation_up_positive',
        uncertainty_m: 0.1,
        licence: 'free',
      },
    },
    /"..\/secret.tif": is not the name of a file in this folder/,
  ],
])('%s is a complaint', (_, changes, expected) => {
  expect(said(siteWith(changes)).join('\n')).toMatch(expected);
});

test('members with a power of their own are refused and pollute nothing', () => {
  const text = JSON.stringify(example).replace(
    '{',
    '{"__proto__":{"polluted":1},"constructor":{"prototype":{"polluted":1}},',
  );
  expect(said(text).join('\n')).toMatch(/column __proto__: .*no name that a member may have/);
  const mapping = JSON.stringify(example).replace('{', '{"columns":{"finds.csv":{"__proto__":"find"}},');
  expect(said(mapping).join('\n')).toMatch(/columns, finds.csv, __proto__/);
  expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
});

test('no JSON, no object, not UTF-8', () => {
  expect(said('{')[0]).toMatch(/site.json: is not JSON/);
  expect(said('[]')[0]).toMatch(/is no JSON object/);
});

test('names of files are plain', () => {
  for (const name of ['bathymetry.tif', 'my site (2).xlsx', 'Tauchgänge.csv']) expect(isPlainName(name)).toBe(true);
  for (const name of ['../a', '/etc/passwd', 'a\\b', '.hidden', '', 'a\0', 'C:evil', 'a..b', '-rf', 'x'.repeat(300)])
    expect([name, isPlainName(name)]).toEqual([name, false]);
});
