import type { FeatureTable, Value } from '../domain/feature-table.js';
import type { Site } from '../domain/site.js';
import type { Expression } from '../filter/expression.js';
import type { Box } from '../math/rings.js';
import type { JobRecord, Version } from '../storage/store.js';
import type { MatrixSet } from '../tiles/matrix-set.js';

/**
 * What the HTTP rooms need from the operations: a port, filled by the entry room, and by an in-memory stand-in in
 * the tests. Everything that comes in is already checked for shape (numbers are numbers, names are texts); what needs
 * knowledge of a site (does this season exist?) is refused by the operation with a Problem.
 */
export interface Service {
  sites(): Promise<readonly { readonly id: string; readonly title: string }[]>;
  /** A number that rises whenever anything a tile or a page shows may have changed; asked on every request, so it must be cheap. */
  revision(): number;
  /** @throws Problem no-such-site, no-such-version, unknown-season */
  survey(site: string, state: SurveyState): Promise<SurveyView>;
  /** oldest first; @throws Problem no-such-site */
  versions(site: string): Promise<readonly Version[]>;
  /**
   * Rows of a collection that fit all conditions, in rising order. A feature without geometry fits every bbox, one
   * without a date every datetime.
   * @throws Problem unknown-season, unknown-class, bad-parameter, bad-filter
   */
  select(survey: SurveyView, collection: CollectionView, selection: Selection): Promise<Uint32Array>;
  /** Rows of a collection as CSV, piece by piece: every field, and the place in the coordinates asked for. */
  csv(collection: CollectionView, rows: Uint32Array, crs: OutputCrs): Iterable<Uint8Array>;
  /** @throws Problem unknown-season, unknown-class, bad-filter; the address lies inside the matrix, see the caller */
  tile(request: TileRequest): Promise<TileAnswer>;
  /** A surface as Float32 GeoTIFF. @throws Problem no-such-collection when it is not a surface */
  coverage(survey: SurveyView, collection: CollectionView, selection: Selection): Promise<Uint8Array>;

  /**
   * A whole site as one file: its collections with the rows that fit the selection; kept results are left out.
   * @throws Problem unknown-season, unknown-class, bad-filter; bad-parameter for an archive of a part of the records;
   *   store-unavailable when the disk is full
   */
  download(survey: SurveyView, format: DownloadFormat, selection: Selection): Promise<Download>;

  styles(survey: SurveyView): readonly { readonly id: string; readonly title: string }[];
  /** A style document with absolute addresses; null when there is no such style. */
  style(survey: SurveyView, id: string, addresses: StyleAddresses): Record<string, unknown> | null;

  /** all processes, `echo` included, in the order they are listed */
  processes(): readonly ProcessDescription[];
  /**
   * Checks the inputs strictly and runs them now or later.
   * @throws Problem no-such-process, bad-parameter, unknown-parameter, and whatever the analysis refuses
   */
  execute(request: ExecuteRequest): Promise<Execution>;
  /** newest first; @throws Problem no-such-site */
  jobs(site: string): Promise<readonly JobRecord[]>;
  /** @throws Problem no-such-job */
  job(site: string, id: string): Promise<JobRecord>;
  /** The outputs of a successful job. @throws Problem no-such-job, result-not-ready, or the job's own refusal */
  results(site: string, id: string): Promise<Outputs>;
  /** Stops a job under way, or drops a finished one with its results → the record with status dismissed. @throws Problem no-such-job */
  dismiss(site: string, id: string): Promise<JobRecord>;

  /** Whether the store and the queue can be reached, each with its reason when not. */
  ready(): Promise<{ readonly store: true | string; readonly queue: true | string }>;
}

/** How the coordinates of an answer are written; `storage` is the site's projected CRS in its own axis order. */
export type OutputCrs = 'crs84' | 'epsg4326' | 'epsg3857' | 'storage';

/** Which state of the records is asked for. */
export interface SurveyState {
  /** data version; null = the newest */
  readonly version: number | null;
  /** ISO date: artefact classes as identified on that day, in filters, attributes and tiles; null = as known now */
  readonly identifiedAsOf: string | null;
  /** seasons whose levels make surfaces, contours and nodes; none = all */
  readonly seasons?: readonly string[];
}

/** One site in one state, as the outside sees it. Made once and kept: the same object for the same state. */
export interface SurveyView {
  readonly site: Site;
  readonly version: Version;
  readonly identifiedAsOf: string | null;
  /** the projected CRS of the site's first grid; null when it has no registered code, then only the other three are offered */
  readonly storageCrs: StorageCrs | null;
  /** in the order they are listed */
  readonly collections: ReadonlyMap<string, CollectionView>;
  /** made when the landing page is first shown */
  sheet(): Sheet;
}

/** What the first page of a site draws and says beside its collections. */
export interface Sheet {
  /** area of the dug window of all seasons; null = no dug area known */
  readonly windowAreaM2: number | null;
  /** colours of the classes on the map */
  readonly legend: readonly { readonly title: string; readonly colour: string }[];
  /** a drawn plan as SVG text made here, never received; null = none */
  readonly planSvg: string | null;
  /** azimuth of site_north from true_north, degrees clockwise */
  readonly siteNorthAzimuthDeg: number;
  /** the site grid on the ground: longitude and latitude of local (0, 0), (widthM, 0) and (0, heightM) */
  readonly grid: {
    readonly widthM: number;
    readonly heightM: number;
    readonly origin: readonly [number, number];
    readonly alongX: readonly [number, number];
    readonly alongY: readonly [number, number];
  } | null;
  /** collections drawn at first; the others wait for a click */
  readonly shown: readonly string[];
  /** the site's projected CRS as a text a GIS desktop takes (PROJ string of the site grid), null = none */
  readonly siteGridProj: string | null;
}

export interface StorageCrs {
  /** http://www.opengis.net/def/crs/EPSG/0/32626 */
  readonly uri: string;
  readonly axes: 'east-north' | 'north-east';
}

/** One published layer: records of one geometry type. */
export interface CollectionView {
  readonly id: string;
  readonly title: string;
  readonly description: string;
  /** null: a table without positions */
  readonly geometryType: 'point' | 'line' | 'area' | null;
  readonly table: FeatureTable;
  /** longitude and latitude: west, south, east, north; null when nothing has a position */
  readonly extent: Box | null;
  /** name of the field of type date or date-time that `datetime` asks for */
  readonly timeField: string | null;
  /** first and last moment of that field as written, null when open */
  readonly interval: readonly [string | null, string | null] | null;
  /** a surface: answers /coverage, and its table is one footprint */
  readonly surface: boolean;
  /** worked out anew for every choice of seasons (`SurveyState.seasons`); absent = no */
  readonly bySeason?: boolean;
  /** its records are worked out when first looked at: their number is not for pages that only name it; absent = no */
  readonly deferred?: boolean;
  /**
   * GeoJSON text of the features of these rows, in this order, joined by commas; every field always, unknown = null;
   * coordinates in the axis order of the CRS.
   */
  featureText(rows: Uint32Array, crs: OutputCrs): string;
}

/** Conditions on records; all of them hold together. Empty lists and nulls do not restrict. */
export interface Selection {
  readonly seasons: readonly string[];
  /** a class takes its children */
  readonly classes: readonly string[];
  /** always east before north, whatever the CRS says; west > east crosses the antimeridian (degrees only) */
  readonly bbox: { readonly box: Box; readonly crs: OutputCrs } | null;
  /** both ends included, milliseconds since 1970; −Infinity and Infinity when open */
  readonly datetime: { readonly startMs: number; readonly endMs: number } | null;
  /** property = value, the value already of the field's type */
  readonly equals: readonly { readonly field: string; readonly value: Exclude<Value, null> }[];
  /** in CQL2; absent = none */
  readonly filter?: SelectionFilter;
}

/** A filter that was read, not yet fitted to a collection. */
export interface SelectionFilter {
  readonly expression: Expression;
  /** what its geometries are written in, turned to east before north */
  readonly crs: OutputCrs;
  /** the filter as it was written: equal keys mean equal answers */
  readonly key: string;
}

export interface TileRequest {
  readonly survey: SurveyView;
  /** layers of the tile, in order; layers without features are left out of it */
  readonly collections: readonly CollectionView[];
  readonly z: number;
  readonly x: number;
  readonly y: number;
  readonly selection: Selection;
  /** the tiles of which set; Web Mercator's when not given */
  readonly set?: MatrixSet;
}

export interface TileAnswer {
  /** vector tile, version 2; 0 bytes = nothing here */
  readonly bytes: Uint8Array;
  /** without quotes: made of data version, address and selection, never a hash of positions */
  readonly etag: string;
  /** the same bytes packed, once */
  gzipped(): Promise<Uint8Array>;
}

/** Files a whole site can be had as. */
export type DownloadFormat = 'gpkg' | 'pmtiles' | 'archive';

/** A download, written to a file that stays for a while. */
export interface Download {
  readonly path: string;
  readonly size: number;
  /** name to save it under */
  readonly fileName: string;
  readonly mediaType: string;
  /** without quotes: the same for the same bytes */
  readonly tag: string;
}

export interface StyleAddresses {
  /** TileJSON of a collection */
  tileJson(collection: string): string;
  /** template with {z}, {x}, {y} */
  tiles(collection: string): string;
}

export type JsonSchema = Readonly<Record<string, unknown>>;

/** A process as OGC API – Processes describes it, without links. */
export interface ProcessDescription {
  readonly id: string;
  readonly title: string;
  readonly description: string;
  readonly version: string;
  readonly keywords?: readonly string[];
  readonly jobControlOptions: readonly ('sync-execute' | 'async-execute' | 'dismiss')[];
  readonly inputs: Readonly<Record<string, InputDescription>>;
  readonly outputs: Readonly<Record<string, OutputDescription>>;
  /** a body that can be posted as it stands */
  readonly example?: Readonly<Record<string, unknown>>;
  /** for the page only: the question in the trade's words, and what stands behind the answer */
  readonly about?: {
    readonly question: string;
    readonly formula: string;
    readonly cautions: readonly string[];
    readonly sources: readonly string[];
    /** names of the inputs that every process has */
    readonly commonInputs: readonly string[];
  };
}

export interface InputDescription {
  readonly title: string;
  readonly description?: string;
  readonly minOccurs?: number;
  readonly maxOccurs?: number | 'unbounded';
  readonly schema: JsonSchema;
}

export interface OutputDescription {
  readonly title: string;
  readonly description?: string;
  readonly schema: JsonSchema;
}

export interface ExecuteRequest {
  readonly site: string;
  readonly process: string;
  /** as posted, `{"value": …}` wrappers taken off; names and values not yet checked against the process */
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly mode: 'sync' | 'async';
  /**
   * How the answer is to be handed out, kept with the job: `JobRecord.request` must be JSON text of
   * {inputs, delivery} so that /results can honour it later.
   */
  readonly delivery: Delivery;
  /** aborted when the client goes away from a synchronous run */
  readonly signal: AbortSignal;
}

export interface Delivery {
  readonly response: 'raw' | 'document';
  /** outputs asked for, in order; null = all */
  readonly outputs: readonly { readonly id: string; readonly transmission: 'value' | 'reference' }[] | null;
}

export type Execution =
  /** `job` is null when nothing was kept */
  | { readonly kind: 'done'; readonly outputs: Outputs; readonly job: JobRecord | null }
  | { readonly kind: 'job'; readonly job: JobRecord };

/** Outputs by id, in the order of the description; absent ones (no coverage, say) are not in the map. */
export type Outputs = ReadonlyMap<string, Output>;

/**
 * One output. JSON ones carry a value: `summary`, `table` (AnswerTable), `features` (GeoJSON), `provenance`; text
 * ones (`methods` text/plain, `figure` image/svg+xml) a string as value; others (`coverage` GeoTIFF) bytes.
 */
export type Output =
  | { readonly mediaType: string; readonly value: unknown }
  | { readonly mediaType: string; readonly bytes: Uint8Array };
