import { tableOf } from '../../domain/columns.js';
import { projectionOf } from '../../domain/crs.js';
import { crsText } from '../../domain/crs-text.js';
import { wgs84 } from '../../domain/datum.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import type {
  GeoPackageContent,
  GeoPackageLayer,
  GeoPackageReference,
  GeoPackageSurface,
} from '../../storage/geopackage.js';
import type { PublishedCollection } from '../published-collection.js';
import { siteStyle } from '../site-style.js';
import { classList, fieldList, gridList, plainTables, seasonList } from './code-lists.js';
import { crsRecord, dataCiteUri, datasetMetadata } from './dataset-metadata.js';
import type { ExportedLayer, ExportedSite } from './exported-site.js';
import { gridded, surfaceBands } from './surface-tiles.js';

/** Plane coordinates without a place on Earth: site-grid metres. */
const planeReference = -1;

const fixedReferences: readonly GeoPackageReference[] = [
  {
    id: planeReference,
    name: 'Undefined Cartesian SRS',
    organization: 'NONE',
    code: -1,
    description: 'plane coordinates: here metres of the site grid',
    wkt1: 'undefined',
    wkt2: 'undefined',
  },
  {
    id: 0,
    name: 'Undefined geographic SRS',
    organization: 'NONE',
    code: 0,
    description: 'undefined geographic coordinate reference system',
    wkt1: 'undefined',
    wkt2: 'undefined',
  },
  {
    id: 4326,
    name: 'WGS 84',
    organization: 'EPSG',
    code: 4326,
    description: 'longitude, latitude in degrees on the WGS 84 ellipsoid',
    wkt1: wgs84.wkt1,
    wkt2: 'GEODCRS["WGS 84",DATUM["World Geodetic System 1984",ELLIPSOID["WGS 84",6378137,298.257223563,LENGTHUNIT["metre",1]]],CS[ellipsoidal,2],AXIS["latitude",north,ORDER[1]],AXIS["longitude",east,ORDER[2]],ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",4326]]',
  },
];

/** asked for by the extension for gridded coverages, whatever CRS they are in */
const ellipsoidalReference: GeoPackageReference = {
  id: 4979,
  name: 'WGS 84 (3D)',
  organization: 'EPSG',
  code: 4979,
  description: 'latitude, longitude and ellipsoidal height',
  wkt1: 'undefined',
  wkt2: 'GEODCRS["WGS 84",DATUM["World Geodetic System 1984",ELLIPSOID["WGS 84",6378137,298.257223563,LENGTHUNIT["metre",1]]],CS[ellipsoidal,3],AXIS["latitude",north,ORDER[1],ANGLEUNIT["degree",0.0174532925199433]],AXIS["longitude",east,ORDER[2],ANGLEUNIT["degree",0.0174532925199433]],AXIS["ellipsoidal height",up,ORDER[3],LENGTHUNIT["metre",1]],ID["EPSG",4979]]',
};

function projectedReference(epsg: number): GeoPackageReference | null {
  const text = crsText(projectionOf(`EPSG:${epsg}`));
  if (text === null) return null;
  const { name, wkt1, wkt2 } = text;
  return { id: epsg, name, organization: 'EPSG', code: epsg, description: 'easting, northing in metres', wkt1, wkt2 };
}

const tableName = (id: string): string => id.replaceAll(/[^A-Za-z0-9_]/g, '_');

/**
 * Everything a site's GeoPackage holds: each collection on the map and once more in site-grid metres, the plain tables,
 * code lists and field list, the surfaces as gridded coverages, styles as text, and the description of the records.
 *
 * Elevations are attributes, not third coordinates: they count from the site's own datum, which a map would take for
 * the ellipsoid.
 */
export async function geoPackageContent(of: ExportedSite): Promise<GeoPackageContent> {
  const { survey, version, layers } = of;
  const { epsg } = survey.frame.projection;
  const mapReference = epsg === null ? 4326 : epsg;
  const surfaces = await surfacesOf(of);
  const codes = new Set([...(epsg === null ? [] : [epsg]), ...surfaces.map((surface) => surface.referenceId)]);
  const referenced = [...codes].sort((a, b) => a - b).flatMap((code) => projectedReference(code) ?? []);
  const lists = [classList(survey.site), seasonList(survey.site), gridList(survey.site)];
  const plain = plainTables(of);
  const described = [
    ...layers.map(({ collection }) => ({ id: tableName(collection.id), table: collection.table })),
    ...plain.map((table) => ({ id: tableName(table.name), table })),
  ];
  const layersOfMap = layers.map((layer) => layerOf(layer, { referenceId: mapReference, titleEnd: '', nameEnd: '' }));
  const layersOfGrid = layers
    .filter(({ collection }) => collection.table.geometry !== null && !collection.surface)
    .map((layer) =>
      layerOf(layer, { referenceId: planeReference, titleEnd: ', site-grid metres', nameEnd: '_site_grid' }),
    );
  return {
    changedAt: moment(version.acceptedAt),
    references: [...fixedReferences, ...(surfaces.length > 0 ? [ellipsoidalReference] : []), ...referenced],
    layers: [
      ...layersOfMap,
      ...layersOfGrid,
      ...plain.map((table) => plainLayer(table, 'As received')),
      ...lists.map((table) => plainLayer(table, 'From site.json')),
      plainLayer(fieldList(described), 'Fields of all tables with their units and words'),
      plainLayer(styleList(of), 'Styles as text (style JSON, version 8), tile addresses relative to the site'),
    ],
    surfaces,
    metadata: [
      { standardUri: dataCiteUri, mediaType: 'application/json', text: json(datasetMetadata(of, 'restricted')) },
      {
        standardUri: 'http://www.opengis.net/doc/IS/wkt-crs/2.0',
        mediaType: 'application/json',
        text: json(crsRecord(of)),
      },
    ],
  };
}

const json = (value: unknown): string => `${JSON.stringify(value, null, 2)}\n`;

/** The one form of a moment the format knows. */
const moment = (iso: string): string => new Date(iso).toISOString();

function layerOf(
  { collection, rows }: ExportedLayer,
  as: { readonly referenceId: number; readonly titleEnd: string; readonly nameEnd: string },
): GeoPackageLayer {
  const { table, placed } = collection;
  const map = as.referenceId === 4326 ? 'crs84' : 'storage';
  const coordinates =
    as.referenceId === planeReference ? (table.geometry?.coordinates ?? new Float64Array(0)) : placed.coordinates(map);
  return {
    name: `${tableName(collection.id)}${as.nameEnd}`,
    title: `${collection.title}${as.titleEnd}`,
    description: collection.description,
    table,
    rows,
    placed: table.geometry === null ? null : { referenceId: as.referenceId, coordinates },
  };
}

function plainLayer(table: FeatureTable, description: string): GeoPackageLayer {
  const name = tableName(table.name);
  const rows = Uint32Array.from({ length: table.length }, (_, row) => row);
  return { name, title: titleOf(name), description, table, rows, placed: null };
}

const titleOf = (name: string): string => `${name.charAt(0).toUpperCase()}${name.slice(1).replaceAll('_', ' ')}`;

const styleFields: readonly Field[] = [
  { name: 'id', title: 'Style', type: 'text' },
  { name: 'format', title: 'Media type', type: 'text' },
  { name: 'style', title: 'Style document', type: 'text', distinct: true },
];

function styleList({ survey, layers }: ExportedSite): FeatureTable {
  const collections = new Map<string, PublishedCollection>(layers.map(({ collection }) => [collection.id, collection]));
  const addresses = {
    tileJson: (id: string) => `tilejson/${id}.json`,
    tiles: (id: string) => `xyz/${id}/{z}/{x}/{y}.mvt`,
  };
  const rows = ['site', ...collections.keys()].flatMap((id) => {
    const style = siteStyle({ survey, collections }, id, addresses);
    return style === null ? [] : [{ id, format: 'application/vnd.mapbox.style+json', style: JSON.stringify(style) }];
  });
  return tableOf({ name: 'styles', fields: styleFields, rows, geometry: null });
}

async function surfacesOf({ layers, surface }: ExportedSite): Promise<GeoPackageSurface[]> {
  const found: GeoPackageSurface[] = [];
  for (const { collection } of layers) {
    if (!collection.surface) continue;
    const bytes = await surface(collection);
    if (bytes === null) continue;
    for (const band of await surfaceBands(bytes)) {
      if (band.epsg === null || projectedReference(band.epsg) === null) continue;
      const name = [tableName(collection.id), 'surface', ...band.title.split(' ').filter(Boolean)].join('_');
      found.push(
        gridded(band, {
          name,
          title: [`${collection.title} surface`, ...(band.title === '' ? [] : [band.title])].join(', '),
          description: collection.description,
          unit: 'm',
          referenceId: band.epsg,
        }),
      );
    }
  }
  return found;
}
