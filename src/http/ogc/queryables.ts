import { featureIdName, geometryName } from '../../filter/queryables.js';
import type { Handler } from '../exchange.js';
import { selfLinks, siteUrl } from '../links.js';
import { collectionOf, surveyOf } from '../selection.js';
import { fieldProperty, geometryFormat } from './collections.js';

/** What a filter may ask of a collection, as JSON Schema: every field, the feature id and the position. */
export const getQueryables: Handler = async (request, context) => {
  const survey = await surveyOf(request, context);
  const collection = collectionOf(survey, request.params['collectionId']);
  const { fields } = collection.table;
  const properties: Record<string, unknown> = {
    [featureIdName(fields)]: { type: 'integer', title: 'Feature id', 'x-ogc-role': 'id' },
  };
  if (collection.geometryType !== null) {
    properties[geometryName] = {
      title: 'Position',
      format: geometryFormat(collection),
      'x-ogc-role': 'primary-geometry',
    };
  }
  fields.forEach((field, i) => {
    properties[field.name] = fieldProperty(field, i + 1, collection.timeField);
  });
  return {
    links: selfLinks(request, ['schema', 'html']),
    body: {
      $schema: 'https://json-schema.org/draft/2020-12/schema',
      $id: siteUrl(request, `/collections/${encodeURIComponent(collection.id)}/queryables`),
      title: `What a filter of ${collection.title} may ask`,
      description: collection.description,
      type: 'object',
      properties,
      // any other name in a filter is refused
      additionalProperties: false,
    },
  };
};
