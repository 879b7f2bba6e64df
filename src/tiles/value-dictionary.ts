import type { Column, FeatureTable } from '../domain/feature-table.js';
import { varintLength, widened, writeVarint } from './byte-buffer.js';

/**
 * Every distinct value of the columns that go into tiles, once, as the finished bytes of a tile's value list, so that
 * a tile only copies bytes. Code 0 = unknown: nothing is written.
 */
export interface ValueDictionary {
  /** [positions × properties] codes, one position after the other */
  readonly codes: Uint32Array;
  /** value c stands from starts[c] to starts[c + 1] − 1 in `bytes`, its field tag and length included */
  readonly bytes: Uint8Array;
  readonly starts: Uint32Array;
  /** codes of the whole numbers from 0 to 2^16 that occur, for counts made while drawing */
  readonly smallNumbers: ReadonlyMap<number, number>;
}

const valueField = 0x22;
const stringTag = 0x0a;
const doubleTag = 0x19;
const unsignedTag = 0x28;
const signedTag = 0x30;
const booleanTag = 0x38;

/** The bytes under construction. */
class ValueWriter {
  bytes = new Uint8Array(1 << 16);
  used = 0;
  private ends: Uint32Array = new Uint32Array(1 << 10);
  count = 1;
  private readonly scratch = new DataView(new ArrayBuffer(8));

  private room(size: number): void {
    if (this.used + size > this.bytes.length) this.bytes = widened(this.bytes, this.used, size);
  }

  private close(): number {
    if (this.count === this.ends.length) {
      const wider = new Uint32Array(this.ends.length * 2);
      wider.set(this.ends);
      this.ends = wider;
    }
    this.ends[this.count] = this.used;
    return this.count++;
  }

  text(utf8: Uint8Array): number {
    const body = 1 + varintLength(utf8.length) + utf8.length;
    this.room(body + 12);
    this.bytes[this.used++] = valueField;
    this.used = writeVarint(this.bytes, this.used, body);
    this.bytes[this.used++] = stringTag;
    this.used = writeVarint(this.bytes, this.used, utf8.length);
    this.bytes.set(utf8, this.used);
    this.used += utf8.length;
    return this.close();
  }

  number(value: number): number {
    this.room(24);
    // zigzag doubles a negative number, and must still be exact
    if (Number.isInteger(value) && value <= Number.MAX_SAFE_INTEGER && value >= -(2 ** 52)) {
      const plain = value >= 0 ? value : -2 * value - 1;
      this.bytes[this.used++] = valueField;
      this.bytes[this.used++] = 1 + varintLength(plain);
      this.bytes[this.used++] = value >= 0 ? unsignedTag : signedTag;
      this.used = writeVarint(this.bytes, this.used, plain);
    } else {
      this.scratch.setFloat64(0, value, true);
      this.bytes[this.used++] = valueField;
      this.bytes[this.used++] = 9;
      this.bytes[this.used++] = doubleTag;
      for (let k = 0; k < 8; k++) this.bytes[this.used++] = this.scratch.getUint8(k);
    }
    return this.close();
  }

  boolean(value: 0 | 1): number {
    this.room(4);
    for (const byte of [valueField, 2, booleanTag, value]) this.bytes[this.used++] = byte;
    return this.close();
  }

  /** starts[0] is never read: code 0 has no bytes */
  starts(): Uint32Array {
    const starts = new Uint32Array(this.count + 1);
    for (let c = 1; c <= this.count; c++) starts[c] = this.ends[c - 1];
    return starts;
  }
}

/**
 * Codes the columns of a table.
 * @param rows        [m] rows in the order in which tiles will read them; left untouched
 * @param properties  columns to write, in this order
 */
export function valueDictionary(
  table: FeatureTable,
  rows: Uint32Array,
  properties: readonly string[],
): ValueDictionary {
  const writer = new ValueWriter();
  const codes = new Uint32Array(rows.length * properties.length);
  const numbers = new Map<number, number>();
  const texts = new Map<string, number>();
  properties.forEach((name, c) => {
    const column = table.columns.get(name);
    if (column === undefined) throw new Error(`table ${table.name} has no column ${name}`);
    const codeOf = coder(column, writer, numbers, texts);
    for (let j = 0, at = c; j < rows.length; j++, at += properties.length) codes[at] = codeOf(rows[j]);
  });
  const smallNumbers = new Map<number, number>();
  for (const [value, code] of numbers)
    if (Number.isInteger(value) && value >= 0 && value <= 65536) smallNumbers.set(value, code);
  return { codes, bytes: writer.bytes.slice(0, writer.used), starts: writer.starts(), smallNumbers };
}

const encoder = new TextEncoder();

function coder(
  column: Column,
  writer: ValueWriter,
  numbers: Map<number, number>,
  texts: Map<string, number>,
): (row: number) => number {
  const codeOfText = (key: string, utf8: Uint8Array): number => {
    let code = texts.get(key);
    if (code === undefined) {
      code = writer.text(utf8);
      texts.set(key, code);
    }
    return code;
  };
  switch (column.kind) {
    case 'number':
    case 'integer':
      return (row) => {
        const value = column.values[row];
        if (!Number.isFinite(value)) return 0;
        let code = numbers.get(value);
        if (code === undefined) {
          code = writer.number(value);
          numbers.set(value, code);
        }
        return code;
      };
    case 'code': {
      const codes = new Uint32Array(column.words.length);
      return (row) => {
        const word = column.codes[row];
        if (word === 0) return 0;
        if (codes[word] === 0) {
          const utf8 = encoder.encode(column.words[word]);
          codes[word] = codeOfText(Buffer.from(utf8).toString('latin1'), utf8);
        }
        return codes[word];
      };
    }
    case 'text': {
      // byte by byte as latin1: distinct texts stay distinct, and no decoding is paid
      const bytes = Buffer.from(column.bytes.buffer, column.bytes.byteOffset, column.bytes.byteLength);
      return (row) => {
        const start = row === 0 ? 0 : column.ends[row - 1];
        const end = column.ends[row];
        if (start === end) return 0;
        return codeOfText(bytes.toString('latin1', start, end), column.bytes.subarray(start, end));
      };
    }
    case 'boolean': {
      const known = [0, 0, 0];
      return (row) => {
        const value = column.values[row];
        if (value === 0) return 0;
        return (known[value] ||= writer.boolean(value === 2 ? 1 : 0));
      };
    }
  }
}
