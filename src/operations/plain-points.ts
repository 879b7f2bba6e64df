import { valueAt } from '../domain/feature-table.js';
import type { Field } from '../domain/fields.js';
import type { LevelReadings, SurveyReadings } from '../domain/sample.js';
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

/** Reads levels from CSV: `x,y,surface,elevation[,sigma][,season]`, elevations up-positive metres. @throws Problem bad-file */
export async function plainLevels(bytes: Uint8Array, file: string): Promise<LevelReadings> {
  const columns = await plainColumns(bytes, file, [
    metres('x', { required: true }),
    metres('y', { required: true }),
    { ...word('surface'), required: true },
    metres('elevation', { required: true }),
    metres('sigma', { min: 0 }),
    word('season'),
  ]);
  const none = new Array<string | null>(columns.length).fill(null);
  return {
    x: columns.numbers('x'),
    y: columns.numbers('y'),
    elevation: columns.numbers('elevation'),
    sigma: columns.numbers('sigma'),
    surface: columns.words('surface'),
    season: columns.words('season'),
    node: none,
    series: none,
    state: none,
  };
}

/** The survey files of a run without a site. Each is left out when it is not given. */
export interface PlainSurveyFiles {
  readonly control?: { readonly bytes: Uint8Array; readonly file: string };
  readonly measurements?: { readonly bytes: Uint8Array; readonly file: string };
  readonly common?: { readonly bytes: Uint8Array; readonly file: string };
}

/**
 * Reads control `name,x,y[,z][,sigma][,class][,season]`, measurements `from,to,kind,value[,sigma]` and common points
 * `name,local_x,local_y,easting,northing`.
 * @throws Problem bad-file
 */
export async function plainReadings(files: PlainSurveyFiles): Promise<SurveyReadings> {
  const text = (value: string): string | null => (value === '' ? null : value);
  const control = files.control
    ? await plainColumns(files.control.bytes, files.control.file, [
        { ...word('name'), required: true },
        metres('x', { required: true }),
        metres('y', { required: true }),
        metres('z'),
        metres('sigma', { min: 0 }),
        word('class'),
        word('season'),
      ])
    : null;
  const measured = files.measurements
    ? await plainColumns(files.measurements.bytes, files.measurements.file, [
        word('from'),
        word('to'),
        { ...word('kind'), required: true },
        metres('value', { required: true }),
        metres('sigma', { min: 0 }),
      ])
    : null;
  const common = files.common
    ? await plainColumns(files.common.bytes, files.common.file, [
        { ...word('name'), required: true },
        metres('local_x', { required: true }),
        metres('local_y', { required: true }),
        metres('easting', { required: true }),
        metres('northing', { required: true }),
      ])
    : null;
  return {
    control: rowsOf(control, (i, c) => ({
      name: c.words('name')[i],
      class: text(c.words('class')[i] ?? ''),
      x: c.numbers('x')[i],
      y: c.numbers('y')[i],
      z: c.numbers('z')[i] ?? Number.NaN,
      sigma: c.numbers('sigma')[i] ?? Number.NaN,
      season: text(c.words('season')[i] ?? ''),
    })),
    measurements: rowsOf(measured, (i, c) => ({
      row: i + 1,
      from: text(c.words('from')[i] ?? ''),
      to: c.words('to')[i] ?? '',
      kind: c.words('kind')[i],
      value: c.numbers('value')[i],
      unit: 'm',
      sigma: c.numbers('sigma')[i] ?? Number.NaN,
      instrument: null,
      series: null,
      date: null,
      time: null,
    })),
    tide: [],
    common: rowsOf(common, (i, c) => ({
      name: c.words('name')[i],
      localX: c.numbers('local_x')[i],
      localY: c.numbers('local_y')[i],
      easting: c.numbers('easting')[i],
      northing: c.numbers('northing')[i],
    })),
  };
}

/** Places by name, as start values of an adjustment: `name,x,y[,z]`. @throws Problem bad-file */
export async function plainPlaces(
  bytes: Uint8Array,
  file: string,
): Promise<{ name: string; x: number; y: number; z?: number }[]> {
  const columns = await plainColumns(bytes, file, [
    { ...word('name'), required: true },
    metres('x', { required: true }),
    metres('y', { required: true }),
    metres('z'),
  ]);
  return rowsOf(columns, (i, c) => {
    const z = c.numbers('z')[i];
    return {
      name: c.words('name')[i],
      x: c.numbers('x')[i],
      y: c.numbers('y')[i],
      ...(z === undefined || Number.isNaN(z) ? {} : { z }),
    };
  });
}

function rowsOf<T>(columns: PlainColumns | null, make: (row: number, columns: PlainColumns) => T): T[] {
  if (!columns) return [];
  // each column is put together once, not once a row
  const numbers = new Map<string, Float64Array>();
  const words = new Map<string, string[]>();
  const once = <V>(held: Map<string, V>, name: string, read: (name: string) => V): V => {
    const found = held.get(name) ?? read(name);
    held.set(name, found);
    return found;
  };
  const cached: PlainColumns = {
    length: columns.length,
    numbers: (name) => once(numbers, name, columns.numbers),
    words: (name) => once(words, name, columns.words),
  };
  return Array.from({ length: columns.length }, (_, row) => make(row, cached));
}
