import { numbers, wordReader } from './columns.js';
import type { FeatureTable } from './feature-table.js';
import { type GridFrame, gridToGrid, partRing, squareAt } from './grid.js';
import type { Site } from './site.js';

/** Where each find lies, in metres of the site's first grid, whatever grid it was recorded in. */
export interface PlacedFinds {
  /** [2n] position of finds known as a point (for a line its middle), NaN otherwise */
  readonly xy: Float64Array;
  /** [2n] end of a long object, NaN otherwise */
  readonly start: Float64Array;
  readonly end: Float64Array;
  /** corners of finds known by an area only, null otherwise */
  readonly area: readonly (Float64Array | null)[];
  /** how the position is known: as recorded, else what the columns imply */
  readonly kind: readonly string[];
  /** the square as recorded, else the one the position lies in */
  readonly square: readonly (string | null)[];
}

const areaKinds: ReadonlySet<string> = new Set(['square', 'half_square', 'quarter_square', 'area']);

/**
 * Reads positions by their kind: point; line (start and end); square, half and quarter square (by name); area (a
 * box from `local_x, local_y` to `end_x, end_y`, or a named square when no box is given).
 */
export function placeFinds(finds: FeatureTable, site: Site, frames: readonly GridFrame[]): PlacedFinds {
  const n = finds.length;
  const none = () => new Float64Array(2 * n).fill(Number.NaN);
  const placed = { xy: none(), start: none(), end: none() };
  const area: (Float64Array | null)[] = new Array(n).fill(null);
  const square: (string | null)[] = new Array(n).fill(null);
  const kinds: string[] = new Array(n).fill('unknown');
  const gridId = wordReader(finds, 'grid');
  const kind = wordReader(finds, 'position_kind');
  const squareName = wordReader(finds, 'square');
  const part = wordReader(finds, 'part');
  const x = numbers(finds, 'local_x');
  const y = numbers(finds, 'local_y');
  const endX = numbers(finds, 'end_x');
  const endY = numbers(finds, 'end_y');
  const first = frames[0];
  const toFirst = new Map(site.grids.map((grid) => [grid.id, gridToGrid(grid, first.grid)]));
  for (let i = 0; i < n; i++) {
    const id = gridId(i) ?? first.grid.id;
    const convert = toFirst.get(id);
    const own = site.grids.find((grid) => grid.id === id);
    if (!convert || !own) continue;
    square[i] = squareName(i);
    const what = kind(i) ?? impliedKind(!Number.isNaN(x[i] + y[i]), square[i] !== null);
    kinds[i] = what;
    if (what === 'point') {
      placed.xy.set(convert(x[i], y[i]), 2 * i);
      square[i] ??= squareAt(own, x[i], y[i]);
    } else if (what === 'line') {
      placed.start.set(convert(x[i], y[i]), 2 * i);
      placed.end.set(convert(endX[i], endY[i]), 2 * i);
      placed.xy.set(convert((x[i] + endX[i]) / 2, (y[i] + endY[i]) / 2), 2 * i);
      square[i] ??= squareAt(own, (x[i] + endX[i]) / 2, (y[i] + endY[i]) / 2);
    } else if (areaKinds.has(what)) {
      area[i] = areaOf(
        own,
        { what, x: x[i], y: y[i], endX: endX[i], endY: endY[i], square: square[i], part: part(i) },
        convert,
      );
    }
  }
  return { ...placed, area, kind: kinds, square };
}

/** How a position is known when the register does not say: by its coordinates, else by its square. */
function impliedKind(hasCoordinates: boolean, hasSquare: boolean): string {
  if (hasCoordinates) return 'point';
  return hasSquare ? 'square' : 'unknown';
}

function areaOf(
  grid: GridFrame['grid'],
  find: { what: string; x: number; y: number; endX: number; endY: number; square: string | null; part: string | null },
  convert: (x: number, y: number) => [number, number],
): Float64Array | null {
  let ring: Float64Array | null = null;
  if (find.what === 'area' && Number.isFinite(find.x + find.y + find.endX + find.endY)) {
    const west = Math.min(find.x, find.endX);
    const east = Math.max(find.x, find.endX);
    const south = Math.min(find.y, find.endY);
    const north = Math.max(find.y, find.endY);
    ring = Float64Array.of(west, south, east, south, east, north, west, north);
  } else if (find.square !== null) {
    ring = partRing(grid, find.square, find.part ?? '');
  }
  if (ring === null) return null;
  const out = new Float64Array(ring.length);
  for (let i = 0; i < ring.length; i += 2) out.set(convert(ring[i], ring[i + 1]), i);
  return out;
}
