import { contains, edgeSlack, type Region, regionBox } from '../../math/rings.js';

/** A find known only to lie somewhere in an area. */
export interface AreaFind {
  readonly region: Region;
  readonly weight: number;
}

/** Sub-points standing for the finds of areas. */
export interface SubPoints {
  readonly xy: Float64Array;
  /** weight of the finds spread; sums to theirs */
  readonly weight: Float64Array;
  /** number of finds spread; sums to their number */
  readonly share: Float64Array;
}

/**
 * Finds known by square only, each spread evenly over its area: a square lattice of sub-points inside the area, a
 * quarter of a bandwidth apart (at least 12, at most 32 to the longer side), sharing the find's weight equally. The
 * same area takes the same sub-points, so that fifty finds of one square cost as much as one.
 *
 * The find's real place stays unknown: inside the square the surface is flat by decree, not by observation.
 */
export function spreadAreas(areas: readonly AreaFind[], sigmaM: number): SubPoints {
  const merged = new Map<string, { region: Region; weight: number; share: number }>();
  for (const { region, weight } of areas) {
    const key = region.rings.map((ring) => ring.join(' ')).join('|');
    const same = merged.get(key);
    if (same) {
      same.weight += weight;
      same.share += 1;
    } else merged.set(key, { region, weight, share: 1 });
  }
  const xy: number[] = [];
  const weight: number[] = [];
  const share: number[] = [];
  for (const area of merged.values()) {
    const places = subPoints(area.region, sigmaM);
    for (const [x, y] of places) {
      xy.push(x, y);
      weight.push(area.weight / places.length);
      share.push(area.share / places.length);
    }
  }
  return { xy: Float64Array.from(xy), weight: Float64Array.from(weight), share: Float64Array.from(share) };
}

function subPoints(region: Region, sigmaM: number): [number, number][] {
  const [west, south, east, north] = regionBox(region);
  const longer = Math.max(east - west, north - south);
  const slack = edgeSlack(region);
  let sides = Math.min(32, Math.max(12, Math.ceil((4 * longer) / sigmaM)));
  // a sliver may slip between the points of a coarse lattice
  for (let tries = 0; tries < 6; tries++, sides *= 2) {
    const columns = Math.max(1, Math.round((sides * (east - west)) / longer));
    const rows = Math.max(1, Math.round((sides * (north - south)) / longer));
    const places: [number, number][] = [];
    for (let r = 0; r < rows; r++) {
      for (let c = 0; c < columns; c++) {
        const x = west + ((c + 0.5) * (east - west)) / columns;
        const y = south + ((r + 0.5) * (north - south)) / rows;
        if (contains(region, x, y, slack)) places.push([x, y]);
      }
    }
    if (places.length >= 4) return places;
  }
  return [[region.rings[0][0], region.rings[0][1]]];
}
