import type { Box } from '../math/rings.js';

/** A geometry in a plane, as spatial comparisons read it. */
export interface PlaneShape {
  /** 0 points, 1 lines, 2 areas */
  readonly dimension: 0 | 1 | 2;
  /**
   * interleaved corners; points: one part with all of them; lines: one part each; areas: rings, not closed, the
   * inside always to the left
   */
  readonly parts: readonly Float64Array[];
  /** west, south, east, north */
  readonly box: Box;
}

/** A shape with its box. */
export function planeShape(dimension: PlaneShape['dimension'], parts: readonly Float64Array[]): PlaneShape {
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const part of parts) {
    for (let i = 0; i < part.length; i += 2) {
      west = Math.min(west, part[i]);
      east = Math.max(east, part[i]);
      south = Math.min(south, part[i + 1]);
      north = Math.max(north, part[i + 1]);
    }
  }
  return { dimension, parts, box: [west, south, east, north] };
}
