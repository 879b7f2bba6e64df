import { gridFrame } from '../domain/grid.js';
import type { Site } from '../domain/site.js';
import { type MatrixSet, metricMatrixSet, tileExtent, webMercatorQuad } from './matrix-set.js';

/** Name of every site's own tile matrix set in addresses. */
export const siteMatrixSetId = 'SiteMetricQuad';

/** The root square is at least this many times as wide as the grids, so that what lies around them is in it. */
const roomAround = 4;
const smallestSideM = 64;

const known = new WeakMap<Site, MatrixSet | null>();

/**
 * The tiles of a site in its own projected CRS: a root square of 2^k metres on whole metres around the site grids, and
 * k levels below it, so that the deepest tile is one square metre and every tile edge lies on the metre grid.
 *
 * It follows from site.json alone, so it stays the same from data version to data version; what lies outside the root
 * square (a wide bathymetry) is cut off at its edge.
 * @returns null when the CRS of the first grid has no registered code: clients could not name it
 * @throws Problem unknown-crs when the CRS of a grid is not known
 * @see OGC Two Dimensional Tile Matrix Set 2.0 (OGC 17-083r4)
 */
export function siteMatrixSet(site: Site): MatrixSet | null {
  let set = known.get(site);
  if (set === undefined) {
    set = makeSet(site);
    known.set(site, set);
  }
  return set;
}

/** The set of that name at a site; null when there is none. */
export function matrixSetOf(site: Site, id: string): MatrixSet | null {
  return matrixSetsOf(site).find((set) => set.id === id) ?? null;
}

/** All tile matrix sets of a site, the registered one first. */
export function matrixSetsOf(site: Site): readonly MatrixSet[] {
  const own = siteMatrixSet(site);
  return own === null ? [webMercatorQuad] : [webMercatorQuad, own];
}

/**
 * The first level at which all finds are drawn one by one: in the registered set it is level 19, in others the level
 * whose tile unit is as small on the ground (13 mm at latitude 45°).
 */
export function thinBelowZoom(set: MatrixSet): number {
  if (set.takes === 'lon-lat') return 19;
  const unitM = set.sideM / tileExtent;
  return Math.max(0, Math.min(set.maxZoom, Math.ceil(Math.log2(unitM / 0.0135))));
}

function makeSet(site: Site): MatrixSet | null {
  const first = gridFrame(site.grids[0]);
  const { epsg } = first.projection;
  if (epsg === null) return null;
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const grid of site.grids) {
    const frame = gridFrame(grid);
    const [width, height] = [grid.columns * grid.node_spacing, grid.rows * grid.node_spacing];
    for (const [x, y] of [
      [0, 0],
      [width, 0],
      [width, height],
      [0, height],
    ]) {
      const [e, n] =
        grid.crs === site.grids[0].crs ? frame.toProjected(x, y) : first.projection.fromLonLat(...frame.toLonLat(x, y));
      west = Math.min(west, e);
      east = Math.max(east, e);
      south = Math.min(south, n);
      north = Math.max(north, n);
    }
  }
  const width = Math.max(east - west, north - south);
  const levels = Math.ceil(Math.log2(Math.max(smallestSideM, roomAround * width)));
  const sideM = 2 ** levels;
  // on multiples of a quarter of the side: the root stays where it is when a grid is widened by a few squares
  const step = sideM / 4;
  const middle = (low: number, high: number) => Math.round(((low + high) / 2 - sideM / 2) / step) * step;
  return metricMatrixSet({
    id: siteMatrixSetId,
    title: `${site.name}: metric tiles in ${first.projection.title}`,
    crs: `http://www.opengis.net/def/crs/EPSG/0/${epsg}`,
    corner: [middle(west, east), middle(south, north) + sideM],
    sideM,
    maxZoom: levels,
  });
}
