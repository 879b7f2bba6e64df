/** The datum below a projected CRS, in the words of well-known text. */
export interface BaseDatum {
  readonly name: string;
  /** EPSG code of the geographic CRS; null when it has none */
  readonly epsg: number | null;
  /** BASEGEOGCRS of WKT 2 (ISO 19162:2019) */
  readonly wkt2Base: string;
  /** GEOGCS of WKT 1 (OGC 01-009) */
  readonly wkt1: string;
}

/** Half axis in metres and inverse flattening of the ellipsoids that PROJ strings name most. */
const ellipsoids: Readonly<Record<string, readonly [string, number, number]>> = {
  WGS84: ['WGS 84', 6378137, 298.257223563],
  GRS80: ['GRS 1980', 6378137, 298.257222101],
  WGS72: ['WGS 72', 6378135, 298.26],
  intl: ['International 1924', 6378388, 297],
  bessel: ['Bessel 1841', 6377397.155, 299.1528128],
  krass: ['Krassowsky 1940', 6378245, 298.3],
  clrk66: ['Clarke 1866', 6378206.4, 294.978698213898],
  airy: ['Airy 1830', 6377563.396, 299.3249646],
};

/** A text in well-known text: quoted, quotes in it doubled. */
export function wktText(text: string): string {
  return `"${text.replaceAll('"', '""')}"`;
}

function described(name: string, given: { datum: string; epsg: number | null; ellipsoid: string }): BaseDatum {
  const [title, halfAxis, inverse] = ellipsoids[given.ellipsoid];
  const authority = (code: number) => `,AUTHORITY["EPSG","${code}"]`;
  const id = given.epsg === null ? '' : `,ID["EPSG",${given.epsg}]`;
  return {
    name,
    epsg: given.epsg,
    wkt2Base:
      `BASEGEOGCRS["${name}",DATUM["${given.datum}",ELLIPSOID["${title}",${halfAxis},${inverse},LENGTHUNIT["metre",1]]],` +
      `PRIMEM["Greenwich",0,ANGLEUNIT["degree",0.0174532925199433]]${id}]`,
    wkt1:
      `GEOGCS["${name}",DATUM["${given.datum.replaceAll(' ', '_')}",SPHEROID["${title}",${halfAxis},${inverse}]],` +
      `PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]${given.epsg === null ? '' : authority(given.epsg)}]`,
  };
}

/** WGS 84, on which longitude and latitude are given everywhere. */
export const wgs84 = described('WGS 84', { datum: 'World Geodetic System 1984', epsg: 4326, ellipsoid: 'WGS84' });

/** The European system the UTM zones 25828 to 25838 and the northern national grids are on. */
export const etrs89 = described('ETRS89', {
  datum: 'European Terrestrial Reference System 1989',
  epsg: 4258,
  ellipsoid: 'GRS80',
});

const datumTokens = /\+(datum|ellps|a|b|rf|f|R|towgs84|pm)=\S+/g;

/**
 * The datum of a PROJ string: its own words for it, and its description.
 * @returns `datum` is null when it is shifted against WGS 84, counts from another meridian or is no known ellipsoid: such
 *   a datum is told by the PROJ words only
 */
export function baseDatumOf(proj: string): { readonly tokens: string; readonly datum: BaseDatum | null } {
  const tokens = proj.match(datumTokens) ?? [];
  const value = (name: string) => tokens.find((token) => token.startsWith(`+${name}=`))?.slice(name.length + 2);
  const shift = value('towgs84');
  const unshifted = shift === undefined || shift.split(',').every((part) => Number(part) === 0);
  const plain = unshifted && !tokens.some((token) => /^\+(a|b|rf|f|R|pm)=/.test(token));
  // programs differ in the ellipsoid they take when none is named: ours is WGS 84
  const written = tokens.length > 0 ? tokens.join(' ') : '+datum=WGS84';
  if (!plain) return { tokens: written, datum: null };
  const named = value('datum');
  const ellipsoid = value('ellps');
  if (named === 'WGS84' || tokens.length === 0) return { tokens: written, datum: wgs84 };
  if (named !== undefined || ellipsoid === undefined || !(ellipsoid in ellipsoids))
    return { tokens: written, datum: null };
  if (ellipsoid === 'GRS80' && shift !== undefined) return { tokens: written, datum: etrs89 };
  const unknown = `Unknown, on the ellipsoid ${ellipsoids[ellipsoid][0]}`;
  return { tokens: written, datum: described(unknown, { datum: unknown, epsg: null, ellipsoid }) };
}
