import type { FeatureTable } from './feature-table.js';
import { publishedConcretions, publishedFindAreas, publishedFindLines, publishedFinds } from './published/finds.js';
import { publishedControlPoints, publishedLevels, publishedNodes, publishedSquares } from './published/grid.js';
import { publishedRefits, publishedShipAxes, surfaceFootprint } from './published/structure.js';
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
  /** null when the version holds nothing of it */
  build(survey: Survey): FeatureTable | null;
}

const asReceived = (name: string) => (survey: Survey) => survey.table(name);

/** The table of published collections, in the order they are listed; one geometry type each. */
export const collections: readonly CollectionEntry[] = [
  {
    id: 'finds',
    title: 'Finds',
    description: 'Every register entry with all its columns; a point where the position is a point',
    geometryType: 'point',
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
    description: 'Grid crossings with the mean of their levels; elevations up-positive in the site datum',
    geometryType: 'point',
    build: publishedNodes,
  },
  {
    id: 'levels',
    title: 'Level readings',
    description: 'One row for each reading, as received',
    geometryType: 'point',
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
    build: publishedControlPoints,
  },
  {
    id: 'refits',
    title: 'Refits',
    description: 'Joins between sherds, from find to find',
    geometryType: 'line',
    build: publishedRefits,
  },
  {
    id: 'bathymetry',
    title: 'Bathymetry',
    description: 'Footprint of the bathymetric surface; the surface itself is the coverage',
    geometryType: 'area',
    surface: true,
    build: (survey) => {
      const surface = survey.surfaces.find((s) => s.id === 'bathymetry');
      return surface ? surfaceFootprint(survey, surface) : null;
    },
  },
];
