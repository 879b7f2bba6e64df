/** Where a point may lie in plan: half axes in metres and the azimuth of the longer one. */
export interface ErrorEllipse {
  readonly semiMajorM: number;
  readonly semiMinorM: number;
  /** degrees clockwise from the y axis (site_north), 0 to 180 */
  readonly azimuthDeg: number;
}

/**
 * Standard error ellipse of a point: the pedal-curve axes of its plan cofactors. It holds the true place with 39 %
 * probability only; see confidenceFactor for the ellipse of 95 %.
 *
 * @param cofactor  variances of x and y and their covariance, m²
 * @see Mikhail & Gracie 1981, Analysis and Adjustment of Survey Measurements, ch. 8
 */
export function errorEllipse(cofactor: {
  readonly xx: number;
  readonly yy: number;
  readonly xy: number;
}): ErrorEllipse {
  const { xx, yy, xy } = cofactor;
  const mean = (xx + yy) / 2;
  const half = Math.sqrt(((xx - yy) / 2) ** 2 + xy * xy);
  const major = mean + half;
  // the product of both is the determinant: without the cancellation of mean − half for needle-thin ellipses
  const minor = major > 0 ? Math.max(0, (xx * yy - xy * xy) / major) : 0;
  const azimuth = (Math.atan2(2 * xy, yy - xx) * 90) / Math.PI;
  return {
    semiMajorM: Math.sqrt(major),
    semiMinorM: Math.sqrt(minor),
    azimuthDeg: azimuth < 0 ? azimuth + 180 : azimuth,
  };
}

/**
 * What the axes of a standard ellipse are multiplied by to hold the true place with a probability.
 *
 * @param probability  0.95 gives 2.4477 when the standard deviations of the readings are trusted
 * @param redundancy   of the adjustment the variance factor was estimated in; null = standard deviations trusted
 * @returns            √χ²₂, or √(2 F(2, redundancy)); null when nothing is redundant
 */
export function confidenceFactor(probability: number, redundancy: number | null): number | null {
  const outside = 1 - probability;
  if (redundancy === null) return Math.sqrt(-2 * Math.log(outside));
  if (!(redundancy > 0)) return null;
  // the upper tail of F with 2 and r degrees of freedom is (1 + 2 f / r)^(−r/2)
  return Math.sqrt(redundancy * (outside ** (-2 / redundancy) - 1));
}
