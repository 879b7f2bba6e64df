import type { Field } from '../domain/fields.js';
import { type FilterLanguage, filterLanguages, parseFilter } from '../filter/parse.js';
import type { CollectionView, Selection, SurveyView } from '../operations/service.js';
import { Problem } from '../problems.js';
import { northFirst, readBbox, readCrs } from './crs.js';
import type { Context, Request } from './exchange.js';
import { parseInterval, parseMoment } from './moments.js';
import { filterFields } from './parameters.js';
import { badParameter, choice, clip, strictNumber, wholeNumber, words } from './query.js';

/** The site in the state the request asks for. @throws Problem no-such-site, no-such-version, unknown-season, bad-parameter */
export async function surveyOf(request: Request, { service }: Context): Promise<SurveyView> {
  const version = wholeNumber(request.query, 'version', { min: 1 });
  const identifiedAsOf = request.query.get('identified_as_of');
  if (identifiedAsOf !== null) {
    if (!/^\d{4}-\d{2}-\d{2}$/.test(identifiedAsOf))
      throw badParameter('identified_as_of', `"${clip(identifiedAsOf)}" is not a date such as 2024-07-05`);
    parseMoment('identified_as_of', identifiedAsOf);
  }
  const seasons = words(request.query, 'season');
  return service.survey(request.params['siteId'], {
    version,
    identifiedAsOf,
    ...(seasons.length > 0 ? { seasons } : {}),
  });
}

/** The collection an address names. @throws Problem no-such-collection */
export function collectionOf(survey: SurveyView, id: string): CollectionView {
  const collection = survey.collections.get(id);
  if (collection === undefined) {
    throw new Problem(
      'no-such-collection',
      `site ${survey.site.id} has no collection "${clip(id)}"; see the list at /collections`,
    );
  }
  return collection;
}

function fieldValue(field: Field, text: string): string | number | boolean {
  switch (field.type) {
    case 'number':
      return strictNumber(field.name, text);
    case 'integer': {
      const value = strictNumber(field.name, text);
      if (!Number.isInteger(value)) throw badParameter(field.name, `"${clip(text)}" is not a whole number`);
      return value;
    }
    case 'boolean':
      if (text !== 'true' && text !== 'false')
        throw badParameter(field.name, `"${clip(text)}" is neither true nor false`);
      return text === 'true';
    case 'date':
      parseMoment(field.name, text);
      return text.replace(/T$/, '');
    default:
      if (text === '') throw badParameter(field.name, 'is empty; leave it out to take all');
      return text;
  }
}

const none: Selection = { seasons: [], classes: [], bbox: null, datetime: null, equals: [] };

/** Season and class only, as tiles and surfaces take them. */
export function readChoice(query: URLSearchParams): Selection {
  return { ...none, seasons: words(query, 'season'), classes: words(query, 'artefact_class') };
}

/**
 * The filter of a request, read but not yet fitted to a collection.
 * @throws Problem bad-filter, bad-parameter, unknown-crs
 */
export function readFilter(query: URLSearchParams, survey: SurveyView): Pick<Selection, 'filter'> {
  const language = (choice(query, 'filter-lang', filterLanguages) ?? filterLanguages[0]) as FilterLanguage;
  const { crs } = readCrs(query, 'filter-crs', survey.storageCrs);
  const source = query.get('filter');
  if (source === null) {
    const alone = ['filter-lang', 'filter-crs'].find((name) => query.has(name));
    if (alone !== undefined) throw badParameter(alone, 'is given without filter');
    return {};
  }
  const expression = parseFilter(source, language, {
    axes: northFirst(crs, survey.storageCrs) ? 'north-east' : 'east-north',
    unit: crs === 'crs84' || crs === 'epsg4326' ? 'degree' : 'metre',
  });
  return { filter: { expression, crs, key: `${language} ${source}` } };
}

/** All conditions of a request for features. @throws Problem bad-parameter, bad-filter, unknown-crs */
export function readSelection(query: URLSearchParams, survey: SurveyView, collection: CollectionView): Selection {
  const equals: { field: string; value: string | number | boolean }[] = [];
  for (const field of filterFields(collection)) {
    const text = query.get(field.name);
    if (text !== null) equals.push({ field: field.name, value: fieldValue(field, text) });
  }
  const datetime = query.get('datetime');
  return {
    ...readChoice(query),
    ...readFilter(query, survey),
    bbox: readBbox(query, survey.storageCrs),
    datetime: datetime === null ? null : parseInterval('datetime', datetime),
    equals,
  };
}
