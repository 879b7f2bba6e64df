import { deferredTable } from './deferred-table.js';
import type { FeatureTable } from './feature-table.js';
import type { Field } from './fields.js';
import { type PublishedSurface, publishedSurfaces, surfaceTitles } from './modelled-surface.js';
import {
  bathymetryContourFields,
  bathymetryContours,
  bathymetryFootprint,
  bathymetryReach,
} from './published/bathymetry.js';
import { publishedConcretions, publishedFindAreas, publishedFindLines, publishedFinds } from './published/finds.js';
import { publishedControlPoints, publishedLevels, publishedSquares } from './published/grid.js';
import { publishedNodes } from './published/nodes.js';
import { publishedRefits, publishedShipAxes } from './published/structure.js';
import {
  collectionOf,
  elevationContourFields,
  levelContours,
  levelFootprint,
  levelFootprintFields,
  thicknessContourFields,
} from './published/surfaces.js';
import type { Survey } from './survey.js';

/** One published collection: what it is called, what it holds, and how it is made. */
export interface CollectionEntry {
  readonly id: string;
  readonly title: string;
  readonly description: string;
  readonly geometryType: 'point' | 'line' | 'area';
  /** field that `datetime` asks for, when the collection has one */
  readonly timeField?: string;
  readonly surface?: true;
  /** some of its numbers are elevations in the site's vertical datum, which its description then names */
  readonly elevations?: true;
  /** worked out from the levels of the seasons chosen, anew for every choice */
  readonly bySeason?: true;
  /**
   * Worked out when its rows are first looked at, so that pages which only name it need not wait.
   * @returns corners [2m] in metres of the first grid between which its features lie
   */
  readonly deferred?: (survey: Survey) => Float64Array;
  /**
   * null when the version holds nothing of it
   * @param seasons  of collections by season: the seasons chosen; none named = all
   */
  build(survey: Survey, seasons: ReadonlySet<string>): FeatureTable | null;
}

const asReceived = (name: string) => (survey: Survey) => survey.table(name);

/** Rows of levels.csv it takes to make one square: a cheap look, long before any surface is worked out. */
function hasLevels(survey: Survey, surface: PublishedSurface): boolean {
  const needed = surface === 'thickness' ? ['deposit_top', 'deposit_bottom'] : [surface];
  const levelled = survey.levelsOf(new Set())?.surface ?? [];
  return needed.every((name) => levelled.filter((s) => s === name).length >= 4);
}

/** Corners of the box around all levels. */
function reachOfLevels(survey: Survey): Float64Array {
  const levels = survey.levelsOf(new Set());
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  levels?.x.forEach((x, i) => {
    const y = levels.y[i];
    if (Number.isNaN(x + y)) return;
    [west, south, east, north] = [Math.min(west, x), Math.min(south, y), Math.max(east, x), Math.max(north, y)];
  });
  return west <= east ? Float64Array.of(west, south, east, south, east, north, west, north) : new Float64Array(0);
}

type LevelTable = (survey: Survey, surface: PublishedSurface, seasons: ReadonlySet<string>) => FeatureTable;

/** A collection worked out from levels. */
function fromLevels(
  entry: Pick<CollectionEntry, 'id' | 'title' | 'description' | 'geometryType' | 'surface'>,
  of: { readonly surface: PublishedSurface; readonly fields: readonly Field[]; readonly table: LevelTable },
): CollectionEntry {
  const { surface, fields, table } = of;
  return {
    ...entry,
    ...(surface === 'thickness' ? {} : { elevations: true as const }),
    bySeason: true,
    deferred: reachOfLevels,
    build: (survey, seasons) =>
      hasLevels(survey, surface)
        ? deferredTable({ name: entry.id, fields, make: () => table(survey, surface, seasons) })
        : null,
  };
}

const levelSurface = (surface: PublishedSurface): CollectionEntry =>
  fromLevels(
    {
      id: collectionOf(surface),
      title: surfaceTitles[surface],
      description: `Footprint of the surface between the levelled nodes; the surface itself, with its random standard deviation as second band, is the coverage${surface === 'thickness' ? '. Vertical thickness, top less bottom of the same season' : ''}`,
      geometryType: 'area',
      surface: true,
    },
    { surface, fields: levelFootprintFields, table: levelFootprint },
  );

const levelLines = (surface: PublishedSurface): CollectionEntry =>
  fromLevels(
    {
      id: `${collectionOf(surface)}-contours`,
      title: `${surfaceTitles[surface]}, contours`,
      description: `Lines of equal ${surface === 'thickness' ? 'thickness (isopachs)' : 'elevation'}, exact at the nodes; interval: the round step (1, 2 or 5 times a power of ten) nearest to a tenth of the range`,
      geometryType: 'line',
    },
    {
      surface,
      fields: surface === 'thickness' ? thicknessContourFields : elevationContourFields,
      table: levelContours,
    },
  );

/** The table of published collections, in the order they are listed; one geometry type each. */
export const collections: readonly CollectionEntry[] = [
  {
    id: 'finds',
    title: 'Finds',
    description: 'Every register entry with all its columns; a point where the position is a point',
    geometryType: 'point',
    elevations: true,
    build: publishedFinds,
  },
  {
    id: 'find-lines',
    title: 'Finds recorded as lines',
    description: 'Long objects from end to end',
    geometryType: 'line',
    build: publishedFindLines,
  },
  {
    id: 'find-areas',
    title: 'Finds known by an area',
    description: 'Finds known only by a square, half or quarter square, or a drawn area',
    geometryType: 'area',
    build: publishedFindAreas,
  },
  {
    id: 'concretions',
    title: 'Concretions',
    description: 'Spots of concretions and the finds taken out of them',
    geometryType: 'point',
    build: publishedConcretions,
  },
  {
    id: 'grid-squares',
    title: 'Grid squares',
    description: 'Squares of the site grid',
    geometryType: 'area',
    build: publishedSquares,
  },
  {
    id: 'grid-nodes',
    title: 'Grid nodes',
    description: 'Grid crossings with every level of the newest season, its error, and the thickness',
    geometryType: 'point',
    elevations: true,
    bySeason: true,
    build: publishedNodes,
  },
  {
    id: 'levels',
    title: 'Level readings',
    description: 'One row for each reading, as received',
    geometryType: 'point',
    elevations: true,
    timeField: 'date',
    build: publishedLevels,
  },
  {
    id: 'hull-lines',
    title: 'Hull features, lines',
    description: 'Keelson, frames, planks drawn as lines',
    geometryType: 'line',
    build: asReceived('hull-lines'),
  },
  {
    id: 'hull-areas',
    title: 'Hull features, areas',
    description: 'Hull remains drawn as areas',
    geometryType: 'area',
    build: asReceived('hull-areas'),
  },
  {
    id: 'ship-axes',
    title: 'Ship axes',
    description: 'Axis of the ship from after end to bow',
    geometryType: 'line',
    build: publishedShipAxes,
  },
  {
    id: 'excavated-areas',
    title: 'Excavated areas',
    description: 'Areas opened, dug or planned, by season; the dug ones are the window of every statistic',
    geometryType: 'area',
    build: asReceived('excavated-areas'),
  },
  {
    id: 'contexts',
    title: 'Contexts',
    description: 'Layers and disturbances',
    geometryType: 'area',
    build: asReceived('contexts'),
  },
  {
    id: 'ship-zones',
    title: 'Ship zones',
    description: 'Zones of the ship, as interpreted',
    geometryType: 'area',
    build: asReceived('ship-zones'),
  },
  {
    id: 'control-points',
    title: 'Control points',
    description: 'Survey control and detail points',
    geometryType: 'point',
    elevations: true,
    build: publishedControlPoints,
  },
  {
    id: 'refits',
    title: 'Refits',
    description: 'Joins between sherds, from find to find',
    geometryType: 'line',
    build: publishedRefits,
  },
  ...publishedSurfaces.map(levelSurface),
  ...publishedSurfaces.map(levelLines),
  {
    id: 'bathymetry',
    title: 'Bathymetry',
    description:
      'Footprint of the seabed as surveyed from above; the surface itself is the coverage. Its vertical datum and error are its own: never as sure as levels of the site',
    geometryType: 'area',
    surface: true,
    build: bathymetryFootprint,
  },
  {
    id: 'bathymetry-contours',
    title: 'Bathymetry, contours',
    description:
      'Lines of equal elevation of the seabed in the vertical datum of the bathymetry; interval: a round step that makes about twenty lines, but not less than the 95 % error of a value',
    geometryType: 'line',
    deferred: bathymetryReach,
    build: (survey) =>
      survey.surfaces.some(({ id }) => id === 'bathymetry')
        ? deferredTable({
            name: 'bathymetry-contours',
            fields: bathymetryContourFields,
            make: () => bathymetryContours(survey),
          })
        : null,
  },
];

/** The surface whose coverage a collection is, and null for every other collection. */
export function surfaceOfCollection(id: string): PublishedSurface | null {
  return publishedSurfaces.find((surface) => collectionOf(surface) === id) ?? null;
}

/** What a collection holds, with the vertical datum of its elevations by name. */
export function describedEntry(entry: CollectionEntry, survey: Survey): string {
  if (!entry.elevations) return entry.description;
  return `${entry.description}. Elevations are up-positive metres in the datum "${survey.site.vertical_datum.name}"`;
}
