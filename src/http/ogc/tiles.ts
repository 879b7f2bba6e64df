import type { CollectionView, SurveyView } from '../../operations/service.js';
import { Problem } from '../../problems.js';
import {
  matrixSetDocument,
  readTileAddress,
  type TileAddress,
  tileLimits,
  webMercatorQuad,
} from '../../tiles/matrix-set.js';
import { CRS84 } from '../crs.js';
import type { Answer, Context, Handler, Link, Request } from '../exchange.js';
import { REL, selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { clip } from '../query.js';
import { collectionOf, readChoice, surveyOf } from '../selection.js';
import { siteExtent } from './landing.js';

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

function checkMatrixSet(id: string): void {
  if (id !== webMercatorQuad.id) {
    throw new Problem('not-found', `there is no tile matrix set "${clip(id)}"; use ${webMercatorQuad.id}`);
  }
}

function schemeLink(request: Request): Link {
  return {
    href: siteUrl(request, `/tileMatrixSets/${webMercatorQuad.id}`),
    rel: `${REL}/tiling-scheme`,
    type: mediaTypeOf('json'),
    title: webMercatorQuad.title,
  };
}

function tilesetLink(show: Shown): Link {
  return {
    href: `${show.root}/${webMercatorQuad.id}`,
    rel: 'self',
    type: mediaTypeOf('json'),
    title: `Vector tiles of ${show.title}`,
  };
}

function tilesetHead(show: Shown) {
  return { title: show.title, dataType: 'vector', crs: webMercatorQuad.crs, tileMatrixSetURI: webMercatorQuad.uri };
}

/** The tilesets of a site or of one collection. */
export const getTilesets: Handler = async (request, context) => {
  const show = await shown(request, context);
  const links = selfLinks(request, ['json', 'html']);
  const tileset = { ...tilesetHead(show), links: [tilesetLink(show), schemeLink(request)] };
  return { body: { tilesets: [tileset], links }, links };
};

const geometryDimension = { point: 0, line: 1, area: 2 } as const;

function layerDocument(collection: CollectionView) {
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
    maxTileMatrix: String(webMercatorQuad.maxZoom),
    propertiesSchema: { type: 'object', properties },
  };
}

/** One tileset: where its tiles are, which of them can hold something, what their layers hold. */
export const getTileset: Handler = async (request, context) => {
  checkMatrixSet(request.params['tileMatrixSetId']);
  const show = await shown(request, context);
  const own = selfLinks(request, ['json', 'html']);
  const links: Link[] = [
    ...own,
    schemeLink(request),
    {
      href: `${show.root}/${webMercatorQuad.id}/{tileMatrix}/{tileRow}/{tileCol}`,
      rel: 'item',
      type: mediaTypeOf('mvt'),
      title: 'Tiles',
      templated: true,
    },
  ];
  if (show.collections.length === 1 && request.params['collectionId'] !== undefined) {
    const id = encodeURIComponent(show.collections[0].id);
    links.push({
      href: siteUrl(request, `/tilejson/${id}.json`),
      rel: 'alternate',
      type: 'application/json',
      title: 'TileJSON',
    });
  }
  const box = show.extent;
  return {
    links: own,
    body: {
      ...tilesetHead(show),
      tileMatrixSetLimits: box === null ? [] : tileLimits(webMercatorQuad, box),
      ...(box === null
        ? {}
        : { boundingBox: { lowerLeft: [box[0], box[1]], upperRight: [box[2], box[3]], crs: CRS84 } }),
      layers: show.collections.map(layerDocument),
      links,
    },
  };
};

async function tile(request: Request, context: Context, of: { show: Shown; address: TileAddress }): Promise<Answer> {
  const { show, address } = of;
  const answer = await context.service.tile({
    survey: show.survey,
    collections: show.collections,
    ...address,
    selection: readChoice(request.query),
  });
  const packed = await context.tiles.keep(request.url, answer);
  return { body: answer.bytes, tag: answer.etag, strong: true, ...(packed === null ? {} : { gzip: packed }) };
}

/** A tile by matrix, row and column (row first, as the standard has it); outside the published limits there is none. */
export const getTile: Handler = async (request, context) => {
  checkMatrixSet(request.params['tileMatrixSetId']);
  const { tileMatrix, tileRow, tileCol } = request.params as Record<'tileMatrix' | 'tileRow' | 'tileCol', string>;
  const address = readTileAddress(webMercatorQuad, { tileMatrix, tileRow, tileCol });
  const show = await shown(request, context);
  if (show.extent !== null) {
    const limit = tileLimits(webMercatorQuad, show.extent)[address.z];
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
  return tile(request, context, { show, address });
};

/** The same tile by z/x/y, as desktops ask; anywhere in the world, empty where nothing is, since they ask everywhere. */
export const getPlainTile: Handler = async (request, context) => {
  const { z, x, y } = request.params as Record<'z' | 'x' | 'y', string>;
  const address = readTileAddress(webMercatorQuad, { tileMatrix: z, tileRow: y, tileCol: x });
  const show = await shown(request, context);
  return tile(request, context, { show, address });
};

/** The tile matrix sets in use. */
export const getTileMatrixSets: Handler = async (request, { service }) => {
  await service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const { id, title, uri, crs } = webMercatorQuad;
  const href = siteUrl(request, `/tileMatrixSets/${id}`);
  const links = selfLinks(request, ['json', 'html']);
  const set = { id, title, uri, crs, links: [{ href, rel: 'self', type: mediaTypeOf('json'), title }] };
  return { body: { tileMatrixSets: [set], links }, links };
};

/** One tile matrix set. */
export const getTileMatrixSet: Handler = async (request, { service }) => {
  await service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  checkMatrixSet(request.params['tileMatrixSetId']);
  return { body: matrixSetDocument(webMercatorQuad), links: selfLinks(request, ['json', 'html']) };
};

/** Template of a collection's tiles for desktops, the state asked for kept. */
export function plainTileTemplate(request: Request, collection: string): string {
  const kept = new URLSearchParams(request.query);
  kept.delete('f');
  const text = kept.toString();
  return `${siteUrl(request, `/xyz/${encodeURIComponent(collection)}/{z}/{x}/{y}.mvt`)}${text === '' ? '' : `?${text}`}`;
}
