import { tableOf } from '../../domain/columns.js';
import type { FeatureTable, Value } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import type { Site } from '../../domain/site.js';
import type { ExportedSite } from './exported-site.js';

const text = (name: string, title: string): Field => ({ name, title, type: 'text' });
const number = (name: string, title: string, unit: string): Field => ({ name, title, type: 'number', unit });
const integer = (name: string, title: string): Field => ({ name, title, type: 'integer', unit: '1' });

function list(name: string, fields: readonly Field[], rows: readonly Readonly<Record<string, Value>>[]): FeatureTable {
  return tableOf({ name, fields, rows, geometry: null });
}

/** Artefact classes of a site with their parents, materials and sensitivity. */
export function classList(site: Site): FeatureTable {
  return list(
    'artefact_classes',
    [
      text('id', 'Artefact class'),
      text('title', 'Title'),
      text('parent', 'Parent class'),
      text('functional_group', 'Functional group'),
      text('material', 'Material'),
      number('material_density', 'Material density', 't/m3'),
      text('sensitivity', 'Sensitivity'),
    ],
    site.artefact_classes.map((row) => ({ ...row, title: row.title ?? null })),
  );
}

/** Seasons of a site with their dates. */
export function seasonList(site: Site): FeatureTable {
  return list(
    'seasons',
    [
      text('id', 'Season'),
      text('title', 'Title'),
      { name: 'start', title: 'First day', type: 'date' },
      { name: 'end', title: 'Last day', type: 'date' },
      text('note', 'Note'),
    ],
    site.seasons.map(({ id, title, start, end, note }) => ({
      id,
      title: title ?? null,
      start,
      end,
      note: note ?? null,
    })),
  );
}

/** Site grids: where each lies, and how its squares are named. */
export function gridList(site: Site): FeatureTable {
  return list(
    'site_grids',
    [
      text('id', 'Grid'),
      text('valid_seasons', 'Seasons it was in force'),
      text('crs', 'Projected CRS'),
      number('origin_easting', 'Easting of the grid origin', 'm'),
      number('origin_northing', 'Northing of the grid origin', 'm'),
      number('azimuth_deg', 'Azimuth of site_north from map_grid_north, clockwise', 'deg'),
      number('scale', 'Metres of the projected CRS for one metre of the grid', '1'),
      number('node_spacing', 'Node spacing', 'm'),
      integer('columns', 'Columns'),
      integer('rows', 'Rows'),
      text('corner', 'Corner a label names'),
    ],
    site.grids.map(({ labels: _labels, boundary_rule: _rule, valid_seasons, ...grid }) => ({
      ...grid,
      valid_seasons: valid_seasons.join(', '),
    })),
  );
}

/** Every field of every table: name, title, type, unit, words allowed. */
export function fieldList(tables: readonly { readonly id: string; readonly table: FeatureTable }[]): FeatureTable {
  return list(
    'field_list',
    [
      text('table_name', 'Table'),
      text('field', 'Field'),
      text('title', 'Title'),
      text('type', 'Type'),
      text('unit', 'Unit (UCUM)'),
      text('choices', 'Words allowed'),
      text('description', 'Description'),
    ],
    tables.flatMap(({ id, table }) =>
      table.fields.map((field) => ({
        table_name: id,
        field: field.name,
        title: field.title,
        type: field.type,
        unit: field.unit ?? null,
        choices: field.choices?.join(', ') ?? null,
        description: field.description ?? null,
      })),
    ),
  );
}

/** Tables received that are no published collection: identifications, dives, samples, links to documents and the like. */
export function plainTables({ survey, layers }: ExportedSite): FeatureTable[] {
  const published = new Set(layers.map(({ collection }) => collection.id));
  return [...survey.tables.values()].filter(({ name }) => !published.has(name));
}
