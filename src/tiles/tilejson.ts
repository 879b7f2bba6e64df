import type { Box } from '../math/rings.js';

/** One layer as TileJSON tells it. */
interface TileJsonLayer {
  readonly id: string;
  readonly description?: string;
  /** property name → what it means, with its unit */
  readonly fields: Readonly<Record<string, string>>;
}

export interface TileJsonOptions {
  readonly name: string;
  readonly description?: string;
  readonly attribution?: string;
  /** absolute address with {z}, {x} and {y} */
  readonly tiles: readonly string[];
  readonly minZoom: number;
  readonly maxZoom: number;
  /** west, south, east, north, degrees; null when nothing has a place */
  readonly bounds: Box | null;
  readonly layers: readonly TileJsonLayer[];
}

/** Width of a map window, tiles of 256 pixels, that the opening view should fill. */
const windowTiles = 3;

/** TileJSON 3.0.0: what a web map needs to know to draw the tiles. */
export function tileJson(options: TileJsonOptions) {
  const { bounds, minZoom, maxZoom } = options;
  return {
    tilejson: '3.0.0' as const,
    name: options.name,
    ...(options.description === undefined ? {} : { description: options.description }),
    ...(options.attribution === undefined ? {} : { attribution: options.attribution }),
    scheme: 'xyz' as const,
    tiles: [...options.tiles],
    minzoom: minZoom,
    maxzoom: maxZoom,
    ...(bounds === null ? {} : { bounds: [...bounds], center: openingView(bounds, minZoom, maxZoom) }),
    vector_layers: options.layers.map(({ id, description, fields }) => ({
      id,
      ...(description === undefined ? {} : { description }),
      fields: { ...fields },
      minzoom: minZoom,
      maxzoom: maxZoom,
    })),
  };
}

/** Middle of the box, and the deepest level at which it fits a window. */
function openingView(bounds: Box, minZoom: number, maxZoom: number): [number, number, number] {
  const [west, south, east, north] = bounds;
  const middle = (south + north) / 2;
  const size = Math.max(east - west, (north - south) / Math.cos((middle * Math.PI) / 180));
  const fitting = size > 0 ? Math.floor(Math.log2((360 * windowTiles) / size)) : maxZoom;
  return [(west + east) / 2, middle, Math.min(maxZoom, Math.max(minZoom, fitting))];
}
