import type { SurveyView } from '../../operations/service.js';
import type { Handler, Link, Request } from '../exchange.js';
import { REL, selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { shownLanding, shownSites } from '../shown/site.js';
import { siteGridText } from './site-grid.js';

const json = mediaTypeOf('json');
const html = mediaTypeOf('html');

/** The list of sites: the service's front door, not an OGC API itself. */
export const getSites: Handler = async (request, { service }) => {
  const known = await service.sites();
  const sites = known.map(({ id, title }) => {
    const href = `${request.base}/sites/${encodeURIComponent(id)}`;
    return {
      id,
      title,
      links: [
        { href, rel: 'item', type: json, title: `${title}: address for a GIS desktop` },
        { href: `${href}?f=html`, rel: 'alternate', type: html, title },
      ],
    };
  });
  const links = selfLinks(request, ['json', 'html']);
  return { body: { sites, links }, links, page: () => shownSites(request, { sites: known, links }) };
};

/** Links every site's landing page carries; both conformance names, since desktops look for the short one. */
function landingLinks(request: Request): Link[] {
  const to = (path: string, rel: string, title: string, type: string = json): Link => ({
    href: siteUrl(request, path),
    rel,
    type,
    title,
  });
  return [
    ...selfLinks(request, ['json', 'html']),
    to('/api', 'service-desc', 'Description of this API (OpenAPI)', mediaTypeOf('openapi')),
    to('/api.html', 'service-doc', 'Description of this API for people', html),
    to('/conformance', 'conformance', 'Standards this API keeps'),
    to('/conformance', `${REL}/conformance`, 'Standards this API keeps'),
    to('/collections', 'data', 'Collections of features'),
    to('/tiles', `${REL}/tilesets-vector`, 'Vector tiles of all collections'),
    to('/tileMatrixSets', `${REL}/tiling-schemes`, 'Tile matrix sets'),
    to('/processes', `${REL}/processes`, 'Processes: what can be asked of this site'),
    to('/jobs', `${REL}/job-list`, 'Jobs: what has been asked'),
    to('/styles', `${REL}/styles`, 'Styles for the vector tiles'),
    to('/versions', 'version-history', 'Data versions'),
    to('/connect', 'help', 'Connection sheet: every address to paste into a GIS desktop'),
    to('/export.gpkg', 'enclosure', 'The whole site as GeoPackage', mediaTypeOf('geopackage')),
  ];
}

/** What a landing page says in words. */
function siteDescription({ site }: SurveyView): string {
  const { vertical_datum: datum } = site;
  const parts = [`Excavation records of ${site.name}${site.period ? ` (${site.period})` : ''}.`];
  parts.push(`Elevations are up-positive metres above ${datum.name}.`);
  if (site.authority) parts.push(`Authority: ${site.authority}.`);
  if (site.licence) parts.push(`Licence: ${site.licence}.`);
  return parts.join(' ');
}

/** Box around all collections, degrees; null when nothing has a position. */
export function siteExtent({ collections }: SurveyView): [number, number, number, number] | null {
  let box: [number, number, number, number] | null = null;
  for (const { extent } of collections.values()) {
    if (extent === null) continue;
    box = box
      ? [
          Math.min(box[0], extent[0]),
          Math.min(box[1], extent[1]),
          Math.max(box[2], extent[2]),
          Math.max(box[3], extent[3]),
        ]
      : [...extent];
  }
  return box;
}

/** A site's landing page. */
export const getLanding: Handler = async (request, context) => {
  const survey = await context.service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const links = landingLinks(request);
  const extent = siteExtent(survey);
  const styleId = context.service.styles(survey)[0]?.id ?? null;
  return {
    links,
    page: () => shownLanding(request, survey, { extent, links, processes: context.service.processes(), styleId }),
    body: {
      id: survey.site.id,
      title: survey.site.name,
      description: siteDescription(survey),
      ...(survey.site.rights ? { attribution: survey.site.rights } : {}),
      data_version: survey.version.version,
      site_grid: siteGridText(survey),
      ...(extent ? { extent: { spatial: { bbox: [extent] } } } : {}),
      links,
    },
  };
};
