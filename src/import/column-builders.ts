import type { Column } from '../domain/feature-table.js';
import type { Field } from '../domain/fields.js';
import { KeyIndex } from '../domain/records/key-index.js';
import { type Decimal, readNumber, whyNotNumber } from './number-text.js';

const decoder = new TextDecoder();

/** Collects one column, cell by cell, from bytes. A row may be written again when it turns out to be bad. */
export interface ColumnBuilder {
  /** Reads a cell that is not empty. → why it cannot be taken, null when it can */
  read(bytes: Uint8Array, start: number, end: number, row: number): string | null;
  /** Makes the cell unknown. */
  clear(row: number): void;
  /** The first `rows` cells as a column, good until the next cell is read: the builder starts anew on the same arrays. */
  take(rows: number): Column;
  /** Makes all cells from a row on unknown. */
  reset(from: number): void;
  /** Makes room for more rows, unknown until they are read. */
  grow(capacity: number): void;
}

/** Numbers within their bounds. */
export class NumberBuilder implements ColumnBuilder {
  values: Float64Array;
  readonly #field: Field;
  /** the decimal sign of the file being read */
  decimal: Decimal = '.';
  readonly #min: number;
  readonly #max: number;

  constructor(field: Field, capacity: number) {
    this.#field = field;
    this.#min = field.min ?? -Infinity;
    this.#max = field.max ?? Infinity;
    this.values = new Float64Array(capacity).fill(Number.NaN);
  }

  read(bytes: Uint8Array, start: number, end: number, row: number): string | null {
    const value = readNumber(bytes, start, end, this.decimal);
    this.values[row] = value;
    if (value >= this.#min && value <= this.#max && (this.#field.type !== 'integer' || Number.isSafeInteger(value)))
      return null;
    if (Number.isNaN(value)) return whyNotNumber(decoder.decode(bytes.subarray(start, end)), this.decimal);
    const unit = this.#field.unit && this.#field.unit !== '1' ? ` ${this.#field.unit}` : '';
    if (value < this.#min) return `is below ${this.#min}${unit}, the smallest value taken`;
    if (value > this.#max) return `is above ${this.#max}${unit}, the largest value taken`;
    return 'is not a whole number';
  }

  clear(row: number): void {
    this.values[row] = Number.NaN;
  }

  take(rows: number): Column {
    const kind = this.#field.type === 'integer' ? 'integer' : 'number';
    return { kind, values: this.values.subarray(0, rows) };
  }

  reset(from: number): void {
    this.values.fill(Number.NaN, from);
  }

  grow(capacity: number): void {
    const grown = new Float64Array(capacity).fill(Number.NaN, this.values.length);
    grown.set(this.values);
    this.values = grown;
  }
}

/** Few different words; each is checked once, when it is first met in a chunk. */
export class WordBuilder implements ColumnBuilder {
  codes: Uint32Array;
  words: string[] = [''];
  #index = new KeyIndex();
  #reasons: (string | null)[] = [null];
  readonly #check: (word: string) => string | null;
  readonly #encoder = new TextEncoder();
  #written = '';
  #writtenBytes = new Uint8Array(0);

  constructor(capacity: number, check: (word: string) => string | null) {
    this.#check = check;
    this.codes = new Uint32Array(capacity);
  }

  read(bytes: Uint8Array, start: number, end: number, row: number): string | null {
    const code = this.#index.add(bytes, start, end) + 1;
    if (code === this.words.length) {
      const word = decoder.decode(bytes.subarray(start, end));
      this.words.push(word);
      this.#reasons.push(this.#check(word));
    }
    this.codes[row] = code;
    return this.#reasons[code];
  }

  /** The word of a row; '' = unknown. */
  at(row: number): string {
    return this.words[this.codes[row]];
  }

  /** Writes a word that follows from other columns. */
  write(word: string, row: number): void {
    // nearly always the word written before: a million encodings of "point" took a tenth of an import
    if (word !== this.#written) {
      this.#written = word;
      this.#writtenBytes = this.#encoder.encode(word);
    }
    this.read(this.#writtenBytes, 0, this.#writtenBytes.length, row);
  }

  clear(row: number): void {
    this.codes[row] = 0;
  }

  take(rows: number): Column {
    const column: Column = { kind: 'code', codes: this.codes.subarray(0, rows), words: this.words };
    this.words = [''];
    this.#index = new KeyIndex();
    this.#reasons = [null];
    return column;
  }

  reset(from: number): void {
    this.codes.fill(0, from);
  }

  grow(capacity: number): void {
    const grown = new Uint32Array(capacity);
    grown.set(this.codes);
    this.codes = grown;
  }
}

/** Texts that mostly differ: register numbers, notes. */
export class TextBuilder implements ColumnBuilder {
  bytes = new Uint8Array(1024);
  ends: Uint32Array;

  constructor(capacity: number) {
    this.ends = new Uint32Array(capacity);
  }

  startOf(row: number): number {
    return row === 0 ? 0 : this.ends[row - 1];
  }

  read(bytes: Uint8Array, start: number, end: number, row: number): string | null {
    let at = this.startOf(row);
    if (at + end - start > this.bytes.length) {
      const grown = new Uint8Array(Math.max(2 * this.bytes.length, at + end - start));
      grown.set(this.bytes.subarray(0, at));
      this.bytes = grown;
    }
    for (let i = start; i < end; i++) this.bytes[at++] = bytes[i];
    this.ends[row] = at;
    return null;
  }

  /** The text of a row; '' = unknown. */
  at(row: number): string {
    return decoder.decode(this.bytes.subarray(this.startOf(row), this.ends[row]));
  }

  clear(row: number): void {
    this.ends[row] = this.startOf(row);
  }

  take(rows: number): Column {
    const size = rows === 0 ? 0 : this.ends[rows - 1];
    return { kind: 'text', bytes: this.bytes.subarray(0, size), ends: this.ends.subarray(0, rows) };
  }

  reset(from: number): void {
    this.ends.fill(this.startOf(from), from);
  }

  grow(capacity: number): void {
    const grown = new Uint32Array(capacity);
    grown.set(this.ends);
    grown.fill(this.startOf(this.ends.length), this.ends.length);
    this.ends = grown;
  }
}

const truths = new Map<string, number>([
  ['no', 1],
  ['false', 1],
  ['0', 1],
  ['yes', 2],
  ['true', 2],
  ['1', 2],
]);

/** Truth values. */
class BooleanBuilder implements ColumnBuilder {
  values: Uint8Array;

  constructor(capacity: number) {
    this.values = new Uint8Array(capacity);
  }

  read(bytes: Uint8Array, start: number, end: number, row: number): string | null {
    const value = truths.get(decoder.decode(bytes.subarray(start, end)).toLowerCase());
    this.values[row] = value ?? 0;
    return value === undefined ? 'is neither yes nor no' : null;
  }

  clear(row: number): void {
    this.values[row] = 0;
  }

  take(rows: number): Column {
    return { kind: 'boolean', values: this.values.subarray(0, rows) };
  }

  reset(from: number): void {
    this.values.fill(0, from);
  }

  grow(capacity: number): void {
    const grown = new Uint8Array(capacity);
    grown.set(this.values);
    this.values = grown;
  }
}

/** A builder for each field. `checks` say of a field's words why one cannot be taken. */
export function columnBuilder(
  field: Field,
  given: {
    readonly capacity: number;
    readonly check: ((word: string) => string | null) | undefined;
  },
): ColumnBuilder {
  switch (field.type) {
    case 'number':
    case 'integer':
      return new NumberBuilder(field, given.capacity);
    case 'boolean':
      return new BooleanBuilder(given.capacity);
    case 'date':
    case 'date-time':
    case 'time':
      return new WordBuilder(given.capacity, dateCheck(field.type));
    case 'text':
      if (field.distinct) return new TextBuilder(given.capacity);
      return new WordBuilder(given.capacity, choiceCheck(field.choices) ?? given.check ?? (() => null));
  }
}

function choiceCheck(choices: readonly string[] | undefined): ((word: string) => string | null) | undefined {
  if (!choices) return undefined;
  const known = new Set(choices);
  return (word) => (known.has(word) ? null : `is none of ${choices.join(', ')}`);
}

const clock = '([01]\\d|2[0-3]):[0-5]\\d(:[0-5]\\d(\\.\\d{1,3})?)?';
const timeForm = new RegExp(`^${clock}$`);
const dateTimeForm = new RegExp(`^(\\d{4}-\\d{2}-\\d{2})[T ]${clock}(Z|[+-]\\d{2}:\\d{2})?$`);

function isCalendarDate(text: string): boolean {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (!match) return false;
  const day = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(day.getTime()) && day.toISOString().startsWith(text);
}

function dateCheck(type: 'date' | 'date-time' | 'time'): (word: string) => string | null {
  switch (type) {
    case 'date':
      return (word) =>
        isCalendarDate(word) ? null : 'is no date of the calendar; write year-month-day, as 2023-07-05';
    case 'time':
      return (word) => (timeForm.test(word) ? null : 'is no time of day; write hours:minutes, as 09:40');
    case 'date-time':
      return (word) => {
        const match = dateTimeForm.exec(word);
        return match && isCalendarDate(match[1]) ? null : 'is no date and time; write 2023-07-05T09:40';
      };
  }
}
