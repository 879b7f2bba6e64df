import { expect, test } from 'vitest';
import { checkFolder, complaintSentence } from '../../src/import/import-folder.js';
import { fixture, fixtureNames, folderWith, siteWith } from '../support/site-folders.js';

const good = /^$/;

// what the first complaint must say of each find register
const finds: Record<string, RegExp> = {
  good,
  'good-byte-order-mark': good,
  'good-crlf': good,
  'good-no-last-line-end': good,
  'good-quoted-line-break': good,
  'good-exponent-and-blanks': good,
  'number-hexadecimal': /row 2, column count: "0x10": is a hexadecimal number/,
  'number-overflow': /row 2, column weight_g: "1e309": is outside the range of numbers/,
  'number-with-unit': /column weight_g: "12g": .*leave the unit out/,
  'number-not-a-number': /column weight_g: "NaN": .*leave the cell empty/,
  'number-infinity': /column weight_g: "Infinity": .*leave the cell empty/,
  'number-decimal-comma-undeclared': /column weight_g: "1,5": is written with a decimal comma/,
  'number-range': /column weight_g: "2.3-2.45": is a range/,
  'number-about': /column count: "c. 200": is not a plain number/,
  'number-not-whole': /column count: "1.5": is not a whole number/,
  'number-negative-count': /column count: "-1": is below 0/,
  'find-twice': /row 4, column find: "F1": stands already in row 2/,
  'find-empty': /row 2, column find: is empty/,
  'class-unknown': /column artefact_class: "teapot": is no artefact class of site.json \(ceramics, jar\)/,
  'class-in-capitals': /"Jar": is no artefact class of site.json; "jar" is/,
  'season-unknown': /column season: "S9": is no season of site.json/,
  'square-unknown': /column square: "I4": .*names no square of grid main \(A1 to W10\)|column square: "I4"/,
  'point-without-y': /column local_y: is empty, but local_x is given/,
  'square-without-label': /column square: is empty, but a position of kind square needs it/,
  'position-kind-unknown': /column position_kind: "somewhere": is none of point, square/,
  'row-too-short': /row 2: has 4 cells, but the heading names 10 columns/,
  'row-too-long': /row 2: has 12 cells/,
  'quotation-never-closed': /row 2: opens a quotation mark that is never closed/,
  'quotation-inside-cell': /row 2: has a quotation mark inside a cell/,
  'text-behind-quotation': /row 2: has text behind a closing quotation mark/,
  'control-character': /row 2: holds a control character \(byte 0\)/,
  'carriage-returns-only': /row 1: holds a carriage return without a line feed/,
  'latin-bytes-undeclared': /row 2, column notes: .*is not UTF-8/,
  'utf16-undeclared': /finds.csv: begins with the mark of utf-16le/,
  'semicolons-undeclared': /row 1: the heading has no comma, but 9 semicolons; declare the delimiter/,
  'semicolon-comma-windows1252': /row 1: the heading has no comma/,
  'heading-unknown-column': /row 1, column remarks: is no column of this file/,
  'heading-column-twice': /column square: stands twice in the heading/,
  'heading-without-find': /column find: is missing in the heading/,
  'heading-proto': /column __proto__: is no column of this file/,
  'heading-constructor': /column constructor: is no column of this file/,
  'heading-nameless-column': /row 1: has a column without a name/,
  empty: /finds.csv: is empty/,
};

const areas: Record<string, RegExp> = {
  'good-square': good,
  'good-clockwise': good,
  'good-hole': good,
  'good-hole-touching-once': good,
  'good-two-parts': good,
  'good-two-parts-touching': good,
  unclosed: /row 1, column geometry: outer ring: is not closed: it begins at 1, 1 and ends at 1, 1.5/,
  'bow-tie': /outer ring: crosses itself at 1, 1 \(edges from corners 1 and 3\)/,
  'repeated-corner': /outer ring: corner 3 repeats the one before it \(1, 0\)/,
  spike: /outer ring: has a spike at corner 4 \(2, 3\)/,
  'no-area': /outer ring: has (a spike|no area)/,
  'two-corners': /outer ring: has 3 corners; a closed ring needs at least four/,
  'touches-itself': /outer ring: touches itself at 1, 0/,
  'figure-of-eight-at-a-corner': /outer ring: touches itself at 1, 1/,
  'hole-outside': /hole 1: lies outside its outer ring/,
  'hole-crosses': /(crosses|runs along) (outer ring|hole 1) at/,
  'hole-in-hole': /hole 2: lies inside hole 1/,
  'hole-touching-twice': /touches .* in more than one place/,
  'hole-along-edge': /runs along|touches .* in more than one place/,
  'parts-overlap': /part [12], outer ring: crosses part [12], outer ring/,
  'part-inside-part': /part 2, outer ring: lies inside part 1/,
  'parts-share-an-edge': /runs along/,
  'a-line': /has LineString; it needs a polygon/,
  'no-geometry': /has no geometry; it needs a polygon/,
  'corner-of-texts': /corner 1 is not two numbers/,
  'metres-undeclared': /no longitude, latitude; for metres of the grid say "coordinate_space": "site-grid"/,
  'far-away': /lies more than 200 km from the site grid/,
  'crs-member': /has the member crs/,
  'space-unknown': /member coordinate_space: "mars"/,
  'grid-unknown': /member grid: "g9" is no grid of site.json \(main\)/,
  'property-unknown': /column depth: is no property of this file/,
  'property-proto': /column __proto__: is no property of this file/,
  'number-as-text': /column dug_fraction: "0.5": is a text/,
  'progress-unknown': /column progress: "finished": is none of planned/,
  'season-missing': /column season: is empty/,
  'season-unknown': /column season: "S7": is no season/,
  'not-json': /is not JSON/,
  deep: /is nested 5001 levels deep/,
  'not-utf8': /is not UTF-8/,
  'a-list': /is no GeoJSON FeatureCollection/,
};

test('every fixture has an expectation', () => {
  expect(fixtureNames('finds').sort()).toEqual(Object.keys(finds).sort());
  expect(fixtureNames('areas').sort()).toEqual(Object.keys(areas).sort());
});

test.each(Object.entries(finds))('find register "%s"', async (name, expected) => {
  const report = await checkFolder(folderWith({ 'finds.csv': fixture('finds', name) }));
  const said = report.complaints.first.map(complaintSentence);
  if (expected === good)
    expect([report.accepted, said, report.rows.at(-1)]).toEqual([true, [], { file: 'finds.csv', rows: 2 }]);
  else expect(said[0]).toMatch(expected);
  expect(report.accepted).toBe(expected === good);
});

test.each(Object.entries(areas))('excavated areas "%s"', async (name, expected) => {
  const report = await checkFolder(
    folderWith({ 'excavated-squares.csv': null, 'excavated-areas.geojson': fixture('areas', name) }),
  );
  const said = report.complaints.first.map(complaintSentence);
  if (expected === good) expect(said).toEqual([]);
  else expect(said[0]).toMatch(expected);
});

test('semicolons, decimal commas and Windows-1252 are fine when declared', async () => {
  const csv = { delimiter: ';', decimal: ',', encoding: 'windows-1252' };
  const squares = 'season;progress;square\nS1;to_deposit_bottom;B2\n';
  const report = await checkFolder(
    folderWith({
      'site.json': siteWith({ csv }),
      'excavated-squares.csv': squares,
      'finds.csv': fixture('finds', 'semicolon-comma-windows1252'),
    }),
  );
  expect(report.complaints.first).toEqual([]);
});

test('a decimal point where a comma is declared is a complaint', async () => {
  const csv = { delimiter: ';', decimal: ',' };
  const report = await checkFolder(
    folderWith({
      'site.json': siteWith({ csv }),
      'excavated-squares.csv': 'season;progress;square\nS1;part_dug;B2\n',
      'finds.csv': 'find;weight_g\nF1;1.5\n',
    }),
  );
  expect(report.complaints.first.map(complaintSentence)[0]).toMatch(/"1.5": is written with a decimal point/);
});

test('nothing pollutes the prototypes', () => {
  expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
  expect(Object.getOwnPropertyNames(Object.prototype)).not.toContain('polluted');
});
