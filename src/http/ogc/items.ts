import type { CollectionView, OutputCrs, SurveyView } from '../../operations/service.js';
import { Problem } from '../../problems.js';
import { tagOf } from '../conditional.js';
import { readCrs } from '../crs.js';
import type { Handler, Link, Request } from '../exchange.js';
import { limits } from '../limits.js';
import { selfLinks, siteUrl, withQuery } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { itemParameters, parameters } from '../parameters.js';
import { badParameter, checkQuery, clip, wholeNumber } from '../query.js';
import { collectionOf, readSelection, surveyOf } from '../selection.js';
import { shownItem, shownItems } from '../shown/features.js';
import { csvAnswer, pageParameters } from './csv.js';

/** One page of a selection. */
interface ItemPage {
  readonly rows: Uint32Array;
  readonly matched: number;
  /** place of the page's first row among all matched, from 0 */
  readonly start: number;
  /** id of the last row when more follow, for the next link */
  readonly lastId: number | null;
}

/** First place in rising rows whose id is greater. */
function placeAfter(ids: Float64Array, rows: Uint32Array, id: number): number {
  let low = 0;
  let high = rows.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (ids[rows[middle]] > id) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** Cuts a page out of the matched rows, by offset or by the id before it. @throws Problem bad-parameter */
function cutPage(query: URLSearchParams, ids: Float64Array, matched: Uint32Array): ItemPage {
  const limit = wholeNumber(query, 'limit', { min: 1, max: limits.pageMax }) ?? limits.pageDefault;
  const offset = wholeNumber(query, 'offset', { min: 0 });
  const after = wholeNumber(query, 'after', { min: 0 });
  if (offset !== null && after !== null) throw badParameter('offset', 'cannot stand beside after; give one of them');
  const start = after !== null ? placeAfter(ids, matched, after) : Math.min(offset ?? 0, matched.length);
  const rows = matched.subarray(start, start + limit);
  const more = start + rows.length < matched.length;
  return { rows, matched: matched.length, start, lastId: more ? ids[rows[rows.length - 1]] : null };
}

/** Row of a feature id; ids rise, so it is found by halving. @throws Problem no-such-feature */
function rowOf(collection: CollectionView, text: string): number {
  const { ids, length } = collection.table;
  const id = /^\d{1,15}$/.test(text) ? Number(text) : Number.NaN;
  let low = 0;
  let high = length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (ids[middle] < id) low = middle + 1;
    else high = middle;
  }
  if (low >= length || ids[low] !== id) {
    throw new Problem(
      'no-such-feature',
      `collection ${collection.id} has no feature "${clip(text)}"; ids are whole numbers`,
    );
  }
  return low;
}

/** What the bytes of an answer depend on, as a tag: no need to write 2 MB to learn that the client has them. */
function stateTag(request: Request, survey: SurveyView, software: string): string {
  return tagOf(software, survey.version.contentHash, request.base, request.url, request.mediaType);
}

function featureCollection(
  page: ItemPage,
  links: readonly Link[],
  of: { survey: SurveyView; collection: CollectionView; crs: OutputCrs },
) {
  const head = JSON.stringify({
    type: 'FeatureCollection',
    numberMatched: page.matched,
    numberReturned: page.rows.length,
    // the moment of the data, not of the request: equal questions give equal bytes
    timeStamp: of.survey.version.acceptedAt,
    links,
  });
  return `${head.slice(0, -1)},"features":[${page.rows.length === 0 ? '' : of.collection.featureText(page.rows, of.crs)}]}`;
}

/** A page of features. */
export const getItems: Handler = async (request, context) => {
  const { service, software } = context;
  const first = await service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  // which names are parameters depends on the collection, so it is looked up before the query is read
  checkQuery(request.query, itemParameters(collectionOf(first, request.params['collectionId'])));
  const survey = await surveyOf(request, context);
  const collection = collectionOf(survey, request.params['collectionId']);
  const selection = readSelection(request.query, survey, collection);
  const { uri, crs } = readCrs(request.query, 'crs', survey.storageCrs);
  const matched = await service.select(survey, collection, selection);
  const page = cutPage(request.query, collection.table.ids, matched);

  const links: Link[] = [...selfLinks(request, ['geojson', 'html', 'csv'])];
  if (page.lastId !== null) {
    links.push({
      href: withQuery(request, { after: String(page.lastId), offset: null }),
      rel: 'next',
      type: request.mediaType,
      title: 'Next page',
    });
  }
  links.push({
    href: siteUrl(request, `/collections/${encodeURIComponent(collection.id)}`),
    rel: 'collection',
    type: mediaTypeOf('json'),
    title: collection.title,
  });
  if (request.format === 'csv') {
    const rows = pageParameters.some((name) => request.query.has(name)) ? page.rows : matched;
    return csvAnswer(request, context, { survey, collection, rows, crs: { uri, crs }, links });
  }
  return {
    headers: { 'Content-Crs': `<${uri}>` },
    links,
    tag: stateTag(request, survey, software),
    body: () => featureCollection(page, links, { survey, collection, crs }),
    page: () => shownItems(request, collection, { rows: page.rows, matched: page.matched, links }),
  };
};

/** One feature. */
export const getItem: Handler = async (request, context) => {
  const survey = await surveyOf(request, context);
  const collection = collectionOf(survey, request.params['collectionId']);
  if (request.query.has('season') && !collection.bySeason)
    throw badParameter('season', `means nothing here: a feature of ${collection.id} is the same in every season`);
  const { uri, crs } = readCrs(request.query, 'crs', survey.storageCrs);
  const row = rowOf(collection, request.params['featureId']);
  const links: Link[] = [
    ...selfLinks(request, ['geojson', 'html']),
    {
      href: siteUrl(request, `/collections/${encodeURIComponent(collection.id)}`),
      rel: 'collection',
      type: mediaTypeOf('json'),
      title: collection.title,
    },
  ];
  return {
    headers: { 'Content-Crs': `<${uri}>` },
    links,
    tag: stateTag(request, survey, context.software),
    page: () => shownItem(request, collection, { row, links }),
    body: () => {
      const text = collection.featureText(Uint32Array.of(row), crs);
      return `${text.slice(0, -1)},"links":${JSON.stringify(links)}}`;
    },
  };
};

/** What one feature's address takes; a season where features are worked out from the levels of some. */
export const itemQuery = [parameters.crs, parameters.season, parameters.version, parameters.identifiedAsOf];
