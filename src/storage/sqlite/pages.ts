import type { Column } from '../../domain/feature-table.js';

// A page is one column of one chunk as bytes. First byte: what follows. Equal columns give equal bytes, so that
// versions share them. Multi-byte numbers are little-endian, as on every machine Node runs on today.
const unknownPage = 0;
const floatPage = 1;
const decimalPage = 2;
const wordPage = 3;
const textPage = 4;
const bytePage = 5;
const wholePage = 6;
const runPage = 7;

const decimals = [1, 10, 100, 1000, 10_000] as const;
const encoder = new TextEncoder();
const decoder = new TextDecoder();

const headed = (head: readonly number[], body: Uint8Array): Uint8Array => {
  const out = new Uint8Array(head.length + body.length);
  out.set(head);
  out.set(body, head.length);
  return out;
};

const bytesOf = (array: Float64Array): Uint8Array => new Uint8Array(array.buffer, array.byteOffset, array.byteLength);

type Width = 1 | 2 | 4;

const widthFor = (largest: number): Width => (largest < 256 ? 1 : largest < 65_536 ? 2 : 4);

/** Room for whole numbers behind the head of a page; the head is a multiple of 4 long, so that they lie in place. */
const wholeIn = (page: Uint8Array, head: number, width: Width): Uint8Array | Uint16Array | Uint32Array => {
  const length = (page.length - head) / width;
  if (width === 1) return new Uint8Array(page.buffer, head, length);
  return width === 2 ? new Uint16Array(page.buffer, head, length) : new Uint32Array(page.buffer, head, length);
};

/** Reads `length` whole numbers of a width from byte `at` on, wherever that lies. */
function wholeAt(page: Uint8Array, at: number, { width, length }: { width: Width; length: number }) {
  // copied first: a typed array must begin on a multiple of its width
  const body = new Uint8Array(page.subarray(at, at + width * length)).buffer;
  return width === 1 ? new Uint8Array(body) : width === 2 ? new Uint16Array(body) : new Uint32Array(body);
}

/** Every `step`-th number of an array, from `start` on: x or y of interleaved coordinates. */
export interface Strided {
  readonly values: Float64Array;
  readonly start: number;
  readonly step: number;
}

/**
 * Numbers as a page; NaN = unknown. Field measurements have few decimals: whole multiples of 1, 0.1 … 0.0001 that come
 * back bit by bit are kept as one to four bytes each, everything else as it is.
 */
export function numberPage(numbers: Strided): Uint8Array {
  const { values, start, step } = numbers;
  let known = false;
  for (let i = start; i < values.length && !known; i += step) known = !Number.isNaN(values[i]);
  if (!known) return Uint8Array.of(unknownPage);
  for (let d = 0; d < decimals.length; d++) {
    const page = decimalNumbers(numbers, d);
    if (page) return page;
  }
  const out = new Float64Array(Math.ceil((values.length - start) / step));
  for (let i = start, k = 0; i < values.length; i += step, k++) out[k] = values[i];
  return headed([floatPage], bytesOf(out));
}

const decimalHead = 16;

function decimalNumbers({ values, start, step }: Strided, d: number): Uint8Array | null {
  const unit = decimals[d];
  let low = Infinity;
  let high = -Infinity;
  for (let i = start; i < values.length; i += step) {
    const v = values[i];
    if (Number.isNaN(v)) continue;
    const whole = Math.round(v * unit);
    if (whole / unit !== v || (v === 0 && 1 / v < 0)) return null;
    if (whole < low) low = whole;
    if (whole > high) high = whole;
  }
  if (high - low >= 0xffff_fffe || Math.max(Math.abs(low), Math.abs(high)) > Number.MAX_SAFE_INTEGER) return null;
  const width = widthFor(high - low + 1);
  const page = new Uint8Array(decimalHead + width * Math.ceil((values.length - start) / step));
  const out = wholeIn(page, decimalHead, width);
  // 0 stays for unknown
  for (let i = start, k = 0; i < values.length; i += step, k++)
    out[k] = Number.isNaN(values[i]) ? 0 : Math.round(values[i] * unit) - low + 1;
  page[0] = decimalPage;
  page[1] = d;
  page[2] = width;
  new DataView(page.buffer).setFloat64(8, low, true);
  return page;
}

const wholeHead = 4;

/** Whole numbers from 0 (starts of parts, dictionary codes) as a page. */
export function wholeNumberPage(values: Uint32Array): Uint8Array {
  let largest = 0;
  for (let i = 0; i < values.length; i++) if (values[i] > largest) largest = values[i];
  const width = widthFor(largest);
  const page = new Uint8Array(wholeHead + width * values.length);
  wholeIn(page, wholeHead, width).set(values);
  page[0] = wholePage;
  page[1] = width;
  return page;
}

/** Feature ids as a page: a run of followers is its first number only. */
export function idPage(ids: Float64Array): Uint8Array {
  for (let i = 1; i < ids.length; i++) if (ids[i] !== ids[0] + i) return numberPage({ values: ids, start: 0, step: 1 });
  const page = new Uint8Array(9);
  page[0] = runPage;
  new DataView(page.buffer).setFloat64(1, ids[0] ?? 1, true);
  return page;
}

/** Bytes as a page; all zero (unknown, no hole) is one byte. */
export function plainBytePage(values: Uint8Array): Uint8Array {
  return values.every((v) => v === 0) ? Uint8Array.of(unknownPage) : headed([bytePage], values);
}

/** Any column as a page. */
export function columnPage(column: Column): Uint8Array {
  switch (column.kind) {
    case 'number':
    case 'integer':
      return numberPage({ values: column.values, start: 0, step: 1 });
    case 'boolean':
      return plainBytePage(column.values);
    case 'code': {
      if (column.words.length === 1) return Uint8Array.of(unknownPage);
      const words = encoder.encode(JSON.stringify(column.words));
      const body = wholeNumberPage(column.codes);
      const start = new Uint8Array(5 + words.length);
      start[0] = wordPage;
      new DataView(start.buffer).setUint32(1, words.length, true);
      start.set(words, 5);
      const out = new Uint8Array(start.length + body.length);
      out.set(start);
      out.set(body, start.length);
      return out;
    }
    case 'text': {
      if (column.bytes.length === 0) return Uint8Array.of(unknownPage);
      const lengths = new Uint32Array(column.ends.length);
      for (let i = 0; i < lengths.length; i++) lengths[i] = column.ends[i] - (i === 0 ? 0 : column.ends[i - 1]);
      const body = wholeNumberPage(lengths);
      const out = new Uint8Array(5 + body.length + column.bytes.length);
      out[0] = textPage;
      new DataView(out.buffer).setUint32(1, body.length, true);
      out.set(body, 5);
      out.set(column.bytes, 5 + body.length);
      return out;
    }
  }
}

export const isUnknown = (page: Uint8Array): boolean => page[0] === unknownPage;

const brokenPage = (page: Uint8Array): Error => new Error(`page of unknown kind ${page[0]} in the store`);

/** Writes a number page into `into`, from row `at` on. */
export function readNumbers(page: Uint8Array, into: Float64Array, { at, rows }: { at: number; rows: number }): void {
  const view = new DataView(page.buffer, page.byteOffset, page.byteLength);
  switch (page[0]) {
    case unknownPage:
      into.fill(Number.NaN, at, at + rows);
      return;
    case floatPage:
      into.set(new Float64Array(new Uint8Array(page.subarray(1)).buffer), at);
      return;
    case runPage: {
      const first = view.getFloat64(1, true);
      for (let i = 0; i < rows; i++) into[at + i] = first + i;
      return;
    }
    case decimalPage: {
      const unit = decimals[page[1]];
      const low = view.getFloat64(8, true);
      const whole = wholeAt(page, decimalHead, { width: page[2] as Width, length: rows });
      for (let i = 0; i < rows; i++) into[at + i] = whole[i] === 0 ? Number.NaN : (whole[i] - 1 + low) / unit;
      return;
    }
    default:
      throw brokenPage(page);
  }
}

/** The whole numbers of a page. */
export function readWholeNumbers(page: Uint8Array, length: number): ArrayLike<number> {
  if (page[0] !== wholePage) throw brokenPage(page);
  return wholeAt(page, wholeHead, { width: page[1] as Width, length });
}

/** Writes a page of plain bytes into `into`, from row `at` on. */
export function readPlainBytes(page: Uint8Array, into: Uint8Array, at: number): void {
  if (page[0] === unknownPage) return;
  if (page[0] !== bytePage) throw brokenPage(page);
  into.set(page.subarray(1), at);
}

/** The words and codes of a page. */
export function readWords(page: Uint8Array, rows: number): { words: readonly string[]; codes: ArrayLike<number> } {
  if (page[0] !== wordPage) throw brokenPage(page);
  const size = new DataView(page.buffer, page.byteOffset, page.byteLength).getUint32(1, true);
  const words = JSON.parse(decoder.decode(page.subarray(5, 5 + size))) as string[];
  return { words, codes: readWholeNumbers(page.subarray(5 + size), rows) };
}

/** The bytes and lengths of a page of texts. */
export function readTexts(page: Uint8Array, rows: number): { bytes: Uint8Array; lengths: ArrayLike<number> } {
  if (page[0] !== textPage) throw brokenPage(page);
  const size = new DataView(page.buffer, page.byteOffset, page.byteLength).getUint32(1, true);
  return { bytes: page.subarray(5 + size), lengths: readWholeNumbers(page.subarray(5, 5 + size), rows) };
}
