import type { Projection } from './crs.js';
import { type BaseDatum, etrs89, wgs84 } from './datum.js';

/** A projected CRS written down for files that carry their own definitions. */
export interface CrsText {
  readonly name: string;
  readonly epsg: number;
  /** OGC 01-009, easting before northing */
  readonly wkt1: string;
  /** ISO 19162:2019 */
  readonly wkt2: string;
}

interface Zone {
  readonly datum: BaseDatum;
  readonly meridian: number;
  readonly falseNorthing: number;
}

/** The transverse Mercator zone of a code of our table (crs.ts). */
function zoneOf(epsg: number): Zone | null {
  const meridian = 6 * (epsg % 100) - 183;
  if (epsg > 32600 && epsg <= 32660) return { datum: wgs84, meridian, falseNorthing: 0 };
  if (epsg > 32700 && epsg <= 32760) return { datum: wgs84, meridian, falseNorthing: 10_000_000 };
  if (epsg >= 25828 && epsg <= 25838) return { datum: etrs89, meridian, falseNorthing: 0 };
  if (epsg === 3006) return { datum: etrs89, meridian: 15, falseNorthing: 0 };
  if (epsg === 3067) return { datum: etrs89, meridian: 27, falseNorthing: 0 };
  return null;
}

/** Definition of a projection of our table in both forms of well-known text; null for one given as a PROJ string. */
export function crsText({ epsg, title }: Pick<Projection, 'epsg' | 'title'>): CrsText | null {
  const zone = epsg === null ? null : zoneOf(epsg);
  if (epsg === null || zone === null) return null;
  const { datum, meridian, falseNorthing } = zone;
  const degree = 'ANGLEUNIT["degree",0.0174532925199433]';
  const metre = 'LENGTHUNIT["metre",1]';
  const parameter = (name: string, value: number, unit: string, code: number) =>
    `PARAMETER["${name}",${value},${unit},ID["EPSG",${code}]]`;
  return {
    name: title,
    epsg,
    wkt1:
      `PROJCS["${title}",${datum.wkt1},PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],` +
      `PARAMETER["central_meridian",${meridian}],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],` +
      `PARAMETER["false_northing",${falseNorthing}],UNIT["metre",1],AXIS["Easting",EAST],AXIS["Northing",NORTH],` +
      `AUTHORITY["EPSG","${epsg}"]]`,
    wkt2: [
      `PROJCRS["${title}",${datum.wkt2Base}`,
      `CONVERSION["${title}",METHOD["Transverse Mercator",ID["EPSG",9807]]`,
      parameter('Latitude of natural origin', 0, degree, 8801),
      parameter('Longitude of natural origin', meridian, degree, 8802),
      parameter('Scale factor at natural origin', 0.9996, 'SCALEUNIT["unity",1]', 8805),
      parameter('False easting', 500000, metre, 8806),
      `${parameter('False northing', falseNorthing, metre, 8807)}]`,
      // without the code: the register may name the axes the other way round (EPSG:3006), the files here never do
      `CS[Cartesian,2],AXIS["(E)",east,ORDER[1]],AXIS["(N)",north,ORDER[2]],${metre}]`,
    ].join(','),
  };
}
