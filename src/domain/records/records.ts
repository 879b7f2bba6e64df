import type { Field } from '../fields.js';
import { contextFields } from './contexts.js';
import { controlPointFields } from './control-points.js';
import { diveFields } from './dives.js';
import { documentFields } from './documents.js';
import { excavatedAreaFields } from './excavated-areas.js';
import { findFields } from './finds.js';
import { hullEndFields, hullFeatureFields } from './hull-features.js';
import { identificationFields } from './identifications.js';
import { levelFields } from './levels.js';
import { measurementFields } from './measurements.js';
import { potVesselFields } from './pot-vessels.js';
import { refitFields } from './refits.js';
import { sampleFields } from './samples.js';
import { shipZoneFields } from './ship-zones.js';
import { tideFields } from './tide.js';

/** One file of a site folder and the table its records go into. */
export interface RecordFile {
  /** name in the folder; a workbook's sheet carries it without its ending */
  readonly file: string;
  readonly format: 'csv' | 'geojson';
  readonly title: string;
  /** tables its records go into: one, or one for each geometry type */
  readonly tables: readonly RecordTable[];
  /** columns of the file that are read and checked, but not kept: the geometry holds them */
  readonly readOnlyFields: readonly Field[];
}

/** A table of records in the store. */
export interface RecordTable {
  readonly name: string;
  readonly title: string;
  readonly fields: readonly Field[];
  readonly geometry: 'point' | 'line' | 'area' | null;
  /** the column that names a record from version to version; null: rows are numbered as they come */
  readonly key: string | null;
}

const table = (
  name: string,
  title: string,
  fields: readonly Field[],
  geometry: RecordTable['geometry'] = null,
): RecordTable => ({ name, title, fields, geometry, key: fields.find((field) => field.unique)?.name ?? null });

export const findTable = table('finds', 'Finds', findFields, 'point');
const levelTable = table('levels', 'Levels', levelFields, 'point');
const controlPointTable = table('control-points', 'Control points', controlPointFields, 'point');
const areaTable = table('excavated-areas', 'Excavated areas', excavatedAreaFields, 'area');
const hullLineTable = table('hull-lines', 'Hull features drawn as lines', hullFeatureFields, 'line');
const hullAreaTable = table('hull-areas', 'Hull features drawn as areas', hullFeatureFields, 'area');

const csv = (kept: RecordTable, file = `${kept.name}.csv`, readOnlyFields: readonly Field[] = []): RecordFile => ({
  file,
  format: 'csv',
  title: kept.title,
  tables: [kept],
  readOnlyFields,
});

const geojson = (file: string, title: string, tables: readonly RecordTable[]): RecordFile => ({
  file,
  format: 'geojson',
  title,
  tables,
  readOnlyFields: [],
});

/** Every record file of a site folder, in the order it is read: what others refer to comes first. */
export const recordFiles: readonly RecordFile[] = [
  csv(controlPointTable),
  csv(table('measurements', 'Measurements', measurementFields)),
  csv(table('tide', 'Tide readings', tideFields)),
  csv(levelTable),
  geojson('excavated-areas.geojson', 'Excavated areas', [areaTable]),
  csv(areaTable, 'excavated-squares.csv'),
  geojson('hull-features.geojson', 'Hull features', [hullLineTable, hullAreaTable]),
  csv(hullLineTable, 'hull-features.csv', hullEndFields),
  geojson('contexts.geojson', 'Contexts', [table('contexts', 'Contexts', contextFields, 'area')]),
  geojson('ship-zones.geojson', 'Zones of the ship', [
    table('ship-zones', 'Zones of the ship', shipZoneFields, 'area'),
  ]),
  csv(table('dives', 'Dives', diveFields)),
  csv(table('pot-vessels', 'Pot vessels', potVesselFields)),
  csv(findTable),
  csv(table('identifications', 'Identifications', identificationFields)),
  csv(table('refits', 'Refits', refitFields)),
  csv(table('samples', 'Samples', sampleFields)),
  csv(table('documents', 'Documents', documentFields)),
];
