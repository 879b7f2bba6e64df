import { type Bathymetry, readBathymetry } from '../../domain/bathymetry.js';
import { fitPlane } from '../../math/plane-dip.js';
import { standardDeviation } from '../../math/quantiles.js';
import { spearman } from '../../math/ranks.js';
import { sigmasOf95 } from '../../math/vertical-uncertainty.js';
import type { Summary } from './schemas.js';

/** Thickness at nodes, all [n], places in metres of the first grid. */
export interface NodeThickness {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly sigma: Float64Array;
}

/** a plane and a rank correlation over fewer nodes say nothing */
const fewestNodes = 5;

/**
 * Whether the highs of the bathymetry stand where the deposit is thick. A high is what stands above the plane through
 * the bathymetry at the nodes: the slope of the seabed is no mound. Only highs above the 95 % error of a sounding are
 * counted as such.
 *
 * The two are compared by rank, never subtracted: a sounding sees several nodes at once and is several times less sure
 * than a level. Neighbouring nodes are alike, so that no p is given.
 *
 * @returns null without a bathymetry, or when fewer than five nodes lie on it
 */
export function bathymetryAgreement(bathymetry: Bathymetry | null, nodes: NodeThickness): Summary['bathymetry'] {
  if (bathymetry === null) return null;
  const read = readBathymetry(bathymetry, Float64Array.from(Array.from(nodes.x, (x, i) => [x, nodes.y[i]]).flat()));
  const known = Array.from(nodes.x.keys()).filter((i) => !Number.isNaN(read.own[i]));
  const pick = (values: Float64Array) => Float64Array.from(known, (i) => values[i]);
  const plane = known.length < fewestNodes ? null : fitPlane({ x: pick(nodes.x), y: pick(nodes.y), z: pick(read.own) });
  if (plane === null) return null;
  const thickness = pick(nodes.z);
  const surveySigma = rootMeanSquare(pick(read.surveySigma));
  const high = Array.from(plane.residual, (above) => above > sigmasOf95 * surveySigma);
  return {
    n: known.length,
    vertical_datum: bathymetry.verticalDatum,
    uncertainty: bathymetry.errorInWords,
    survey_sigma_m: surveySigma,
    relief_sd_m: standardDeviation(plane.residual) ?? 0,
    thickness_sd_m: standardDeviation(thickness) ?? 0,
    thickness_sigma_m: rootMeanSquare(pick(nodes.sigma)),
    rank_correlation: spearman(plane.residual, thickness).value,
    highs: high.filter(Boolean).length,
    mean_thickness_on_highs_m: meanWhere(thickness, (i) => high[i]),
    mean_thickness_elsewhere_m: meanWhere(thickness, (i) => !high[i]),
  };
}

function rootMeanSquare(values: Float64Array): number {
  return Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);
}

function meanWhere(values: Float64Array, isWanted: (i: number) => boolean): number | null {
  const own = values.filter((_, i) => isWanted(i));
  return own.length === 0 ? null : own.reduce((sum, v) => sum + v / own.length, 0);
}
