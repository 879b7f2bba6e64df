import KDBush from 'kdbush';
import type { FeatureTable } from '../domain/feature-table.js';
import { varintLength, widened, writeVarint } from './byte-buffer.js';
import { type TileAddress, tileBuffer, tileExtent } from './matrix-set.js';
import { type Passing, passingOf } from './passing-points.js';
import { type ValueDictionary, valueDictionary } from './value-dictionary.js';
import { cellEnd, type Ranges, tileCount, tileRanges, type ZOrder, zOrder } from './z-order.js';

/** Which rows of a table are drawn: 1 in a mark for each row, or a test of the row number; null = all. */
export type RowFilter = Uint8Array | ((row: number) => boolean) | null;

/** A table ready to be drawn tile by tile. */
export interface TileSource {
  readonly layer: string;
  /** One layer of a Mapbox Vector Tile 2.1 file; no bytes at all when the tile is empty. */
  tile(address: TileAddress, filter?: RowFilter): Uint8Array;
}

export interface PointTileOptions {
  readonly layer: string;
  readonly table: FeatureTable;
  /** [2n] places of the rows in the unit square of the matrix set; NaN or outside = not drawn; left untouched */
  readonly unit: Float64Array;
  /** columns to write, in this order */
  readonly properties: readonly string[];
  /** levels below this draw one point for each 2 × 2 units; 0 = never thin */
  readonly thinBelowZoom?: number;
  /** property that says how many points a drawn one stands for */
  readonly countProperty?: string;
}

/**
 * Tiles with fewer points than this inside are searched in a k-d tree, which does not walk the strip around the tile;
 * the others along the Z-order, which has their inside in one piece. Measured on 10,000 finds at level 24: 0.008 ms a
 * tile instead of 0.018 ms; with 2000 in place of 300, tiles of level 20 took twice the time.
 */
const treeBelow = 300;

const noBytes = new Uint8Array(0);

/** Shared by all layers: one tile is written at a time, and its bytes are copied out at the end. */
const shared = {
  features: new Uint8Array(1 << 20),
  values: new Uint8Array(1 << 18),
  positions: new Uint32Array(1 << 12),
  counts: new Uint32Array(1 << 12),
  ranges: { pairs: new Uint32Array(1 << 8), length: 0 } as Ranges,
};

/**
 * Vector tiles of finds and other points, straight from the columns: values are turned into tile bytes once, and a
 * tile copies them.
 *
 * A tile holds the points with −64 ≤ unit < 4160 in both directions, before rounding; a coordinate is then rounded to
 * the nearest unit (a half goes up), so it is never off by more than half a unit (0.2 mm at level 24, latitude 45°).
 * Points near an edge are therefore in two tiles: count by id, never by adding up tiles.
 *
 * Below level 19 (`thinBelowZoom`) finds that share a square of 2 × 2 units are drawn as one of them, which carries
 * `finds_here`, the number it stands for; it misleads if read as one find. From level 19 on every find is drawn.
 *
 * Cost: n log n once; a tile costs what it draws.
 * @see Mapbox Vector Tile Specification 2.1
 */
export function pointTiles(options: PointTileOptions): TileSource {
  const { layer, table, unit, properties, thinBelowZoom = 19, countProperty = 'finds_here' } = options;
  if (unit.length !== 2 * table.length) throw new Error(`${unit.length} coordinates for ${table.length} rows`);
  if (properties.includes(countProperty)) throw new Error(`${countProperty} is the name of the count`);
  const order = zOrder(unit);
  const values = valueDictionary(table, order.rows, properties);
  let tree: KDBush | null = null;
  // one list of positions for each filter, dropped with it
  const passing = new WeakMap<Uint8Array, Passing>();
  const drawing: Drawing = {
    order,
    values,
    properties: properties.length,
    ids: Float64Array.from(order.rows, (row) => table.ids[row]),
    seen: new Uint32Array(2 * (values.starts.length - 1)),
    serial: 0,
    head: layerHead(layer, properties),
    thinnedHead: layerHead(layer, [...properties, countProperty]),
  };
  return {
    layer,
    tile(address, filter = null) {
      const thin = address.z < thinBelowZoom;
      let chosen: number;
      if (!thin && tileCount(order, address) < treeBelow) {
        tree ??= pointTree(order);
        chosen = chooseByTree(order, tree, address, filter);
      } else {
        tileRanges(order, address, shared.ranges);
        chosen = !thin
          ? choose(order, filter)
          : filter instanceof Uint8Array
            ? chooseThinnedMarks(order, address.z, passingOf(passing, order, filter))
            : chooseThinned(order, address.z, filter);
      }
      return chosen === 0 ? noBytes : draw(drawing, address, chosen, thin);
    },
  };
}

interface Drawing {
  readonly order: ZOrder;
  readonly values: ValueDictionary;
  readonly properties: number;
  /** [m] feature ids, by position */
  readonly ids: Float64Array;
  /** for each value: serial number of the last tile it went into, and its place in that tile's value list */
  readonly seen: Uint32Array;
  serial: number;
  readonly head: Uint8Array;
  readonly thinnedHead: Uint8Array;
}

/** Version, name, keys and extent of a layer. */
function layerHead(name: string, keys: readonly string[]): Uint8Array {
  const encoder = new TextEncoder();
  const parts: number[] = [0x78, 2];
  const text = (tag: number, utf8: Uint8Array) => {
    const length = new Uint8Array(5);
    const end = writeVarint(length, 0, utf8.length);
    parts.push(tag, ...length.subarray(0, end), ...utf8);
  };
  text(0x0a, encoder.encode(name));
  for (const key of keys) text(0x1a, encoder.encode(key));
  const extent = new Uint8Array(5);
  const end = writeVarint(extent, 0, tileExtent);
  parts.push(0x28, ...extent.subarray(0, end));
  return Uint8Array.from(parts);
}

function passes(filter: RowFilter, row: number): boolean {
  return filter === null || (typeof filter === 'function' ? filter(row) : filter[row] !== 0);
}

function reserveChosen(size: number): void {
  if (shared.positions.length >= size) return;
  shared.positions = new Uint32Array(size * 2);
  shared.counts = new Uint32Array(size * 2);
}

function rangeTotal(): number {
  const { pairs, length } = shared.ranges;
  let total = 0;
  for (let k = 0; k < length; k += 2) total += pairs[k + 1] - pairs[k];
  return total;
}

/** Lists the positions to draw. @returns how many */
function choose(order: ZOrder, filter: RowFilter): number {
  reserveChosen(rangeTotal());
  const { pairs, length } = shared.ranges;
  const { positions } = shared;
  let m = 0;
  for (let k = 0; k < length; k += 2) {
    for (let j = pairs[k]; j < pairs[k + 1]; j++) if (passes(filter, order.rows[j])) positions[m++] = j;
  }
  return m;
}

function pointTree(order: ZOrder): KDBush {
  const tree = new KDBush(order.u.length);
  for (let j = 0; j < order.u.length; j++) tree.add(order.u[j], order.v[j]);
  return tree.finish();
}

/** Lists the positions to draw, for a tile with few of them. @returns how many */
function chooseByTree(order: ZOrder, tree: KDBush, { z, x, y }: TileAddress, filter: RowFilter): number {
  const side = 2 ** z;
  const strip = tileBuffer / tileExtent;
  const east = (x + 1 + strip) / side;
  const south = (y + 1 + strip) / side;
  const found = tree.range((x - strip) / side, (y - strip) / side, east, south);
  reserveChosen(found.length);
  const { positions } = shared;
  let m = 0;
  for (const j of found) {
    // the tree's box takes its far edges in, a tile does not
    if (order.u[j] < east && order.v[j] < south && passes(filter, order.rows[j])) positions[m++] = j;
  }
  return m;
}

/** Lists one position for each square of 2 × 2 units, the first that passes, and how many it stands for. @returns how many */
function chooseThinned(order: ZOrder, z: number, filter: RowFilter): number {
  const { pairs, length } = shared.ranges;
  const level = z + Math.log2(tileExtent / 2);
  let m = 0;
  for (let k = 0; k < length; k += 2) {
    for (let a = pairs[k]; a < pairs[k + 1]; ) {
      const end = cellEnd(order, level, a, pairs[k + 1]);
      let first = a;
      let count = end - a;
      if (filter !== null) {
        count = 0;
        for (let j = end - 1; j >= a; j--) {
          if (!passes(filter, order.rows[j])) continue;
          first = j;
          count++;
        }
      }
      if (count > 0) {
        if (m === shared.positions.length) widenChosen(m);
        shared.positions[m] = first;
        shared.counts[m++] = count;
      }
      a = end;
    }
  }
  return m;
}

/** The same by lists made once: a filtered tile of a low level visits squares, not finds, as an unfiltered one does. */
function chooseThinnedMarks(order: ZOrder, z: number, { positions, before }: Passing): number {
  const { pairs, length } = shared.ranges;
  const level = z + Math.log2(tileExtent / 2);
  let m = 0;
  for (let k = 0; k < length; k += 2) {
    for (let at = before[pairs[k]]; at < before[pairs[k + 1]]; ) {
      const first = positions[at];
      const next = before[cellEnd(order, level, first, pairs[k + 1])];
      if (m === shared.positions.length) widenChosen(m);
      shared.positions[m] = first;
      shared.counts[m++] = next - at;
      at = next;
    }
  }
  return m;
}

function widenChosen(used: number): void {
  const { positions, counts } = shared;
  shared.positions = new Uint32Array(used * 2);
  shared.counts = new Uint32Array(used * 2);
  shared.positions.set(positions);
  shared.counts.set(counts);
}

/** Writes the layer of the first `chosen` positions listed in `shared`. */
function draw(drawing: Drawing, address: TileAddress, chosen: number, thin: boolean): Uint8Array {
  const { order, values, properties, ids, seen } = drawing;
  const { u, v } = order;
  const { codes, bytes: valueBytes, starts } = values;
  const { positions, counts } = shared;
  if (drawing.serial === 0xffffffff) {
    seen.fill(0);
    drawing.serial = 0;
  }
  const serial = ++drawing.serial;
  const scale = 2 ** address.z * tileExtent;
  const west = address.x * tileExtent;
  const north = address.y * tileExtent;
  // fixed parts, and each tag with a key of up to 3 bytes and a value number of up to 5
  const room = 64 + 8 * (properties + 1);
  const countSlots = new Map<number, number>();
  let buffer = shared.features;
  let list = shared.values;
  let o = 0;
  let listed = 0;
  let slots = 0;
  let tagsLengthSize = 1;
  let featureLengthSize = 1;

  for (let k = 0; k < chosen; k++) {
    const j = positions[k];
    if (o + room > buffer.length) buffer = widened(buffer, o, room);
    // exact before rounding: scaling by a power of two, then a difference of near numbers
    const px = Math.floor(u[j] * scale - west + 0.5);
    const py = Math.floor(v[j] * scale - north + 0.5);
    const zigzagX = px < 0 ? -2 * px - 1 : 2 * px;
    const zigzagY = py < 0 ? -2 * py - 1 : 2 * py;
    const id = ids[j];
    const idSize = id < 128 ? 1 : id < 16384 ? 2 : id < 2097152 ? 3 : varintLength(id);

    // the tags first, behind room for what comes before them: 1 + length, 1 + id, 1 + length of the tags
    const featureAt = o;
    let tagsAt = o + 3 + featureLengthSize + idSize + tagsLengthSize;
    o = tagsAt;
    for (let c = 0, at = j * properties; c < properties; c++, at++) {
      const code = codes[at];
      if (code === 0) continue;
      let slot: number;
      if (seen[2 * code] === serial) slot = seen[2 * code + 1];
      else {
        slot = slots++;
        seen[2 * code] = serial;
        seen[2 * code + 1] = slot;
        const end = starts[code + 1];
        const start = starts[code];
        if (listed + end - start > list.length) list = widened(list, listed, end - start);
        for (let q = start; q < end; q++) list[listed++] = valueBytes[q];
      }
      if (c < 128) buffer[o++] = c;
      else o = writeVarint(buffer, o, c);
      while (slot > 127) {
        buffer[o++] = (slot & 127) | 128;
        slot >>>= 7;
      }
      buffer[o++] = slot;
    }
    if (thin && counts[k] > 1) {
      o = writeVarint(buffer, o, properties);
      const count = counts[k];
      const code = values.smallNumbers.get(count) ?? 0;
      let slot = code !== 0 && seen[2 * code] === serial ? seen[2 * code + 1] : countSlots.get(count);
      if (slot === undefined) {
        slot = slots++;
        if (code !== 0) {
          seen[2 * code] = serial;
          seen[2 * code + 1] = slot;
        } else countSlots.set(count, slot);
        if (listed + 16 > list.length) list = widened(list, listed, 16);
        list[listed++] = 0x22;
        list[listed++] = 1 + varintLength(count);
        list[listed++] = 0x28;
        listed = writeVarint(list, listed, count);
      }
      o = writeVarint(buffer, o, slot);
    }

    const tagsSize = o - tagsAt;
    const geometrySize = 1 + (zigzagX > 127 ? 2 : 1) + (zigzagY > 127 ? 2 : 1);
    const tagsSizeSize = tagsSize < 128 ? 1 : varintLength(tagsSize);
    const tagsPart = tagsSize === 0 ? 0 : 1 + tagsSizeSize + tagsSize;
    const featureSize = 1 + idSize + tagsPart + 4 + geometrySize;
    const featureSizeSize = featureSize < 128 ? 1 : varintLength(featureSize);
    if (tagsSizeSize !== tagsLengthSize || featureSizeSize !== featureLengthSize) {
      // guessed from the feature before: rarely wrong
      const rightAt = featureAt + 3 + featureSizeSize + idSize + tagsSizeSize;
      buffer.copyWithin(rightAt, tagsAt, o);
      tagsAt = rightAt;
      tagsLengthSize = tagsSizeSize;
      featureLengthSize = featureSizeSize;
    }
    let h = featureAt;
    buffer[h++] = 0x12;
    h = writeVarint(buffer, h, featureSize);
    buffer[h++] = 0x08;
    h = writeVarint(buffer, h, id);
    if (tagsSize === 0) o = h;
    else {
      buffer[h++] = 0x12;
      writeVarint(buffer, h, tagsSize);
      o = tagsAt + tagsSize;
    }
    buffer[o++] = 0x18;
    buffer[o++] = 1;
    buffer[o++] = 0x22;
    buffer[o++] = geometrySize;
    buffer[o++] = 9;
    o = writeVarint(buffer, o, zigzagX);
    o = writeVarint(buffer, o, zigzagY);
  }
  shared.features = buffer;
  shared.values = list;
  return finishLayer(thin ? drawing.thinnedHead : drawing.head, buffer.subarray(0, o), list.subarray(0, listed));
}

function finishLayer(head: Uint8Array, features: Uint8Array, values: Uint8Array): Uint8Array {
  const size = head.length + features.length + values.length;
  const out = Buffer.allocUnsafeSlow(1 + varintLength(size) + size);
  out[0] = 0x1a;
  let at = writeVarint(out, 1, size);
  for (const part of [head, features, values]) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}
