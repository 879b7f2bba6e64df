import { Problem } from '../../problems.js';
import { tagOf } from '../conditional.js';
import type { Handler } from '../exchange.js';
import { collectionOf, readChoice, surveyOf } from '../selection.js';

/** A surface as one GeoTIFF. Side files that raster readers look for have no address here, so they get a 404. */
export const getCoverage: Handler = async (request, context) => {
  const survey = await surveyOf(request, context);
  const collection = collectionOf(survey, request.params['collectionId']);
  if (!collection.surface) {
    throw new Problem(
      'no-such-collection',
      `collection ${collection.id} is not a surface; surfaces have a coverage link`,
    );
  }
  const bytes = await context.service.coverage(survey, collection, readChoice(request.query));
  const { version } = survey.version;
  return {
    body: bytes,
    strong: true,
    inRanges: true,
    tag: tagOf(context.software, survey.version.contentHash, request.url),
    headers: {
      'Content-Disposition': `inline; filename="${survey.site.id}-${collection.id}-v${version}.tif"`,
      ...(survey.storageCrs === null ? {} : { 'Content-Crs': `<${survey.storageCrs.uri}>` }),
    },
  };
};
