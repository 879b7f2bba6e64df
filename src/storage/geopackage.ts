import type { FeatureTable } from '../domain/feature-table.js';

/** A coordinate reference system as a GeoPackage keeps it. */
export interface GeoPackageReference {
  readonly id: number;
  readonly name: string;
  /** who numbers it: `EPSG`, or `NONE` */
  readonly organization: string;
  readonly code: number;
  readonly description: string;
  /** well-known text, OGC 01-009; `undefined` when it cannot be told in it */
  readonly wkt1: string;
  /** well-known text, ISO 19162; `undefined` when it cannot be told in it */
  readonly wkt2: string;
}

/** Some records of a table, with their places when it is a layer. */
export interface GeoPackageLayer {
  /** name of the table in the file: letters, digits, underscores */
  readonly name: string;
  readonly title: string;
  readonly description: string;
  readonly table: FeatureTable;
  /** rows to write, in this order; left untouched */
  readonly rows: Uint32Array;
  /** null: a plain table without places */
  readonly placed: {
    readonly referenceId: number;
    /** interleaved east, north, parallel to the coordinates of the table's geometry; left untouched */
    readonly coordinates: Float64Array;
  } | null;
}

/** One tile of a gridded surface: a single-band 32-bit TIFF, and its numbers without the empty cells. */
export interface GeoPackageSurfaceTile {
  readonly column: number;
  readonly row: number;
  readonly tiff: Uint8Array;
  readonly minimum: number | null;
  readonly maximum: number | null;
  readonly mean: number | null;
  readonly standardDeviation: number | null;
}

/** A surface on equal cells along the axes of its CRS. */
export interface GeoPackageSurface {
  readonly name: string;
  readonly title: string;
  readonly description: string;
  readonly referenceId: number;
  /** UCUM */
  readonly unit: string;
  readonly columns: number;
  readonly rows: number;
  /** outer corner */
  readonly west: number;
  readonly north: number;
  readonly cellWidth: number;
  readonly cellHeight: number;
  /** cells along one side of a tile; tiles at the east and the south reach beyond the surface */
  readonly tileCells: number;
  /** value that stands for "no value" in the tiles */
  readonly noData: number;
  readonly tiles: Iterable<GeoPackageSurfaceTile>;
}

/** A text kept with the file: what it is about, and in which form. */
export interface GeoPackageText {
  readonly standardUri: string;
  readonly mediaType: string;
  readonly text: string;
}

/** Everything that goes into one GeoPackage. */
export interface GeoPackageContent {
  /** ISO 8601 with milliseconds, UTC: the date of the data version, so that the same version gives the same bytes */
  readonly changedAt: string;
  readonly references: readonly GeoPackageReference[];
  readonly layers: readonly GeoPackageLayer[];
  readonly surfaces: readonly GeoPackageSurface[];
  readonly metadata: readonly GeoPackageText[];
}

/**
 * Writes a GeoPackage: a port, filled by the room that knows the database.
 * @param file  path of a file that is not there yet
 */
export type GeoPackageWriter = (file: string, content: GeoPackageContent) => Promise<void>;
