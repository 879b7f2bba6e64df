import type { Route } from '../exchange.js';
import { getConnectionSheet } from '../ogc/connect.js';
import { downloadQuery, getGeoPackage } from '../ogc/downloads.js';

const site = '/sites/{siteId}';

/** Files to take away, and the sheet that tells how to connect. */
export const downloadRoutes: readonly Route[] = [
  {
    method: 'get',
    path: `${site}/connect`,
    handler: getConnectionSheet,
    formats: ['json', 'html'],
    query: [],
    operationId: 'getConnectionSheet',
    summary: 'Every address to paste into a GIS desktop',
    tag: 'Downloads',
    schema: 'connectionSheet',
  },
  {
    method: 'get',
    path: `${site}/export.gpkg`,
    handler: getGeoPackage,
    formats: ['geopackage'],
    query: downloadQuery,
    operationId: 'getGeoPackage',
    summary: 'The site as GeoPackage',
    tag: 'Downloads',
    statuses: { 503: 'The file cannot be written' },
  },
];
