import type { Route } from '../exchange.js';
import type { Format } from '../negotiate.js';
import { getTileMatrixSet, getTileMatrixSets } from '../ogc/matrix-sets.js';
import { getStyle, getStyles } from '../ogc/styles.js';
import { getTileJson } from '../ogc/tile-json.js';
import { getPlainTile, getTile, getTileset, getTilesets } from '../ogc/tiles.js';
import { filterParameters, parameters } from '../parameters.js';
import type { Parameter } from '../query.js';

const get = { method: 'get', query: [] } as const;
const documents: readonly Format[] = ['json', 'html'];
const site = '/sites/{siteId}';
const collection = '/sites/{siteId}/collections/{collectionId}';
const choice: readonly Parameter[] = [
  parameters.season,
  parameters.artefactClass,
  parameters.version,
  parameters.identifiedAsOf,
];
const filtered: readonly Parameter[] = [...filterParameters, ...choice];
const noTile = { 404: 'No such tile' } as const;

/** Addresses of OGC API – Tiles, plain tiles, TileJSON and styles. */
export const tilesRoutes: readonly Route[] = [
  {
    ...get,
    path: `${site}/tiles`,
    handler: getTilesets,
    formats: documents,
    operationId: 'site.dataset.vector.getTileSetsList',
    summary: 'Tilesets of the site',
    tag: 'Tiles',
    schema: 'tilesets',
  },
  {
    ...get,
    path: `${site}/tiles/{tileMatrixSetId}`,
    handler: getTileset,
    formats: documents,
    operationId: 'site.dataset.vector.getTileSet',
    summary: 'A tileset of the site',
    tag: 'Tiles',
    schema: 'tileset',
  },
  {
    ...get,
    path: `${site}/tiles/{tileMatrixSetId}/{tileMatrix}/{tileRow}/{tileCol}`,
    handler: getTile,
    formats: ['mvt'],
    query: filtered,
    operationId: 'site.dataset.vector.getTile',
    summary: 'A tile with all collections',
    tag: 'Tiles',
    statuses: noTile,
  },
  {
    ...get,
    path: `${collection}/tiles`,
    handler: getTilesets,
    formats: documents,
    operationId: 'site.collection.vector.getTileSetsList',
    summary: 'Tilesets of a collection',
    tag: 'Tiles',
    schema: 'tilesets',
  },
  {
    ...get,
    path: `${collection}/tiles/{tileMatrixSetId}`,
    handler: getTileset,
    formats: documents,
    operationId: 'site.collection.vector.getTileSet',
    summary: 'A tileset of a collection',
    tag: 'Tiles',
    schema: 'tileset',
  },
  {
    ...get,
    path: `${collection}/tiles/{tileMatrixSetId}/{tileMatrix}/{tileRow}/{tileCol}`,
    handler: getTile,
    formats: ['mvt', 'geojson'],
    query: filtered,
    operationId: 'site.collection.vector.getTile',
    summary: 'A tile of a collection',
    tag: 'Tiles',
    schema: 'featureList',
    statuses: { ...noTile, 422: 'More features than a GeoJSON tile holds' },
  },
  {
    ...get,
    path: `${site}/tileMatrixSets`,
    handler: getTileMatrixSets,
    formats: documents,
    operationId: 'getTileMatrixSetsList',
    summary: 'Tile matrix sets',
    tag: 'Tiles',
    schema: 'tileMatrixSets',
  },
  {
    ...get,
    path: `${site}/tileMatrixSets/{tileMatrixSetId}`,
    handler: getTileMatrixSet,
    formats: documents,
    operationId: 'getTileMatrixSet',
    summary: 'One tile matrix set',
    tag: 'Tiles',
    schema: 'tileMatrixSet',
  },
  {
    ...get,
    path: `${site}/xyz/{collectionId}/{z}/{x}/{y}.mvt`,
    handler: getPlainTile,
    formats: ['mvt'],
    query: filtered,
    operationId: 'getPlainTile',
    summary: 'A tile by zoom, column, row',
    tag: 'Tiles',
    statuses: noTile,
  },
  {
    ...get,
    path: `${site}/xyz/{collectionId}/{z}/{x}/{y}.pbf`,
    handler: getPlainTile,
    formats: ['mvt'],
    query: filtered,
    operationId: 'getPlainTilePbf',
    summary: 'The same tile under its other name',
    tag: 'Tiles',
    statuses: noTile,
  },
  {
    ...get,
    path: `${site}/tilejson/{collectionId}.json`,
    handler: getTileJson,
    formats: ['json'],
    query: filtered,
    operationId: 'getTileJson',
    summary: 'TileJSON of a collection',
    tag: 'Tiles',
    schema: 'tileJson',
  },
  {
    ...get,
    path: `${site}/styles`,
    handler: getStyles,
    formats: documents,
    operationId: 'getStyles',
    summary: 'Styles',
    tag: 'Styles',
    schema: 'styles',
  },
  {
    ...get,
    path: `${site}/styles/{styleId}`,
    handler: getStyle,
    formats: ['style'],
    query: choice,
    operationId: 'getStyle',
    summary: 'One style',
    tag: 'Styles',
  },
];
