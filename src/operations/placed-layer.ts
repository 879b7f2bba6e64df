import { toWebMercator } from '../domain/crs.js';
import type { FeatureTable } from '../domain/feature-table.js';
import type { GridFrame } from '../domain/grid.js';
import type { Box } from '../math/rings.js';

/** The coordinate systems answers are written in; `storage` is the projected CRS of the site's first grid. */
export type LayerCrs = 'crs84' | 'epsg4326' | 'epsg3857' | 'storage';

/** A table with its places in map coordinates, made when first asked for. */
export interface PlacedLayer {
  readonly table: FeatureTable;
  /** interleaved, parallel to the geometry's coordinates, east before north whatever the CRS says; empty without geometry */
  coordinates(crs: LayerCrs): Float64Array;
  /** longitude and latitude: west, south, east, north; null when nothing has a place */
  readonly extent: Box | null;
}

/** @param frame  how metres of the first grid become map coordinates */
export function placedLayer(table: FeatureTable, frame: GridFrame): PlacedLayer {
  const made = new Map<LayerCrs, Float64Array>();
  const convert = (from: Float64Array, place: (x: number, y: number) => [number, number]): Float64Array => {
    const out = new Float64Array(from.length).fill(Number.NaN);
    for (let i = 0; i < from.length; i += 2) {
      if (Number.isNaN(from[i])) continue;
      const [a, b] = place(from[i], from[i + 1]);
      out[i] = a;
      out[i + 1] = b;
    }
    return out;
  };
  const make = (crs: LayerCrs): Float64Array => {
    const local = table.geometry?.coordinates ?? new Float64Array(0);
    switch (crs) {
      case 'crs84':
        return convert(local, frame.toLonLat);
      case 'epsg4326':
        return coordinates('crs84');
      case 'epsg3857':
        return convert(coordinates('crs84'), toWebMercator);
      case 'storage':
        return convert(local, frame.toProjected);
    }
  };
  const coordinates = (crs: LayerCrs): Float64Array => {
    let found = made.get(crs);
    if (!found) {
      found = make(crs);
      made.set(crs, found);
    }
    return found;
  };
  let extent: Box | null | undefined;
  return {
    table,
    coordinates,
    get extent() {
      extent ??= boxOf(coordinates('crs84'));
      return extent;
    },
  };
}

/** Longitude and latitude of the box around places of the first grid, [2n] metres; null when there are none. */
export function extentOf(xy: Float64Array, frame: GridFrame): Box | null {
  const lonLat = new Float64Array(xy.length);
  for (let i = 0; i < xy.length; i += 2) lonLat.set(frame.toLonLat(xy[i], xy[i + 1]), i);
  return boxOf(lonLat);
}

function boxOf(coordinates: Float64Array): Box | null {
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < coordinates.length; i += 2) {
    const x = coordinates[i];
    if (Number.isNaN(x)) continue;
    const y = coordinates[i + 1];
    if (x < west) west = x;
    if (x > east) east = x;
    if (y < south) south = y;
    if (y > north) north = y;
  }
  return west > east ? null : [west, south, east, north];
}
