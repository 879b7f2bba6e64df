import type { Region } from '../math/rings.js';
import type { Bathymetry } from './bathymetry.js';
import type { GridRecord } from './site.js';

/**
 * What an analysis gets: the finds of a selection as typed arrays, in site-grid metres, with the window they were
 * looked for in. Read-only: an analysis must leave every array untouched.
 */
export interface Sample {
  readonly site: string | null;
  readonly dataVersion: number | null;
  /** [2n] positions used, one for each spot (see `spot`) or find, inside the window */
  readonly xy: Float64Array;
  /** [n] what each position counts for: 1 for a find, its pieces, or grams, after count_unit */
  readonly weight: Float64Array;
  /** [n] 1-based code into `classes`; 0 = class unknown */
  readonly classCode: Uint32Array;
  readonly classes: readonly string[];
  /** [n] 1-based code into `seasons`; 0 = season unknown */
  readonly seasonCode: Uint32Array;
  readonly seasons: readonly string[];
  /** [n] elevation in the site datum, up-positive metres; NaN = unknown */
  readonly z: Float64Array;
  /** [n] standard deviation of the plan position, metres; NaN = not stated */
  readonly sigmaXy: Float64Array;
  /** [n] register number of each position, for tables and layers */
  readonly label: readonly string[];
  /**
   * Finds known only by an area (square, half or quarter square, drawn area), clipped to the window. Empty when
   * square_only is `exclude`. With `spread`, an analysis that can spread a find inside its area does so; for the
   * others the runner redraws positions `draws` times.
   */
  readonly areas: readonly AreaPosition[];
  /** every other find that could have been chosen: all finds of the same seasons with a point position, for random labelling */
  readonly others: { readonly xy: Float64Array; readonly classCode: Uint32Array };
  readonly window: Region;
  readonly windowAreaM2: number;
  /** which polygons make the window, in words */
  readonly windowSource: string;
  readonly hull: readonly HullElement[];
  readonly shipAxis: ShipAxis | null;
  /** the dug areas that make the window, one for each polygon and season, as recorded (they may overlap) */
  readonly dug: readonly DugArea[];
  /** areas planned, opened or abandoned in the seasons chosen: never part of the window; absent = not known */
  readonly undug?: readonly DugArea[];
  /** the first site grid, for squares and nodes; null on plain files */
  readonly grid: GridRecord | null;
  /** what is known of each position beside its place, all [n] */
  readonly detail: PositionDetail;
  /** level readings of all seasons chosen; null when there are none */
  readonly levels: LevelReadings | null;
  /** the seabed around as surveyed from above; absent or null = none. Never as sure as levels: its error is larger */
  readonly bathymetry?: Bathymetry | null;
  /** control points, tapes and tide readings as received; null on plain point files */
  readonly readings: SurveyReadings | null;
  /** zones of the ship and disturbed or other contexts, as drawn */
  readonly zones: readonly NamedRegion[];
  readonly contexts: readonly NamedRegion[];
  /** joins between two finds of the selection, by position number; both are finds of the sample */
  readonly joins: readonly { readonly a: number; readonly b: number; readonly kind: string }[];
  /** azimuth of site_north from map_grid_north, degrees: surfaces are cut along the map's axes; 0 on plain files */
  readonly mapAzimuthDeg: number;
  /** azimuths of site_north from the other norths; absent on plain files */
  readonly norths?: SiteNorths;
  /** name of the datum that elevations count from; absent on plain files */
  readonly verticalDatum?: string;
  /** finds left out, with the reason in words */
  readonly excluded: readonly { readonly reason: string; readonly count: number }[];
  /** finds chosen before anything was left out */
  readonly selected: number;
  /** every find chosen as the register counts it; only for analyses that ask for it (`needsRegister`) */
  readonly register?: RegisterEntries;
  /** the classes of another version or date and those of this run, of all finds of the seasons; only where asked for */
  readonly known?: {
    readonly before: KnownClasses;
    readonly after: KnownClasses;
    /** the classes chosen, children included; null = all */
    readonly classes: readonly string[] | null;
  };
  /** how positions were counted, for analyses that count the register themselves; absent on plain files */
  readonly counting?: SampleCounting;
}

/** Classes of finds as known in one data version at one date. */
export interface KnownClasses {
  readonly version: number;
  /** null = as known last */
  readonly identifiedAsOf: string | null;
  readonly find: readonly string[];
  /** null = class unknown */
  readonly artefactClass: readonly (string | null)[];
}

/** What one counts, and whether the children of a concretion are one spot. */
export interface SampleCounting {
  readonly unit: 'find' | 'piece' | 'pot_vessel' | 'weight';
  readonly spot: 'concretion' | 'find';
}

/**
 * The finds chosen, one entry for each register number: none merged into a spot, none left out because its place is
 * not known. What tables that must add up to the register are made of. Arrays [n] unless said otherwise.
 */
export interface RegisterEntries {
  readonly find: readonly string[];
  /** as known at the date asked for: 1-based code into the sample's `classes`; 0 = class unknown */
  readonly classCode: Uint32Array;
  /** as first written in the register */
  readonly classRegistered: readonly (string | null)[];
  readonly seasonCode: Uint32Array;
  /** as stated, else the one the position lies in; null = not known */
  readonly square: readonly (string | null)[];
  /** how the position is known: point, line, square … spoil, unknown */
  readonly kind: readonly string[];
  /** [2n] position, metres of the first grid; NaN = none */
  readonly xy: Float64Array;
  /** NaN = not counted */
  readonly pieces: Float64Array;
  /** grams; NaN = not weighed */
  readonly weightG: Float64Array;
  readonly potVessel: readonly (string | null)[];
  readonly concretion: readonly (string | null)[];
  readonly sizeClass: readonly (string | null)[];
  /** by hand, sieve … */
  readonly recoveryMethod: readonly (string | null)[];
  /** mesh of the sieve that the find, or the spoil of its square, went through; NaN = not stated */
  readonly meshMm: Float64Array;
  readonly formerNumbers: readonly (string | null)[];
  readonly accessionNumber: readonly (string | null)[];
  /** elevations as written, metres; NaN = not written */
  readonly elevation?: FindElevations;
  /** ring [2m] of a find known by an area, metres of the first grid; null = none */
  readonly area?: readonly (Float64Array | null)[];
  /** every number of the register, chosen or not */
  readonly allNumbers?: readonly string[];
  /** drawings, photographs, dive sheets that name a find; of all finds, not only those chosen */
  readonly documents: readonly { readonly find: string; readonly document: string; readonly kind: string | null }[];
  /** pot vessels of the site; numbers NaN where not stated */
  readonly potVessels: readonly {
    readonly potVessel: string;
    readonly form: string | null;
    readonly rimPercent: number;
    readonly minimum: number;
    readonly maximum: number;
  }[];
}

/** Elevations of finds, up-positive metres of the site datum, all [n]. */
export interface FindElevations {
  readonly z: Float64Array;
  readonly zMin: Float64Array;
  readonly zMax: Float64Array;
  readonly sigmaZ: Float64Array;
}

/** Where site_north lies, degrees clockwise; null = not known. */
export interface SiteNorths {
  /** from true_north, at the middle of the grid */
  readonly fromTrueNorthDeg: number | null;
  /** from magnetic_north at the date the declination was taken */
  readonly fromMagneticNorthDeg: number | null;
  readonly declinationDate: string | null;
  /** magnetic declination at that date, degrees, east positive; absent = not stated */
  readonly declinationDeg?: number;
}

export interface AreaPosition {
  readonly label: string;
  readonly region: Region;
  readonly areaM2: number;
  readonly weight: number;
  readonly classCode: number;
  readonly seasonCode: number;
  /** the square as stated; null or absent = none */
  readonly square?: string | null;
}

export interface HullElement {
  readonly number: string;
  readonly element: string;
  readonly state: 'articulated' | 'loose' | 'unknown';
  readonly place: 'in_place' | 'displaced' | 'unknown';
  /** surviving: seen; projected: drawn where it is thought to have been */
  readonly outline: 'surviving' | 'projected' | 'unknown';
  readonly type: 'line' | 'area';
  /** the parts: lines [2m] open, or rings as in Region */
  readonly parts: readonly Float64Array[];
}

export interface ShipAxis {
  /** x, y of the after end and of the bow end, site-grid metres */
  readonly after: readonly [number, number];
  readonly bow: readonly [number, number];
  /** resolved: which end is the bow is known */
  readonly bowEnd: 'resolved' | 'unresolved';
}

/** What the register says of each position; for a spot of several finds, of the first. */
export interface PositionDetail {
  /** the square as stated, else the one the position lies in by the site's boundary rule; null = outside the grid */
  readonly square: readonly (string | null)[];
  readonly potVessel: readonly (string | null)[];
  readonly concretion: readonly (string | null)[];
  /** trend of a long object, degrees clockwise from site_north, 0 to 360 (axial unless its ends are told apart); NaN = unknown */
  readonly orientationDeg: Float64Array;
  /** length of a long object recorded as a line, metres; NaN otherwise */
  readonly lengthM: Float64Array;
  readonly sigmaZ: Float64Array;
  readonly zMin: Float64Array;
  readonly zMax: Float64Array;
  /** density of the class's material, t/m³; NaN = not stated */
  readonly materialDensity: Float64Array;
  /** 0 unknown, 1 no, 2 yes: later than the wreck */
  readonly intrusive: Uint8Array;
  readonly weightG: Float64Array;
  readonly pieces: Float64Array;
  readonly sizeClass: readonly (string | null)[];
  readonly material: readonly (string | null)[];
}

export interface DugArea {
  readonly season: string;
  readonly progress: string;
  readonly region: Region;
  readonly areaM2: number;
  /** share of the polygon's ground that was dug, 0 to 1; 1 when not stated */
  readonly dugFraction: number;
  readonly meshMm: number | null;
  readonly tool: string | null;
  /** absent or null = not stated */
  readonly backfilled?: boolean | null;
}

/** Level readings as columns, all [m], in metres of the first grid and elevations of the site datum. */
export interface LevelReadings {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly elevation: Float64Array;
  /** standard deviation of one reading, metres; NaN = not stated */
  readonly sigma: Float64Array;
  readonly surface: readonly string[];
  readonly season: readonly string[];
  readonly node: readonly (string | null)[];
  readonly series: readonly (string | null)[];
  /** kept or set_aside, as received; null = kept */
  readonly state: readonly (string | null)[];
  /** vertical datum of each reading, where a file names it; none = the site's */
  readonly datum?: readonly (string | null)[];
}

export interface NamedRegion {
  readonly name: string;
  readonly kind: string | null;
  readonly region: Region;
}

/** What the survey of a site rests on, as received; unknown numbers are NaN, unknown words null. */
export interface SurveyReadings {
  readonly control: readonly ControlPoint[];
  readonly measurements: readonly Measurement[];
  readonly tide: readonly TideReading[];
  /** the same points in a grid and in the projected CRS */
  readonly common: readonly CommonPoint[];
}

export interface ControlPoint {
  readonly name: string;
  /** primary and secondary points are held fixed, detail points are to be found */
  readonly class: string | null;
  /** metres of the grid in force in its season */
  readonly x: number;
  readonly y: number;
  /** elevation in the site datum */
  readonly z: number;
  readonly sigma: number;
  readonly season: string | null;
}

export interface Measurement {
  /** row of the file, counted from 1 without the heading */
  readonly row: number;
  /** null for a reading of one point, such as an elevation */
  readonly from: string | null;
  readonly to: string;
  readonly kind: string;
  readonly value: number;
  readonly unit: string | null;
  readonly sigma: number;
  readonly instrument: string | null;
  readonly series: string | null;
  readonly date: string | null;
  readonly time: string | null;
}

export interface TideReading {
  readonly series: string;
  readonly startTime: string;
  readonly startDepth: number;
  readonly endTime: string;
  readonly endDepth: number;
  readonly referenceDepth: number;
}

export interface CommonPoint {
  readonly name: string;
  readonly localX: number;
  readonly localY: number;
  readonly easting: number;
  readonly northing: number;
}
