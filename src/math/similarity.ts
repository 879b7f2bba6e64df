import { Problem } from '../problems.js';

/** target = scale · R(rotation, anticlockwise) · source + (tx, ty). */
export interface Similarity {
  readonly scale: number;
  /** degrees anticlockwise from source to target axes, 0 to 360 */
  readonly rotationDeg: number;
  readonly tx: number;
  readonly ty: number;
  /** scale · cos and scale · sin of the rotation */
  readonly a: number;
  readonly b: number;
}

/** A fitted similarity with what the common points say against it. */
export interface FittedSimilarity extends Similarity {
  readonly n: number;
  /** [2n] computed minus given target coordinates, metres, x and y in turn */
  readonly residuals: Float64Array;
  /** [n] share of an error of a point that shows in its own residual, the same for x and y */
  readonly redundancyNumbers: Float64Array;
  /** root mean square of all 2n residuals, metres */
  readonly rmsM: number;
  /** coordinates more than parameters */
  readonly redundancy: number;
  /** standard deviation of one target coordinate, metres; null when nothing is redundant */
  readonly sigma0M: number | null;
  readonly sigma: {
    readonly scale: number;
    readonly rotationDeg: number;
    /** of the shift, which belongs to the source's origin, often far from the points */
    readonly txM: number;
    readonly tyM: number;
  } | null;
}

const degree = 180 / Math.PI;

/**
 * The similarity that carries common points of one plane grid best to another: shift, rotation and one scale, or a
 * fixed scale; least squares on the target coordinates, by the centred closed form.
 *
 * Two points fit exactly whatever errors they have. A mirrored or exchanged axis is no rotation: it shows as residuals as
 * large as the site.
 *
 * @param source      [2n] x, y in turn, metres
 * @param target      [2n] the same points
 * @param fixedScale  null = the scale is fitted
 * @throws Problem too-few-points for fewer than two different points
 * @see Wolf & Ghilani 1997, Adjustment Computations, ch. 18
 */
export function fitSimilarity(
  source: Float64Array,
  target: Float64Array,
  fixedScale: number | null = null,
): FittedSimilarity {
  const n = source.length / 2;
  const from = centred(source);
  const to = centred(target);
  let across = 0;
  let along = 0;
  let spread = 0;
  for (let i = 0; i < 2 * n; i += 2) {
    along += from.xy[i] * to.xy[i] + from.xy[i + 1] * to.xy[i + 1];
    across += from.xy[i] * to.xy[i + 1] - from.xy[i + 1] * to.xy[i];
    spread += from.xy[i] ** 2 + from.xy[i + 1] ** 2;
  }
  if (n < 2 || !(spread > 0)) {
    throw new Problem(
      'too-few-points',
      `a grid fit needs at least two common points in different places, got ${n < 2 ? n : `${n} in one place`}`,
      { n },
    );
  }
  const length = Math.hypot(along, across);
  const scale = fixedScale ?? length / spread;
  const [cos, sin] = length > 0 ? [along / length, across / length] : [1, 0];
  const a = scale * cos;
  const b = scale * sin;

  const residuals = new Float64Array(2 * n);
  const redundancyNumbers = new Float64Array(n);
  let squares = 0;
  for (let i = 0; i < n; i++) {
    const [x, y] = [from.xy[2 * i], from.xy[2 * i + 1]];
    residuals[2 * i] = a * x - b * y - to.xy[2 * i];
    residuals[2 * i + 1] = b * x + a * y - to.xy[2 * i + 1];
    // with a fixed scale only the turn is fitted beside the shift: half of a point's lever, taken over both axes
    const lever = (x * x + y * y) / spread;
    redundancyNumbers[i] = 1 - 1 / n - (fixedScale === null ? lever : lever / 2);
    squares += residuals[2 * i] ** 2 + residuals[2 * i + 1] ** 2;
  }
  const redundancy = 2 * n - (fixedScale === null ? 4 : 3);
  if (redundancy === 0) {
    residuals.fill(0);
    squares = 0;
  }
  const sigma0M = redundancy > 0 ? Math.sqrt(squares / redundancy) : null;
  const [cx, cy] = from.centre;
  // the middle of the points seen from the source's origin, turned to the target: the lever of turn and scale on the shift
  const [tx, ty] = [cos * cx - sin * cy, sin * cx + cos * cy];
  const freeScale = fixedScale === null ? 1 : 0;
  return {
    scale,
    rotationDeg: turnedFull(Math.atan2(sin, cos) * degree),
    a,
    b,
    tx: to.centre[0] - (a * cx - b * cy),
    ty: to.centre[1] - (b * cx + a * cy),
    n,
    residuals,
    redundancyNumbers,
    rmsM: Math.sqrt(squares / (2 * n)),
    redundancy,
    sigma0M,
    sigma:
      sigma0M === null
        ? null
        : {
            scale: fixedScale === null ? sigma0M / Math.sqrt(spread) : 0,
            rotationDeg: (sigma0M / (scale * Math.sqrt(spread))) * degree,
            txM: sigma0M * Math.sqrt(1 / n + (ty * ty + freeScale * tx * tx) / spread),
            tyM: sigma0M * Math.sqrt(1 / n + (tx * tx + freeScale * ty * ty) / spread),
          },
  };
}

/** A point carried over. */
export function transformed(similarity: Similarity, x: number, y: number): [number, number] {
  const { a, b, tx, ty } = similarity;
  return [a * x - b * y + tx, b * x + a * y + ty];
}

function turnedFull(degrees: number): number {
  return degrees < 0 ? degrees + 360 : degrees;
}

/** Coordinates about their mean, summed from the first point so that map coordinates keep their digits. */
function centred(xy: Float64Array): { xy: Float64Array; centre: [number, number] } {
  const n = xy.length / 2;
  const [x0, y0] = n > 0 ? [xy[0], xy[1]] : [0, 0];
  let sx = 0;
  let sy = 0;
  for (let i = 0; i < 2 * n; i += 2) {
    sx += xy[i] - x0;
    sy += xy[i + 1] - y0;
  }
  const [mx, my] = n > 0 ? [sx / n, sy / n] : [0, 0];
  return { xy: xy.map((v, i) => (i % 2 === 0 ? v - x0 - mx : v - y0 - my)), centre: [x0 + mx, y0 + my] };
}
