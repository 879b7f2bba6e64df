import type { Handler } from '../exchange.js';
import { selfLinks } from '../links.js';

const spec = 'http://www.opengis.net/spec';

/** Classes this service keeps: one is added only when every check of it passes in the tests. */
const conformanceClasses: readonly string[] = [
  ...['core', 'geojson', 'html', 'oas30'].map((c) => `${spec}/ogcapi-features-1/1.0/conf/${c}`),
  `${spec}/ogcapi-features-2/1.0/conf/crs`,
  ...['queryables', 'queryables-query-parameters', 'filter', 'features-filter'].map(
    (c) => `${spec}/ogcapi-features-3/1.0/conf/${c}`,
  ),
  ...[
    'cql2-text',
    'cql2-json',
    'basic-cql2',
    'advanced-comparison-operators',
    'case-insensitive-comparison',
    'accent-insensitive-comparison',
    'basic-spatial-functions',
    'basic-spatial-functions-plus',
    'spatial-functions',
    'temporal-functions',
    'arithmetic',
    'property-property',
  ].map((c) => `${spec}/cql2/1.0/conf/${c}`),
  `${spec}/ogcapi-common-3/1.0/conf/schemas`,
  // the name under which desktops look for schemas
  `${spec}/ogcapi-features-5/1.0/conf/schemas`,
  ...['core', 'tileset', 'tilesets-list', 'dataset-tilesets', 'geodata-tilesets', 'mvt', 'oas30'].map(
    (c) => `${spec}/ogcapi-tiles-1/1.0/conf/${c}`,
  ),
  ...['core', 'ogc-process-description', 'json', 'job-list', 'dismiss', 'oas30'].map(
    (c) => `${spec}/ogcapi-processes-1/1.0/conf/${c}`,
  ),
];

/** The standards a site's API keeps. */
export const getConformance: Handler = async (request, { service }) => {
  await service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const links = selfLinks(request, ['json', 'html']);
  return { body: { conformsTo: conformanceClasses, links }, links };
};
