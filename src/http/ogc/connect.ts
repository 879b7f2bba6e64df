import type { CollectionView, SurveyView } from '../../operations/service.js';
import { siteMatrixSet } from '../../tiles/site-matrix-set.js';
import { offeredCrs } from '../crs.js';
import type { Context, Handler, Request } from '../exchange.js';
import { selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { shownConnectionSheet } from '../shown/connect.js';
import { matrixSetUri } from './matrix-sets.js';
import { type SiteGridText, siteGridText } from './site-grid.js';
import { deepestHandedOut } from './tile-json.js';
import { plainTileTemplate } from './tiles.js';

/** One thing to paste: what it is, the address or text, and the setting that goes with it. */
export interface Pasted {
  readonly title: string;
  readonly value: string;
  readonly hint?: string;
}

/** One collection with all its addresses; null where it has none of a kind. */
export interface ConnectedCollection {
  readonly id: string;
  readonly title: string;
  readonly geometry_type: 'point' | 'line' | 'area' | null;
  readonly features: string;
  readonly csv: string;
  readonly vector_tiles: string | null;
  readonly tile_json: string | null;
  readonly style: string | null;
  readonly metric_tiles: string | null;
  readonly coverage: string | null;
}

/** Everything a GIS desktop asks for, in one place. */
export interface ConnectionSheet {
  readonly title: string;
  readonly site: string;
  readonly data_version: number;
  readonly features: { readonly address: string; readonly landing_page: string; readonly crs: readonly string[] };
  readonly vector_tiles: {
    /** rows before columns: the order of the letters matters */
    readonly whole_site: string;
    readonly style: string | null;
    readonly min_zoom: 0;
    readonly max_zoom: number;
    readonly crs: string;
  };
  readonly metric_tiles: {
    readonly id: string;
    readonly crs: string;
    readonly tile_matrix_set: string;
    readonly whole_site: string;
    readonly min_tile_matrix: 0;
    readonly max_tile_matrix: number;
  } | null;
  readonly collections: readonly ConnectedCollection[];
  readonly coordinate_systems: {
    readonly map: { readonly uri: string | null; readonly title: string };
    readonly vertical: string;
    readonly site_grid: SiteGridText | null;
  };
  readonly downloads: readonly { readonly title: string; readonly href: string; readonly type: string }[];
}

function connected(request: Request, survey: SurveyView, collection: CollectionView): ConnectedCollection {
  const id = encodeURIComponent(collection.id);
  const root = siteUrl(request, `/collections/${id}`);
  const drawn = collection.geometryType !== null;
  const set = siteMatrixSet(survey.site);
  return {
    id: collection.id,
    title: collection.title,
    geometry_type: collection.geometryType,
    features: `${root}/items`,
    csv: `${root}/items?f=csv`,
    vector_tiles: drawn ? plainTileTemplate(request, collection.id) : null,
    tile_json: drawn ? siteUrl(request, `/tilejson/${id}.json`) : null,
    style: drawn ? siteUrl(request, `/styles/${id}`) : null,
    metric_tiles: drawn && set !== null ? `${root}/tiles/${set.id}/{tileMatrix}/{tileRow}/{tileCol}` : null,
    coverage: collection.surface ? `${root}/coverage` : null,
  };
}

function sheetOf(request: Request, { service }: Context, survey: SurveyView): ConnectionSheet {
  const set = siteMatrixSet(survey.site);
  const styleId = service.styles(survey)[0]?.id ?? null;
  const { site, storageCrs } = survey;
  return {
    title: `Connecting to ${site.name}`,
    site: site.id,
    data_version: survey.version.version,
    features: {
      address: siteUrl(request),
      landing_page: siteUrl(request, '?f=html'),
      crs: offeredCrs(storageCrs).map(({ uri }) => uri),
    },
    vector_tiles: {
      whole_site: siteUrl(request, '/tiles/WebMercatorQuad/{z}/{y}/{x}'),
      style: styleId === null ? null : siteUrl(request, `/styles/${encodeURIComponent(styleId)}`),
      min_zoom: 0,
      max_zoom: deepestHandedOut,
      crs: 'http://www.opengis.net/def/crs/EPSG/0/3857',
    },
    metric_tiles:
      set === null
        ? null
        : {
            id: set.id,
            crs: set.crs,
            tile_matrix_set: matrixSetUri(request, set),
            whole_site: siteUrl(request, `/tiles/${set.id}/{tileMatrix}/{tileRow}/{tileCol}`),
            min_tile_matrix: 0,
            max_tile_matrix: set.maxZoom,
          },
    collections: [...survey.collections.values()].map((collection) => connected(request, survey, collection)),
    coordinate_systems: {
      map: { uri: storageCrs?.uri ?? null, title: site.grids[0].crs },
      vertical: `${site.vertical_datum.name}, elevations up-positive in metres`,
      site_grid: siteGridText(survey),
    },
    downloads: [
      {
        title: 'The whole site as GeoPackage',
        href: siteUrl(request, '/export.gpkg'),
        type: mediaTypeOf('geopackage'),
      },
    ],
  };
}

/** The connection sheet: every address of a site, with levels and coordinate systems, ready to paste. */
export const getConnectionSheet: Handler = async (request, context) => {
  const survey = await context.service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const links = selfLinks(request, ['json', 'html']);
  const sheet = sheetOf(request, context, survey);
  return { links, body: { ...sheet, links }, page: () => shownConnectionSheet(request, sheet) };
};
