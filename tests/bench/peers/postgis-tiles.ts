import { type Column, valueAt } from '../../../src/domain/feature-table.js';
import { type TileAddress, webMercatorQuad } from '../../../src/tiles/matrix-set.js';
import type { SeededFinds } from '../seeded-finds.js';
import type { Postgis } from './postgis.js';

/** Loads the finds, with a GiST index on Web Mercator points, and the loop that times ST_AsMVT inside the server. */
export function loadFinds(database: Postgis, { table, unit }: SeededFinds): void {
  database.sql(`drop table if exists finds; create table finds (id bigint primary key, find text, artefact_class text,
    season text, count int, z_elevation float8, weight_g float8, geom geometry(Point, 3857))`);
  const columns = [...table.columns.values()] as Column[];
  const [west, north] = webMercatorQuad.corner;
  const { sideM } = webMercatorQuad;
  let rows = '';
  for (let row = 0; row < table.length; row++) {
    const cells = columns.map((column) => valueAt(column, row) ?? '\\N');
    const place = `SRID=3857;POINT(${west + unit[2 * row] * sideM} ${north - unit[2 * row + 1] * sideM})`;
    rows += `${[table.ids[row], ...cells, place].join('\t')}\n`;
  }
  database.sql('copy finds from stdin', rows);
  database.sql('create index on finds using gist (geom)');
  database.sql('vacuum analyze finds');
  // timed inside the server: no connection, no transfer, the statement planned once
  database.sql(`create or replace function tile_times(z int, xs int[], ys int[], rounds int) returns setof float8 as $$
    declare started timestamptz; tile bytea;
    begin
      for round in 1 .. rounds loop
        for k in 1 .. array_length(xs, 1) loop
          started := clock_timestamp();
          select st_asmvt(q, 'finds', 4096, 'g', 'id') into tile from (
            select id, find, artefact_class, season, count, z_elevation, weight_g,
              st_asmvtgeom(geom, st_tileenvelope(z, xs[k], ys[k]), 4096, 64, true) g
            from finds where geom && st_tileenvelope(z, xs[k], ys[k], margin => (64.0 / 4096))) q;
          return next 1000 * extract(epoch from clock_timestamp() - started);
        end loop;
      end loop;
    end $$ language plpgsql`);
}

/** Milliseconds of each tile in each round. */
export function tileTimes(database: Postgis, tiles: readonly TileAddress[], rounds: number): number[] {
  const list = (values: readonly number[]) => `'{${values.join(',')}}'`;
  const told = database.sql(
    `select * from tile_times(${tiles[0].z}, ${list(tiles.map(({ x }) => x))}, ${list(tiles.map(({ y }) => y))}, ${rounds})`,
  );
  return told.trim().split('\n').map(Number);
}
