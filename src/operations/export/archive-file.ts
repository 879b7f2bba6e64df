import { createReadStream } from 'node:fs';
import { rm } from 'node:fs/promises';
import { softwareVersion } from '../../analyses/software.js';
import { crsText } from '../../domain/crs-text.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import { siteGridCrs } from '../../domain/grid-crs.js';
import { Problem } from '../../problems.js';
import type { GeoPackageWriter } from '../../storage/geopackage.js';
import { collectionCsv } from '../collection-csv.js';
import { classList, fieldList, gridList, plainTables, seasonList } from './code-lists.js';
import { crsRecord, datasetMetadata } from './dataset-metadata.js';
import type { ExportedSite } from './exported-site.js';
import { geoPackageContent } from './geopackage-content.js';
import { publicClassList, publicCounts } from './public-copy.js';
import { ZipFile } from './zip-file.js';

/**
 * A deposit package of a site: in `restricted/` the files as received, every table as CSV, GeoPackage, surfaces,
 * lists, coordinate systems and the description for a catalogue; in `public/` a copy without a place; and the
 * checksums of all of it.
 * @throws Problem bad-parameter when only a part of the records was chosen; too-much-work beyond 4 GiB
 */
export async function writeArchive(
  site: ExportedSite,
  path: string,
  rooms: { readonly writeGeoPackage: GeoPackageWriter },
): Promise<void> {
  if (site.selectionSentence !== null) {
    throw new Problem(
      'bad-parameter',
      `a deposit package holds everything of a data version; leave out the selection (${site.selectionSentence})`,
    );
  }
  const zip = await ZipFile.create(path, new Date(site.version.acceptedAt));
  try {
    await zip.add('README.txt', text(readme(site)));
    await addRestricted(zip, site, { path, ...rooms });
    await addPublic(zip, site);
    // each folder has checksums of its own, so that it can be handed on alone
    for (const folder of ['restricted/', 'public/', '']) {
      const sums = zip.files
        .filter(({ name }) => name.startsWith(folder))
        .map(({ name, sha256 }) => `${sha256}  ${name.slice(folder.length)}\n`);
      await zip.add(`${folder}manifest-sha256.txt`, text(sums.sort().join('')));
    }
    await zip.finish();
  } catch (error) {
    await zip.close().catch(() => {});
    throw error;
  }
}

const text = (content: string): Uint8Array[] => [new TextEncoder().encode(content)];
const json = (value: unknown): Uint8Array[] => text(`${JSON.stringify(value, null, 2)}\n`);

function csv(table: FeatureTable): Iterable<Uint8Array> {
  const rows = Uint32Array.from({ length: table.length }, (_, row) => row);
  const coordinates = table.geometry?.coordinates ?? new Float64Array(0);
  return collectionCsv({ table, rows, coordinates, crs: 'storage', idColumn: null });
}

async function addRestricted(
  zip: ZipFile,
  site: ExportedSite,
  rooms: { readonly path: string; readonly writeGeoPackage: GeoPackageWriter },
): Promise<void> {
  const { survey } = site;
  for (const name of await site.receivedFiles()) {
    const bytes = await site.receivedFile(name);
    if (bytes === null) throw new Error(`received file ${name} of ${survey.site.id} is not in the store`);
    await zip.add(`restricted/received/${name}`, [bytes]);
  }
  const setAside = await site.setAside();
  if (setAside.length > 0) await zip.add('restricted/set-aside.csv', csv(setAside));
  const epsg = survey.frame.projection.epsg;
  const crs = epsg === null ? 'crs84' : 'storage';
  for (const { collection, rows } of site.layers) {
    const { table, placed } = collection;
    const coordinates = placed.coordinates(crs);
    const request = { table, rows, coordinates, crs, idColumn: 'feature_id' } as const;
    await zip.add(`restricted/tables/${collection.id}.csv`, collectionCsv(request));
  }
  const plain = plainTables(site);
  for (const table of plain) await zip.add(`restricted/tables/${table.name}.csv`, csv(table));
  for (const { collection } of site.layers) {
    const surface = collection.surface ? await site.surface(collection) : null;
    if (surface) await zip.add(`restricted/surfaces/${collection.id}.tif`, [surface]);
  }
  const geoPackage = `${rooms.path}.gpkg`;
  try {
    await rooms.writeGeoPackage(geoPackage, await geoPackageContent(site));
    await zip.add(`restricted/${survey.site.id}.gpkg`, createReadStream(geoPackage));
  } finally {
    await rm(geoPackage, { force: true });
  }
  const described = [
    ...site.layers.map(({ collection }) => ({ id: collection.id, table: collection.table })),
    ...plain.map((table) => ({ id: table.name, table })),
  ];
  await zip.add('restricted/lists/field-list.csv', csv(fieldList(described)));
  await zip.add('restricted/lists/artefact-classes.csv', csv(classList(survey.site)));
  await zip.add('restricted/lists/seasons.csv', csv(seasonList(survey.site)));
  await zip.add('restricted/lists/site-grids.csv', csv(gridList(survey.site)));
  await addCoordinateSystems(zip, site);
  await zip.add('restricted/metadata/datacite.json', json(datasetMetadata(site, 'restricted')));
}

async function addCoordinateSystems(zip: ZipFile, site: ExportedSite): Promise<void> {
  const { survey } = site;
  await zip.add('restricted/crs/crs.json', json(crsRecord(site)));
  const projected = crsText(survey.frame.projection);
  if (projected) await zip.add('restricted/crs/projected.wkt2.txt', text(`${projected.wkt2}\n`));
  await zip.add('restricted/crs/projected.proj.txt', text(`${survey.frame.projection.proj}\n`));
  for (const grid of survey.site.grids) {
    const crs = siteGridCrs(grid, survey.site.name);
    if (crs === null) continue;
    await zip.add(`restricted/crs/site-grid-${grid.id}.proj.txt`, text(`${crs.proj}\n`));
    if (crs.wkt2) await zip.add(`restricted/crs/site-grid-${grid.id}.wkt2.txt`, text(`${crs.wkt2}\n`));
  }
}

async function addPublic(zip: ZipFile, site: ExportedSite): Promise<void> {
  const { survey } = site;
  await zip.add('public/README.txt', text(publicReadme(site)));
  await zip.add('public/metadata/datacite.json', json(datasetMetadata(site, 'public')));
  await zip.add('public/class-counts.csv', csv(publicCounts(site)));
  await zip.add('public/lists/artefact-classes.csv', csv(publicClassList(survey.site)));
  await zip.add('public/lists/seasons.csv', csv(seasonList(survey.site)));
}

function readme({ survey, version }: ExportedSite): string {
  const { site } = survey;
  return `${[
    `${site.name}: deposit package, data version ${version.version}`,
    '',
    ...(site.authority ? [`Authority: ${site.authority}`] : []),
    ...(site.permit ? [`Permit: ${site.permit}`] : []),
    ...(site.licence ? [`Licence: ${site.licence}`] : []),
    ...(site.rights ? [`Rights: ${site.rights}`] : []),
    ...(site.embargo_until ? [`Embargo until: ${site.embargo_until}`] : []),
    `Elevations: up-positive metres above ${site.vertical_datum.name}`,
    '',
    'restricted/  exact positions: only for those the permit names',
    '  received/  the files as they were received, byte by byte',
    '  tables/    every table as CSV (UTF-8, RFC 4180); places in the projected CRS of the site, areas and lines as well-known text',
    `  ${site.id}.gpkg  the same tables, surfaces and styles as GeoPackage 1.3, each layer also in site-grid metres`,
    '  surfaces/  surfaces as GeoTIFF; a second band is the standard deviation',
    '  lists/     fields with units and words, artefact classes, seasons, site grids',
    '  crs/       coordinate systems as WKT 2 and as PROJ strings, the site grid among them',
    '  metadata/  description for a catalogue (members of DataCite 4)',
    'public/      a copy without a place: description, classes, counts',
    'manifest-sha256.txt  checksums, here and in both folders: sha256sum -c manifest-sha256.txt',
    '',
    ...site.cautions.map((caution) => `Caution: ${caution}`),
    '',
    `Content of the received files: SHA-256 ${version.contentHash}. Written by wreckfield ${softwareVersion}.`,
  ].join('\n')}\n`;
}

function publicReadme({ survey, version }: ExportedSite): string {
  return `${[
    `${survey.site.name}: public copy, data version ${version.version}`,
    '',
    'The position is withheld, and with it everything it could be worked out from: coordinates, plans, levels and tides.',
    'class-counts.csv counts finds by class and season; numbers below 10, none included, are told as "fewer than 10".',
    'Sensitive classes are left out.',
  ].join('\n')}\n`;
}
