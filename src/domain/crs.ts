import proj4 from 'proj4';
import { Problem } from '../problems.js';

/** A projected CRS in metres with easting, northing axes, and the way to longitude and latitude (WGS 84, degrees). */
export interface Projection {
  /** EPSG code, or null when the CRS was given as a PROJ string */
  readonly epsg: number | null;
  readonly title: string;
  readonly proj: string;
  toLonLat(easting: number, northing: number): [number, number];
  fromLonLat(lon: number, lat: number): [number, number];
}

/**
 * Our own small table of definitions, each compared with PROJ (tests/domain/crs.test.ts). Published collections of
 * definitions disagree with PROJ by metres to hundreds of metres for many codes, so an unknown code is refused.
 */
function definitionOf(epsg: number): { proj: string; title: string } | null {
  const zone = epsg % 100;
  if (epsg >= 32601 && epsg <= 32660) {
    return { proj: `+proj=utm +zone=${zone} +datum=WGS84 +units=m +no_defs`, title: `WGS 84 / UTM zone ${zone}N` };
  }
  if (epsg >= 32701 && epsg <= 32760) {
    return {
      proj: `+proj=utm +zone=${zone} +south +datum=WGS84 +units=m +no_defs`,
      title: `WGS 84 / UTM zone ${zone}S`,
    };
  }
  const etrs89 = '+ellps=GRS80 +towgs84=0,0,0,0,0,0,0 +units=m +no_defs';
  if (epsg >= 25828 && epsg <= 25838) {
    return { proj: `+proj=utm +zone=${zone} ${etrs89}`, title: `ETRS89 / UTM zone ${zone}N` };
  }
  if (epsg === 3006) return { proj: `+proj=utm +zone=33 ${etrs89}`, title: 'SWEREF99 TM' };
  if (epsg === 3067) return { proj: `+proj=utm +zone=35 ${etrs89}`, title: 'ETRS89 / TM35FIN(E,N)' };
  return null;
}

const known = new Map<string, Projection>();

/**
 * The projection a grid or file names.
 * @param text  `EPSG:32626` (or an OGC CRS address ending in the code), or a PROJ string in metres
 * @throws Problem unknown-crs for a code outside the table, a PROJ string that needs grid files, is geographic or not in metres
 */
export function projectionOf(text: string): Projection {
  const found = known.get(text);
  if (found) return found;
  const made = makeProjection(text.trim());
  known.set(text, made);
  return made;
}

function makeProjection(text: string): Projection {
  const code =
    /^(?:EPSG:|urn:ogc:def:crs:EPSG:[^:]*:|https?:\/\/www\.opengis\.net\/def\/crs\/EPSG\/[^/]+\/)(\d{4,6})$/i.exec(
      text,
    );
  if (code) {
    const epsg = Number.parseInt(code[1], 10);
    const definition = definitionOf(epsg);
    if (!definition) {
      throw new Problem(
        'unknown-crs',
        `CRS "${text}" is not in the table of checked definitions (UTM zones of WGS 84 and ETRS89, EPSG:3006, EPSG:3067); give its PROJ string instead`,
        { crs: text },
      );
    }
    return projection(epsg, definition.title, definition.proj);
  }
  if (!text.startsWith('+proj=')) {
    throw new Problem(
      'unknown-crs',
      `CRS "${text}" is neither an EPSG code nor a PROJ string such as "+proj=utm +zone=26 +datum=WGS84 +units=m"`,
      { crs: text },
    );
  }
  if (/nadgrids|geoidgrids/.test(text)) {
    throw new Problem(
      'unknown-crs',
      `CRS "${text}" needs grid files, which are not read here; give a definition without nadgrids`,
      { crs: text },
    );
  }
  if (
    /\+proj=(longlat|latlong|geocent)/.test(text) ||
    (/\+units=/.test(text) && !/\+units=m(\s|$)/.test(text)) ||
    /\+to_meter=/.test(text) ||
    /\+axis=/.test(text)
  ) {
    throw new Problem('unknown-crs', `CRS "${text}" is not a projected CRS in metres with easting and northing axes`, {
      crs: text,
    });
  }
  return projection(null, 'user-defined projected CRS', text);
}

function projection(epsg: number | null, title: string, proj: string): Projection {
  let converter: { forward(c: [number, number]): [number, number]; inverse(c: [number, number]): [number, number] };
  try {
    converter = proj4(proj);
    const probe = converter.inverse(converter.forward([15, 45]));
    if (!Number.isFinite(probe[0]) || !Number.isFinite(probe[1])) throw new Error('no finite coordinates');
  } catch (error) {
    throw new Problem(
      'unknown-crs',
      `CRS "${proj}" cannot be used: ${error instanceof Error ? error.message : String(error)}`,
      { crs: proj },
    );
  }
  return {
    epsg,
    title,
    proj,
    toLonLat: (easting, northing) => converter.inverse([easting, northing]),
    fromLonLat: (lon, lat) => converter.forward([lon, lat]),
  };
}

/** Longitude and latitude → EPSG:3857 metres (spherical formula, EPSG method 1024). */
export function toWebMercator(lon: number, lat: number): [number, number] {
  const radians = Math.PI / 180;
  return [6378137 * lon * radians, 6378137 * Math.log(Math.tan(Math.PI / 4 + (lat * radians) / 2))];
}

/** EPSG:3857 metres → longitude and latitude. */
export function fromWebMercator(x: number, y: number): [number, number] {
  const degree = 180 / Math.PI;
  return [(x / 6378137) * degree, (2 * Math.atan(Math.exp(y / 6378137)) - Math.PI / 2) * degree];
}

/**
 * Meridian convergence of a projection at a place, degrees: positive where true_north lies west of map_grid_north, as
 * east of the central meridian in the northern hemisphere. Azimuth from true_north = azimuth from map_grid_north + convergence.
 */
export function meridianConvergence(projection: Projection, lon: number, lat: number): number {
  const step = 1e-5;
  const [e0, n0] = projection.fromLonLat(lon, lat - step);
  const [e1, n1] = projection.fromLonLat(lon, lat + step);
  return (-Math.atan2(e1 - e0, n1 - n0) * 180) / Math.PI;
}
