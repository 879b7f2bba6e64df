import { crc32, inflateRawSync } from 'node:zlib';
import { Problem } from '../problems.js';
import type { ImportLimits } from './limits.js';
import { sizeInWords } from './limits.js';

const endMark = 0x06054b50;
const entryMark = 0x02014b50;
const localMark = 0x04034b50;

const broken = (what: string): Problem => new Problem('bad-file', `is no workbook that can be read: ${what}`);

/**
 * The parts of a ZIP file by name, inflated. Declared sizes are not believed: inflating stops at the caps.
 * @throws Problem bad-file when it is no ZIP file, is encrypted, or goes beyond a cap
 */
export function unzip(bytes: Uint8Array, limits: ImportLimits): Map<string, Uint8Array> {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const end = findEnd(view);
  const count = view.getUint16(end + 10, true);
  if (count > limits.workbookParts) throw broken(`it has ${count} parts, at most ${limits.workbookParts} are read`);
  const parts = new Map<string, Uint8Array>();
  let left = limits.workbookInflatedBytes;
  let at = view.getUint32(end + 16, true);
  for (let i = 0; i < count; i++) {
    if (at + 46 > bytes.length || view.getUint32(at, true) !== entryMark) throw broken('its list of parts is damaged');
    const nameLength = view.getUint16(at + 28, true);
    const name = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + nameLength));
    if (parts.has(name)) throw broken(`part ${name} stands twice`);
    const body = inflate({ bytes, view, entry: at, name, left, ratio: limits.workbookRatio });
    left -= body.length;
    parts.set(name, body);
    at += 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
  }
  return parts;
}

function findEnd(view: DataView): number {
  for (let at = view.byteLength - 22; at >= Math.max(0, view.byteLength - 65_557); at--)
    if (view.getUint32(at, true) === endMark) return at;
  throw broken('it is no ZIP file');
}

function inflate(given: {
  bytes: Uint8Array;
  view: DataView;
  entry: number;
  name: string;
  left: number;
  ratio: number;
}): Uint8Array {
  const { bytes, view, entry, name, left } = given;
  if ((view.getUint16(entry + 8, true) & 1) !== 0) throw broken(`part ${name} is encrypted`);
  const method = view.getUint16(entry + 10, true);
  const size = view.getUint32(entry + 20, true);
  const local = view.getUint32(entry + 42, true);
  if (local + 30 > bytes.length || view.getUint32(local, true) !== localMark) throw broken(`part ${name} is missing`);
  const start = local + 30 + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
  if (start + size > bytes.length) throw broken(`part ${name} is cut off`);
  const packed = bytes.subarray(start, start + size);
  const tooLarge = (cap: number) => broken(`part ${name} inflates to more than ${sizeInWords(cap)}`);
  if (method === 0) {
    if (size > left) throw tooLarge(left);
    return packed;
  }
  if (method !== 8) throw broken(`part ${name} is packed in a way that is not read`);
  // small parts of a sheet of zeros pack far better than 100 to 1: the ratio counts from a mebibyte on
  const cap = Math.min(left, Math.max(2 ** 20, given.ratio * size));
  try {
    return inflateRawSync(packed, { maxOutputLength: Math.max(1, cap) });
  } catch (error) {
    if (error instanceof RangeError) throw tooLarge(cap);
    throw broken(`part ${name} is damaged`);
  }
}

/** Parts put into a ZIP file without packing: what is read next has no sizes left to lie about. */
export function zipStored(parts: ReadonlyMap<string, Uint8Array>): Uint8Array {
  const encoder = new TextEncoder();
  const pieces: Uint8Array[] = [];
  const list: Uint8Array[] = [];
  let at = 0;
  for (const [name, body] of parts) {
    const label = encoder.encode(name);
    const sum = crc32(body);
    const local = new Uint8Array(30 + label.length);
    const head = new DataView(local.buffer);
    head.setUint32(0, localMark, true);
    head.setUint16(4, 20, true);
    head.setUint32(14, sum, true);
    head.setUint32(18, body.length, true);
    head.setUint32(22, body.length, true);
    head.setUint16(26, label.length, true);
    local.set(label, 30);
    const entry = new Uint8Array(46 + label.length);
    const line = new DataView(entry.buffer);
    line.setUint32(0, entryMark, true);
    line.setUint16(4, 20, true);
    line.setUint16(6, 20, true);
    line.setUint32(16, sum, true);
    line.setUint32(20, body.length, true);
    line.setUint32(24, body.length, true);
    line.setUint16(28, label.length, true);
    line.setUint32(42, at, true);
    entry.set(label, 46);
    pieces.push(local, body);
    list.push(entry);
    at += local.length + body.length;
  }
  const end = new Uint8Array(22);
  const tail = new DataView(end.buffer);
  tail.setUint32(0, endMark, true);
  tail.setUint16(8, list.length, true);
  tail.setUint16(10, list.length, true);
  tail.setUint32(
    12,
    list.reduce((sum, entry) => sum + entry.length, 0),
    true,
  );
  tail.setUint32(16, at, true);
  return Buffer.concat([...pieces, ...list, end]);
}
