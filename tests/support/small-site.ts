import { shapes, tableOf } from '../../src/domain/columns.js';
import type { FeatureTable, Value } from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import { contextFields } from '../../src/domain/records/contexts.js';
import { excavatedAreaFields } from '../../src/domain/records/excavated-areas.js';
import { findFields } from '../../src/domain/records/finds.js';
import { hullFeatureFields } from '../../src/domain/records/hull-features.js';
import { identificationFields } from '../../src/domain/records/identifications.js';
import { levelFields } from '../../src/domain/records/levels.js';
import { refitFields } from '../../src/domain/records/refits.js';
import { type Site, siteSchema } from '../../src/domain/site.js';
import { type Survey, surveyOf } from '../../src/domain/survey.js';

type Row = Record<string, Value>;

/** a row with its shape; the shape is taken off before the row is stored */
type ShapedRow = Readonly<Record<string, Value | readonly number[]>>;

/** A site of 10 × 8 squares for tests, invented; every part can be replaced. */
export const smallSite = (changes: Record<string, unknown> = {}): Site =>
  siteSchema.parse({
    id: 'small',
    name: 'A small invented site',
    vertical_datum: { name: 'pin 1', kind: 'control_point_plane' },
    grids: [
      {
        id: 'g1',
        crs: 'EPSG:32626',
        origin_easting: 412000,
        origin_northing: 4984000,
        azimuth_deg: 30,
        columns: 10,
        rows: 8,
      },
    ],
    seasons: [{ id: 'S1' }, { id: 'S2' }],
    artefact_classes: [
      { id: 'ceramics' },
      { id: 'jar', parent: 'ceramics' },
      { id: 'bowl', parent: 'ceramics' },
      { id: 'nail' },
      { id: 'axe head' },
    ],
    ship_axis: { after_end: [1, 1], bow_end: [9, 7], certainty: 'certain' },
    ...changes,
  });

export interface SmallRecords {
  readonly site?: Site;
  readonly finds?: readonly Row[];
  readonly areas?: readonly ShapedRow[];
  readonly hullLines?: readonly ShapedRow[];
  readonly levels?: readonly Row[];
  readonly identifications?: readonly Row[];
  readonly refits?: readonly Row[];
  readonly contexts?: readonly ShapedRow[];
}

const plain = (name: string, fields: readonly Field[], rows: readonly Row[]) =>
  tableOf({ name, fields, rows, geometry: null });

const areaTable = (name: string, fields: readonly Field[], rows: readonly ShapedRow[]) =>
  tableOf({
    name,
    fields,
    rows: rows.map(({ ring: _ring, hole: _hole, ...row }) => row as Row),
    geometry: shapes(
      'area',
      rows.map(({ ring, hole }) => [
        { ring: ringOf(ring) },
        ...(hole ? [{ ring: ringOf(hole), hole: true as const }] : []),
      ]),
    ),
  });

const ringOf = (value: Value | readonly number[] | undefined) => Float64Array.from(value as readonly number[]);

/** A survey from rows written by hand. */
export function smallSurvey(records: SmallRecords): Survey {
  const tables = new Map<string, FeatureTable>();
  if (records.finds) tables.set('finds', plain('finds', findFields, records.finds));
  if (records.levels) tables.set('levels', plain('levels', levelFields, records.levels));
  if (records.identifications)
    tables.set('identifications', plain('identifications', identificationFields, records.identifications));
  if (records.refits) tables.set('refits', plain('refits', refitFields, records.refits));
  if (records.areas) tables.set('excavated-areas', areaTable('excavated-areas', excavatedAreaFields, records.areas));
  if (records.contexts) tables.set('contexts', areaTable('contexts', contextFields, records.contexts));
  if (records.hullLines) {
    tables.set(
      'hull-lines',
      tableOf({
        name: 'hull-lines',
        fields: hullFeatureFields,
        rows: records.hullLines.map(({ line: _line, ...row }) => row as Row),
        geometry: shapes(
          'line',
          records.hullLines.map(({ line }) => [{ ring: ringOf(line) }]),
        ),
      }),
    );
  }
  return surveyOf({ site: records.site ?? smallSite(), version: 1, tables, surfaces: [] });
}

/** Corners of a box, anticlockwise. */
export const box = (west: number, south: number, east: number, north: number): number[] => [
  west,
  south,
  east,
  south,
  east,
  north,
  west,
  north,
];
