import { fromArrayBuffer, type GeoTIFFImage } from 'geotiff';
import { projectionOf } from '../domain/crs.js';
import type { BathymetryRecord, CsvForm } from '../domain/site.js';
import { type CellRaster, widerCells } from '../math/cell-raster.js';
import type { Box } from '../math/rings.js';
import { soundingsBox, soundingsIn, soundingsRaster } from '../math/soundings-raster.js';
import { Problem } from '../problems.js';
import { isSoundings } from './site-file.js';
import { readSoundings } from './soundings.js';

/** What a bathymetry GeoTIFF says of itself. */
export interface BathymetryFacts {
  readonly columns: number;
  readonly rows: number;
  /** `EPSG:…`, or as stated in site.json where the file names none */
  readonly crs: string;
  /** the value that means "not surveyed"; null when none is declared */
  readonly noData: number | null;
}

/** How a bathymetry is to be read. */
export interface SurfaceRequest {
  readonly stated: BathymetryRecord;
  readonly csv: CsvForm;
  /** of a surface with more than `mostCells` cells only this part is read; null = all of it, in the file's CRS */
  readonly near: ((crs: string) => Box) | null;
  readonly mostCells: number;
}

/** A bathymetry as read. */
export interface SurfaceContents {
  readonly crs: string;
  /** west, south, east, north of the whole surface in its projected CRS */
  readonly box: Box;
  /** elevations up-positive in the surface's own vertical datum, metres of its CRS; worked out when first asked for */
  cells(): CellRaster;
}

/**
 * Looks into a bathymetry GeoTIFF: one band, a place, a known projected CRS. The cells are not read here.
 * @param stated  CRS that site.json states; null = the file must name its own
 * @throws Problem bad-file when it cannot be read, has no place, more than one band or another CRS than stated;
 *   unknown-crs when its CRS is not known
 */
export async function bathymetryFacts(bytes: Uint8Array, stated: string | null = null): Promise<BathymetryFacts> {
  return factsOf(await readImage(bytes), stated);
}

function factsOf(image: GeoTIFFImage, stated: string | null): BathymetryFacts {
  const bands = image.getSamplesPerPixel();
  if (bands !== 1) throw new Problem('bad-file', `has ${bands} bands; a bathymetry has one`);
  let placed = true;
  try {
    image.getOrigin();
    image.getResolution();
  } catch {
    placed = false;
  }
  if (!placed) throw new Problem('bad-file', 'has no place on the map (no tie point and cell size)');
  const code = Number(image.getGeoKeys()?.['ProjectedCSTypeGeoKey']);
  const isNamed = Number.isInteger(code) && code > 0 && code !== 32_767;
  if (!isNamed && stated === null)
    throw new Problem('bad-file', 'names no projected CRS by its EPSG code; write it with one, such as EPSG:32626');
  const crs = isNamed ? `EPSG:${code}` : (stated as string);
  const { epsg } = projectionOf(crs);
  const statedEpsg = stated === null ? null : projectionOf(stated).epsg;
  if (isNamed && statedEpsg !== null && statedEpsg !== epsg)
    throw new Problem('bad-file', `is in ${crs}, but site.json says ${stated} (bathymetry.crs)`);
  return { columns: image.getWidth(), rows: image.getHeight(), crs, noData: image.getGDALNoData() };
}

/**
 * Checks a bathymetry of a site folder on its way in.
 * @throws Problem bad-file, unknown-crs
 */
export async function checkBathymetry(
  bytes: Uint8Array,
  request: Pick<SurfaceRequest, 'stated' | 'csv'>,
): Promise<void> {
  const { stated } = request;
  if (!isSoundings(stated.file)) {
    await bathymetryFacts(bytes, stated.crs);
    return;
  }
  const { x, y } = soundingsOf(bytes, request);
  const turned = (i: number, j: number) => (x[i] - x[0]) * (y[j] - y[0]) - (y[i] - y[0]) * (x[j] - x[0]);
  const other = x.findIndex((v, i) => Math.hypot(v - x[0], y[i] - y[0]) > 1e-3);
  if (other < 0 || !x.some((_, i) => Math.abs(turned(other, i)) > 1e-6))
    throw new Problem('bad-file', 'has all its soundings on one line; a seabed needs some beside it');
}

/**
 * Reads a bathymetry: where it lies, and its elevations on cells.
 * @throws Problem bad-file, unknown-crs
 */
export async function surfaceContents(bytes: Uint8Array, request: SurfaceRequest): Promise<SurfaceContents> {
  return isSoundings(request.stated.file) ? soundingsContents(bytes, request) : geotiffContents(bytes, request);
}

function soundingsOf(bytes: Uint8Array, { stated, csv }: Pick<SurfaceRequest, 'stated' | 'csv'>) {
  return readSoundings(bytes, { dialect: /\.csv$/i.test(stated.file) ? csv : null, sign: stated.sign });
}

function soundingsContents(bytes: Uint8Array, request: SurfaceRequest): SurfaceContents {
  const { crs } = request.stated;
  // site.json was checked when the folder was imported
  if (crs === null) throw new Error('soundings without a CRS');
  const soundings = soundingsOf(bytes, request);
  let made: CellRaster | null = null;
  return {
    crs,
    box: soundingsBox(soundings),
    cells() {
      const isLarge = request.near !== null && soundings.x.length > request.mostCells;
      made ??= soundingsRaster(isLarge ? soundingsIn(soundings, request.near(crs)) : soundings, request.mostCells);
      // none of them near the site: a raster of one cell without a value
      made ??= { columns: 1, rows: 1, corner: [0, 0], columnStep: [1, 0], rowStep: [0, -1], values: [Number.NaN] };
      return made;
    },
  };
}

async function geotiffContents(bytes: Uint8Array, request: SurfaceRequest): Promise<SurfaceContents> {
  const image = await readImage(bytes);
  const { columns, rows, crs, noData } = factsOf(image, request.stated.crs);
  const whole = placementOf(image);
  const [left, top, right, bottom] =
    request.near !== null && columns * rows > request.mostCells
      ? cellsIn({ ...whole, columns, rows }, request.near(crs))
      : [0, 0, columns, rows];
  const read = (await image.readRasters({ window: [left, top, right, bottom], interleave: true })) as ArrayLike<number>;
  const up = request.stated.sign === 'elevation_up_positive' ? 1 : -1;
  // a 32-bit file holds its "not surveyed" value rounded to 32 bits
  const none = noData === null ? [] : [noData, Math.fround(noData)];
  const values = Float64Array.from(read, (v) => (none.includes(v) ? Number.NaN : up * v + 0));
  const at = (column: number, row: number) =>
    [0, 1].map((k) => whole.corner[k] + column * whole.columnStep[k] + row * whole.rowStep[k]) as [number, number];
  const cells = { ...whole, columns: right - left, rows: bottom - top, corner: at(left, top), values };
  const raster = widerCells(cells, Math.ceil(Math.sqrt(values.length / request.mostCells)));
  const corners = [at(0, 0), at(columns, 0), at(columns, rows), at(0, rows)];
  const along = (k: 0 | 1) => corners.map((corner) => corner[k]);
  return {
    crs,
    box: [Math.min(...along(0)), Math.min(...along(1)), Math.max(...along(0)), Math.max(...along(1))],
    cells: () => raster,
  };
}

interface Placement {
  readonly corner: readonly [number, number];
  readonly columnStep: readonly [number, number];
  readonly rowStep: readonly [number, number];
}

/** Outer corner of the first cell and the steps of one column and one row. */
function placementOf(image: GeoTIFFImage): Placement {
  const [x, y] = image.getOrigin();
  const [stepX, stepY] = image.getResolution();
  const turned = image.fileDirectory.hasTag('ModelTransformation')
    ? (image.fileDirectory.getValue('ModelTransformation') as ArrayLike<number> | undefined)
    : undefined;
  const columnStep: [number, number] = turned ? [turned[0], turned[4]] : [stepX, 0];
  const rowStep: [number, number] = turned ? [turned[1], turned[5]] : [0, stepY];
  // GTRasterTypeGeoKey 2: the tie point is the middle of a cell, not its corner
  const half = Number(image.getGeoKeys()?.['GTRasterTypeGeoKey']) === 2 ? 0.5 : 0;
  return {
    corner: [x - half * (columnStep[0] + rowStep[0]), y - half * (columnStep[1] + rowStep[1])],
    columnStep,
    rowStep,
  };
}

/** Columns and rows that a box touches: left, top, right, bottom, the last two beyond it; at least one cell. */
function cellsIn(
  { corner, columnStep: c, rowStep: r, columns, rows }: Placement & { columns: number; rows: number },
  [west, south, east, north]: Box,
): [number, number, number, number] {
  const turn = c[0] * r[1] - c[1] * r[0];
  const steps = [
    [west, south],
    [east, south],
    [east, north],
    [west, north],
  ].map(([x, y]) => {
    const [dx, dy] = [x - corner[0], y - corner[1]];
    return [(dx * r[1] - dy * r[0]) / turn, (dy * c[0] - dx * c[1]) / turn];
  });
  const range = (k: 0 | 1, most: number): [number, number] => {
    const from = Math.min(most - 1, Math.max(0, Math.floor(Math.min(...steps.map((s) => s[k])))));
    const to = Math.min(most, Math.max(from + 1, Math.ceil(Math.max(...steps.map((s) => s[k])))));
    return [from, to];
  };
  const [left, right] = range(0, columns);
  const [top, bottom] = range(1, rows);
  return [left, top, right, bottom];
}

async function readImage(bytes: Uint8Array): Promise<GeoTIFFImage> {
  try {
    // a copy: the reader wants a buffer of its own, and the bytes may be part of a larger one
    const tiff = await fromArrayBuffer(new Uint8Array(bytes).buffer);
    return await tiff.getImage();
  } catch (error) {
    throw new Problem(
      'bad-file',
      `cannot be read as GeoTIFF: ${error instanceof Error ? error.message : String(error)}`,
    );
  }
}
