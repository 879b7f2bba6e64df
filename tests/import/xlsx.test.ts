import { deflateRawSync } from 'node:zlib';
import { utils, type WorkSheet, write } from '@e965/xlsx';
import { expect, test } from 'vitest';
import { checkFolder, complaintSentence, importFolder } from '../../src/import/import-folder.js';
import { defaultLimits } from '../../src/import/limits.js';
import { newFolderFiles } from '../../src/import/new-folder.js';
import { unzip, zipStored } from '../../src/import/zip.js';
import { folderWith } from '../support/site-folders.js';
import { rowsOf, temporaryStore } from '../support/temporary-store.js';

type Cell = string | number | boolean | Date | null;

const workbook = (sheets: Record<string, WorkSheet>): Uint8Array => {
  const book = utils.book_new();
  for (const [name, sheet] of Object.entries(sheets)) utils.book_append_sheet(book, sheet, name);
  return new Uint8Array(write(book, { type: 'buffer', bookType: 'xlsx', compression: true }) as Buffer);
};

const sheetOf = (rows: readonly (readonly Cell[])[]) => utils.aoa_to_sheet(rows as Cell[][], { UTC: true });

const said = async (changes: Parameters<typeof folderWith>[0]) =>
  (await checkFolder(folderWith(changes))).complaints.first.map(complaintSentence);

const squares = sheetOf([
  ['season', 'progress', 'square'],
  ['S1', 'part_dug', 'B2'],
]);

/** The example's rows as a person would type them into a workbook: numbers as numbers. */
function typed(file: string): WorkSheet {
  const lines = (newFolderFiles().get(file) ?? '').trimEnd().split('\n');
  return sheetOf(
    lines.map((line) =>
      line.split(',').map((text) => (text !== '' && Number.isFinite(Number(text)) ? Number(text) : text || null)),
    ),
  );
}

test('a workbook gives the records its CSV files give', async () => {
  const { store } = temporaryStore();
  const files = newFolderFiles();
  const names = ['finds', 'levels', 'excavated-squares', 'identifications', 'samples'];
  const asFiles = folderWith(Object.fromEntries(names.map((name) => [`${name}.csv`, files.get(`${name}.csv`) ?? ''])));
  const book = workbook(Object.fromEntries(names.map((name) => [name, typed(`${name}.csv`)])));
  const asBook = folderWith({ 'finds.csv': null, 'excavated-squares.csv': null, 'register.xlsx': book });
  const first = await importFolder(store, asFiles, { setAside: false });
  const second = await importFolder(store, asBook, { setAside: false });
  expect(second.complaints.first).toEqual([]);
  expect([first.version, second.version]).toEqual([1, 2]);
  for (const table of ['finds', 'levels', 'excavated-areas', 'identifications', 'samples']) {
    const before = rowsOf(await store.readTable('new-site', 1, table));
    expect(before.length).toBeGreaterThan(0);
    expect(rowsOf(await store.readTable('new-site', 2, table))).toEqual(before);
  }
  await store.close();
});

test('dates, times and truth values of a sheet come out as ISO 8601 and yes or no', async () => {
  const { store } = temporaryStore();
  const levels = utils.aoa_to_sheet([
    ['node', 'surface', 'value', 'kind', 'date', 'time', 'note'],
    [
      'B2',
      'deposit_top',
      0.1 + 0.2,
      'elevation',
      45078,
      0.4305555555555556,
      'a "note", with a comma\nand a second line',
    ],
  ]);
  levels['E2'].z = 'yyyy-mm-dd';
  levels['F2'].z = 'hh:mm';
  const areas = sheetOf([
    ['season', 'progress', 'square', 'backfilled', 'finds_none'],
    ['S1', 'part_dug', 'B2', true, false],
  ]);
  const tide = utils.aoa_to_sheet([
    ['reading_series', 'start_time'],
    [7, 45078.5],
  ]);
  tide['B2'].z = 'yyyy-mm-dd hh:mm';
  const report = await importFolder(
    store,
    folderWith({
      'excavated-squares.csv': null,
      'all.xlsx': workbook({ levels, tide, 'excavated-squares': areas, Notes: squares }),
    }),
    { setAside: false },
  );
  expect(report.complaints.first).toEqual([]);
  expect(report.notRead).toEqual(['all.xlsx, sheet Notes']);
  expect(rowsOf(await store.readTable('new-site', 1, 'levels'))[0]).toMatchObject({
    value: 0.30000000000000004,
    date: '2023-06-01',
    time: '10:20',
    note: 'a "note", with a comma\nand a second line',
  });
  expect(rowsOf(await store.readTable('new-site', 1, 'tide'))[0]).toMatchObject({
    reading_series: '7',
    start_time: '2023-06-01T12:00',
  });
  expect(rowsOf(await store.readTable('new-site', 1, 'excavated-areas'))[0]).toMatchObject({
    backfilled: true,
    finds_none: false,
  });
  await store.close();
});

test('a complaint about a sheet names the sheet and its row, empty rows counted', async () => {
  const finds = sheetOf([
    ['find', 'count'],
    ['F1', 1],
    [null, null],
    ['F2', 1.5],
  ]);
  expect(await said({ 'finds.csv': null, 'r.xlsx': workbook({ finds }) })).toEqual([
    'r.xlsx, sheet finds, row 4, column count: "1.5": is not a whole number',
  ]);
});

test('merged cells, errors of the spreadsheet, and a table given twice are complaints', async () => {
  const merged = sheetOf([
    ['find', 'season'],
    ['F1', 'S1'],
    ['F2', null],
  ]);
  merged['!merges'] = [{ s: { r: 1, c: 1 }, e: { r: 2, c: 1 } }];
  expect((await said({ 'finds.csv': null, 'r.xlsx': workbook({ finds: merged }) }))[0]).toMatch(
    /row 2: "B2:B3": are merged cells/,
  );
  const failed = sheetOf([
    ['find', 'count'],
    ['F1', 1],
  ]);
  failed['B2'] = { t: 'e', v: 7, w: '#DIV/0!' };
  expect((await said({ 'finds.csv': null, 'r.xlsx': workbook({ finds: failed }) }))[0]).toMatch(
    /column B2: "#DIV\/0!": is an error of the spreadsheet/,
  );
  expect((await said({ 'r.xlsx': workbook({ finds: sheetOf([['find'], ['F9']]) }) }))[0]).toMatch(/is here twice/);
});

/** A ZIP file with one deflated part whose declared sizes say what they like. */
function forged(body: Uint8Array, declared: number): Uint8Array {
  const packed = deflateRawSync(body);
  const zip = Buffer.from(zipStored(new Map([['xl/workbook.xml', packed]])));
  const entry = zip.length - 22 - 46 - 'xl/workbook.xml'.length;
  zip.writeUInt16LE(8, 8);
  zip.writeUInt16LE(8, entry + 10);
  zip.writeUInt32LE(declared, 22);
  zip.writeUInt32LE(declared, entry + 24);
  return zip;
}

test('a workbook that inflates without end is stopped at the cap, whatever sizes it declares', async () => {
  const bomb = forged(new Uint8Array(64 * 2 ** 20), 10);
  const before = process.memoryUsage().rss;
  expect((await said({ 'r.xlsx': bomb }))[0]).toMatch(/r.xlsx: is no workbook .* inflates to more than/);
  expect(process.memoryUsage().rss - before).toBeLessThan(300 * 2 ** 20);
});

test('a far cell reference costs nothing, many cells are too many', async () => {
  const parts = unzip(workbook({ finds: sheetOf([['find'], ['F1']]) }), defaultLimits);
  const text = new TextDecoder().decode(parts.get('xl/worksheets/sheet1.xml'));
  const moved = text
    .replace('A1:A2', 'A1:XFD1048576')
    .replace('row r="2"', 'row r="1048576"')
    .replace('"A2"', '"XFD1048576"');
  expect(moved).not.toBe(text);
  parts.set('xl/worksheets/sheet1.xml', new TextEncoder().encode(moved));
  const start = performance.now();
  expect((await said({ 'finds.csv': null, 'r.xlsx': zipStored(parts) })).join()).toMatch(
    /row 1048576: has more than 500 cells/,
  );
  expect(performance.now() - start).toBeLessThan(2000);
  const limits = { ...defaultLimits, workbookCells: 3 };
  const many = workbook({ finds: sheetOf([['find'], ['F1'], ['F2'], ['F3']]) });
  const report = await checkFolder(folderWith({ 'finds.csv': null, 'r.xlsx': many }), { limits });
  expect(report.complaints.first[0].reason).toMatch(/more than 3 cells/);
});

test('what is no workbook is a complaint', async () => {
  const entities = zipStored(
    new Map([['xl/workbook.xml', new TextEncoder().encode('<!DOCTYPE x [<!ENTITY a "b">]><workbook/>')]]),
  );
  expect((await said({ 'r.xlsx': entities }))[0]).toMatch(/declares entities/);
  expect((await said({ 'r.xlsx': new Uint8Array(100) }))[0]).toMatch(/it is no ZIP file/);
  expect((await said({ 'r.xlsx': zipStored(new Map([['a.txt', new Uint8Array(3)]])) }))[0]).toMatch(
    /no part xl\/workbook/,
  );
});
