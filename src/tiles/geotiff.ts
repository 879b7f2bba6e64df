import type { Raster } from '../domain/raster.js';
import { Problem } from '../problems.js';

/** Where a raster lies in a projected CRS; the steps as in Raster, but in metres of that CRS. */
export interface RasterPlacement {
  /** null = a CRS without EPSG code: the file tells its coordinates in metres, but not what they refer to */
  readonly epsg: number | null;
  /** north-west outer corner, easting and northing */
  readonly corner: readonly [number, number];
  readonly columnStep: readonly [number, number];
  readonly rowStep: readonly [number, number];
}

type FieldType = 'ascii' | 'short' | 'long' | 'double';
const fieldTypes = {
  ascii: { code: 2, size: 1 },
  short: { code: 3, size: 2 },
  long: { code: 4, size: 4 },
  double: { code: 12, size: 8 },
} as const;

interface Entry {
  readonly tag: number;
  readonly type: FieldType;
  readonly values: readonly number[];
}

const stripBytes = 64 * 1024;
/** A step counts as running along an axis when it strays by less than a millionth of a cell over the whole raster. */
const axisSlack = 1e-6;

/**
 * A surface as a GeoTIFF that every GIS desktop reads: 32-bit floating point, cells as areas, no compression, the
 * same bytes for the same surface. Cells without a value are NaN, and the file says so (GDAL_NODATA `nan`).
 *
 * A surface that knows its own error carries the standard deviation as a second band; one that reaches beyond the
 * ground that was levelled says in a last band where it does.
 *
 * A surface turned against the axes of its CRS carries a full transformation; some viewers draw it unturned.
 * @throws Problem too-much-work when the file would pass 4 GiB
 * @see OGC GeoTIFF 1.1 (OGC 19-008r4); TIFF 6.0
 */
export function geotiff(raster: Raster, placement: RasterPlacement): Uint8Array {
  const { columns, rows } = raster;
  const bands = bandsOf(raster).map((band) => band.values);
  for (const band of bands) {
    if (band.length !== columns * rows) throw new Error(`${band.length} cells for ${columns} × ${rows}`);
  }
  const rowBytes = 4 * columns;
  const rowsPerStrip = Math.max(1, Math.min(rows, Math.floor(stripBytes / rowBytes)));
  const strips = Math.ceil(rows / rowsPerStrip);
  const bandBytes = rowBytes * rows;
  const dataBytes = bandBytes * bands.length;
  if (dataBytes + 64 * strips * bands.length + 65536 > 2 ** 32) {
    throw new Problem(
      'too-much-work',
      `a raster of ${columns} × ${rows} cells needs more than the 4 GiB a GeoTIFF can hold; ask for larger cells`,
      { columns, rows },
    );
  }
  const stripSizes = Array.from(
    { length: strips },
    (_, s) => rowBytes * Math.min(rowsPerStrip, rows - s * rowsPerStrip),
  );
  const perBand = <T>(value: T): T[] => bands.map(() => value);
  const entries = (firstStrip: number): Entry[] => [
    { tag: 256, type: 'long', values: [columns] },
    { tag: 257, type: 'long', values: [rows] },
    { tag: 258, type: 'short', values: perBand(32) },
    // uncompressed, 0 = black
    { tag: 259, type: 'short', values: [1] },
    { tag: 262, type: 'short', values: [1] },
    {
      tag: 273,
      type: 'long',
      values: bands.flatMap((_, b) =>
        Array.from({ length: strips }, (_, s) => firstStrip + b * bandBytes + s * rowBytes * rowsPerStrip),
      ),
    },
    { tag: 277, type: 'short', values: [bands.length] },
    { tag: 278, type: 'long', values: [rowsPerStrip] },
    { tag: 279, type: 'long', values: bands.flatMap(() => stripSizes) },
    // one band after the other
    { tag: 284, type: 'short', values: [bands.length > 1 ? 2 : 1] },
    // bands beyond the first are data of their own, no transparency
    ...(bands.length > 1 ? [{ tag: 338, type: 'short' as const, values: bands.slice(1).map(() => 0) }] : []),
    // floating point
    { tag: 339, type: 'short', values: perBand(3) },
    ...placementEntries(raster, placement),
    { tag: 42112, type: 'ascii', values: text(bandMetadata(bandsOf(raster))) },
    { tag: 42113, type: 'ascii', values: text('nan') },
  ];
  // the sizes do not depend on where the strips begin
  const headBytes = directory(entries(0)).length;
  const out = new Uint8Array(headBytes + dataBytes);
  out.set(directory(entries(headBytes)));
  const view = new DataView(out.buffer, headBytes);
  bands.forEach((band, b) => {
    for (let k = 0; k < band.length; k++) view.setFloat32(b * bandBytes + 4 * k, band[k], true);
  });
  return out;
}

function text(value: string): number[] {
  return [...new TextEncoder().encode(value), 0];
}

/** Header and one image directory; values longer than four bytes follow it, each on an even byte. */
function directory(entries: readonly Entry[]): Uint8Array {
  const start = 8;
  let at = start + 2 + 12 * entries.length + 4;
  const places = entries.map(({ type, values }) => {
    const size = fieldTypes[type].size * values.length;
    if (size <= 4) return null;
    const place = at;
    at += size + (size % 2);
    return place;
  });
  // cells begin on a multiple of eight
  const out = new Uint8Array(Math.ceil(at / 8) * 8);
  const view = new DataView(out.buffer);
  out.set([0x49, 0x49, 42, 0]);
  view.setUint32(4, start, true);
  view.setUint16(start, entries.length, true);
  entries.forEach(({ tag, type, values }, k) => {
    const entryAt = start + 2 + 12 * k;
    view.setUint16(entryAt, tag, true);
    view.setUint16(entryAt + 2, fieldTypes[type].code, true);
    view.setUint32(entryAt + 4, values.length, true);
    const place = places[k];
    if (place !== null) view.setUint32(entryAt + 8, place, true);
    const valuesAt = place ?? entryAt + 8;
    values.forEach((value, i) => {
      const valueAt = valuesAt + i * fieldTypes[type].size;
      if (type === 'ascii') view.setUint8(valueAt, value);
      else if (type === 'short') view.setUint16(valueAt, value, true);
      else if (type === 'long') view.setUint32(valueAt, value, true);
      else view.setFloat64(valueAt, value, true);
    });
  });
  return out;
}

/** Where the raster lies: pixel size and tie point when it runs along the axes, else the whole transformation. */
function placementEntries(raster: Raster, { epsg, corner, columnStep, rowStep }: RasterPlacement): Entry[] {
  const [east, north] = corner;
  const upright =
    columnStep[0] > 0 &&
    rowStep[1] < 0 &&
    Math.abs(columnStep[1]) * raster.columns < axisSlack * columnStep[0] &&
    Math.abs(rowStep[0]) * raster.rows < axisSlack * -rowStep[1];
  const where: Entry[] = upright
    ? [
        { tag: 33550, type: 'double', values: [columnStep[0], -rowStep[1], 0] },
        { tag: 33922, type: 'double', values: [0, 0, 0, east, north, 0] },
      ]
    : [
        {
          tag: 34264,
          type: 'double',
          values: [columnStep[0], rowStep[0], 0, east, columnStep[1], rowStep[1], 0, north, 0, 0, 0, 0, 0, 0, 0, 1],
        },
      ];
  // GTModelTypeGeoKey: projected; GTRasterTypeGeoKey: cells are areas; ProjectedCSTypeGeoKey, 32767 = not in the
  // register; ProjLinearUnitsGeoKey: metres
  const keys = [
    [1024, 1],
    [1025, 1],
    [3072, epsg ?? 32767],
    [3076, 9001],
  ];
  return [
    ...where,
    {
      tag: 34735,
      type: 'short',
      values: [1, 1, 0, keys.length, ...keys.flatMap(([key, value]) => [key, 0, 1, value])],
    },
  ];
}

interface Band {
  readonly title: string;
  readonly unit: string;
  readonly values: Float32Array;
}

function bandsOf({ title, unit, values, sigma, beyond }: Raster): Band[] {
  return [
    { title, unit, values },
    ...(sigma ? [{ title: `${title}: standard deviation`, unit, values: sigma }] : []),
    ...(beyond
      ? [{ title: '1 where the value lies beyond the ground that was levelled', unit: '1', values: beyond }]
      : []),
  ];
}

/**
 * Titles and units of the bands, in the place where GDAL keeps them. GDAL escapes such texts before it makes XML of
 * them, so they are escaped twice.
 */
function bandMetadata(bands: readonly Band[]): string {
  const escaped = (value: string) =>
    value.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
  const items = bands.map(
    ({ title, unit }, sample) => `
  <Item name="DESCRIPTION" sample="${sample}" role="description">${escaped(escaped(title))}</Item>
  <Item name="UNITTYPE" sample="${sample}" role="unittype">${escaped(escaped(unit))}</Item>`,
  );
  return `<GDALMetadata>${items.join('')}
</GDALMetadata>`;
}
