import type { CellRaster } from '../math/cell-raster.js';
import type { Box } from '../math/rings.js';
import { type Bathymetry, bathymetryError, cellsInGrid, datumTie, wayIntoGrid } from './bathymetry.js';
import { type ClassTree, classTree } from './class-tree.js';
import { type CollectionEntry, collections } from './collections.js';
import { wordReader } from './columns.js';
import { projectionOf } from './crs.js';
import { type Deposit, depositOf } from './deposit.js';
import type { CodeColumn, FeatureTable } from './feature-table.js';
import { type GridFrame, gridFrame } from './grid.js';
import { hullElements } from './hull.js';
import { classAsOf } from './identified.js';
import { type ModelledSurface, modelledSurface, type PublishedSurface } from './modelled-surface.js';
import { type PlacedFinds, placeFinds } from './placed-finds.js';
import type { HullElement, LevelReadings, ShipAxis } from './sample.js';
import { levelReadings } from './sample-detail.js';
import type { Site } from './site.js';

/** A surface received as a file in a projected CRS, such as bathymetry. */
export interface SurfaceFile {
  readonly id: string;
  readonly title: string;
  readonly unit: string;
  /** west, south, east, north in the projected CRS */
  readonly projectedBox: Box;
  readonly crs: string;
  /** path in the site folder */
  readonly path: string;
  readonly note: string;
  /** whether the file as received is a GeoTIFF of elevations, to be handed out as it is */
  readonly handedOut: boolean;
  /** elevations up-positive in its own vertical datum, metres of its CRS; of a large surface the part around the site */
  cells(): CellRaster;
}

/** What was received of a site at one data version. */
export interface SurveyRecords {
  readonly site: Site;
  readonly version: number;
  readonly tables: ReadonlyMap<string, FeatureTable>;
  readonly surfaces: readonly SurfaceFile[];
}

/**
 * A site at one data version, as everything above reads it: records in memory, positions in metres of the first
 * grid, published collections made when first asked for. Never changed after it is made.
 */
export interface Survey extends SurveyRecords {
  readonly frames: readonly GridFrame[];
  readonly frame: GridFrame;
  readonly classTree: ClassTree;
  readonly seasons: readonly string[];
  readonly finds: FeatureTable;
  readonly placed: PlacedFinds;
  readonly deposit: Deposit;
  readonly hull: readonly HullElement[];
  readonly shipAxis: ShipAxis | null;
  /** the seabed around as surveyed from above; null when the site has none */
  readonly bathymetry: Bathymetry | null;
  /** date at which the classes of its collections were known; null = now */
  readonly identifiedAsOf: string | null;
  /** class of every find as known at a date (null = at `identifiedAsOf`) */
  classAt(asOf: string | null): CodeColumn;
  /** the same records with the classes as known at a date */
  knownAt(asOf: string | null): Survey;
  /** find number → row of `finds` */
  findRow(number: string): number | undefined;
  table(name: string): FeatureTable | null;
  collectionEntries(): readonly CollectionEntry[];
  /** level readings of some seasons (none named = all), metres of the first grid; null when the site has none */
  levelsOf(seasons: ReadonlySet<string>): LevelReadings | null;
  /** a surface worked out from the levels of some seasons (none named = all); null when no square has its nodes */
  modelled(surface: PublishedSurface, seasons: ReadonlySet<string>): ModelledSurface | null;
  /**
   * A published collection by its id, null when this version has none of that id.
   * @param seasons  for collections worked out anew for every choice of seasons; none named = all
   */
  collection(id: string, seasons?: ReadonlySet<string>): FeatureTable | null;
}

const noFinds: FeatureTable = {
  name: 'finds',
  length: 0,
  fields: [],
  columns: new Map(),
  geometry: null,
  ids: new Float64Array(0),
};

const allSeasons: ReadonlySet<string> = new Set();

const once = <T>(make: () => T): (() => T) => {
  let held: { value: T } | null = null;
  return () => (held ??= { value: make() }).value;
};

/** The last few answers to a question about some seasons. */
function bySeasons<T>(make: (seasons: ReadonlySet<string>) => T): (seasons: ReadonlySet<string>) => T {
  const held = new Map<string, { value: T }>();
  return (seasons) => {
    const key = JSON.stringify([...seasons].sort());
    let found = held.get(key);
    if (!found) {
      // seasons can be chosen in thousands of ways: keep a few
      if (held.size >= 16) held.clear();
      found = { value: make(seasons) };
      held.set(key, found);
    }
    return found.value;
  };
}

/** What does not change with the date at which classes are looked at: made once for all of them. */
function sharedParts(records: SurveyRecords) {
  const { site, tables } = records;
  const frames = site.grids.map(gridFrame);
  const table = (name: string) => tables.get(name) ?? null;
  const finds = table('finds') ?? noFinds;
  const placed = once(() => placeFinds(finds, site, frames));
  const deposit = once(() => depositOf(table('levels'), frames));
  const hull = once(() => hullElements(table('hull-lines'), table('hull-areas')));
  const rows = once(() => {
    const label = wordReader(finds, 'find');
    const index = new Map<string, number>();
    for (let i = 0; i < finds.length; i++) index.set(label(i) ?? '', i);
    return index;
  });
  const tree = classTree(site.artefact_classes);
  const [frame] = frames;
  const levelsOf = bySeasons((seasons) => levelReadings({ site, frame, table }, seasons));
  const model = (surface: PublishedSurface) =>
    bySeasons((seasons) =>
      modelledSurface(surface, {
        levels: levelsOf(seasons),
        seasons: site.seasons.map((season) => season.id),
        nodeSpacingM: frame.grid.node_spacing,
        mapAzimuthDeg: frame.grid.azimuth_deg,
        datumName: site.vertical_datum.name,
      }),
    );
  const models: Readonly<Record<PublishedSurface, (seasons: ReadonlySet<string>) => ModelledSurface | null>> = {
    deposit_top: model('deposit_top'),
    deposit_bottom: model('deposit_bottom'),
    thickness: model('thickness'),
  };
  return {
    frames,
    table,
    finds,
    placed,
    deposit,
    hull,
    rows,
    tree,
    levelsOf,
    models,
    bathymetry: once(() => bathymetryOf(records, frame)),
    classes: new Map<string, CodeColumn>(),
  };
}

/** The bathymetry in metres of the first grid, with what ties its datum to the site's. */
function bathymetryOf({ site, surfaces }: SurveyRecords, frame: GridFrame): Bathymetry | null {
  const surface = surfaces.find(({ id }) => id === 'bathymetry');
  if (!surface || !site.bathymetry) return null;
  const { error, words } = bathymetryError(site.bathymetry);
  return {
    cells: once(() => cellsInGrid(surface.cells(), wayIntoGrid(frame, projectionOf(surface.crs)))),
    verticalDatum: site.bathymetry.vertical_datum,
    error,
    errorInWords: words,
    tie: datumTie(site, site.bathymetry.vertical_datum),
  };
}

/**
 * Makes a survey from its records.
 * @throws Problem unknown-crs or bad-folder when the records contradict themselves (an import refuses such folders)
 */
export function surveyOf(records: SurveyRecords): Survey {
  return surveyKnownAt(records, sharedParts(records), null);
}

function surveyKnownAt(
  records: SurveyRecords,
  shared: ReturnType<typeof sharedParts>,
  identifiedAsOf: string | null,
): Survey {
  const { site } = records;
  const { frames, table, finds, placed, deposit, hull, rows, classes } = shared;
  const made = new Map<string, FeatureTable | null>();
  const survey: Survey = {
    ...records,
    frames,
    frame: frames[0],
    identifiedAsOf,
    classTree: shared.tree,
    seasons: site.seasons.map((season) => season.id),
    finds,
    get placed() {
      return placed();
    },
    get deposit() {
      return deposit();
    },
    get hull() {
      return hull();
    },
    get bathymetry() {
      return shared.bathymetry();
    },
    shipAxis: site.ship_axis
      ? {
          after: site.ship_axis.after_end,
          bow: site.ship_axis.bow_end,
          bowEnd: site.ship_axis.certainty === 'unresolved' ? 'unresolved' : 'resolved',
        }
      : null,
    classAt(asOf) {
      const key = asOf ?? identifiedAsOf ?? '';
      let column = classes.get(key);
      if (!column) {
        // dates a client may ask for are endless: keep the newest and a few others
        if (classes.size > 8) classes.clear();
        column = classAsOf(finds, table('identifications'), asOf ?? identifiedAsOf);
        classes.set(key, column);
      }
      return column;
    },
    knownAt: (asOf) => (asOf === identifiedAsOf ? survey : surveyKnownAt(records, shared, asOf)),
    findRow: (number) => rows().get(number),
    table,
    collectionEntries: () => collections.filter((entry) => survey.collection(entry.id) !== null),
    levelsOf: shared.levelsOf,
    modelled: (surface, seasons) => shared.models[surface](seasons),
    collection(id, seasons = allSeasons) {
      const build = () => collections.find((entry) => entry.id === id)?.build(survey, seasons) ?? null;
      // whoever asks by season keeps the answer
      if (seasons.size > 0) return build();
      if (!made.has(id)) made.set(id, build());
      return made.get(id) ?? null;
    },
  };
  return survey;
}
