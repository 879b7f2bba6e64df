import { softwareVersion } from '../../analyses/software.js';
import { siteGridCrs } from '../../domain/grid-crs.js';
import type { ExportedSite } from './exported-site.js';

/** Address of the schema the description follows in its members. */
export const dataCiteUri = 'http://datacite.org/schema/kernel-4';

/** What a reader of a public copy may know: everything but where it is. */
export type Audience = 'restricted' | 'public';

/**
 * A description of the records for a catalogue, with the members of DataCite 4: titles, creators, dates, rights, place.
 * Identifier and publisher are the archive's to give.
 * @param audience  the public description says that the place is withheld
 * @see DataCite Metadata Schema 4.6, doi:10.14454/mzv1-5b55
 */
export function datasetMetadata(of: ExportedSite, audience: Audience): Record<string, unknown> {
  const { survey, version } = of;
  const { site } = survey;
  const about = [
    `Grid, finds, levels and hull of the wreck excavation ${site.name}${site.period ? ` (${site.period})` : ''}.`,
    `Data version ${version.version} of ${version.acceptedAt.slice(0, 10)}.`,
    ...(of.selectionSentence === null ? [] : [`Only a part: ${of.selectionSentence}.`]),
    ...(audience === 'public' ? ['The position is withheld.'] : []),
  ];
  const dates = site.seasons.flatMap(({ id, start, end }) =>
    start === null && end === null
      ? []
      : [{ date: [start ?? '', end ?? ''].join('/'), dateType: 'Collected', dateInformation: `Season ${id}` }],
  );
  return {
    schemaVersion: dataCiteUri,
    types: { resourceTypeGeneral: 'Dataset', resourceType: 'Excavation records' },
    // the standard's word for a value to be given later
    identifiers: [{ identifier: ':tba', identifierType: 'DOI' }],
    titles: [{ title: site.name }],
    creators: [{ name: site.authority ?? ':unkn', nameType: 'Organizational' }],
    publisher: { name: ':tba' },
    publicationYear: version.acceptedAt.slice(0, 4),
    version: String(version.version),
    language: 'en',
    dates: [
      ...dates,
      { date: version.acceptedAt, dateType: 'Updated' },
      ...(site.embargo_until === null
        ? []
        : [{ date: site.embargo_until, dateType: 'Available', dateInformation: 'End of the embargo' }]),
    ],
    rightsList: [
      ...(site.licence ? [{ rights: site.licence, rightsIdentifier: site.licence }] : []),
      ...(site.rights ? [{ rights: site.rights }] : []),
    ],
    descriptions: [
      { description: about.join(' '), descriptionType: 'Abstract' },
      // nothing in a public description depends on the place: no free words, no hash of the files
      ...(audience === 'public'
        ? []
        : [
            ...site.cautions.map((description) => ({ description, descriptionType: 'TechnicalInfo' })),
            {
              description: `Elevations are up-positive metres above ${site.vertical_datum.name}. Content hash of the received files: ${version.contentHash}.`,
              descriptionType: 'Methods',
            },
          ]),
      { description: `Written by wreckfield ${softwareVersion}.`, descriptionType: 'Other' },
    ],
    ...(audience === 'public' ? {} : { geoLocations: [placeOf(of)] }),
  };
}

function placeOf({ survey }: ExportedSite): Record<string, unknown> {
  const { grid, toLonLat } = survey.frame;
  const [lon, lat] = toLonLat((grid.columns * grid.node_spacing) / 2, (grid.rows * grid.node_spacing) / 2);
  return {
    geoLocationPlace: survey.site.name,
    geoLocationPoint: { pointLongitude: Number(lon.toFixed(7)), pointLatitude: Number(lat.toFixed(7)) },
  };
}

/** The coordinate systems of a site, ready to paste: its projected CRS, and each site grid as PROJ string and WKT 2. */
export function crsRecord({ survey }: ExportedSite): Record<string, unknown> {
  const { site, frame } = survey;
  return {
    projected_crs: {
      epsg: frame.projection.epsg,
      title: frame.projection.title,
      proj: frame.projection.proj,
    },
    vertical_datum: site.vertical_datum,
    site_grids: site.grids.map((grid) => {
      const crs = siteGridCrs(grid, site.name);
      return {
        grid: grid.id,
        proj: crs?.proj ?? null,
        wkt2: crs?.wkt2 ?? null,
        site_north_from_true_north_deg: crs?.azimuthFromTrueNorthDeg ?? null,
        deviation_m: crs?.deviationM ?? null,
        map_coordinates:
          'easting = origin_easting + scale (x cos a + y sin a), northing = origin_northing + scale (y cos a - x sin a), a = azimuth_deg',
        origin_easting: grid.origin_easting,
        origin_northing: grid.origin_northing,
        azimuth_deg: grid.azimuth_deg,
        scale: grid.scale,
      };
    }),
  };
}
