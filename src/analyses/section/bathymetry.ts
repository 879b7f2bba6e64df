import { type Bathymetry, readBathymetry } from '../../domain/bathymetry.js';
import { profileArea, type Station } from '../../math/profile.js';
import { sigmasOf95 } from '../../math/vertical-uncertainty.js';
import type { Summary } from './schemas.js';
import type { SurfaceProfile } from './surfaces.js';

/** The bathymetry read along a section, as one more profile. */
export interface BathymetryProfile {
  /** null where it is nowhere known along the line, or stands in a datum that is not tied to the site's */
  readonly profile: SurfaceProfile | null;
  readonly summary: Summary['bathymetry'];
}

/** surfaces that a survey from above saw as the seabed, the best first */
const seenFromAbove = ['seabed_before', 'deposit_top', 'top'];

/**
 * Reads the bathymetry along a section in the site's datum. It is told against the seabed of the levels with the errors
 * of both and of the tie between the datums: most of them are shared all along the line, so that a mean over many places
 * is no surer than one.
 */
export function bathymetryProfile(
  bathymetry: Bathymetry | null,
  stations: readonly Station[],
  levelled: readonly SurfaceProfile[],
): BathymetryProfile {
  if (bathymetry === null) return { profile: null, summary: null };
  const { elevation, sigma } = readBathymetry(bathymetry, Float64Array.from(stations.flatMap(({ x, y }) => [x, y])));
  const { knownM } = profileArea(stations, elevation);
  const facts = {
    vertical_datum: bathymetry.verticalDatum,
    uncertainty: bathymetry.errorInWords,
    offset_to_site_datum_m: bathymetry.tie?.offsetM ?? null,
    tie_sigma_m: bathymetry.tie?.sigmaM ?? null,
    known_m: knownM,
  };
  if (knownM === 0) {
    return { profile: null, summary: { ...facts, combined_sigma_m: null, against_levels: null } };
  }
  const seabed = seenFromAbove.flatMap((name) => levelled.filter((p) => p.surface === name && p.knownM > 0))[0];
  return {
    profile: { surface: 'bathymetry', elevation, sigma, knownM },
    summary: {
      ...facts,
      combined_sigma_m: rootMeanSquare(sigma),
      against_levels: seabed ? againstLevels(seabed, { elevation, sigma }) : null,
    },
  };
}

function againstLevels(
  seabed: SurfaceProfile,
  { elevation, sigma }: Pick<SurfaceProfile, 'elevation' | 'sigma'>,
): NonNullable<Summary['bathymetry']>['against_levels'] {
  const difference = elevation.map((z, i) => z - seabed.elevation[i]);
  const known = Array.from(difference.keys()).filter((i) => !Number.isNaN(difference[i]));
  if (known.length === 0) return null;
  const levelSigma = rootMeanSquare(Float64Array.from(known, (i) => seabed.sigma[i])) ?? 0;
  const ownSigma = rootMeanSquare(Float64Array.from(known, (i) => sigma[i])) ?? 0;
  const mean = known.reduce((sum, i) => sum + difference[i] / known.length, 0);
  const half = sigmasOf95 * Math.hypot(levelSigma, ownSigma);
  return {
    surface: seabed.surface,
    places: known.length,
    mean_above_m: mean,
    combined_95_m: half,
    within_95: Math.abs(mean) <= half,
  };
}

function rootMeanSquare(values: Float64Array): number | null {
  const known = values.filter((v) => !Number.isNaN(v));
  return known.length === 0 ? null : Math.sqrt(known.reduce((sum, v) => sum + v * v, 0) / known.length);
}
