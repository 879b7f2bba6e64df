import { tileJson } from '../../tiles/tilejson.js';
import type { Handler } from '../exchange.js';
import { readSelection, surveyOf } from '../selection.js';
import { drawnCollection, plainTileTemplate } from './tiles.js';

/** Deepest level handed out: one tile unit is then about a millimetre on the ground; deeper views enlarge it. */
export const deepestHandedOut = 22;

/** TileJSON of a collection, with absolute addresses of its tiles in the state asked for. */
export const getTileJson: Handler = async (request, context) => {
  const survey = await surveyOf(request, context);
  const collection = drawnCollection(survey, request.params['collectionId']);
  // a filter that its tiles would refuse is refused here
  if (request.query.has('filter'))
    await context.service.select(survey, collection, readSelection(request.query, survey, collection));
  const fields = Object.fromEntries(
    collection.table.fields.map(({ name, title, unit }) => [name, unit === undefined ? title : `${title} (${unit})`]),
  );
  const { rights } = survey.site;
  return {
    body: tileJson({
      name: collection.title,
      description: collection.description,
      ...(rights ? { attribution: rights } : {}),
      tiles: [plainTileTemplate(request, collection.id)],
      minZoom: 0,
      maxZoom: deepestHandedOut,
      bounds: collection.extent,
      layers: [{ id: collection.id, description: collection.title, fields }],
    }),
  };
};
