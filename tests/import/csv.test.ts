import { expect, test } from 'vitest';
import { type FeatureTable, type Value, valueAt } from '../../src/domain/feature-table.js';
import { KeyIndex } from '../../src/domain/records/key-index.js';
import { findTable } from '../../src/domain/records/records.js';
import { Complaints } from '../../src/import/complaints.js';
import { importTable, plainDialect } from '../../src/import/csv.js';
import { chunkRows, TableWriter } from '../../src/import/table-writer.js';
import { randomStream } from '../../src/math/random.js';
import { Problem } from '../../src/problems.js';

const heading = 'find,artefact_class,season,count,z_elevation,weight_g,local_x,local_y,notes';

/** Rows as the register would have them; some without a value, some with umlauts, commas and line ends. */
function register(rows: number): string[][] {
  const random = randomStream(31, 0);
  return Array.from({ length: rows }, (_, i) => [
    `F${i}`,
    ['jar', 'nail', '', 'Öse'][random.below(4)],
    `S${random.below(4)}`,
    random.below(9) === 0 ? '' : String(random.below(50)),
    (random.next() * 4 - 2).toFixed(3),
    (random.next() * 500).toFixed(1),
    (random.next() * 40).toFixed(3),
    (random.next() * 25).toFixed(3),
    ['', 'rim', 'base, "thick"', 'two\nlines'][random.below(4)],
  ]);
}

/** A few columns of a chunk, row by row. */
function cellsOf(chunk: FeatureTable, names: readonly string[]): Value[][] {
  const columns = names.map((name) => chunk.columns.get(name));
  return Array.from({ length: chunk.length }, (_, row) =>
    columns.map((column) => (column ? valueAt(column, row) : null)),
  );
}

const written = (cell: string) => (/[",\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);

async function read(text: string, deliver: (chunk: FeatureTable) => void, setAside = false) {
  const complaints = new Complaints();
  const aside: number[] = [];
  const writer = new TableWriter({
    table: { ...findTable, geometry: null },
    readOnlyFields: [],
    wordChecks: new Map(),
    keys: new KeyIndex(),
    complaints,
    setAside: setAside ? ({ row }) => aside.push(row) : null,
    deliver,
  });
  const bytes = new TextEncoder().encode(text);
  const pieces = Array.from({ length: Math.ceil(bytes.length / 100_003) }, (_, k) =>
    bytes.subarray(k * 100_003, (k + 1) * 100_003),
  );
  const rows = await importTable(
    { file: 'finds.csv', bytes: pieces, dialect: plainDialect, columns: new Map(), complaints, rule: null },
    writer,
  );
  writer.end();
  return { rows, complaints, aside };
}

test('a register of several chunks says cell by cell what the file says', async () => {
  const rows = register(chunkRows + 5000);
  const chunks: number[] = [];
  const lines = rows.map((row) => row.map(written).join(','));
  const names = heading.split(',');
  let at = 0;
  const { complaints } = await read([heading, ...lines].join('\r\n'), (chunk) => {
    chunks.push(chunk.length);
    for (const [row, cells] of cellsOf(chunk, names).entries()) {
      const expected = rows[at].map((cell, k) => (cell === '' ? null : k >= 3 && k <= 7 ? Number(cell) : cell));
      if (String(cells) !== String(expected)) expect(cells).toEqual(expected);
      at += 1;
      if (chunk.ids[row] !== at) expect(chunk.ids[row]).toBe(at);
    }
  });
  expect([chunks, at, complaints.total]).toEqual([[chunkRows, 5000], rows.length, 0]);
});

test('rows set aside at the edge of a chunk leave no trace in the columns', async () => {
  const size = chunkRows + 3;
  const bad = new Set([0, 1023, 1024, chunkRows - 1, chunkRows, size - 1]);
  const lines = Array.from({ length: size }, (_, i) => `F${i},,,${bad.has(i) ? 'x' : i},,,,,note ${i}`);
  const found: unknown[][] = [];
  const { rows, aside, complaints } = await read(
    `${heading}\n${lines.join('\n')}`,
    (chunk) => {
      found.push(...cellsOf(chunk, ['find', 'count', 'notes']));
    },
    true,
  );
  const expected = lines.flatMap((_, i) => (bad.has(i) ? [] : [[`F${i}`, i, `note ${i}`]]));
  expect(found).toEqual(expected);
  expect([rows, complaints.total, aside]).toEqual([size - bad.size, bad.size, [...bad].map((i) => i + 2)]);
});

test('a store that fails while a file is read is no complaint about the file', async () => {
  const full = () => {
    throw new Problem('store-unavailable', 'the disk is full');
  };
  const lines = Array.from({ length: chunkRows }, (_, i) => `F${i}`);
  await expect(read(`find\n${lines.join('\n')}\n`, full)).rejects.toThrow('the disk is full');
});
