import { surfacePlace } from '../import/bathymetry.js';
import type { SurfaceReader } from '../operations/survey-shelf.js';

/** Where a received surface lies, read from its GeoTIFF. */
export const readSurface: SurfaceReader = surfacePlace;
