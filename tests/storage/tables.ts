import {
  booleanColumn,
  type Column,
  codeColumn,
  type FeatureTable,
  numberColumn,
  textColumn,
} from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import { randomStream } from '../../src/math/random.js';
import type { ImportTransaction, Store } from '../../src/storage/store.js';

export const fields: readonly Field[] = [
  { name: 'find', title: 'Find', type: 'text', distinct: true, unique: true },
  { name: 'season', title: 'Season', type: 'text' },
  { name: 'weight_g', title: 'Weight', type: 'number', unit: 'g' },
  { name: 'count', title: 'Pieces', type: 'integer' },
  { name: 'intrusive', title: 'Intrusive', type: 'boolean' },
  { name: 'step', title: 'A staff reading, and minus zero', type: 'number', unit: 'm' },
  { name: 'empty', title: 'Never filled', type: 'number' },
  { name: 'empty_text', title: 'Never filled', type: 'text', distinct: true },
];

/** Numbers that a careless store would change. */
const weights = [0, 0.1, 145.5, -3.25, 1e-9, 1e300, 5e-324, 123456.789, 2 ** 53, Number.NaN, 0.30000000000000004, -0];

/** Finds `from` to before `to`, with ids counted from 1. */
export function findsTable(from: number, to: number, more: Partial<FeatureTable> = {}): FeatureTable {
  const rows = Array.from({ length: to - from }, (_, i) => from + i);
  const random = randomStream(9, from);
  return {
    name: 'finds',
    length: rows.length,
    fields,
    columns: new Map<string, Column>([
      ['find', textColumn(rows.map((row) => (row % 7 === 3 ? null : `F${row}ü`)))],
      ['season', codeColumn(rows.map((row) => [null, 'S1', 'S2', 'Größe'][row % 4]))],
      ['weight_g', { kind: 'number', values: Float64Array.from(rows, (row) => weights[row % weights.length]) }],
      [
        'count',
        numberColumn(
          rows.map((row) => (row % 5 === 0 ? null : row * 1000)),
          'integer',
        ),
      ],
      ['intrusive', booleanColumn(rows.map((row) => [true, false, null][row % 3]))],
      ['step', numberColumn(rows.map((row) => [-0, 0.5, null, -1.25, 140][row % 5]))],
      ['empty', numberColumn(rows.map(() => null))],
      ['empty_text', textColumn(rows.map(() => null))],
    ]),
    geometry: {
      type: 'point',
      coordinates: Float64Array.from({ length: 2 * rows.length }, (_, i) =>
        rows[i >> 1] % 6 === 0 ? Number.NaN : Math.round(random.next() * 40_000) / 1000,
      ),
    },
    ids: Float64Array.from(rows, (row) => row + 1),
    ...more,
  };
}

/** One import with everything an import can hold. */
export async function importFinds(store: Store, hash: string, tables: readonly FeatureTable[]): Promise<number> {
  const transaction = await store.beginImport('a', 'Site A');
  fill(transaction, tables);
  return transaction.commit(hash).version;
}

/** Puts tables, their keys, a file and a row set aside into an import. */
export function fill(transaction: ImportTransaction, tables: readonly FeatureTable[]): void {
  const opened = transaction.table('finds', fields);
  const keys = transaction.keys('finds');
  for (const table of tables) {
    opened.append(table);
    for (let i = 0; i < table.length; i++) {
      const key = new TextEncoder().encode(`key ${table.ids[i]}`);
      keys.add(key, 0, key.length);
    }
  }
  transaction.file('finds.csv', new TextEncoder().encode(`find\n${tables.length}\n`));
  transaction.setAside({ file: 'finds.csv', row: 9, reason: 'no number', text: 'F9,x' });
}
