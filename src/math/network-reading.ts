/**
 * A reading between points of a survey network, as the adjustment sees it. `point` is the point read; `from` the other
 * end of a tape or the lower end of a vertical offset; `from` and `second` start and end of a baseline. −1 = none.
 *
 * - `distance`: along the tape, slope distance in 3-D, horizontal in 2-D
 * - `height`: elevation of `point`, up-positive
 * - `height_difference`: elevation of `point` less that of `from`
 * - `along`: horizontal distance along the baseline to the foot of the offset, from its start
 * - `out`: horizontal distance from the baseline, positive to the left of its start → end
 */
export interface NetworkReading {
  readonly kind: 'distance' | 'height' | 'height_difference' | 'along' | 'out';
  readonly from: number;
  readonly second: number;
  readonly point: number;
  /** metres */
  readonly value: number;
  /** standard deviation, metres; above 0 */
  readonly sigma: number;
}

/** Points and readings; points are held fixed or are to be found. */
export interface SurveyNetwork {
  readonly dimension: 2 | 3;
  /** [n] 1 = held fixed */
  readonly fixed: Uint8Array;
  readonly readings: readonly NetworkReading[];
}

/** Whether a reading touches a point. */
export function touches({ from, second, point }: NetworkReading, p: number): boolean {
  return from === p || second === p || point === p;
}

/** The points a reading touches, each once. */
export function pointsOf(reading: NetworkReading): number[] {
  return [...new Set([reading.from, reading.second, reading.point].filter((p) => p >= 0))];
}

/**
 * What a reading would be between points at these places, with its partial derivatives.
 *
 * @param coordinates  [n·dimension] metres
 * @param partials     [9] filled: after `from` at 0, after `second` at 3, after `point` at 6, each x, y, z
 * @returns            metres
 */
export function readingAt(
  reading: NetworkReading,
  coordinates: Float64Array,
  dimension: 2 | 3,
  partials: Float64Array,
): number {
  const { from, second, point } = reading;
  partials.fill(0);
  const p = point * dimension;
  const a = from * dimension;
  switch (reading.kind) {
    case 'height':
      partials[8] = 1;
      return coordinates[p + 2];
    case 'height_difference':
      partials[2] = -1;
      partials[8] = 1;
      return coordinates[p + 2] - coordinates[a + 2];
    case 'distance': {
      const dx = coordinates[p] - coordinates[a];
      const dy = coordinates[p + 1] - coordinates[a + 1];
      const dz = dimension === 3 ? coordinates[p + 2] - coordinates[a + 2] : 0;
      const distance = Math.sqrt(dx * dx + dy * dy + dz * dz);
      // two points in one place: any direction is as good, the next step parts them
      const ux = distance > 0 ? dx / distance : 1;
      const uy = distance > 0 ? dy / distance : 0;
      const uz = distance > 0 ? dz / distance : 0;
      partials[0] = -ux;
      partials[1] = -uy;
      partials[2] = -uz;
      partials[6] = ux;
      partials[7] = uy;
      partials[8] = uz;
      return distance;
    }
    default:
      return offsetAt(reading, { coordinates, a, b: second * dimension, p }, partials);
  }
}

const unread = new Float64Array(9);

/** What a reading would be between points at these places, metres; without derivatives. */
export function valueAt(reading: NetworkReading, coordinates: Float64Array, dimension: 2 | 3): number {
  if (reading.kind !== 'distance') return readingAt(reading, coordinates, dimension, unread);
  const p = reading.point * dimension;
  const a = reading.from * dimension;
  const dx = coordinates[p] - coordinates[a];
  const dy = coordinates[p + 1] - coordinates[a + 1];
  const dz = dimension === 3 ? coordinates[p + 2] - coordinates[a + 2] : 0;
  return Math.sqrt(dx * dx + dy * dy + dz * dz);
}

function offsetAt(
  reading: NetworkReading,
  at: { readonly coordinates: Float64Array; readonly a: number; readonly b: number; readonly p: number },
  partials: Float64Array,
): number {
  const { coordinates: c, a, b, p } = at;
  const bx = c[b] - c[a];
  const by = c[b + 1] - c[a + 1];
  const length = Math.sqrt(bx * bx + by * by);
  const [ux, uy] = length > 0 ? [bx / length, by / length] : [1, 0];
  const px = c[p] - c[a];
  const py = c[p + 1] - c[a + 1];
  const along = px * ux + py * uy;
  const out = py * ux - px * uy;
  // turning the baseline by its far end moves the foot by out/length across it, the offset by −along/length
  const isAlong = reading.kind === 'along';
  const turn = length > 0 ? (isAlong ? out : -along) / length : 0;
  const [vx, vy] = isAlong ? [ux, uy] : [-uy, ux];
  partials[6] = vx;
  partials[7] = vy;
  partials[3] = -uy * turn;
  partials[4] = ux * turn;
  partials[0] = -vx - partials[3];
  partials[1] = -vy - partials[4];
  return isAlong ? along : out;
}
