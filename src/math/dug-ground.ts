import { difference, intersection, union } from './overlay.js';
import { type Region, regionArea } from './rings.js';
import { boxRegion, eachTileArea, leastTileShare, type TileGrid, tileAreaM2, tileAreas, tileBox } from './tiles.js';

/** A polygon of dug ground and the share of its ground that was really dug, 0 to 1. */
export interface DugPolygon {
  readonly region: Region;
  readonly share: number;
}

/** What was dug of each tile, both [tiles]. */
export interface DugGround {
  /** ground of the polygons inside the window, each spot once, m² */
  readonly areaM2: Float64Array;
  /** the same, each spot times the share dug of it: what finds per m² are held against */
  readonly exposureM2: Float64Array;
}

/**
 * Dug ground tile by tile. Ground dug twice counts once; where two polygons were each dug in part, their shares add
 * up to at most the whole.
 *
 * Only tiles in which several polygons or the window's edge meet need overlays; the others are sums.
 *
 * @param polygons  as recorded; may overlap
 * @param window    ground outside it does not count
 */
export function dugGround(polygons: readonly DugPolygon[], window: Region, tiles: TileGrid): DugGround {
  const windowArea = tileAreas(window, tiles);
  const count = tiles.columns * tiles.rows;
  const areaM2 = new Float64Array(count);
  const exposureM2 = new Float64Array(count);
  const inTile = new Map<number, { readonly polygon: DugPolygon; readonly areaM2: number }[]>();
  for (const polygon of polygons) {
    eachTileArea(polygon.region, tiles, (tile, area) => {
      if (!(windowArea[tile] > 0)) return;
      const list = inTile.get(tile);
      if (list) list.push({ polygon, areaM2: area });
      else inTile.set(tile, [{ polygon, areaM2: area }]);
    });
  }
  const whole = tileAreaM2(tiles);
  const slack = leastTileShare * whole;
  for (const [tile, found] of inTile) {
    const isWholeWindow = windowArea[tile] >= whole - slack;
    const covering = found.find((piece) => piece.areaM2 >= whole - slack && piece.polygon.share === 1);
    if (isWholeWindow && covering) {
      areaM2[tile] = covering.areaM2;
      exposureM2[tile] = covering.areaM2;
    } else if (isWholeWindow && found.length === 1) {
      areaM2[tile] = found[0].areaM2;
      exposureM2[tile] = found[0].areaM2 * found[0].polygon.share;
    } else {
      const square = boxRegion(tileBox(tiles, tile));
      const here = isWholeWindow ? square : intersection(square, window);
      const pieces = found.map(({ polygon }) => ({ ...polygon, region: intersection(polygon.region, here) }));
      const ground = coveredGround(pieces);
      if (!(ground.areaM2 > slack)) continue;
      areaM2[tile] = ground.areaM2;
      exposureM2[tile] = ground.exposureM2;
    }
  }
  return { areaM2, exposureM2 };
}

function coveredGround(polygons: readonly DugPolygon[]): { areaM2: number; exposureM2: number } {
  if (polygons.every(({ share }) => share === 1)) {
    const area = regionArea(union(polygons.map(({ region }) => region)));
    return { areaM2: area, exposureM2: area };
  }
  let pieces: DugPolygon[] = [];
  for (const polygon of polygons) {
    const next: DugPolygon[] = [];
    let rest = polygon.region;
    for (const piece of pieces) {
      const shared = intersection(piece.region, polygon.region);
      next.push(
        { region: shared, share: Math.min(1, piece.share + polygon.share) },
        { region: difference(piece.region, polygon.region), share: piece.share },
      );
      rest = difference(rest, piece.region);
    }
    next.push({ region: rest, share: polygon.share });
    pieces = next.filter(({ region }) => regionArea(region) > 0);
  }
  return pieces.reduce(
    (sum, { region, share }) => ({
      areaM2: sum.areaM2 + regionArea(region),
      exposureM2: sum.exposureM2 + share * regionArea(region),
    }),
    { areaM2: 0, exposureM2: 0 },
  );
}
