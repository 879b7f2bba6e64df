import * as turf from '@turf/turf';
import { Problem } from '../problems.js';
import { orientRings, type Region, ringArea } from './rings.js';

type MultiPolygon = number[][][][];

/** A region as nested GeoJSON-like rings: each outer ring with the holes that lie inside it, all closed. */
export function regionPolygons(region: Region): MultiPolygon {
  const outers = region.rings.filter((ring) => ringArea(ring) > 0);
  const polygons: MultiPolygon = outers.map((ring) => [closed(ring)]);
  for (const hole of region.rings) {
    if (ringArea(hole) > 0) continue;
    const owner = outers.findIndex((outer) => ringInside(hole, outer));
    polygons[Math.max(owner, 0)]?.push(closed(hole));
  }
  return polygons;
}

/** Nested GeoJSON-like rings → region. */
export function polygonsRegion(polygons: readonly (readonly (readonly (readonly number[])[])[])[]): Region {
  return orientRings(polygons.map((polygon) => polygon.map((ring) => flatRing(ring))));
}

/** A ring's corners one after the other; heights, where given, fall away. */
function flatRing(ring: readonly (readonly number[])[]): Float64Array {
  const out = new Float64Array(2 * ring.length);
  ring.forEach((corner, i) => {
    out[2 * i] = corner[0];
    out[2 * i + 1] = corner[1];
  });
  return out;
}

function closed(ring: Float64Array): number[][] {
  const out: number[][] = [];
  for (let i = 0; i < ring.length; i += 2) out.push([ring[i], ring[i + 1]]);
  out.push([ring[0], ring[1]]);
  return out;
}

/** Whether a hole lies inside an outer ring: its corners may touch the ring, so the first corner off the ring's corners decides. */
function ringInside(hole: Float64Array, outer: Float64Array): boolean {
  for (let i = 0; i < hole.length; i += 2) {
    const side = turf.booleanPointInPolygon([hole[i], hole[i + 1]], turf.polygon([closed(outer)]), {
      ignoreBoundary: true,
    });
    if (side) return true;
  }
  const mx = (hole[0] + hole[2]) / 2;
  const my = (hole[1] + hole[3]) / 2;
  return turf.booleanPointInPolygon([mx, my], turf.polygon([closed(outer)]), { ignoreBoundary: true });
}

// union, intersect and difference of @turf hold no geodesy: they are safe on metres
type Clip = (features: ReturnType<typeof collectionOf>) => { geometry: { type: string; coordinates: unknown } } | null;

function collectionOf(regions: readonly Region[]) {
  return turf.featureCollection(regions.map((region) => turf.multiPolygon(regionPolygons(region))));
}

function clip(method: Clip, name: string, regions: readonly Region[]): Region {
  let answer: ReturnType<Clip>;
  try {
    answer = method(collectionOf(regions));
  } catch (error) {
    throw new Problem(
      'bad-geometry',
      `the ${name} of areas failed: ${error instanceof Error ? error.message : String(error)}`,
    );
  }
  if (answer === null) return { rings: [] };
  const coordinates = answer.geometry.coordinates as number[][][] | MultiPolygon;
  return polygonsRegion(
    answer.geometry.type === 'Polygon' ? [coordinates as number[][][]] : (coordinates as MultiPolygon),
  );
}

/** Everything in at least one of the regions. */
export function union(regions: readonly Region[]): Region {
  const some = regions.filter((region) => region.rings.length > 0);
  if (some.length < 2) return some[0] ?? { rings: [] };
  return clip(turf.union as unknown as Clip, 'union', some);
}

/** What two regions share. */
export function intersection(a: Region, b: Region): Region {
  if (a.rings.length === 0 || b.rings.length === 0) return { rings: [] };
  return clip(turf.intersect as unknown as Clip, 'intersection', [a, b]);
}

/** What is in `a` and not in `b`. */
export function difference(a: Region, b: Region): Region {
  if (a.rings.length === 0 || b.rings.length === 0) return a;
  return clip(turf.difference as unknown as Clip, 'difference', [a, b]);
}
