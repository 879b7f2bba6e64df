import { gridFrame } from '../../domain/grid.js';
import type { GridRecord } from '../../domain/site.js';
import { type GridAtPlace, gridAtPlace, mapPlace, naturalZone, utmZone } from '../../math/norths.js';
import { Problem } from '../../problems.js';
import type { Parameters } from './schemas.js';

/** How the map grid lies at the site, and how that is known. */
export interface MapGrid extends Partial<GridAtPlace> {
  readonly source: string | null;
}

/**
 * Convergence and point scale at the site: from longitude and latitude on UTM, or from the CRS of the site's grid.
 * @param middle  x, y of the middle of the site, metres of the grid
 * @throws Problem bad-parameter when only one of lon and lat is given; unknown-crs
 */
export function mapGridAt(own: Parameters, grid: GridRecord | null, middle: readonly [number, number]): MapGrid {
  if ((own.lon === null) !== (own.lat === null)) {
    throw new Problem('bad-parameter', `lon and lat belong together; ${own.lon === null ? 'lon' : 'lat'} is missing`, {
      parameter: own.lon === null ? 'lon' : 'lat',
    });
  }
  if (own.lon !== null && own.lat !== null) {
    const zone = own.utm_zone ?? naturalZone(own.lon);
    const place = mapPlace(own.lon, own.lat, utmZone(zone, own.lat < 0 ? 'south' : 'north'));
    return {
      convergenceDeg: place.convergenceDeg,
      pointScale: own.point_scale ?? place.pointScale,
      source: `UTM zone ${zone} at ${own.lon}° east, ${own.lat}° north`,
    };
  }
  if (grid !== null) {
    const frame = gridFrame(grid);
    const [lon, lat] = frame.toLonLat(...middle);
    const at = gridAtPlace((x, y) => frame.projection.fromLonLat(x, y), lon, lat);
    return { ...at, pointScale: own.point_scale ?? at.pointScale, source: `the CRS of the site grid, ${grid.crs}` };
  }
  return own.point_scale === null ? { source: null } : { pointScale: own.point_scale, source: 'the point_scale given' };
}
