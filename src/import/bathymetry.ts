import { fromArrayBuffer } from 'geotiff';
import { projectionOf } from '../domain/crs.js';
import { Problem } from '../problems.js';

/** What a bathymetry file says of itself. */
export interface BathymetryFacts {
  readonly columns: number;
  readonly rows: number;
  /** `EPSG:…` */
  readonly crs: string;
  /** the value that means "not surveyed"; null when none is declared */
  readonly noData: number | null;
}

/**
 * Looks into a bathymetry GeoTIFF: one band, a place, a known projected CRS. The cells are not read here.
 * @throws Problem bad-file when it cannot be read, has no place or more than one band; unknown-crs when its CRS is not known
 */
export async function bathymetryFacts(bytes: Uint8Array): Promise<BathymetryFacts> {
  const image = await readImage(bytes);
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
  if (!Number.isInteger(code) || code <= 0 || code === 32_767)
    throw new Problem('bad-file', 'names no projected CRS by its EPSG code; write it with one, such as EPSG:32626');
  const crs = `EPSG:${code}`;
  projectionOf(crs);
  return { columns: image.getWidth(), rows: image.getHeight(), crs, noData: image.getGDALNoData() };
}

/**
 * Where a surface of a site folder lies: west, south, east, north in its projected CRS.
 * @throws Problem bad-file, unknown-crs as `bathymetryFacts`
 */
export async function surfacePlace(bytes: Uint8Array): Promise<{ crs: string; box: [number, number, number, number] }> {
  const { crs } = await bathymetryFacts(bytes);
  const [west, south, east, north] = (await readImage(bytes)).getBoundingBox();
  return { crs, box: [west, south, east, north] };
}

async function readImage(bytes: Uint8Array) {
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
