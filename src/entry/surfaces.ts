import { surfaceContents } from '../import/bathymetry.js';
import type { SurfaceReader } from '../operations/survey-shelf.js';

/** Where a received surface lies and how high it stands, read from its GeoTIFF or its soundings. */
export const readSurface: SurfaceReader = surfaceContents;
