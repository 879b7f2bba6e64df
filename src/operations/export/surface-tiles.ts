import { fromArrayBuffer, type GeoTIFFImage } from 'geotiff';
import type { GeoPackageSurface, GeoPackageSurfaceTile } from '../../storage/geopackage.js';
import { geotiff } from '../../tiles/geotiff.js';

/** One band of a surface file, along the axes of its CRS. */
export interface SurfaceBand {
  readonly title: string;
  readonly columns: number;
  readonly rows: number;
  readonly west: number;
  readonly north: number;
  readonly cellWidth: number;
  readonly cellHeight: number;
  /** code of its projected CRS; null when the file names none */
  readonly epsg: number | null;
  /** row by row from the north; NaN = no value */
  readonly values: Float32Array;
}

/**
 * The bands of a GeoTIFF of ours or of a received one.
 * @returns none when the surface is turned against the axes of its CRS: tiles cannot be
 */
export async function surfaceBands(bytes: Uint8Array): Promise<SurfaceBand[]> {
  // a copy: the reader wants a buffer of its own, and the bytes may be part of a larger one
  const tiff = await fromArrayBuffer(new Uint8Array(bytes).buffer);
  const image = await tiff.getImage();
  const place = placeOf(image);
  if (place === null) return [];
  const code = Number(image.getGeoKeys()?.['ProjectedCSTypeGeoKey']);
  const noData = image.getGDALNoData();
  const none = noData === null ? [] : [noData, Math.fround(noData)];
  const bands = (await image.readRasters()) as unknown as ArrayLike<number>[];
  return Array.from({ length: image.getSamplesPerPixel() }, (_, band) => ({
    ...place,
    title: band === 0 ? '' : 'standard deviation',
    columns: image.getWidth(),
    rows: image.getHeight(),
    epsg: Number.isInteger(code) && code > 0 && code !== 32_767 ? code : null,
    values: Float32Array.from(bands[band], (v) => (none.includes(v) || !Number.isFinite(v) ? Number.NaN : v)),
  }));
}

function placeOf(image: GeoTIFFImage): Pick<SurfaceBand, 'west' | 'north' | 'cellWidth' | 'cellHeight'> | null {
  if (image.fileDirectory.hasTag('ModelTransformation')) return null;
  const [x, y] = image.getOrigin();
  const [stepX, stepY] = image.getResolution();
  if (!(stepX > 0 && stepY < 0)) return null;
  // GTRasterTypeGeoKey 2: the tie point is the middle of a cell, not its corner
  const half = Number(image.getGeoKeys()?.['GTRasterTypeGeoKey']) === 2 ? 0.5 : 0;
  return { west: x - half * stepX, north: y - half * stepY, cellWidth: stepX, cellHeight: -stepY };
}

const tileCells = 256;
/** exact as 32-bit number, and no elevation */
const noData = -99_999;

/** A band as the tiles of a gridded coverage; empty cells carry a number, since tiles may hold no NaN. */
export function gridded(
  band: SurfaceBand,
  given: Pick<GeoPackageSurface, 'name' | 'title' | 'description' | 'unit' | 'referenceId'>,
): GeoPackageSurface {
  const { columns, rows, west, north, cellWidth, cellHeight } = band;
  return { ...given, columns, rows, west, north, cellWidth, cellHeight, tileCells, noData, tiles: tilesOf(band) };
}

function* tilesOf(band: SurfaceBand): Generator<GeoPackageSurfaceTile> {
  for (let row = 0; row * tileCells < band.rows; row++) {
    for (let column = 0; column * tileCells < band.columns; column++) yield tileOf(band, column, row);
  }
}

function tileOf(band: SurfaceBand, column: number, row: number): GeoPackageSurfaceTile {
  const values = new Float32Array(tileCells * tileCells).fill(noData);
  let [count, mean, squares] = [0, 0, 0];
  let [minimum, maximum] = [Infinity, -Infinity];
  for (let r = 0; r < tileCells && row * tileCells + r < band.rows; r++) {
    for (let c = 0; c < tileCells && column * tileCells + c < band.columns; c++) {
      const value = band.values[(row * tileCells + r) * band.columns + column * tileCells + c];
      if (Number.isNaN(value)) continue;
      values[r * tileCells + c] = value;
      minimum = Math.min(minimum, value);
      maximum = Math.max(maximum, value);
      count++;
      // Welford's running mean and squares: elevations are large against their spread
      const away = value - mean;
      mean += away / count;
      squares += away * (value - mean);
    }
  }
  const frame = { corner: [0, 0], columnStep: [1, 0], rowStep: [0, -1] } as const;
  const raster = {
    ...frame,
    title: '',
    unit: '',
    columns: tileCells,
    rows: tileCells,
    space: 'projected',
    values,
  } as const;
  const known = <T>(value: T): T | null => (count === 0 ? null : value);
  return {
    column,
    row,
    tiff: geotiff(raster, { ...frame, epsg: null }),
    minimum: known(minimum),
    maximum: known(maximum),
    mean: known(mean),
    standardDeviation: known(Math.sqrt(squares / count)),
  };
}
