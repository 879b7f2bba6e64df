import { gzipSync } from 'node:zlib';
import type { Box } from '../math/rings.js';
import { writeVarint } from './byte-buffer.js';
import type { TileAddress } from './matrix-set.js';

/** Where the bytes of one tile, or of several equal ones in a row, lie in the tile data. */
export interface TileEntry {
  /** number of the first tile along the curve */
  readonly id: number;
  readonly offset: number;
  readonly length: number;
  /** tiles in a row that have these bytes; 0 = the entry names a further directory */
  readonly run: number;
}

/** What an archive says of itself. */
export interface ArchiveFacts {
  readonly entries: readonly TileEntry[];
  /** bytes of tile data */
  readonly dataBytes: number;
  /** different tiles among them */
  readonly contents: number;
  readonly minZoom: number;
  readonly maxZoom: number;
  /** west, south, east, north, degrees */
  readonly bounds: Box;
  readonly centerZoom: number;
  readonly metadata: Readonly<Record<string, unknown>>;
}

const headerBytes = 127;
/** The header and the first directory must be had with one request of this size. */
const firstRequestBytes = 16_384;
const entriesPerLeaf = 4096;

/** Number of a tile: all tiles of the levels above come first, then along the Hilbert curve of its own level. */
export function tileNumber({ z, x, y }: TileAddress): number {
  let number = (4 ** z - 1) / 3;
  let [column, row] = [x, y];
  for (let side = 2 ** z / 2; side >= 1; side /= 2) {
    const right = (column & side) > 0 ? 1 : 0;
    const lower = (row & side) > 0 ? 1 : 0;
    number += side * side * ((3 * right) ^ lower);
    if (lower === 0) {
      if (right === 1) {
        column = side - 1 - column;
        row = side - 1 - row;
      }
      [column, row] = [row, column];
    }
  }
  return number;
}

/** Bytes packed by gzip, the same on every system: the byte that names the system is set to "unknown". */
export function packed(bytes: Uint8Array): Uint8Array {
  const out = gzipSync(bytes, { level: 9 });
  out[9] = 255;
  return out;
}

function directory(entries: readonly TileEntry[]): Uint8Array {
  const out = new Uint8Array(10 + 40 * entries.length);
  let at = writeVarint(out, 0, entries.length);
  let before = 0;
  for (const { id } of entries) {
    at = writeVarint(out, at, id - before);
    before = id;
  }
  for (const { run } of entries) at = writeVarint(out, at, run);
  for (const { length } of entries) at = writeVarint(out, at, length);
  entries.forEach(({ offset }, i) => {
    const last = entries[i - 1];
    const follows = last !== undefined && offset === last.offset + last.length;
    at = writeVarint(out, at, follows ? 0 : offset + 1);
  });
  return packed(out.subarray(0, at));
}

/** The first directory, and the further ones it names when one would not fit into the first request. */
function directories(entries: readonly TileEntry[]): { root: Uint8Array; leaves: Uint8Array } {
  const whole = directory(entries);
  if (whole.length <= firstRequestBytes - headerBytes) return { root: whole, leaves: new Uint8Array(0) };
  for (let size = entriesPerLeaf; ; size *= 2) {
    const parts: Uint8Array[] = [];
    const named: TileEntry[] = [];
    let offset = 0;
    for (let k = 0; k < entries.length; k += size) {
      const leaf = directory(entries.slice(k, k + size));
      named.push({ id: entries[k].id, offset, length: leaf.length, run: 0 });
      parts.push(leaf);
      offset += leaf.length;
    }
    const root = directory(named);
    if (root.length <= firstRequestBytes - headerBytes) return { root, leaves: Buffer.concat(parts) };
  }
}

/**
 * Everything of a PMTiles archive that stands before its tile data: header, directories, metadata. Tiles are vector
 * tiles packed by gzip, in the order of their numbers.
 * @see PMTiles Version 3 Specification
 */
export function archiveHead(facts: ArchiveFacts): Uint8Array {
  const { root, leaves } = directories(facts.entries);
  const metadata = packed(new TextEncoder().encode(JSON.stringify(facts.metadata)));
  const header = Buffer.alloc(headerBytes);
  header.write('PMTiles', 0, 'latin1');
  header[7] = 3;
  const large = (value: number, at: number) => header.writeBigUInt64LE(BigInt(value), at);
  let offset = headerBytes;
  [root, metadata, leaves].forEach((part, i) => {
    large(offset, 8 + 16 * i);
    large(part.length, 16 + 16 * i);
    offset += part.length;
  });
  large(offset, 56);
  large(facts.dataBytes, 64);
  large(
    facts.entries.reduce((sum, entry) => sum + entry.run, 0),
    72,
  );
  large(facts.entries.length, 80);
  large(facts.contents, 88);
  // in order of the curve; directories and tiles packed by gzip; vector tiles
  header.set([1, 2, 2, 1, facts.minZoom, facts.maxZoom], 96);
  const degrees = (value: number, at: number) => header.writeInt32LE(Math.round(value * 1e7), at);
  facts.bounds.forEach((value, i) => {
    degrees(value, 102 + 4 * i);
  });
  header[118] = facts.centerZoom;
  degrees((facts.bounds[0] + facts.bounds[2]) / 2, 119);
  degrees((facts.bounds[1] + facts.bounds[3]) / 2, 123);
  return Buffer.concat([header, root, metadata, leaves]);
}

/** Collects tiles in the order of their numbers; equal ones are kept once, equal neighbours are one entry. */
export class TileCollector {
  readonly entries: TileEntry[] = [];
  dataBytes = 0;
  readonly #places = new Map<string, { readonly offset: number; readonly length: number }>();

  get contents(): number {
    return this.#places.size;
  }

  /**
   * @param key  tells tiles apart by their bytes, such as a hash
   * @returns whether these bytes are new and have to be appended to the tile data
   */
  add(id: number, key: string, length: number): boolean {
    const known = this.#places.get(key);
    const place = known ?? { offset: this.dataBytes, length };
    if (!known) {
      this.#places.set(key, place);
      this.dataBytes += length;
    }
    const last = this.entries[this.entries.length - 1];
    if (last && last.offset === place.offset && last.id + last.run === id) {
      this.entries[this.entries.length - 1] = { ...last, run: last.run + 1 };
    } else this.entries.push({ id, ...place, run: 1 });
    return !known;
  }
}
