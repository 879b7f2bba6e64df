import type { SurfaceMesh } from '../domain/surface-mesh.js';
import { noCorner } from '../math/cell-mesh.js';

const rounded = (v: number) => Number(v.toFixed(6)) + 0;

/**
 * A surface in space as GeoJSON: polygons of x, y, z in metres of the site grid, declared so by `coordinate_space`.
 *
 * The third coordinate of common GeoJSON is a height above the ellipsoid; an elevation of a site datum is not. A reader
 * that takes these coordinates for longitude, latitude and height is wrong in all three, and the declaration says so.
 */
export function meshGeoJson(mesh: SurfaceMesh): string {
  const { x, y, z, sigma, corners, beyond, title, valueName } = mesh;
  const features: unknown[] = [];
  for (let k = 0; k < corners.length; k += 4) {
    const own = [...corners.subarray(k, k + 4)].filter((corner) => corner !== noCorner);
    const mean = (values: Float64Array) => own.reduce((sum, i) => sum + values[i] / own.length, 0);
    const error = mean(sigma);
    features.push({
      type: 'Feature',
      id: k / 4 + 1,
      geometry: {
        type: 'Polygon',
        coordinates: [[...own, own[0]].map((i) => [rounded(x[i]), rounded(y[i]), rounded(z[i])])],
      },
      properties: {
        mean_m: rounded(mean(z)),
        mean_sigma_m: Number.isNaN(error) ? null : rounded(error),
        beyond_nodes: beyond[k / 4] === 1,
      },
    });
  }
  return JSON.stringify({
    type: 'FeatureCollection',
    title,
    coordinate_space: 'site-grid',
    third_coordinate: valueName,
    features,
  });
}
