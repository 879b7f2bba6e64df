import type { CollectionView, SurveyView } from '../../operations/service.js';
import { Problem } from '../../problems.js';
import {
  type MatrixSet,
  readTileAddress,
  type TileAddress,
  tileLimits,
  webMercatorQuad,
} from '../../tiles/matrix-set.js';
import { matrixSetsOf } from '../../tiles/site-matrix-set.js';
import { CRS84 } from '../crs.js';
import type { Answer, Context, Handler, Link, Request } from '../exchange.js';
import { selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { collectionOf, readChoice, readFilter, surveyOf } from '../selection.js';
import { geoJsonTile } from './geojson-tile.js';
import { siteExtent } from './landing.js';
import { boxIn, matrixSetUri, namedMatrixSet, schemeLink } from './matrix-sets.js';

/** What a tileset shows: one collection, or all that have positions. */
interface Shown {
  readonly survey: SurveyView;
  readonly title: string;
  readonly collections: readonly CollectionView[];
  /** address of its list of tilesets */
  readonly root: string;
  readonly extent: readonly [number, number, number, number] | null;
}

/** Collections that can be drawn. */
function drawnCollections(survey: SurveyView): CollectionView[] {
  return [...survey.collections.values()].filter(({ geometryType }) => geometryType !== null);
}

/** A collection that has positions. @throws Problem no-such-collection */
export function drawnCollection(survey: SurveyView, id: string): CollectionView {
  const collection = collectionOf(survey, id);
  if (collection.geometryType === null) {
    throw new Problem(
      'no-such-collection',
      `collection ${collection.id} has no positions, so it has no tiles; use /items`,
    );
  }
  return collection;
}

async function shown(request: Request, context: Context): Promise<Shown> {
  const survey = await surveyOf(request, context);
  const id = request.params['collectionId'];
  if (id === undefined) {
    const root = siteUrl(request, '/tiles');
    return { survey, title: survey.site.name, collections: drawnCollections(survey), root, extent: siteExtent(survey) };
  }
  const collection = drawnCollection(survey, id);
  const root = siteUrl(request, `/collections/${encodeURIComponent(collection.id)}/tiles`);
  return { survey, title: collection.title, collections: [collection], root, extent: collection.extent };
}

function tilesetLink(show: Shown, set: MatrixSet): Link {
  return {
    href: `${show.root}/${set.id}`,
    rel: 'self',
    type: mediaTypeOf('json'),
    title: `Vector tiles of ${show.title}, ${set.id}`,
  };
}

function tilesetHead(request: Request, show: Shown, set: MatrixSet) {
  return { title: show.title, dataType: 'vector', crs: set.crs, tileMatrixSetURI: matrixSetUri(request, set) };
}

/** The tilesets of a site or of one collection. */
export const getTilesets: Handler = async (request, context) => {
  const show = await shown(request, context);
  const links = selfLinks(request, ['json', 'html']);
  const tilesets = matrixSetsOf(show.survey.site).map((set) => ({
    ...tilesetHead(request, show, set),
    links: [tilesetLink(show, set), schemeLink(request, set)],
  }));
  return { body: { tilesets, links }, links };
};

const geometryDimension = { point: 0, line: 1, area: 2 } as const;

function layerDocument(collection: CollectionView, set: MatrixSet) {
  const properties: Record<string, unknown> = {};
  for (const { name, title, type } of collection.table.fields) {
    properties[name] = {
      title,
      type: type === 'text' || type === 'date' || type === 'date-time' || type === 'time' ? 'string' : type,
    };
  }
  return {
    id: collection.id,
    title: collection.title,
    description: collection.description,
    dataType: 'vector',
    geometryDimension: geometryDimension[collection.geometryType as 'point' | 'line' | 'area'],
    minTileMatrix: '0',
    maxTileMatrix: String(set.maxZoom),
    propertiesSchema: { type: 'object', properties },
  };
}

/** One tileset: where its tiles are, which of them can hold something, what their layers hold. */
export const getTileset: Handler = async (request, context) => {
  const show = await shown(request, context);
  const set = namedMatrixSet(request, show.survey);
  const own = selfLinks(request, ['json', 'html']);
  const template = `${show.root}/${set.id}/{tileMatrix}/{tileRow}/{tileCol}`;
  const links: Link[] = [
    ...own,
    schemeLink(request, set),
    { href: template, rel: 'item', type: mediaTypeOf('mvt'), title: 'Tiles', templated: true },
  ];
  if (request.params['collectionId'] !== undefined) {
    links.push({
      href: `${template}?f=json`,
      rel: 'item',
      type: mediaTypeOf('geojson'),
      title: 'Tiles as GeoJSON',
      templated: true,
    });
    if (set === webMercatorQuad) {
      const id = encodeURIComponent(show.collections[0].id);
      links.push({
        href: siteUrl(request, `/tilejson/${id}.json`),
        rel: 'alternate',
        type: 'application/json',
        title: 'TileJSON',
      });
    }
  }
  const box = show.extent;
  return {
    links: own,
    body: {
      ...tilesetHead(request, show, set),
      tileMatrixSetLimits: box === null ? [] : tileLimits(set, boxIn(set, box)),
      ...(box === null
        ? {}
        : { boundingBox: { lowerLeft: [box[0], box[1]], upperRight: [box[2], box[3]], crs: CRS84 } }),
      layers: show.collections.map((collection) => layerDocument(collection, set)),
      links,
    },
  };
};

/** What a tile is asked for by. */
interface Asked {
  readonly show: Shown;
  readonly set: MatrixSet;
  readonly address: TileAddress;
}

async function tile(request: Request, context: Context, { show, set, address }: Asked): Promise<Answer> {
  const answer = await context.service.tile({
    survey: show.survey,
    collections: show.collections,
    ...address,
    selection: { ...readChoice(request.query), ...readFilter(request.query, show.survey) },
    ...(set === webMercatorQuad ? {} : { set }),
  });
  const packed = await context.tiles.keep(request.url, answer);
  return { body: answer.bytes, tag: answer.etag, strong: true, ...(packed === null ? {} : { gzip: packed }) };
}

/** A tile by matrix, row and column (row first, as the standard has it); outside the published limits there is none. */
export const getTile: Handler = async (request, context) => {
  const show = await shown(request, context);
  const set = namedMatrixSet(request, show.survey);
  const { tileMatrix, tileRow, tileCol } = request.params as Record<'tileMatrix' | 'tileRow' | 'tileCol', string>;
  const address = readTileAddress(set, { tileMatrix, tileRow, tileCol });
  if (show.extent !== null) {
    const limit = tileLimits(set, boxIn(set, show.extent))[address.z];
    const within =
      limit !== undefined &&
      address.y >= limit.minTileRow &&
      address.y <= limit.maxTileRow &&
      address.x >= limit.minTileCol &&
      address.x <= limit.maxTileCol;
    if (!within) {
      throw new Problem(
        'no-such-tile',
        `tile ${tileMatrix}/${tileRow}/${tileCol} lies outside the limits of this tileset; see tileMatrixSetLimits`,
      );
    }
  }
  if (request.format !== 'geojson') return tile(request, context, { show, set, address });
  return geoJsonTile(request, context, { survey: show.survey, collection: show.collections[0], set, address });
};

/** The same tile by z/x/y, as desktops ask; anywhere in the world, empty where nothing is, since they ask everywhere. */
export const getPlainTile: Handler = async (request, context) => {
  const { z, x, y } = request.params as Record<'z' | 'x' | 'y', string>;
  const address = readTileAddress(webMercatorQuad, { tileMatrix: z, tileRow: y, tileCol: x });
  const show = await shown(request, context);
  return tile(request, context, { show, set: webMercatorQuad, address });
};

/** Template of a collection's tiles for desktops, the state asked for kept. */
export function plainTileTemplate(request: Request, collection: string): string {
  const kept = new URLSearchParams(request.query);
  kept.delete('f');
  const text = kept.toString();
  return `${siteUrl(request, `/xyz/${encodeURIComponent(collection)}/{z}/{x}/{y}.mvt`)}${text === '' ? '' : `?${text}`}`;
}
