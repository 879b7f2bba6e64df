const radian = Math.PI / 180;

/** WGS 84; GRS 80 differs by a tenth of a millimetre in the half axis. */
const wgs84 = { halfAxisM: 6378137, flattening: 1 / 298.257223563 };

/** A transverse Mercator projection. Angles in degrees, lengths in metres. */
export interface TransverseMercator {
  readonly centralMeridianDeg: number;
  readonly scaleOnMeridian: number;
  readonly falseEastingM: number;
  readonly falseNorthingM: number;
}

/** The UTM zone a longitude lies in, without the exceptions off Norway and round Svalbard, which are by agreement. */
export function naturalZone(longitudeDeg: number): number {
  return Math.min(60, Math.max(1, Math.floor((longitudeDeg + 180) / 6) + 1));
}

/** A UTM zone as a projection. @param zone  1 to 60 */
export function utmZone(zone: number, hemisphere: 'north' | 'south'): TransverseMercator {
  return {
    centralMeridianDeg: 6 * zone - 183,
    scaleOnMeridian: 0.9996,
    falseEastingM: 500_000,
    falseNorthingM: hemisphere === 'south' ? 10_000_000 : 0,
  };
}

/** Coefficients α₁ … α₆ of Krüger's series in the third flattening n, to n⁶. */
function kruegerCoefficients(n: number): number[] {
  const horner = (...c: number[]) => c.reduceRight((sum, v) => sum * n + v, 0);
  return [
    horner(0, 1 / 2, -2 / 3, 5 / 16, 41 / 180, -127 / 288, 7891 / 37800),
    horner(0, 0, 13 / 48, -3 / 5, 557 / 1440, 281 / 630, -1983433 / 1935360),
    horner(0, 0, 0, 61 / 240, -103 / 140, 15061 / 26880, 167603 / 181440),
    horner(0, 0, 0, 0, 49561 / 161280, -179 / 168, 6601661 / 7257600),
    horner(0, 0, 0, 0, 0, 34729 / 80640, -3418889 / 1995840),
    horner(0, 0, 0, 0, 0, 0, 212378941 / 319334400),
  ];
}

/** A place on the map grid, and how the grid lies there. */
export interface MapPlace {
  readonly eastingM: number;
  readonly northingM: number;
  /** positive where true_north lies west of map_grid_north: grid bearing = true azimuth − convergence */
  readonly convergenceDeg: number;
  /** metres on the map grid for one metre on the ellipsoid */
  readonly pointScale: number;
}

/**
 * Easting, northing, meridian convergence and point scale of a place by Krüger's series to the sixth order: good to a
 * few nanometres within thousands of kilometres of the central meridian.
 *
 * A taped site grid has scale 1, the map grid has the point scale: 30 m taped on the central meridian of UTM are
 * 12 mm less on the map.
 *
 * @see Krüger 1912, doi:10.2312/GFZ.b103-krueger28; Karney 2011, doi:10.1007/s00190-011-0445-3
 */
export function mapPlace(longitudeDeg: number, latitudeDeg: number, projection: TransverseMercator): MapPlace {
  const f = wgs84.flattening;
  const n = f / (2 - f);
  const e = Math.sqrt(f * (2 - f));
  const rectifyingRadius = (wgs84.halfAxisM / (1 + n)) * (1 + n ** 2 / 4 + n ** 4 / 64 + n ** 6 / 256);
  const alpha = kruegerCoefficients(n);

  let dLon = longitudeDeg - projection.centralMeridianDeg;
  dLon -= 360 * Math.round(dLon / 360);
  const lambda = dLon * radian;
  const phi = latitudeDeg * radian;
  const tau = Math.tan(phi);
  const sigma = Math.sinh(e * Math.atanh((e * tau) / Math.hypot(1, tau)));
  const tauConformal = tau * Math.hypot(1, sigma) - sigma * Math.hypot(1, tau);
  const xiSphere = Math.atan2(tauConformal, Math.cos(lambda));
  const etaSphere = Math.asinh(Math.sin(lambda) / Math.hypot(tauConformal, Math.cos(lambda)));

  let xi = xiSphere;
  let eta = etaSphere;
  let p = 1;
  let q = 0;
  alpha.forEach((a, i) => {
    const k = 2 * (i + 1);
    xi += a * Math.sin(k * xiSphere) * Math.cosh(k * etaSphere);
    eta += a * Math.cos(k * xiSphere) * Math.sinh(k * etaSphere);
    p += k * a * Math.cos(k * xiSphere) * Math.cosh(k * etaSphere);
    q += k * a * Math.sin(k * xiSphere) * Math.sinh(k * etaSphere);
  });

  const k0 = projection.scaleOnMeridian;
  const turnOfSphere = Math.atan2(tauConformal * Math.tan(lambda), Math.hypot(1, tauConformal));
  const convergence = turnOfSphere + Math.atan2(q, p);
  const scaleOfSphere =
    (Math.sqrt(1 - (e * Math.sin(phi)) ** 2) * Math.hypot(1, tau)) / Math.hypot(tauConformal, Math.cos(lambda));
  return {
    eastingM: projection.falseEastingM + k0 * rectifyingRadius * eta,
    northingM: projection.falseNorthingM + k0 * rectifyingRadius * xi,
    convergenceDeg: convergence / radian,
    pointScale: k0 * (rectifyingRadius / wgs84.halfAxisM) * Math.hypot(p, q) * scaleOfSphere,
  };
}

/** How a map grid lies at a place. */
export type GridAtPlace = Pick<MapPlace, 'convergenceDeg' | 'pointScale'>;

/**
 * Convergence and point scale of any conformal projection on WGS 84, from two places a few metres north and south.
 * @param project  longitude and latitude, degrees → easting and northing, metres
 */
export function gridAtPlace(
  project: (longitudeDeg: number, latitudeDeg: number) => readonly [number, number],
  longitudeDeg: number,
  latitudeDeg: number,
): GridAtPlace {
  // 11 m: rounding of map coordinates and the bend of the meridian are both below 1e-10
  const step = 1e-4;
  const [e0, n0] = project(longitudeDeg, latitudeDeg - step);
  const [e1, n1] = project(longitudeDeg, latitudeDeg + step);
  const squared = wgs84.flattening * (2 - wgs84.flattening);
  const meridianRadius = (wgs84.halfAxisM * (1 - squared)) / (1 - squared * Math.sin(latitudeDeg * radian) ** 2) ** 1.5;
  return {
    convergenceDeg: 0 - Math.atan2(e1 - e0, n1 - n0) / radian,
    pointScale: Math.hypot(e1 - e0, n1 - n0) / (meridianRadius * 2 * step * radian),
  };
}

/** The norths at a site, each in degrees clockwise from map_grid_north; null = not known. */
export interface Norths {
  readonly siteNorthDeg: number | null;
  readonly trueNorthDeg: number | null;
  readonly magneticNorthDeg: number | null;
}

/**
 * Brings the norths of a site to one reference: true = magnetic + declination (east positive), grid = true − convergence.
 * @param of  azimuth of site_north from map_grid_north, convergence and declination, degrees; null = not known
 */
export function norths(of: {
  readonly siteNorthDeg: number | null;
  readonly convergenceDeg: number | null;
  readonly declinationDeg: number | null;
}): Norths {
  const { siteNorthDeg, convergenceDeg, declinationDeg } = of;
  return {
    siteNorthDeg,
    trueNorthDeg: convergenceDeg === null ? null : 0 - convergenceDeg,
    magneticNorthDeg: convergenceDeg === null || declinationDeg === null ? null : declinationDeg - convergenceDeg,
  };
}

/** An angle brought to 0 ≤ angle < 360. */
export function fullCircle(degrees: number): number {
  const turned = degrees % 360;
  return turned < 0 ? (turned + 360) % 360 : turned + 0;
}

/** An angle brought to −180 < angle ≤ 180. */
export function halfCircle(degrees: number): number {
  const turned = fullCircle(degrees);
  return turned > 180 ? turned - 360 : turned;
}
