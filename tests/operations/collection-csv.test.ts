import { expect, test } from 'vitest';
import { shapes, tableOf } from '../../src/domain/columns.js';
import type { FeatureTable, Value } from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import { collectionCsv } from '../../src/operations/collection-csv.js';

const fields: readonly Field[] = [
  { name: 'find', title: 'Find', type: 'text' },
  { name: 'notes', title: 'Notes', type: 'text', distinct: true },
  { name: 'z_elevation', title: 'Elevation', type: 'number' },
  { name: 'intrusive', title: 'Intrusive', type: 'boolean' },
];

const text = (table: FeatureTable, coordinates: Float64Array, crs: 'crs84' | 'storage' = 'crs84', rows?: number[]) => {
  const chosen = Uint32Array.from(rows ?? Array.from({ length: table.length }, (_, i) => i));
  return Buffer.concat([...collectionCsv({ table, rows: chosen, coordinates, crs, idColumn: 'feature_id' })]).toString(
    'utf8',
  );
};

const finds = (rows: readonly Record<string, Value>[]) =>
  tableOf({
    name: 'finds',
    fields,
    rows,
    geometry: { type: 'point', coordinates: new Float64Array(2 * rows.length) },
  });

test('texts a spreadsheet would run are guarded, numbers never are', () => {
  const texts = ['=1+1', '+1', '-2', '@a', '\tx', '\rx', '\0x', 'plain', '’=', ' =1'];
  const rows = texts.map((find, i) => ({ find, z_elevation: -i }));
  const csv = text(finds(rows), new Float64Array(20));
  const lines = csv.split('\r\n').slice(1, -1);
  const cells = lines.map((line) => line.split(','));
  expect(cells.map((c) => c[1])).toEqual([
    "'=1+1",
    "'+1",
    "'-2",
    "'@a",
    "'\tx",
    // a carriage return has to stand in quotes
    `"'\rx"`,
    "'\0x",
    'plain',
    '’=',
    ' =1',
  ]);
  expect(cells.map((c) => c[3])).toEqual(['0', '-1', '-2', '-3', '-4', '-5', '-6', '-7', '-8', '-9']);
});

test('quotes, commas and line breaks are quoted; unknown is empty; truth is a word', () => {
  const csv = text(
    finds([
      { find: 'a "b", c', notes: 'two\nlines', intrusive: true },
      { find: null, notes: null, z_elevation: null, intrusive: null },
    ]),
    Float64Array.of(-28.1161, 45.00505836279, Number.NaN, Number.NaN),
  );
  expect(csv).toBe(
    'feature_id,find,notes,z_elevation,intrusive,longitude,latitude\r\n' +
      '1,"a ""b"", c","two\nlines",,true,-28.1161,45.005058363\r\n' +
      '2,,,,,,\r\n',
  );
});

test('points in metres are easting and northing to a tenth of a millimetre', () => {
  const csv = text(finds([{ find: 'F' }]), Float64Array.of(412_037.40004, 4_984_118.25), 'storage');
  expect(csv).toBe('feature_id,find,notes,z_elevation,intrusive,easting,northing\r\n1,F,,,,412037.4,4984118.25\r\n');
});

test('lines and areas are well-known text, rings closed, holes with their outer ring', () => {
  const ring = (...corners: number[]) => ({ ring: Float64Array.from(corners) });
  const area = tableOf({
    name: 'areas',
    fields: [],
    rows: [{}, {}],
    geometry: shapes('area', [
      [ring(0, 0, 4, 0, 4, 4), { ...ring(1, 1, 2, 2, 2, 1), hole: true as const }, ring(9, 9, 10, 9, 10, 10)],
      [],
    ]),
  });
  expect(text(area, area.geometry?.coordinates as Float64Array)).toBe(
    'feature_id,wkt\r\n' +
      '1,"MULTIPOLYGON (((0 0, 4 0, 4 4, 0 0), (1 1, 2 2, 2 1, 1 1)), ((9 9, 10 9, 10 10, 9 9)))"\r\n' +
      '2,\r\n',
  );
  const line = tableOf({ name: 'lines', fields: [], rows: [{}], geometry: shapes('line', [[ring(0, 0, 1, 1)]]) });
  expect(text(line, line.geometry?.coordinates as Float64Array)).toBe(
    'feature_id,wkt\r\n1,"MULTILINESTRING ((0 0, 1 1))"\r\n',
  );
});

test('a plain list has no column of ids', () => {
  const list = tableOf({ name: 'list', fields: fields.slice(0, 1), rows: [{ find: 'F1' }], geometry: null });
  const request = { table: list, rows: Uint32Array.of(0), coordinates: new Float64Array(0), crs: 'crs84' } as const;
  expect(Buffer.concat([...collectionCsv({ ...request, idColumn: null })]).toString()).toBe('find\r\nF1\r\n');
});

test('only the rows asked for, in pieces that are no longer than a stretch of memory', () => {
  const many = finds(Array.from({ length: 5000 }, (_, i) => ({ find: `F${i}`, notes: 'n'.repeat(50) })));
  const pieces = [
    ...collectionCsv({
      table: many,
      rows: Uint32Array.from({ length: 5000 }, (_, i) => i),
      coordinates: new Float64Array(10_000),
      crs: 'crs84',
      idColumn: 'feature_id',
    }),
  ];
  expect(pieces.length).toBeGreaterThan(3);
  for (const piece of pieces) expect(piece.length).toBeLessThan(70_000);
  expect(text(many, new Float64Array(10_000), 'crs84', [1, 3]).match(/F\d+/g)).toEqual(['F1', 'F3']);
});
