import type { DugArea, HullElement, Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { type GridRecord, gridSchema } from '../../src/domain/site.js';
import { polygonsRegion } from '../../src/math/overlay.js';
import { type Region, regionArea } from '../../src/math/rings.js';

/** A sample from bare points and a window, as plain files give one; parts can be replaced. */
export function sampleOf(
  xy: readonly (readonly [number, number])[],
  window: Region,
  more: Partial<Sample> = {},
): Sample {
  const n = xy.length;
  return {
    site: null,
    dataVersion: null,
    xy: Float64Array.from(xy.flat()),
    weight: new Float64Array(n).fill(1),
    classCode: new Uint32Array(n),
    classes: [],
    seasonCode: new Uint32Array(n),
    seasons: [],
    z: new Float64Array(n).fill(Number.NaN),
    sigmaXy: new Float64Array(n).fill(Number.NaN),
    label: xy.map((_, i) => String(i + 1)),
    areas: [],
    others: { xy: new Float64Array(0), classCode: new Uint32Array(0) },
    window,
    windowAreaM2: regionArea(window),
    windowSource: 'a test window',
    hull: [],
    shipAxis: null,
    dug: [
      {
        season: '',
        progress: 'part_dug',
        region: window,
        areaM2: regionArea(window),
        dugFraction: 1,
        meshMm: null,
        tool: null,
      },
    ],
    grid: null,
    detail: unknownDetail(n),
    levels: null,
    readings: null,
    zones: [],
    contexts: [],
    joins: [],
    mapAzimuthDeg: 0,
    excluded: [],
    selected: n,
    ...more,
  };
}

/** Window of a worked example: polygons, first ring outer, others holes. */
export const windowOf = (polygons: readonly (readonly (readonly (readonly number[])[])[])[]): Region =>
  polygonsRegion(polygons);

/** Hull lines of a worked example. */
export const hullOf = (
  lines: readonly { element: string; line: readonly (readonly [number, number])[] }[],
): HullElement[] =>
  lines.map(({ element, line }, k) => ({
    number: String(k + 1),
    element,
    state: 'articulated',
    place: 'in_place',
    outline: 'surviving',
    type: 'line',
    parts: [Float64Array.from(line.flat())],
  }));

/** A site grid of one-metre squares from 0, 0: A1 in its south-west corner. */
export const gridOf = (of: { readonly columns: number; readonly rows: number }): GridRecord =>
  gridSchema.parse({
    id: 'g1',
    crs: 'EPSG:32626',
    origin_easting: 412000,
    origin_northing: 4984000,
    azimuth_deg: 0,
    ...of,
  });

/** Areas planned but not dug. */
export const plannedAreas = (rings: readonly (readonly (readonly [number, number])[])[]): DugArea[] =>
  rings.map((ring) => {
    const region = windowOf([[ring]]);
    return {
      season: '',
      progress: 'planned',
      region,
      areaM2: regionArea(region),
      dugFraction: 0,
      meshMm: null,
      tool: null,
    };
  });
