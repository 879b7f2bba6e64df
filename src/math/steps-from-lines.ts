import { areaAround, type Pieces } from './hull-distance.js';

/**
 * The step from the nearest place on some lines or outlines to each point; nothing inside an area.
 *
 * @param xy      [2n] metres; left untouched
 * @param pieces  at least one straight piece
 * @returns       [2n] east and north of the step, metres
 */
export function stepsFromLines(xy: Float64Array, pieces: Pieces): Float64Array {
  const { ends } = pieces;
  const out = new Float64Array(xy.length);
  for (let i = 0; i < xy.length; i += 2) {
    const x = xy[i];
    const y = xy[i + 1];
    if (pieces.areas.length > 0 && areaAround(pieces, x, y) >= 0) continue;
    let least = Infinity;
    for (let s = 0; s < ends.length; s += 4) {
      const ux = ends[s + 2] - ends[s];
      const uy = ends[s + 3] - ends[s + 1];
      const length2 = ux * ux + uy * uy;
      const along = length2 > 0 ? ((x - ends[s]) * ux + (y - ends[s + 1]) * uy) / length2 : 0;
      const share = Math.min(1, Math.max(0, along));
      const dx = x - ends[s] - share * ux;
      const dy = y - ends[s + 1] - share * uy;
      const d2 = dx * dx + dy * dy;
      if (d2 < least) {
        least = d2;
        out[i] = dx;
        out[i + 1] = dy;
      }
    }
  }
  return out;
}
