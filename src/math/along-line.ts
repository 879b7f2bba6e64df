/** Position of a point seen from a ship's axis, metres. */
export interface AlongAxis {
  /** from the after end towards the bow; negative abaft the after end, more than the length before the bow end */
  readonly alongM: number;
  /** square to the axis, positive to the left of one who looks from the after end to the bow end (port) */
  readonly offM: number;
}

/** Two ends that make an axis, x and y in site-grid metres. */
export interface AxisEnds {
  readonly after: readonly [number, number];
  readonly bow: readonly [number, number];
}

/**
 * How far along the keel and how far off it each find lies.
 *
 * When the two ends may be the wrong way round, both the count along the keel and the side are turned over too.
 *
 * @param xy    [2n] site-grid metres; left untouched
 * @param ends  the axis; its ends must differ
 * @returns     [n] along and off, metres
 */
export function alongAxis(xy: Float64Array, ends: AxisEnds): AlongAxis[] {
  const [x0, y0] = ends.after;
  const dx = ends.bow[0] - x0;
  const dy = ends.bow[1] - y0;
  const length = Math.sqrt(dx * dx + dy * dy);
  const out: AlongAxis[] = [];
  for (let i = 0; i < xy.length; i += 2) {
    const px = xy[i] - x0;
    const py = xy[i + 1] - y0;
    out.push({ alongM: (px * dx + py * dy) / length, offM: (dx * py - dy * px) / length });
  }
  return out;
}
