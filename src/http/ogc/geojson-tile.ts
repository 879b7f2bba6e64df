import type { FeatureTable } from '../../domain/feature-table.js';
import type { CollectionView, SurveyView } from '../../operations/service.js';
import { Problem } from '../../problems.js';
import { type MatrixSet, type TileAddress, tileBox } from '../../tiles/matrix-set.js';
import { tagOf } from '../conditional.js';
import { CRS84 } from '../crs.js';
import type { Answer, Context, Request } from '../exchange.js';
import { readChoice, readFilter } from '../selection.js';

/** What a GeoJSON tile is made of. */
export interface GeoJsonTile {
  readonly survey: SurveyView;
  readonly collection: CollectionView;
  readonly set: MatrixSet;
  readonly address: TileAddress;
}

/** More would be tens of megabytes of text for one tile; vector tiles thin out instead. */
const mostFeatures = 20_000;

/**
 * A tile as GeoJSON: every feature that touches it, whole and as exact as in /items, longitude and latitude. Features
 * on an edge are in both tiles.
 * @throws Problem too-much-work when it would hold more than 20,000 features
 */
export async function geoJsonTile(request: Request, context: Context, of: GeoJsonTile): Promise<Answer> {
  const { survey, collection, set, address } = of;
  const rows = await context.service.select(survey, collection, {
    ...readChoice(request.query),
    ...readFilter(request.query, survey),
    bbox: { box: tileBox(set, address), crs: set.takes === 'lon-lat' ? 'crs84' : 'storage' },
  });
  // a record without a place matches every box, but it is in no tile
  const placed = rows.filter((row) => hasPlace(collection.table, row));
  if (placed.length > mostFeatures) {
    throw new Problem(
      'too-much-work',
      `this tile holds ${placed.length} features, GeoJSON tiles at most ${mostFeatures}; ask for a deeper tile matrix, or for vector tiles`,
      { features: placed.length },
    );
  }
  return {
    body: () => `{"type":"FeatureCollection","features":[${collection.featureText(placed, 'crs84')}]}`,
    tag: tagOf(context.software, survey.version.contentHash, request.url, request.mediaType),
    headers: { 'Content-Crs': `<${CRS84}>` },
  };
}

function hasPlace({ geometry }: FeatureTable, row: number): boolean {
  if (geometry === null) return false;
  if (geometry.type === 'point') return !Number.isNaN(geometry.coordinates[2 * row]);
  return geometry.featureStart[row] < geometry.featureStart[row + 1];
}
