import { contours } from 'd3-contour';
import { difference, intersection } from './overlay.js';
import { type Region, ringArea } from './rings.js';

/** The part of a window where a surface lies between two levels. */
export interface ContourArea {
  readonly level: number;
  /** level of the next area, or the highest value of the surface for the last one */
  readonly levelTo: number;
  readonly region: Region;
}

/** A surface on equal cells, with the way from cells to metres. */
export interface ContourSurface {
  /** [rows × columns] values at cell centres, also for a ring of cells beyond the window; NaN = far outside */
  readonly values: Float64Array;
  readonly columns: number;
  readonly rows: number;
  /** cell counts (0, 0 = centre of the first cell) → metres */
  place(column: number, row: number): readonly [number, number];
}

/**
 * Areas between levels, cut at the true edge of the window, not at the steps of its cells. Neighbours share their line
 * exactly: each level is drawn once.
 *
 * @param levels  rising; areas below the first level are left out
 * @param highest upper bound of the last area
 * @returns       one area a level, lowest first; a level nothing reaches is left out
 * @throws Problem bad-geometry when the areas cannot be cut
 */
export function contourAreas(
  surface: ContourSurface,
  window: Region,
  levels: { readonly at: readonly number[]; readonly highest: number },
): ContourArea[] {
  const above = levels.at.map((level) => regionAbove(surface, level));
  const out: ContourArea[] = [];
  levels.at.forEach((level, k) => {
    const within = intersection(above[k], window);
    const region = k + 1 < above.length ? difference(within, above[k + 1]) : within;
    if (region.rings.length > 0) out.push({ level, levelTo: levels.at[k + 1] ?? levels.highest, region });
  });
  return out;
}

function regionAbove({ values, columns, rows, place }: ContourSurface, level: number): Region {
  // the generator only reads values by index, so the typed array need not be copied to a list
  const generator = contours().size([columns, rows]).smooth(true);
  const shape = generator.contour(values as unknown as number[], level);
  const rings: Float64Array[] = [];
  for (const polygon of shape.coordinates) {
    polygon.forEach((closedRing, part) => {
      const thinned = thin(closedRing.slice(0, -1));
      if (thinned.length < 3) return;
      const ring = new Float64Array(2 * thinned.length);
      thinned.forEach(([x, y], i) => {
        // the generator puts the centre of the first cell at ½, ½
        ring.set(place(x - 0.5, y - 0.5), 2 * i);
      });
      const anticlockwise = ringArea(ring) > 0;
      rings.push(anticlockwise === (part === 0) ? ring : reversed(ring));
    });
  }
  // the smallest first: a hole then finds the ring it lies in before any ring around that one
  rings.sort((a, b) => Math.abs(ringArea(a)) - Math.abs(ringArea(b)));
  return { rings };
}

function reversed(ring: Float64Array): Float64Array {
  const out = new Float64Array(ring.length);
  for (let i = 0; i < ring.length; i += 2) out.set(ring.subarray(i, i + 2), ring.length - 2 - i);
  return out;
}

/** most a contour may be moved by dropping a corner, cells */
const slackCells = 0.05;

/** Drops corners that lie within a twentieth of a cell of the line between their fellows (Douglas & Peucker 1973). */
function thin(ring: number[][]): number[][] {
  const n = ring.length;
  if (n < 8) return ring;
  let far = 0;
  let farthest = 0;
  for (let i = 1; i < n; i++) {
    const d = Math.hypot(ring[i][0] - ring[0][0], ring[i][1] - ring[0][1]);
    if (d > farthest) {
      far = i;
      farthest = d;
    }
  }
  const kept = new Uint8Array(n + 1);
  kept[0] = kept[far] = kept[n] = 1;
  const at = (i: number) => ring[i % n];
  const spans: [number, number][] = [
    [0, far],
    [far, n],
  ];
  for (let span = spans.pop(); span; span = spans.pop()) {
    const [from, to] = span;
    const [ax, ay] = at(from);
    const dx = at(to)[0] - ax;
    const dy = at(to)[1] - ay;
    const length = Math.hypot(dx, dy);
    let worst = 0;
    let index = -1;
    for (let i = from + 1; i < to; i++) {
      const [x, y] = at(i);
      const off = length > 0 ? Math.abs((x - ax) * dy - (y - ay) * dx) / length : Math.hypot(x - ax, y - ay);
      if (off > worst) {
        worst = off;
        index = i;
      }
    }
    if (worst > slackCells) {
      kept[index] = 1;
      spans.push([from, index], [index, to]);
    }
  }
  return ring.filter((_, i) => kept[i] === 1);
}
