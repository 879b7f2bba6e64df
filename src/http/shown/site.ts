import type { CollectionView, ProcessDescription, SurveyView } from '../../operations/service.js';
import type { Link, Request } from '../exchange.js';
import { siteUrl } from '../links.js';
import { sitesPage } from '../pages/collections.js';
import { type LandingLayer, landingPage } from '../pages/landing.js';
import { frameOf, page, pageLinks } from './frame.js';
import { commandLine, curl } from './processes.js';

/** Page of all sites. */
export function shownSites(
  request: Request,
  of: { sites: readonly { id: string; title: string }[]; links: readonly Link[] },
): string {
  return sitesPage({
    frame: frameOf(request, ['json', 'html']),
    sites: of.sites.map(({ id, title }) => page({ href: `${request.base}/sites/${encodeURIComponent(id)}`, title })),
    links: pageLinks(of.links),
  });
}

const kinds = { point: 'points', line: 'lines', area: 'areas' } as const;

function layer(request: Request, collection: CollectionView, shown: ReadonlySet<string>): LandingLayer {
  const root = siteUrl(request, `/collections/${encodeURIComponent(collection.id)}`);
  const links = [
    page({ href: root, title: 'about' }),
    { ...page({ href: `${root}/items`, title: 'records' }), rel: 'items' },
  ];
  if (collection.surface) links.push({ href: `${root}/coverage`, title: 'GeoTIFF', type: 'image/tiff' });
  const drawn = collection.geometryType !== null && !collection.surface;
  return {
    id: collection.id,
    title: collection.title,
    kind: collection.surface ? 'surface' : collection.geometryType === null ? 'table' : kinds[collection.geometryType],
    count: collection.surface || collection.deferred ? null : collection.table.length,
    links,
    shown: drawn ? shown.has(collection.id) : null,
  };
}

function facts({ site, version }: SurveyView): { name: string; value: string }[] {
  const { vertical_datum: datum } = site;
  const offset =
    datum.offset_m === null ? '' : `, ${datum.offset_m} m from ${datum.hydrographic_datum ?? 'the hydrographic datum'}`;
  const sigma = datum.offset_sigma_m === null ? '' : ` ± ${datum.offset_sigma_m} m`;
  const found = [
    { name: 'Seasons', value: site.seasons.map((season) => season.title ?? season.id).join(', ') },
    { name: 'Data version', value: `${version.version}, ${version.acceptedAt.slice(0, 10)}` },
    { name: 'Vertical datum', value: `${datum.name}${offset}${sigma}; elevations up-positive` },
  ];
  if (site.authority) found.push({ name: 'Authority', value: site.authority });
  if (site.licence) found.push({ name: 'Licence', value: site.licence });
  return found;
}

/** First page of a site. */
export function shownLanding(
  request: Request,
  survey: SurveyView,
  of: {
    extent: readonly [number, number, number, number] | null;
    links: readonly Link[];
    processes: readonly ProcessDescription[];
    styleId: string | null;
  },
): string {
  const { site } = survey;
  const sheet = survey.sheet();
  const shown = new Set(sheet.shown);
  const addresses = [
    { title: 'Features (OGC API)', value: siteUrl(request), hint: 'all collections as tables and layers' },
    {
      title: 'Vector tiles of the finds',
      value: siteUrl(request, '/xyz/finds/{z}/{x}/{y}.mvt'),
      hint: 'set the levels to 0 and 22',
    },
  ];
  if (of.styleId !== null) {
    addresses.push({
      title: 'Style of the vector tiles',
      value: siteUrl(request, `/styles/${encodeURIComponent(of.styleId)}`),
      hint: 'beside the tile address',
    });
  }
  if (sheet.siteGridProj !== null)
    addresses.push({
      title: 'The site grid as a CRS',
      value: sheet.siteGridProj,
      hint: 'draws the map square to the grid',
    });
  addresses.push({
    title: 'Connection sheet',
    value: siteUrl(request, '/connect'),
    hint: 'every address of this site, with levels and coordinate systems',
  });
  return landingPage({
    frame: frameOf(request, ['json', 'html']),
    site: { id: site.id, name: site.name, ...(site.period ? { period: site.period } : {}) },
    shown: { classes: [], seasons: [], windowAreaM2: sheet.windowAreaM2, identifiedAsOf: null },
    facts: facts(survey),
    legend: sheet.legend,
    map:
      of.extent === null || of.styleId === null
        ? null
        : {
            styleUrl: siteUrl(request, `/styles/${encodeURIComponent(of.styleId)}`),
            bounds: of.extent,
            siteNorthAzimuthDeg: sheet.siteNorthAzimuthDeg,
            grid: sheet.grid,
          },
    planSvg: sheet.planSvg,
    layers: [...survey.collections.values()].map((collection) => layer(request, collection, shown)),
    addresses,
    analyses: of.processes
      .filter(({ about }) => about !== undefined)
      .map((process) => ({
        question: process.about?.question ?? process.title,
        title: process.title,
        processUrl: page({ href: siteUrl(request, `/processes/${encodeURIComponent(process.id)}`), title: '' }).href,
        curl: curl(request, process),
        commandLine: commandLine(request, process),
      })),
    links: pageLinks(of.links),
    siteCautions: site.cautions,
  });
}
