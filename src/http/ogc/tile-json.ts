import { tileJson } from '../../tiles/tilejson.js';
import type { Handler } from '../exchange.js';
import { surveyOf } from '../selection.js';
import { drawnCollection, plainTileTemplate } from './tiles.js';

/** Deepest level handed out: one tile unit is then about a millimetre on the ground; deeper views enlarge it. */
const deepestHandedOut = 22;

/** TileJSON of a collection, with absolute addresses of its tiles in the state asked for. */
export const getTileJson: Handler = async (request, context) => {
  const survey = await surveyOf(request, context);
  const collection = drawnCollection(survey, request.params['collectionId']);
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
