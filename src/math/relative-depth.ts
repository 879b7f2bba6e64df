/** Elevations at one find, up-positive metres, each with its standard deviation. */
export interface DepthInDeposit {
  readonly top: number;
  readonly topSigma: number;
  readonly bottom: number;
  readonly bottomSigma: number;
  readonly z: number;
  readonly zSigma: number;
}

/** Where a find lay between the top and the bottom of the deposit. */
export interface RelativeDepth {
  /** (top − z) / (top − bottom): 0 at the top, 1 at the bottom, outside these above or below */
  readonly u: number;
  readonly sigma: number;
  readonly thicknessM: number;
  readonly thicknessSigmaM: number;
}

/**
 * Relative depth and its standard error from the errors of both surfaces and of the find, taken as independent: an
 * error shared by all three (one datum for the season) cancels.
 *
 * Where the deposit is hardly thicker than its error the ratio is noise; leave out below four sigma.
 */
export function relativeDepth({ top, topSigma, bottom, bottomSigma, z, zSigma }: DepthInDeposit): RelativeDepth {
  const thicknessM = top - bottom;
  const u = (top - z) / thicknessM;
  return {
    u,
    sigma: Math.sqrt(((1 - u) * topSigma) ** 2 + (u * bottomSigma) ** 2 + zSigma ** 2) / Math.abs(thicknessM),
    thicknessM,
    thicknessSigmaM: Math.sqrt(topSigma ** 2 + bottomSigma ** 2),
  };
}
