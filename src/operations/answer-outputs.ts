import type { FeatureTable } from '../domain/feature-table.js';
import type { GridFrame } from '../domain/grid.js';
import type { Raster } from '../domain/raster.js';
import { geotiff } from '../tiles/geotiff.js';
import type { KeptAnswer } from './answer-parts.js';
import { featureText } from './feature-text.js';
import { meshGeoJson } from './mesh-text.js';
import { placedLayer } from './placed-layer.js';

/** One output of a run as it is handed out. */
export type Output =
  | { readonly mediaType: string; readonly value: unknown }
  | { readonly mediaType: string; readonly bytes: Uint8Array };

/** A layer as GeoJSON: longitude and latitude on a site, plane metres (said so) on plain files. */
export function layerGeoJson(table: FeatureTable, frame: GridFrame | null): string {
  const coordinates = frame
    ? placedLayer(table, frame).coordinates('crs84')
    : (table.geometry?.coordinates ?? new Float64Array(0));
  const text = featureText({
    table,
    coordinates,
    decimals: frame ? 9 : 6,
    properties: table.fields.map((field) => field.name),
  });
  const rows = Array.from({ length: table.length }, (_, row) => row);
  const space = frame ? '' : '"coordinate_space":"site-grid",';
  return `{"type":"FeatureCollection",${space}"features":[${[...text.features(rows)].join('')}]}`;
}

/** A surface as GeoTIFF in the site's projected CRS; without a site in the plane metres of the files. */
export function surfaceGeoTiff(raster: Raster, frame: GridFrame | null): Uint8Array {
  const epsg = frame?.projection.epsg ?? null;
  if (!frame || raster.space === 'projected') return geotiff(raster, { ...raster, epsg });
  const corner = frame.toProjected(...raster.corner);
  const step = ([dx, dy]: readonly [number, number]): [number, number] => {
    const [east, north] = frame.toProjected(raster.corner[0] + dx, raster.corner[1] + dy);
    return [east - corner[0], north - corner[1]];
  };
  return geotiff(raster, { epsg, corner, columnStep: step(raster.columnStep), rowStep: step(raster.rowStep) });
}

/** All outputs of an answer, in the order the process description lists them. */
export function answerOutputs(answer: KeptAnswer, frame: GridFrame | null): Map<string, Output> {
  const outputs = new Map<string, Output>();
  outputs.set('summary', { mediaType: 'application/json', value: answer.summary });
  outputs.set('table', { mediaType: 'application/json', value: answer.table });
  if (answer.features) {
    outputs.set('features', {
      mediaType: 'application/geo+json',
      value: JSON.parse(layerGeoJson(answer.features, frame)),
    });
  }
  if (answer.coverage) {
    outputs.set('coverage', {
      mediaType: 'image/tiff; application=geotiff',
      bytes: surfaceGeoTiff(answer.coverage, frame),
    });
  }
  if (answer.mesh) {
    outputs.set('mesh', { mediaType: 'application/geo+json', value: JSON.parse(meshGeoJson(answer.mesh)) });
  }
  outputs.set('figure', { mediaType: 'image/svg+xml', value: answer.figure });
  outputs.set('methods', { mediaType: 'text/plain', value: answer.methods });
  outputs.set('provenance', {
    mediaType: 'application/json',
    value: { ...answer.provenance, cautions: answer.cautions },
  });
  return outputs;
}
