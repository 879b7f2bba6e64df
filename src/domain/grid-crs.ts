import proj4 from 'proj4';
import { halfCircle } from '../math/norths.js';
import { type BaseDatum, baseDatumOf, wktText } from './datum.js';
import { type GridFrame, gridFrame } from './grid.js';
import type { GridRecord, Site } from './site.js';

/**
 * A site grid as a coordinate reference system that any GIS desktop takes, so that a map is drawn square to the grid:
 * an oblique Mercator projection centred on the grid origin, whose y axis is site_north.
 *
 * It misleads far outside the grid: a tape grid is flat, a projection follows the Earth.
 */
export interface SiteGridCrs {
  /** id of the grid */
  readonly grid: string;
  readonly title: string;
  /** PROJ string to paste */
  readonly proj: string;
  /** ISO 19162:2019; null when the datum of the grid's CRS cannot be written down in it */
  readonly wkt2: string | null;
  /** azimuth of site_north from true_north at the grid origin, degrees clockwise */
  readonly azimuthFromTrueNorthDeg: number;
  /** largest distance between a grid corner and its place in this CRS, metres */
  readonly deviationM: number;
}

/** Beyond this a corner of the grid would be drawn visibly away from its place, and nothing is offered. */
const mostDeviationM = 0.01;

/**
 * The site grid as a CRS.
 * @returns null when no oblique Mercator fits the grid to a centimetre (a projection that is not conformal, a grid of many kilometres)
 * @throws Problem unknown-crs when the grid's own CRS is not known
 * @see IOGP Guidance Note 7-2, Hotine Oblique Mercator variant B (EPSG method 9815)
 */
export function siteGridCrs(grid: GridRecord, siteName: string): SiteGridCrs | null {
  const frame = gridFrame(grid);
  const { tokens, datum } = baseDatumOf(frame.projection.proj);
  const projString = (line: ObliqueMercator) =>
    `+proj=omerc +lat_0=${line.latitude} +lonc=${line.longitude} +alpha=${line.azimuth} +gamma=${line.turn} ` +
    `+k=${line.scale} +x_0=0 +y_0=0 ${tokens} +units=m +no_defs`;
  // longitude and latitude on the datum of the grid's own CRS, which need not be WGS 84
  const [longitude, latitude] = proj4(
    frame.projection.proj,
    `+proj=longlat ${tokens} +no_defs`,
    frame.toProjected(0, 0),
  ).map((degrees) => rounded(degrees, 11));
  const upright: ObliqueMercator = { latitude, longitude, azimuth: 0, turn: 0, scale: 1 };
  const { azimuthDeg, metresPerGridMetre } = yAxis(frame, projString(upright));
  // beyond a right angle programs disagree on the sign of the azimuth, not on a half turn of the axes
  const turned = azimuthDeg > 90 || azimuthDeg <= -90;
  const line: ObliqueMercator = {
    latitude,
    longitude,
    azimuth: rounded(turned ? halfCircle(azimuthDeg + 180) : azimuthDeg, 10),
    turn: turned ? 180 : 0,
    scale: rounded(1 / metresPerGridMetre, 12),
  };
  const proj = projString(line);
  const deviationM = largestDeviation(frame, proj);
  if (!(deviationM <= mostDeviationM)) return null;
  const title = `${siteName}: site grid ${grid.id}`;
  return {
    grid: grid.id,
    title,
    proj,
    wkt2: datum === null ? null : gridWkt(title, datum, line),
    azimuthFromTrueNorthDeg: azimuthDeg,
    deviationM,
  };
}

const known = new WeakMap<Site, SiteGridCrs | null>();

/** The first grid of a site as a CRS, made once for each site record; null when none fits. */
export function firstGridCrs(site: Site): SiteGridCrs | null {
  let found = known.get(site);
  if (found === undefined) {
    found = siteGridCrs(site.grids[0], site.name);
    known.set(site, found);
  }
  return found;
}

interface ObliqueMercator {
  readonly latitude: number;
  readonly longitude: number;
  /** of the y axis or its opposite, degrees clockwise from true_north, within a right angle */
  readonly azimuth: number;
  /** degrees between the projection's axes and the grid's: 0 or a half turn */
  readonly turn: 0 | 180;
  readonly scale: number;
}

const rounded = (value: number, decimals: number): number => Number(value.toFixed(decimals)) + 0;

/**
 * How the y axis of the grid lies at its origin: azimuth from true_north (that is map azimuth and meridian convergence),
 * and metres on the ellipsoid for one metre of the grid (that is grid scale over point scale).
 * @param upright  PROJ string of an oblique Mercator at the grid origin, unturned, of scale 1
 */
function yAxis(frame: GridFrame, upright: string): { azimuthDeg: number; metresPerGridMetre: number } {
  const reachM = 50;
  const projection = proj4(upright);
  const [x0, y0] = projection.forward(frame.toLonLat(0, -reachM));
  const [x1, y1] = projection.forward(frame.toLonLat(0, reachM));
  return {
    azimuthDeg: (Math.atan2(x1 - x0, y1 - y0) * 180) / Math.PI,
    metresPerGridMetre: Math.hypot(x1 - x0, y1 - y0) / (2 * reachM),
  };
}

/** Corners and middles of the sides of the grid: where they lie, against where the projection puts them. */
function largestDeviation(frame: GridFrame, proj: string): number {
  const { grid } = frame;
  const width = grid.columns * grid.node_spacing;
  const height = grid.rows * grid.node_spacing;
  const projection = proj4(proj);
  let largest = 0;
  for (const x of [0, width / 2, width]) {
    for (const y of [0, height / 2, height]) {
      const [px, py] = projection.forward(frame.toLonLat(x, y));
      const distance = Math.hypot(px - x, py - y);
      if (!(distance <= largest)) largest = distance;
    }
  }
  return largest;
}

function gridWkt(title: string, datum: BaseDatum, line: ObliqueMercator): string {
  const degree = 'ANGLEUNIT["degree",0.0174532925199433]';
  const metre = 'LENGTHUNIT["metre",1]';
  const parameter = (name: string, value: number, unit: string, code: number) =>
    `PARAMETER["${name}",${value},${unit},ID["EPSG",${code}]]`;
  return [
    `PROJCRS[${wktText(title)},${datum.wkt2Base}`,
    `CONVERSION[${wktText(title)},METHOD["Hotine Oblique Mercator (variant B)",ID["EPSG",9815]]`,
    parameter('Latitude of projection centre', line.latitude, degree, 8811),
    parameter('Longitude of projection centre', line.longitude, degree, 8812),
    parameter('Azimuth of initial line', line.azimuth, degree, 8813),
    parameter('Angle from Rectified to Skew Grid', line.turn, degree, 8814),
    parameter('Scale factor on initial line', line.scale, 'SCALEUNIT["unity",1]', 8815),
    parameter('Easting at projection centre', 0, metre, 8816),
    `${parameter('Northing at projection centre', 0, metre, 8817)}]`,
    // the axes are site-grid x and y; desktops draw the first to the right and the second upwards
    `CS[Cartesian,2],AXIS["(E)",east,ORDER[1]],AXIS["(N)",north,ORDER[2]],${metre}]`,
  ].join(',');
}
