import { exponential } from '../../src/math/elementary.js';
import { seabedBefore } from './deposit.js';
import { normal, subject } from './deviates.js';
import { fromProjected, gridSize, toProjected } from './grids.js';
import { zeroBelowSeaM } from './levels.js';
import { halfBreadth, keelsonLengthM, shipCoordinates } from './ship.js';
import { floatTiff } from './tiff.js';

/** The seabed round the wreck as a survey vessel saw it: elevation to mean sea level on half-metre cells. */
export const bathymetry = { columns: 480, rows: 400, cellM: 0.5, noData: -9999, uncertaintyM: 0.25 } as const;
/** The pit the current scoured round the wreck: deepest at this distance from the hull. */
export const scour = { depthM: 0.55, distanceM: 6, widthM: 2.4 } as const;
export const sandWaves = { heightM: 0.5, lengthM: 17, crestTowardsDeg: 75 } as const;

/** West and north edge of the raster, metres: whole half metres round the middle of the grid. */
export function bathymetryCorner(): readonly [number, number] {
  const [easting, northing] = toProjected([gridSize.columns / 2, gridSize.rows / 2]);
  const { columns, rows, cellM } = bathymetry;
  const snap = (v: number) => Math.round(v / cellM) * cellM;
  return [snap(easting - (columns * cellM) / 2), snap(northing + (rows * cellM) / 2)];
}

function distanceToHull(x: number, y: number): number {
  const { along, off } = shipCoordinates(x, y);
  const at = Math.max(0, Math.min(keelsonLengthM, along));
  const aside = Math.max(0, Math.abs(off) - halfBreadth(at));
  return Math.sqrt((along - at) * (along - at) + aside * aside);
}

/** Elevation to mean sea level without noise; x, y in first-grid metres, also far outside the grid. */
export function seabedElevation(x: number, y: number): number {
  const nearX = Math.max(0, Math.min(gridSize.columns, x));
  const nearY = Math.max(0, Math.min(gridSize.rows, y));
  // beyond the grid the ledge flattens out: the slope runs on for a while and then less and less
  const onwards = (v: number, near: number) => near + (v - near) / Math.sqrt(1 + ((v - near) / 40) * ((v - near) / 40));
  const farX = onwards(x, nearX);
  const farY = onwards(y, nearY);
  const ledge = seabedBefore(nearX, nearY) - 0.035 * (farX - nearX) + 0.039 * (farY - nearY);
  const away = distanceToHull(x, y);
  const ring = (away - scour.distanceM) / scour.widthM;
  const direction = (sandWaves.crestTowardsDeg * Math.PI) / 180;
  const phase = (2 * Math.PI * (x * Math.sin(direction) + y * Math.cos(direction))) / sandWaves.lengthM;
  // no sand waves on the wreck and in its lee of gravel
  const free = 1 - exponential(-(away / 14) * (away / 14));
  const waves = 0.5 * sandWaves.heightM * free * (Math.sin(phase) + 0.25 * Math.sin(2 * phase + 0.6));
  return ledge - zeroBelowSeaM - scour.depthM * exponential(-ring * ring) + waves;
}

/** bathymetry.tif. Two corners of the survey were not covered. */
export function bathymetryTiff(): Uint8Array {
  const random = subject('bathymetry');
  const { columns, rows, cellM, noData, uncertaintyM } = bathymetry;
  const [west, north] = bathymetryCorner();
  const values = new Float32Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const [x, y] = fromProjected([west + (c + 0.5) * cellM, north - (r + 0.5) * cellM]);
      // half of the stated 95 % is shared by the whole survey; what differs from cell to cell is smaller
      const noise = 0.25 * uncertaintyM * normal(random);
      const covered = c + r >= 46 && columns - c + (rows - r) >= 34;
      values[r * columns + c] = covered ? Math.round((seabedElevation(x, y) + noise) * 100) / 100 : noData;
    }
  }
  return floatTiff({ columns, rows, west, north, cellM, epsg: 32626, noData, values });
}
