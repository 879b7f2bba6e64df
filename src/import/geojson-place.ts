import { projectionOf } from '../domain/crs.js';
import { gridFrame } from '../domain/grid.js';
import type { Site } from '../domain/site.js';
import { Problem } from '../problems.js';

/** Coordinates of a file → metres of the first grid. */
export type ToFirstGrid = (x: number, y: number) => [number, number];

const longitudeLatitude =
  /^(urn:ogc:def:crs:OGC:[^:]*:CRS84|https?:\/\/www\.opengis\.net\/def\/crs\/OGC\/[^/]+\/CRS84)$/i;

/**
 * The way from a GeoJSON file's coordinates to the first grid, by its members `coordinate_space` and `grid`.
 * @throws Problem bad-file when it names a space or a grid that is not known, or carries a `crs` member that is not longitude and latitude
 */
export function placeOf(members: ReadonlyMap<string, unknown>, site: Site): { toFirst: ToFirstGrid; degrees: boolean } {
  const space = members.get('coordinate_space');
  const gridName = members.get('grid');
  const first = gridFrame(site.grids[0]);
  if (space === 'site-grid') {
    const grid = gridName === undefined ? site.grids[0] : site.grids.find((candidate) => candidate.id === gridName);
    if (!grid)
      throw new Problem(
        'bad-file',
        `member grid: ${JSON.stringify(gridName)} is no grid of site.json (${site.grids.map((g) => g.id).join(', ')})`,
      );
    const frame = gridFrame(grid);
    const toFirst: ToFirstGrid =
      grid === site.grids[0] ? (x, y) => [x, y] : (x, y) => first.fromProjected(...frame.toProjected(x, y));
    if (grid.crs === site.grids[0].crs) return { toFirst, degrees: false };
    return { toFirst: (x, y) => first.fromLonLat(...frame.toLonLat(x, y)), degrees: false };
  }
  if (gridName !== undefined)
    throw new Problem('bad-file', 'member grid goes with "coordinate_space": "site-grid" only');
  if (space === undefined) {
    const crs = legacyCrs(members.get('crs'));
    if (crs !== null && !longitudeLatitude.test(crs))
      throw new Problem(
        'bad-file',
        `has the member crs "${crs}", which GeoJSON no longer knows; say "coordinate_space": "EPSG:…" or "site-grid" instead`,
      );
    return { toFirst: (lon, lat) => first.fromLonLat(lon, lat), degrees: true };
  }
  if (typeof space !== 'string' || !/^EPSG:\d{4,6}$/i.test(space))
    throw new Problem(
      'bad-file',
      `member coordinate_space: ${JSON.stringify(space)} is neither "site-grid" nor an EPSG code such as "EPSG:32626"`,
    );
  if (space.toUpperCase() === 'EPSG:4326')
    throw new Problem(
      'bad-file',
      'member coordinate_space: leave it out for longitude, latitude in degrees; EPSG:4326 means latitude first',
    );
  const projection = projectionOf(space.toUpperCase());
  const own = projectionOf(site.grids[0].crs);
  if (projection.proj === own.proj) return { toFirst: (e, n) => first.fromProjected(e, n), degrees: false };
  return { toFirst: (e, n) => first.fromLonLat(...projection.toLonLat(e, n)), degrees: false };
}

function legacyCrs(crs: unknown): string | null {
  if (crs === undefined || crs === null) return null;
  if (typeof crs === 'object' && 'properties' in crs) {
    const { properties } = crs;
    if (typeof properties === 'object' && properties !== null && 'name' in properties) return String(properties.name);
  }
  return JSON.stringify(crs).slice(0, 80);
}
