import { surfaceOfCollection } from '../domain/collections.js';
import { projectionOf } from '../domain/crs.js';
import type { Survey } from '../domain/survey.js';
import { Problem } from '../problems.js';
import type { Store } from '../storage/store.js';
import { geotiff } from '../tiles/geotiff.js';
import { surfaceGeoTiff } from './answer-outputs.js';
import type { SurveyShelf } from './survey-shelf.js';

/**
 * The coverage of a site's own surface as GeoTIFF: one worked out from levels with its error as second band, or one
 * received as a file.
 *
 * @param of.seasons  whose levels make the surface; none = all
 * @returns null when the collection is no surface of the site
 * @throws Problem cannot-answer when no square of these seasons has its nodes
 */
export async function siteCoverage(
  { store, shelf }: { readonly store: Store; readonly shelf: SurveyShelf },
  survey: Survey,
  of: { readonly collection: string; readonly seasons: ReadonlySet<string> },
): Promise<Uint8Array | null> {
  const levelled = surfaceOfCollection(of.collection);
  if (levelled !== null) {
    const model = survey.modelled(levelled, of.seasons);
    if (model) return surfaceGeoTiff(model.raster, survey.frame);
    throw new Problem(
      'cannot-answer',
      `surface ${of.collection}${of.seasons.size > 0 ? ` of ${[...of.seasons].join(', ')}` : ''}: no square of the grid has all four nodes levelled; choose other seasons`,
      { collection: of.collection, seasons: [...of.seasons] },
    );
  }
  const received = survey.surfaces.find(({ id }) => id === of.collection);
  if (!received) return null;
  if (received.handedOut) return store.readFile(survey.site.id, survey.version, received.path);
  const turned = await shelf.surfaceRaster(survey);
  return turned && geotiff(turned.raster, { ...turned.raster, epsg: projectionOf(turned.crs).epsg });
}
