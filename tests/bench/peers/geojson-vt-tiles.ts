import GeoJSONVT from 'geojson-vt';
import vtpbf from 'vt-pbf';
import { type Column, valueAt } from '../../../src/domain/feature-table.js';
import type { TileAddress } from '../../../src/tiles/matrix-set.js';
import type { SeededFinds } from '../seeded-finds.js';

/** The usual pair: finds as GeoJSON, cut by geojson-vt and written by vt-pbf. */
export function geojsonVtTiles({ table, lonLat }: SeededFinds): (tile: TileAddress) => Uint8Array | null {
  const columns = [...table.columns] as [string, Column][];
  const index = new GeoJSONVT(
    {
      type: 'FeatureCollection',
      features: Array.from({ length: table.length }, (_, row) => ({
        type: 'Feature',
        id: table.ids[row],
        geometry: { type: 'Point', coordinates: [lonLat[2 * row], lonLat[2 * row + 1]] },
        properties: Object.fromEntries(columns.map(([name, column]) => [name, valueAt(column, row)])),
      })),
    },
    { maxZoom: 24, extent: 4096, buffer: 64, indexMaxZoom: 5 },
  );
  return ({ z, x, y }) => {
    const tile = index.getTile(z, x, y);
    return tile === null ? null : vtpbf.fromGeojsonVt({ finds: tile as never }, { version: 2 });
  };
}
