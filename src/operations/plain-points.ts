import { valueAt } from '../domain/feature-table.js';
import type { Field } from '../domain/fields.js';
import { Complaints, complaintSentence } from '../import/complaints.js';
import { importTable, plainDialect } from '../import/csv.js';
import { TableWriter } from '../import/table-writer.js';
import { Problem } from '../problems.js';
import type { PlainPoints } from './plain-sample.js';

/** Columns of a plain file by field name: numbers with NaN = unknown, texts with '' = unknown. */
export interface PlainColumns {
  readonly length: number;
  numbers(name: string): Float64Array;
  words(name: string): string[];
}

/**
 * Reads a CSV as strictly as a register: only the columns named, every number checked.
 * @throws Problem bad-file naming row, column, value and reason of the first complaint, and how many there are
 */
export async function plainColumns(bytes: Uint8Array, file: string, fields: readonly Field[]): Promise<PlainColumns> {
  const complaints = new Complaints();
  const values = new Map<string, (string | number | boolean | null)[]>(fields.map((field) => [field.name, []]));
  let length = 0;
  const writer = new TableWriter({
    table: { name: file, title: file, fields, geometry: null, key: null },
    readOnlyFields: [],
    wordChecks: new Map(),
    keys: null,
    complaints,
    setAside: null,
    deliver(chunk) {
      for (const [name, column] of chunk.columns) {
        const into = values.get(name);
        for (let row = 0; row < chunk.length; row++) into?.push(valueAt(column, row));
      }
      length += chunk.length;
    },
  });
  await importTable(
    { file, bytes: [bytes], dialect: plainDialect, columns: new Map(), complaints, rule: null },
    writer,
  );
  writer.end();
  if (complaints.total > 0) {
    const more = complaints.total > 1 ? ` (and ${complaints.total - 1} more)` : '';
    throw new Problem('bad-file', `${complaintSentence(complaints.first[0])}${more}`, { complaints: complaints.first });
  }
  return {
    length,
    numbers: (name) => Float64Array.from(values.get(name) ?? [], (v) => (typeof v === 'number' ? v : Number.NaN)),
    words: (name) => (values.get(name) ?? []).map((v) => (v === null ? '' : String(v))),
  };
}

const metres = (name: string, more: Partial<Field> = {}): Field => ({
  name,
  title: name,
  type: 'number',
  unit: 'm',
  ...more,
});
const word = (name: string): Field => ({ name, title: name, type: 'text' });

const pointFields: readonly Field[] = [
  metres('x', { required: true }),
  metres('y', { required: true }),
  word('class'),
  word('season'),
  metres('z'),
  { name: 'weight', title: 'Weight', type: 'number', min: 0 },
];

/** Reads points from CSV: `x,y[,class,season,z,weight]` in plane metres. @throws Problem bad-file */
export async function plainPoints(bytes: Uint8Array, file: string): Promise<PlainPoints> {
  const columns = await plainColumns(bytes, file, pointFields);
  return {
    x: columns.numbers('x'),
    y: columns.numbers('y'),
    z: columns.numbers('z'),
    weight: columns.numbers('weight'),
    classes: columns.words('class'),
    seasons: columns.words('season'),
  };
}
