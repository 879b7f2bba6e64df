import type { TextColumn } from '../domain/feature-table.js';
import type { Fold } from './fold.js';

/** Texts as UTF-8 bytes one after the other: text k stands from ends[k − 1] to ends[k] − 1; empty = unknown. */
export type Utf8Rows = Pick<TextColumn, 'bytes' | 'ends'>;

const encoder = new TextEncoder();

/** Some texts as bytes. */
export function utf8Rows(texts: readonly string[]): Utf8Rows {
  const parts = texts.map((text) => encoder.encode(text));
  const ends = new Uint32Array(parts.length);
  let size = 0;
  parts.forEach((part, i) => {
    size += part.length;
    ends[i] = size;
  });
  const bytes = new Uint8Array(size);
  parts.forEach((part, i) => {
    bytes.set(part, i === 0 ? 0 : ends[i - 1]);
  });
  return { bytes, ends };
}

/** Every text folded; unknown ones stay unknown. Texts of plain letters are folded byte by byte, without strings. */
export function foldRows(rows: Utf8Rows, fold: Fold): Utf8Rows {
  const { ends } = rows;
  const from = Buffer.from(rows.bytes.buffer, rows.bytes.byteOffset, rows.bytes.byteLength);
  const plain = Uint8Array.from({ length: 128 }, (_, byte) => fold.plainByte(byte));
  const newEnds = new Uint32Array(ends.length);
  let out = Buffer.alloc(from.length + 64);
  let size = 0;
  for (let k = 0, start = 0; k < ends.length; start = ends[k], k++) {
    const end = ends[k];
    // a folded text may be longer, at most by three bytes for each
    if (size + 3 * (end - start) > out.length) out = Buffer.concat([out, Buffer.alloc(out.length + 3 * (end - start))]);
    let at = start;
    while (at < end && from[at] < 128) {
      out[size + at - start] = plain[from[at]];
      at++;
    }
    size += at === end ? end - start : out.write(fold.text(from.toString('utf8', start, end)), size);
    newEnds[k] = size;
  }
  return { bytes: out.subarray(0, size), ends: newEnds };
}

/**
 * Order of two texts by their code points, which is the order of their UTF-8 bytes: below 0 when the first comes
 * first. No language's alphabet is meant.
 */
export function compareBytes(
  a: { readonly bytes: Uint8Array; readonly start: number; readonly end: number },
  b: { readonly bytes: Uint8Array; readonly start: number; readonly end: number },
): number {
  const length = Math.min(a.end - a.start, b.end - b.start);
  for (let k = 0; k < length; k++) {
    const difference = a.bytes[a.start + k] - b.bytes[b.start + k];
    if (difference !== 0) return difference;
  }
  return a.end - a.start - (b.end - b.start);
}
