import type { Request } from '../exchange.js';
import type { ConnectionSheet, Pasted } from '../ogc/connect.js';
import { connectionPage } from '../pages/connect.js';
import { frameOf } from './frame.js';

/** How far off a corner of the grid is drawn, in words. */
function deviationInWords(metres: number): string {
  return metres < 0.0005 ? 'less than a millimetre' : `${Math.ceil(metres * 1000)} mm`;
}

/** Page of the connection sheet. */
export function shownConnectionSheet(request: Request, sheet: ConnectionSheet): string {
  const { vector_tiles: tiles, metric_tiles: metric, coordinate_systems: systems } = sheet;
  const grid = systems.site_grid;
  const level = `levels ${tiles.min_zoom} to ${tiles.max_zoom}; a lower last level shifts finds by decimetres`;
  const tileFields: Pasted[] = [
    { title: 'Vector tiles of the whole site', value: tiles.whole_site, hint: `${level}; y stands before x` },
    ...(tiles.style === null
      ? []
      : [{ title: 'Style of the whole site', value: tiles.style, hint: 'beside the tiles' }]),
  ];
  if (metric !== null) {
    tileFields.push({
      title: 'Metric tiles of the whole site',
      value: metric.whole_site,
      hint: `tile matrix set ${metric.id}, levels 0 to ${metric.max_tile_matrix}, edges on whole metres; for readers of tile matrix sets only`,
    });
  }
  const crsFields: Pasted[] = [
    {
      title: 'Map coordinates',
      value: systems.map.uri ?? systems.map.title,
      hint: 'the projected CRS the site is recorded in',
    },
  ];
  if (grid !== null) {
    const hint = `draws the map square to the grid, site_north up; a corner of the grid is off by ${deviationInWords(grid.deviation_m)}`;
    crsFields.push({ title: 'The site grid as PROJ string', value: grid.proj, hint });
    if (grid.wkt2 !== null) crsFields.push({ title: 'The site grid as WKT 2', value: grid.wkt2, hint: 'the same CRS' });
  }
  return connectionPage({
    frame: frameOf(request, ['json', 'html']),
    title: sheet.title,
    sections: [
      {
        heading: 'Layers with all their columns',
        words:
          'Add an OGC API – Features connection with this address. Each collection is a layer; its filter runs on the server. Elevations are columns, not third coordinates.',
        fields: [{ title: 'OGC API', value: sheet.features.address, hint: 'the landing page of the site' }],
      },
      {
        heading: 'Drawing fast',
        words: 'Vector tiles draw many finds quickly. They are for looking: measure and count in the layers above.',
        fields: tileFields,
      },
      {
        heading: 'Coordinate systems',
        words: `Elevations: ${systems.vertical}.`,
        fields: crsFields,
      },
      {
        heading: 'To take away',
        words: 'Files that need no connection. They hold exact positions: handle them as the permit says.',
        fields: sheet.downloads.map(({ title, href }) => ({ title, value: href })),
      },
    ],
    collections: sheet.collections.map((collection) => ({
      title: collection.title,
      kind:
        collection.geometry_type === null
          ? 'table'
          : collection.coverage === null
            ? collection.geometry_type
            : 'surface',
      links: [
        { title: 'features', href: `${collection.features}?f=html` },
        { title: 'CSV', href: collection.csv },
        ...(collection.tile_json === null ? [] : [{ title: 'TileJSON', href: collection.tile_json }]),
        ...(collection.style === null ? [] : [{ title: 'style', href: collection.style }]),
        ...(collection.coverage === null ? [] : [{ title: 'GeoTIFF', href: collection.coverage }]),
      ],
      tiles: collection.vector_tiles,
    })),
  });
}
