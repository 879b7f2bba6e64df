import { setImmediate as nextTurn } from 'node:timers/promises';
import Sqlite, { type Database } from 'better-sqlite3';
import { valueAt } from '../../../domain/feature-table.js';
import type { Field } from '../../../domain/fields.js';
import type { GeoPackageContent, GeoPackageLayer, GeoPackageSurface, GeoPackageWriter } from '../../geopackage.js';
import { reported } from '../connection.js';
import { type GeometryWriter, geometryWriter } from './geometry.js';
import {
  commonExtensions,
  commonTables,
  geoPackageId,
  geoPackageVersion,
  quoted,
  rtreeDefinition,
  rtreeTriggers,
  surfaceExtension,
  surfaceTables,
} from './outline.js';

/** Rows written before other requests get their turn. */
const rowsPerTurn = 500;

/**
 * Writes a GeoPackage 1.3 with everything a GIS desktop and an archive look for: layers with R-tree indexes, plain
 * tables, field titles and code lists, surfaces as gridded coverages, metadata. The same content gives the same bytes.
 *
 * Rows are written a few hundred at a time, so memory stays small and a running service goes on answering.
 * @throws Problem store-unavailable when the disk is full or cannot be written
 * @see OGC GeoPackage 1.3.0 (OGC 12-128r17); OGC 17-066r1 for the coverages
 */
export const writeGeoPackage: GeoPackageWriter = async (file, content) => {
  const database = reported(file, () => new Sqlite(file));
  try {
    reported(file, () => begin(database, content));
    for (const layer of content.layers) await writeLayer({ database, file, content }, layer);
    let tiles = 0;
    for (const surface of content.surfaces)
      tiles = await writeSurface({ database, file, content }, { surface, tilesBefore: tiles });
    reported(file, () => database.exec('commit'));
    const broken = database.pragma('foreign_key_check') as unknown[];
    if (broken.length > 0) throw new Error(`${file}: ${broken.length} rows point nowhere`);
  } finally {
    database.close();
  }
};

interface Writing {
  readonly database: Database;
  readonly file: string;
  readonly content: GeoPackageContent;
}

function begin(database: Database, content: GeoPackageContent): void {
  // a file that is made anew needs no journal: what breaks off is thrown away
  database.pragma('journal_mode = off');
  database.pragma('synchronous = off');
  database.pragma('page_size = 4096');
  database.pragma(`application_id = ${geoPackageId}`);
  database.pragma(`user_version = ${geoPackageVersion}`);
  database.exec('begin');
  for (const statement of commonTables) database.exec(statement);
  const reference = database.prepare(
    `insert into gpkg_spatial_ref_sys (srs_name, srs_id, organization, organization_coordsys_id, definition, description,
       definition_12_063) values (@name, @id, @organization, @code, @wkt1, @description, @wkt2)`,
  );
  for (const row of content.references) reference.run(row);
  const extension = extensionInsert(database);
  for (const row of commonExtensions) extension.run(...row);
  const metadata = database.prepare(
    `insert into gpkg_metadata (id, md_scope, md_standard_uri, mime_type, metadata) values (?, 'dataset', ?, ?, ?)`,
  );
  const about = database.prepare(
    `insert into gpkg_metadata_reference (reference_scope, timestamp, md_file_id) values ('geopackage', ?, ?)`,
  );
  content.metadata.forEach(({ standardUri, mediaType, text }, i) => {
    metadata.run(i + 1, standardUri, mediaType, text);
    about.run(content.changedAt, i + 1);
  });
  if (content.surfaces.length === 0) return;
  for (const statement of surfaceTables) database.exec(statement);
  for (const table of ['gpkg_2d_gridded_coverage_ancillary', 'gpkg_2d_gridded_tile_ancillary'])
    extension.run(table, null, surfaceExtension.name, surfaceExtension.definition, 'read-write');
}

const extensionInsert = (database: Database) =>
  database.prepare(
    'insert into gpkg_extensions (table_name, column_name, extension_name, definition, scope) values (?, ?, ?, ?, ?)',
  );

const columnTypes: Readonly<Record<Field['type'], string>> = {
  text: 'TEXT',
  number: 'DOUBLE',
  integer: 'INTEGER',
  boolean: 'BOOLEAN',
  date: 'DATE',
  // as written: the format knows only one form of a moment
  'date-time': 'TEXT',
  time: 'TEXT',
};

const geometryColumn = 'geom';

function contentsRow(
  { database, content }: Writing,
  given: {
    readonly name: string;
    readonly kind: 'features' | 'attributes' | '2d-gridded-coverage';
    readonly title: string;
    readonly description: string;
    readonly box: readonly [number, number, number, number] | null;
    readonly referenceId: number | null;
  },
): void {
  database
    .prepare(
      `insert into gpkg_contents (table_name, data_type, identifier, description, last_change, min_x, min_y, max_x, max_y,
         srs_id) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    )
    .run(
      given.name,
      given.kind,
      given.title,
      given.description,
      content.changedAt,
      ...(given.box ?? [null, null, null, null]),
      given.referenceId,
    );
}

async function writeLayer(writing: Writing, layer: GeoPackageLayer): Promise<void> {
  const { database, file } = writing;
  const { table, placed } = layer;
  const geometry =
    placed && table.geometry ? geometryWriter(table.geometry, placed.coordinates, placed.referenceId) : null;
  const columns = table.fields.map((field) => ({ field, column: columnName(field.name) }));
  reported(file, () => {
    const head = [
      '"fid" INTEGER PRIMARY KEY NOT NULL',
      ...(geometry ? [`${quoted(geometryColumn)} ${geometry.type}`] : []),
      ...columns.map(({ field, column }) => `${quoted(column)} ${columnTypes[field.type]}`),
    ];
    database.exec(`create table ${quoted(layer.name)} (${head.join(', ')})`);
    if (geometry) database.exec(`create virtual table ${rtree(layer.name)} using rtree(id, minx, maxx, miny, maxy)`);
  });
  const box = await writeRows(writing, { layer, columns, geometry });
  reported(file, () => {
    contentsRow(writing, {
      name: layer.name,
      kind: geometry ? 'features' : 'attributes',
      title: layer.title,
      description: layer.description,
      box,
      referenceId: placed?.referenceId ?? null,
    });
    describeColumns(database, layer.name, columns);
    if (!geometry) return;
    database
      .prepare(
        `insert into gpkg_geometry_columns (table_name, column_name, geometry_type_name, srs_id, z, m)
         values (?, ?, ?, ?, 0, 0)`,
      )
      .run(layer.name, geometryColumn, geometry.type, placed?.referenceId);
    extensionInsert(database).run(layer.name, geometryColumn, 'gpkg_rtree_index', rtreeDefinition, 'write-only');
    for (const trigger of rtreeTriggers(layer.name, geometryColumn)) database.exec(trigger);
  });
}

const rtree = (table: string): string => quoted(`rtree_${table}_${geometryColumn}`);

/** Names of our own columns are taken: a field of the same name gets an underscore at the end. */
function columnName(name: string): string {
  return ['fid', geometryColumn].includes(name.toLowerCase()) ? `${name}_` : name;
}

interface Column {
  readonly field: Field;
  readonly column: string;
}

/** → the box of everything written; null when nothing has a place */
async function writeRows(
  { database, file }: Writing,
  of: {
    readonly layer: GeoPackageLayer;
    readonly columns: readonly Column[];
    readonly geometry: GeometryWriter | null;
  },
): Promise<[number, number, number, number] | null> {
  const { layer, geometry } = of;
  const { table } = layer;
  const names = ['fid', ...(geometry ? [geometryColumn] : []), ...of.columns.map(({ column }) => column)];
  const insert = database.prepare(
    `insert into ${quoted(layer.name)} (${names.map(quoted).join(', ')}) values (${names.map(() => '?').join(', ')})`,
  );
  const index = geometry ? database.prepare(`insert into ${rtree(layer.name)} values (?, ?, ?, ?, ?)`) : null;
  const read = of.columns.map(({ field }) => {
    const column = table.columns.get(field.name);
    if (!column) throw new Error(`table ${table.name} has no column ${field.name}`);
    return (row: number) => {
      const value = valueAt(column, row);
      return typeof value === 'boolean' ? Number(value) : value;
    };
  });
  const box: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let start = 0; start < layer.rows.length; start += rowsPerTurn) {
    reported(file, () => {
      for (const row of layer.rows.subarray(start, start + rowsPerTurn)) {
        const values: unknown[] = [table.ids[row]];
        if (geometry) {
          const blob = geometry.blob(row);
          values.push(blob?.bytes ?? null);
          if (blob) {
            const [west, south, east, north] = blob.box;
            index?.run(table.ids[row], west, east, south, north);
            box[0] = Math.min(box[0], west);
            box[1] = Math.min(box[1], south);
            box[2] = Math.max(box[2], east);
            box[3] = Math.max(box[3], north);
          }
        }
        for (const cell of read) values.push(cell(row));
        insert.run(values);
      }
    });
    await nextTurn();
  }
  return box[0] <= box[2] ? box : null;
}

/** Titles, units and code lists of the fields, where GIS desktops look for them. */
function describeColumns(database: Database, table: string, columns: readonly Column[]): void {
  const describe = database.prepare(
    `insert into gpkg_data_columns (table_name, column_name, name, title, description, constraint_name)
     values (?, ?, ?, ?, ?, ?)`,
  );
  const choice = database.prepare(
    `insert into gpkg_data_column_constraints (constraint_name, constraint_type, value) values (?, 'enum', ?)`,
  );
  const titles = new Set<string>();
  for (const { field, column } of columns) {
    const constraint = field.choices ? `${table}_${column}` : null;
    for (const word of field.choices ?? []) choice.run(constraint, word);
    const fresh = !titles.has(field.title);
    titles.add(field.title);
    const unit = field.unit && field.unit !== '1' ? `Unit: ${field.unit}` : '';
    const words = [field.description, unit].filter(Boolean).join('. ');
    describe.run(table, column, fresh ? field.title : null, field.title, words === '' ? null : words, constraint);
  }
}

/**
 * @param of.tilesBefore  tiles of the surfaces before: tile ids go on from there, since some readers look up the numbers
 *   of a tile by its id alone
 * @returns tiles written so far
 */
async function writeSurface(
  writing: Writing,
  of: { readonly surface: GeoPackageSurface; readonly tilesBefore: number },
): Promise<number> {
  const { surface } = of;
  const { database, file } = writing;
  const across = Math.ceil(surface.columns / surface.tileCells);
  const down = Math.ceil(surface.rows / surface.tileCells);
  const { west, north, cellWidth, cellHeight, tileCells } = surface;
  reported(file, () => {
    database.exec(
      `create table ${quoted(surface.name)} (id integer primary key autoincrement, zoom_level integer not null,
         tile_column integer not null, tile_row integer not null, tile_data blob not null,
         unique (zoom_level, tile_column, tile_row))`,
    );
    contentsRow(writing, {
      name: surface.name,
      kind: '2d-gridded-coverage',
      title: surface.title,
      description: surface.description,
      box: [west, north - surface.rows * cellHeight, west + surface.columns * cellWidth, north],
      referenceId: surface.referenceId,
    });
    const matrix = [west, north - down * tileCells * cellHeight, west + across * tileCells * cellWidth, north];
    database
      .prepare('insert into gpkg_tile_matrix_set values (?, ?, ?, ?, ?, ?)')
      .run(surface.name, surface.referenceId, ...matrix);
    database
      .prepare('insert into gpkg_tile_matrix values (?, 0, ?, ?, ?, ?, ?, ?)')
      .run(surface.name, across, down, tileCells, tileCells, cellWidth, cellHeight);
    database
      .prepare(
        `insert into gpkg_2d_gridded_coverage_ancillary (tile_matrix_set_name, datatype, data_null, grid_cell_encoding,
           uom, field_name, quantity_definition) values (?, 'float', ?, 'grid-value-is-area', ?, ?, ?)`,
      )
      .run(surface.name, surface.noData, surface.unit, surface.title, surface.title);
    extensionInsert(database).run(
      surface.name,
      'tile_data',
      surfaceExtension.name,
      surfaceExtension.definition,
      'read-write',
    );
  });
  const tile = database.prepare(
    `insert into ${quoted(surface.name)} (id, zoom_level, tile_column, tile_row, tile_data) values (?, 0, ?, ?, ?)`,
  );
  const numbers = database.prepare(
    `insert into gpkg_2d_gridded_tile_ancillary (tpudt_name, tpudt_id, min, max, mean, std_dev) values (?, ?, ?, ?, ?, ?)`,
  );
  let id = of.tilesBefore;
  for (const { column, row, tiff, minimum, maximum, mean, standardDeviation } of surface.tiles) {
    id++;
    reported(file, () => {
      tile.run(id, column, row, tiff);
      numbers.run(surface.name, id, minimum, maximum, mean, standardDeviation);
    });
    await nextTurn();
  }
  return id;
}
