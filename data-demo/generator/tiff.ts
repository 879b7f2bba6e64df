/** What an uncompressed single-band GeoTIFF of 32-bit floats holds; row 0 is the northernmost. */
export interface FloatRaster {
  readonly columns: number;
  readonly rows: number;
  /** outer west and north edge, metres of the projected CRS */
  readonly west: number;
  readonly north: number;
  readonly cellM: number;
  readonly epsg: number;
  readonly noData: number;
  readonly values: Float32Array;
}

interface Tag {
  readonly id: number;
  readonly type: 'ascii' | 'short' | 'long' | 'double';
  readonly values: readonly number[];
}

const typeCode = { ascii: 2, short: 3, long: 4, double: 12 } as const;
const typeSize = { ascii: 1, short: 2, long: 4, double: 8 } as const;
const rowsInStrip = 16;

/**
 * Bytes of a GeoTIFF, little-endian and uncompressed, so that they are the same with every version of a packer.
 * @see OGC 19-008r4, GeoTIFF 1.1
 */
export function floatTiff(raster: FloatRaster): Uint8Array {
  const { columns, rows, cellM } = raster;
  const strips = Math.ceil(rows / rowsInStrip);
  const stripBytes = (k: number) => 4 * columns * Math.min(rowsInStrip, rows - k * rowsInStrip);
  const numbers = Array.from({ length: strips }, (_, k) => k);
  const ascii = (text: string) => [...`${text}\0`].map((letter) => letter.charCodeAt(0));
  const tagsFor = (dataStart: number): Tag[] => [
    { id: 256, type: 'long', values: [columns] },
    { id: 257, type: 'long', values: [rows] },
    { id: 258, type: 'short', values: [32] },
    { id: 259, type: 'short', values: [1] },
    { id: 262, type: 'short', values: [1] },
    { id: 273, type: 'long', values: numbers.map((k) => dataStart + k * stripBytes(0)) },
    { id: 277, type: 'short', values: [1] },
    { id: 278, type: 'long', values: [rowsInStrip] },
    { id: 279, type: 'long', values: numbers.map(stripBytes) },
    { id: 284, type: 'short', values: [1] },
    { id: 339, type: 'short', values: [3] },
    { id: 33550, type: 'double', values: [cellM, cellM, 0] },
    { id: 33922, type: 'double', values: [0, 0, 0, raster.west, raster.north, 0] },
    // model type projected, raster type pixel is area, projected CRS by its EPSG code, metres
    {
      id: 34735,
      type: 'short',
      values: [1, 1, 1, 4, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, raster.epsg, 3076, 0, 1, 9001],
    },
    { id: 42113, type: 'ascii', values: ascii(String(raster.noData)) },
  ];
  const headBytes = directory(tagsFor(0)).byteLength;
  const head = directory(tagsFor(headBytes));
  const out = new Uint8Array(headBytes + 4 * columns * rows);
  out.set(head);
  const view = new DataView(out.buffer);
  raster.values.forEach((value, i) => {
    view.setFloat32(headBytes + 4 * i, value, true);
  });
  return out;
}

/** Header, directory and the values too long for it. */
function directory(tags: readonly Tag[]): Uint8Array {
  const bytesOf = (tag: Tag) => tag.values.length * typeSize[tag.type];
  const start = 8 + 2 + 12 * tags.length + 4;
  const aligned = (n: number) => Math.ceil(n / 8) * 8;
  let extra = aligned(start);
  const places = tags.map((tag) => {
    if (bytesOf(tag) <= 4) return 0;
    const at = extra;
    extra = aligned(extra + bytesOf(tag));
    return at;
  });
  const out = new Uint8Array(extra);
  const view = new DataView(out.buffer);
  out.set([0x49, 0x49, 42, 0, 8, 0, 0, 0]);
  view.setUint16(8, tags.length, true);
  tags.forEach((tag, i) => {
    const entry = 10 + 12 * i;
    view.setUint16(entry, tag.id, true);
    view.setUint16(entry + 2, typeCode[tag.type], true);
    view.setUint32(entry + 4, tag.values.length, true);
    if (places[i] > 0) view.setUint32(entry + 8, places[i], true);
    const at = places[i] || entry + 8;
    tag.values.forEach((value, k) => {
      const offset = at + k * typeSize[tag.type];
      if (tag.type === 'double') view.setFloat64(offset, value, true);
      else if (tag.type === 'long') view.setUint32(offset, value, true);
      else if (tag.type === 'short') view.setUint16(offset, value, true);
      else view.setUint8(offset, value);
    });
  });
  return out;
}
