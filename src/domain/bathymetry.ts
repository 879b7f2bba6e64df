import { type CellRaster, readRaster } from '../math/cell-raster.js';
import { type SurveyOrder, sigmasOf95, totalVerticalUncertaintyM } from '../math/vertical-uncertainty.js';
import type { GridFrame } from './grid.js';
import type { BathymetryRecord, Site } from './site.js';

/** What is stated of the error of a bathymetry: one standard deviation, or the order of survey it kept. */
export type BathymetryError = { readonly sigmaM: number } | { readonly order: SurveyOrder };

/**
 * The seabed around a site as surveyed from the surface of the sea. Never as sure as levels taken on the site: wherever
 * the two meet, the combined error is told.
 */
export interface Bathymetry {
  /** elevations up-positive in its own vertical datum, on cells in metres of the first grid; worked out when first asked for */
  cells(): CellRaster;
  readonly verticalDatum: string;
  readonly error: BathymetryError;
  /** the error in words, as stated */
  readonly errorInWords: string;
  /** elevation of the site's zero in the datum of the bathymetry, and its error (null = not stated); null = no tie is known */
  readonly tie: { readonly offsetM: number; readonly sigmaM: number | null } | null;
}

/** A bathymetry read at places, all [n]; NaN = not surveyed there. */
export interface ReadBathymetry {
  /** elevation in the bathymetry's own datum */
  readonly own: Float64Array;
  /** in the site's vertical datum; NaN everywhere without a tie */
  readonly elevation: Float64Array;
  /** standard deviation of the survey alone */
  readonly surveySigma: Float64Array;
  /** of survey and tie together */
  readonly sigma: Float64Array;
}

/** The error of a bathymetry from what site.json states. */
export function bathymetryError(stated: BathymetryRecord): { error: BathymetryError; words: string } {
  if (stated.iho_order !== null)
    return { error: { order: stated.iho_order }, words: `IHO S-44 order ${stated.iho_order}` };
  if (stated.sigma_m !== null) return { error: { sigmaM: stated.sigma_m }, words: `σ ${stated.sigma_m} m` };
  // an import takes no bathymetry without one of the three
  const half = stated.uncertainty_m as number;
  return { error: { sigmaM: half / sigmasOf95 }, words: `± ${half} m (95 %)` };
}

/** Standard deviation of one value of a survey, metres. @param elevationM  in the survey's own datum */
export function surveySigmaM(error: BathymetryError, elevationM: number): number {
  return 'sigmaM' in error ? error.sigmaM : totalVerticalUncertaintyM(error.order, elevationM) / sigmasOf95;
}

/** How the datum of a bathymetry and the site's zero hang together; null = site.json names no tie between the two. */
export function datumTie({ vertical_datum: own }: Site, verticalDatum: string): Bathymetry['tie'] {
  const plain = (name: string) => name.trim().toLowerCase();
  if (plain(own.name) === plain(verticalDatum)) return { offsetM: 0, sigmaM: 0 };
  if (own.hydrographic_datum === null || plain(own.hydrographic_datum) !== plain(verticalDatum)) return null;
  return own.offset_m === null ? null : { offsetM: own.offset_m, sigmaM: own.offset_sigma_m };
}

/** Both errors as one: √(σ_survey² + σ_tie²); a tie without a stated error adds none. */
export function combinedSigmaM({ tie }: Pick<Bathymetry, 'tie'>, surveySigma: number): number {
  return Math.hypot(surveySigma, tie?.sigmaM ?? 0);
}

/** Reads a bathymetry at places of the first grid. xy [2n] metres. */
export function readBathymetry(bathymetry: Bathymetry, xy: Float64Array): ReadBathymetry {
  const { cells, tie, error } = bathymetry;
  const own = readRaster(cells(), xy);
  const surveySigma = own.map((v) => (Number.isNaN(v) ? v : surveySigmaM(error, v)));
  return {
    own,
    elevation: own.map((v) => (tie === null ? Number.NaN : v - tie.offsetM)),
    surveySigma,
    sigma: surveySigma.map((v) => (tie === null ? Number.NaN : combinedSigmaM(bathymetry, v))),
  };
}

/**
 * Cells in metres of their projected CRS, brought into the site grid. Over the few hundred metres around a site the
 * way between two projections is straight to a few millimetres, which is nothing beside a sounding.
 */
export function cellsInGrid(
  cells: CellRaster,
  toGrid: (easting: number, northing: number) => [number, number],
): CellRaster {
  const at = (column: number, row: number) =>
    toGrid(
      cells.corner[0] + column * cells.columnStep[0] + row * cells.rowStep[0],
      cells.corner[1] + column * cells.columnStep[1] + row * cells.rowStep[1],
    );
  const corner = at(0, 0);
  const step = ([x, y]: readonly [number, number], count: number): [number, number] => [
    (x - corner[0]) / count,
    (y - corner[1]) / count,
  ];
  return {
    ...cells,
    corner,
    columnStep: step(at(cells.columns, 0), cells.columns),
    rowStep: step(at(0, cells.rows), cells.rows),
  };
}

/** Places of another projected CRS → metres of a grid. @throws Problem unknown-crs */
export function wayIntoGrid(
  frame: GridFrame,
  projection: { readonly proj: string; toLonLat(easting: number, northing: number): [number, number] },
): (easting: number, northing: number) => [number, number] {
  if (projection.proj === frame.projection.proj) return frame.fromProjected;
  return (easting, northing) => frame.fromLonLat(...projection.toLonLat(easting, northing));
}
