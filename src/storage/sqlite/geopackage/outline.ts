/** `GPKG` as the file's application id. */
export const geoPackageId = 0x47504b47;
/** version 1.3.0 */
export const geoPackageVersion = 10_300;

/** Tables every GeoPackage has, with those for field titles, code lists and metadata. */
export const commonTables: readonly string[] = [
  `create table gpkg_spatial_ref_sys (
    srs_name text not null, srs_id integer not null primary key, organization text not null,
    organization_coordsys_id integer not null, definition text not null, description text,
    definition_12_063 text not null)`,
  `create table gpkg_contents (
    table_name text not null primary key, data_type text not null, identifier text unique, description text default '',
    last_change datetime not null default (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
    min_x double, min_y double, max_x double, max_y double, srs_id integer,
    constraint fk_gc_r_srs_id foreign key (srs_id) references gpkg_spatial_ref_sys(srs_id))`,
  `create table gpkg_geometry_columns (
    table_name text not null, column_name text not null, geometry_type_name text not null, srs_id integer not null,
    z tinyint not null, m tinyint not null,
    constraint pk_geom_cols primary key (table_name, column_name), constraint uk_gc_table_name unique (table_name),
    constraint fk_gc_tn foreign key (table_name) references gpkg_contents(table_name),
    constraint fk_gc_srs foreign key (srs_id) references gpkg_spatial_ref_sys (srs_id))`,
  `create table gpkg_extensions (
    table_name text, column_name text, extension_name text not null, definition text not null, scope text not null,
    constraint ge_tce unique (table_name, column_name, extension_name))`,
  `create table gpkg_data_columns (
    table_name text not null, column_name text not null, name text, title text, description text, mime_type text,
    constraint_name text,
    constraint pk_gdc primary key (table_name, column_name), constraint gdc_tn unique (table_name, name))`,
  `create table gpkg_data_column_constraints (
    constraint_name text not null, constraint_type text not null, value text, min numeric, min_is_inclusive boolean,
    max numeric, max_is_inclusive boolean, description text,
    constraint gdcc_ntv unique (constraint_name, constraint_type, value))`,
  `create table gpkg_metadata (
    id integer constraint m_pk primary key asc not null, md_scope text not null default 'dataset',
    md_standard_uri text not null, mime_type text not null default 'text/xml', metadata text not null default '')`,
  `create table gpkg_metadata_reference (
    reference_scope text not null, table_name text, column_name text, row_id_value integer,
    timestamp datetime not null default (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
    md_file_id integer not null, md_parent_id integer,
    constraint crmr_mfi_fk foreign key (md_file_id) references gpkg_metadata(id),
    constraint crmr_mpi_fk foreign key (md_parent_id) references gpkg_metadata(id))`,
];

/** Tables for surfaces, made only when there is one. */
export const surfaceTables: readonly string[] = [
  `create table gpkg_tile_matrix_set (
    table_name text not null primary key, srs_id integer not null,
    min_x double not null, min_y double not null, max_x double not null, max_y double not null,
    constraint fk_gtms_table_name foreign key (table_name) references gpkg_contents(table_name),
    constraint fk_gtms_srs foreign key (srs_id) references gpkg_spatial_ref_sys (srs_id))`,
  `create table gpkg_tile_matrix (
    table_name text not null, zoom_level integer not null, matrix_width integer not null,
    matrix_height integer not null, tile_width integer not null, tile_height integer not null,
    pixel_x_size double not null, pixel_y_size double not null,
    constraint pk_ttm primary key (table_name, zoom_level),
    constraint fk_tmm_table_name foreign key (table_name) references gpkg_contents(table_name))`,
  `create table gpkg_2d_gridded_coverage_ancillary (
    id integer primary key autoincrement not null, tile_matrix_set_name text not null unique,
    datatype text not null default 'integer', scale real not null default 1.0, offset real not null default 0.0,
    precision real default 1.0, data_null real, grid_cell_encoding text default 'grid-value-is-center', uom text,
    field_name text default 'Height', quantity_definition text default 'Height',
    constraint fk_g2dgtct_name foreign key (tile_matrix_set_name) references gpkg_tile_matrix_set (table_name)
    check (datatype in ('integer','float')))`,
  `create table gpkg_2d_gridded_tile_ancillary (
    id integer primary key autoincrement not null, tpudt_name text not null, tpudt_id integer not null,
    scale real not null default 1.0, offset real not null default 0.0, min real default null, max real default null,
    mean real default null, std_dev real default null,
    constraint fk_g2dgtat_name foreign key (tpudt_name) references gpkg_contents(table_name),
    unique (tpudt_name, tpudt_id))`,
];

const specification = 'http://www.geopackage.org/spec130/#extension_';

/** Extensions of the common tables: table, column, name, definition, scope. */
export const commonExtensions: readonly (readonly [string, string | null, string, string, string])[] = [
  ['gpkg_spatial_ref_sys', 'definition_12_063', 'gpkg_crs_wkt', `${specification}crs_wkt`, 'read-write'],
  ['gpkg_data_columns', null, 'gpkg_schema', `${specification}schema`, 'read-write'],
  ['gpkg_data_column_constraints', null, 'gpkg_schema', `${specification}schema`, 'read-write'],
  ['gpkg_metadata', null, 'gpkg_metadata', `${specification}metadata`, 'read-write'],
  ['gpkg_metadata_reference', null, 'gpkg_metadata', `${specification}metadata`, 'read-write'],
];

export const rtreeDefinition = `${specification}rtree`;

export const surfaceExtension = {
  name: 'gpkg_2d_gridded_coverage',
  definition: 'http://docs.opengeospatial.org/is/17-066r1/17-066r1.html',
};

/** A name as SQL writes it. */
export const quoted = (name: string): string => `"${name.replaceAll('"', '""')}"`;

/**
 * Keeps the index of a layer true when a GIS desktop edits it; the functions they call are the desktop's, so they are
 * made after our own rows are in.
 */
export function rtreeTriggers(table: string, geometry: string): string[] {
  const [t, g, index] = [quoted(table), quoted(geometry), quoted(`rtree_${table}_${geometry}`)];
  const name = (suffix: string) => quoted(`rtree_${table}_${geometry}_${suffix}`);
  const filled = `(NEW.${g} NOTNULL AND NOT ST_IsEmpty(NEW.${g}))`;
  const empty = `(NEW.${g} ISNULL OR ST_IsEmpty(NEW.${g}))`;
  const insert =
    `INSERT OR REPLACE INTO ${index} VALUES (NEW."fid", ST_MinX(NEW.${g}), ST_MaxX(NEW.${g}), ` +
    `ST_MinY(NEW.${g}), ST_MaxY(NEW.${g}));`;
  const remove = `DELETE FROM ${index} WHERE id = OLD."fid";`;
  const both = `DELETE FROM ${index} WHERE id IN (OLD."fid", NEW."fid");`;
  const same = 'OLD."fid" = NEW."fid" AND';
  const other = 'OLD."fid" != NEW."fid" AND';
  return [
    `CREATE TRIGGER ${name('insert')} AFTER INSERT ON ${t} WHEN ${filled} BEGIN ${insert} END`,
    `CREATE TRIGGER ${name('update1')} AFTER UPDATE OF ${g} ON ${t} WHEN ${same} ${filled} BEGIN ${insert} END`,
    `CREATE TRIGGER ${name('update2')} AFTER UPDATE OF ${g} ON ${t} WHEN ${same} ${empty} BEGIN ${remove} END`,
    `CREATE TRIGGER ${name('update3')} AFTER UPDATE ON ${t} WHEN ${other} ${filled} BEGIN ${remove} ${insert} END`,
    `CREATE TRIGGER ${name('update4')} AFTER UPDATE ON ${t} WHEN ${other} ${empty} BEGIN ${both} END`,
    `CREATE TRIGGER ${name('delete')} AFTER DELETE ON ${t} WHEN OLD.${g} NOT NULL BEGIN ${remove} END`,
  ];
}
