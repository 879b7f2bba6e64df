import type { Handler } from '../exchange.js';
import { filterParameters, parameters } from '../parameters.js';
import type { Parameter } from '../query.js';
import { readChoice, readFilter, surveyOf } from '../selection.js';

/** What a download takes: a part of the records, and their state. */
export const downloadQuery: readonly Parameter[] = [
  parameters.season,
  parameters.artefactClass,
  parameters.version,
  parameters.identifiedAsOf,
  ...filterParameters,
];

/** The whole site, or a selection of it, as one GeoPackage. */
export const getGeoPackage: Handler = async (request, context) => {
  const survey = await surveyOf(request, context);
  const selection = { ...readChoice(request.query), ...readFilter(request.query, survey) };
  const { path, size, fileName, mediaType, tag } = await context.service.download(survey, 'gpkg', selection);
  return {
    body: null,
    file: { path, size },
    mediaType,
    tag,
    strong: true,
    headers: { 'Content-Disposition': `attachment; filename="${fileName}"` },
  };
};
