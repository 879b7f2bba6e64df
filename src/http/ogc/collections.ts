import type { Field } from '../../domain/fields.js';
import { featureIdName, geometryName } from '../../filter/queryables.js';
import type { CollectionView, SurveyView } from '../../operations/service.js';
import { offeredCrs } from '../crs.js';
import type { Handler, Link, Request } from '../exchange.js';
import { REL, selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { fieldSchema } from '../parameters.js';
import { collectionOf, surveyOf } from '../selection.js';
import { shownCollection } from '../shown/features.js';
import { siteGridText } from './site-grid.js';

/** The same links in the list and in the collection's own document, so that both are equal word for word. */
function collectionLinks(request: Request, collection: CollectionView): Link[] {
  const root = siteUrl(request, `/collections/${encodeURIComponent(collection.id)}`);
  const { title } = collection;
  const links: Link[] = [
    { href: root, rel: 'self', type: mediaTypeOf('json'), title: `${title}: this collection` },
    {
      href: `${root}?f=html`,
      rel: 'alternate',
      type: mediaTypeOf('html'),
      title: `${title}: this collection for people`,
    },
    { href: `${root}/items`, rel: 'items', type: mediaTypeOf('geojson'), title: `${title} as GeoJSON` },
    { href: `${root}/items?f=html`, rel: 'items', type: mediaTypeOf('html'), title: `${title} for people` },
    { href: `${root}/items?f=csv`, rel: 'items', type: mediaTypeOf('csv'), title: `${title} as CSV` },
    {
      href: `${root}/queryables`,
      rel: `${REL}/queryables`,
      type: mediaTypeOf('schema'),
      title: `What a filter of ${title} may ask`,
    },
    { href: `${root}/schema`, rel: `${REL}/schema`, type: mediaTypeOf('schema'), title: `Fields of ${title}` },
    { href: `${root}/schema`, rel: 'describedby', type: mediaTypeOf('schema'), title: `Fields of ${title}` },
  ];
  if (collection.geometryType !== null) {
    links.push(
      {
        href: `${root}/tiles`,
        rel: `${REL}/tilesets-vector`,
        type: mediaTypeOf('json'),
        title: `Vector tiles of ${title}`,
      },
      {
        href: siteUrl(request, `/tilejson/${encodeURIComponent(collection.id)}.json`),
        rel: 'related',
        type: mediaTypeOf('json'),
        title: `TileJSON of ${title}`,
      },
    );
  }
  if (collection.surface) {
    const coverage = { href: `${root}/coverage`, type: mediaTypeOf('geotiff'), title: `${title} as GeoTIFF` };
    links.push({ ...coverage, rel: `${REL}/coverage` }, { ...coverage, rel: 'enclosure' });
  }
  return links;
}

/** Moments as the standard wants them: a date alone becomes the start or end of its day. */
function interval([start, end]: readonly [string | null, string | null]): [string | null, string | null] {
  const full = (text: string | null, time: string) =>
    text !== null && /^\d{4}-\d{2}-\d{2}$/.test(text) ? `${text}T${time}Z` : text;
  return [full(start, '00:00:00'), full(end, '23:59:59')];
}

/** One collection as the standard describes it. */
function collectionDocument(request: Request, survey: SurveyView, collection: CollectionView) {
  const { extent, storageCrs } = { extent: collection.extent, storageCrs: survey.storageCrs };
  const spatial = extent === null ? {} : { spatial: { bbox: [extent], crs: offeredCrs(null)[0].uri } };
  const temporal = collection.interval === null ? {} : { temporal: { interval: [interval(collection.interval)] } };
  return {
    id: collection.id,
    title: collection.title,
    description: collection.description,
    itemType: 'feature',
    ...(extent === null && collection.interval === null ? {} : { extent: { ...spatial, ...temporal } }),
    crs: offeredCrs(storageCrs).map(({ uri }) => uri),
    ...(storageCrs === null ? {} : { storageCrs: storageCrs.uri }),
    ...(collection.deferred ? {} : { itemCount: collection.table.length }),
    links: collectionLinks(request, collection),
  };
}

/** All collections of a site. */
export const getCollections: Handler = async (request, context) => {
  const survey = await context.service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const collections = [...survey.collections.values()].map((c) => collectionDocument(request, survey, c));
  const links = selfLinks(request, ['json', 'html']);
  return { body: { links, collections, site_grid: siteGridText(survey) }, links };
};

/** One collection. */
export const getCollection: Handler = async (request, context) => {
  const survey = await context.service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const collection = collectionOf(survey, request.params['collectionId']);
  const body = collectionDocument(request, survey, collection);
  return { body, links: body.links, page: () => shownCollection(request, survey, { collection, links: body.links }) };
};

/** How geometries are written: one part each, or several. */
export function geometryFormat({ table, geometryType }: CollectionView): string {
  if (geometryType === 'point') return 'geometry-point';
  const name = geometryType === 'line' ? 'linestring' : 'polygon';
  const { geometry } = table;
  if (geometry === null || geometry.type === 'point') return `geometry-${name}`;
  for (let i = 0; i < table.length; i++) {
    let outer = 0;
    for (let p = geometry.featureStart[i]; p < geometry.featureStart[i + 1]; p++)
      outer += geometry.hole[p] === 0 ? 1 : 0;
    // as soon as one shape has several parts, all are written so
    if (outer > 1) return `geometry-multi${name}`;
  }
  return `geometry-${name}`;
}

/** One field as JSON Schema. @param place its number in the order of the fields, from 1 */
export function fieldProperty(field: Field, place: number, timeField: string | null): Record<string, unknown> {
  return {
    ...fieldSchema(field),
    title: field.title,
    ...(field.description === undefined ? {} : { description: field.description }),
    ...(field.choices === undefined ? {} : { enum: [...field.choices] }),
    ...(field.min === undefined ? {} : { minimum: field.min }),
    ...(field.max === undefined ? {} : { maximum: field.max }),
    ...(field.unit === undefined ? {} : { 'x-ogc-unit': field.unit }),
    ...(field.name === timeField ? { 'x-ogc-role': 'primary-instant' } : {}),
    'x-ogc-propertySeq': place,
  };
}

/** Fields of a collection as JSON Schema: types, titles, units, roles. */
export const getSchema: Handler = async (request, context) => {
  const survey = await surveyOf(request, context);
  const collection = collectionOf(survey, request.params['collectionId']);
  const properties: Record<string, unknown> = {};
  const { fields } = collection.table;
  properties[featureIdName(fields)] = { type: 'integer', title: 'Feature id', 'x-ogc-role': 'id', readOnly: true };
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
      $id: siteUrl(request, `/collections/${encodeURIComponent(collection.id)}/schema`),
      title: collection.title,
      description: collection.description,
      type: 'object',
      properties,
      additionalProperties: false,
    },
  };
};
