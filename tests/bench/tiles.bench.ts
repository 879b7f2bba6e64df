import type { TileAddress } from '../../src/tiles/matrix-set.js';
import { pointTiles } from '../../src/tiles/point-tiles.js';
import { geojsonVtTiles } from './peers/geojson-vt-tiles.js';
import { startPostgis } from './peers/postgis.js';
import { loadFinds, tileTimes } from './peers/postgis-tiles.js';
import { median, type Row } from './row.js';
import { pickTiles, seededFinds, siteTiles } from './seeded-finds.js';

const levels = [16, 18, 20, 22, 24];
const leastRatio = 8;

/** Milliseconds of each tile in each round. */
function times(draw: (tile: TileAddress) => unknown, tiles: readonly TileAddress[], rounds: number): number[] {
  const out: number[] = [];
  for (let round = 0; round < rounds; round++) {
    for (const tile of tiles) {
      const started = performance.now();
      draw(tile);
      out.push(performance.now() - started);
    }
  }
  return out;
}

/**
 * Median time of one tile of finds, levels 16 to 24, against ST_AsMVT (timed inside the server) and geojson-vt with
 * vt-pbf. Every find is drawn by all of them; the last rows show what thinning saves.
 */
export async function run(): Promise<Row[]> {
  const rows: Row[] = [];
  const database = await startPostgis();
  try {
    for (const n of [10_000, 100_000]) {
      const finds = seededFinds(n);
      const properties = [...finds.table.columns.keys()];
      const ours = pointTiles({ ...finds, layer: 'finds', properties, thinBelowZoom: 0 });
      const thinned = pointTiles({ ...finds, layer: 'finds', properties });
      const pair = geojsonVtTiles(finds);
      if (database !== null) loadFinds(database, finds);
      for (const z of levels) {
        const tiles = pickTiles(siteTiles(z), 64);
        const rounds = Math.max(3, Math.ceil(60 / tiles.length));
        const measured = {
          ours: [] as number[],
          thinned: [] as number[],
          pair: [] as number[],
          postgis: [] as number[],
        };
        times(ours.tile, tiles, 3);
        times(pair, tiles, 1);
        // in turn, so that a busy minute of the machine falls on all of them
        for (let turn = 0; turn < 3; turn++) {
          measured.ours.push(...times(ours.tile, tiles, rounds * 2));
          measured.thinned.push(...times(thinned.tile, tiles, rounds));
          measured.pair.push(...times(pair, tiles, Math.ceil(rounds / (n > 10_000 ? 12 : 3))));
          if (database !== null) measured.postgis.push(...tileTimes(database, tiles, Math.ceil(rounds / 3)));
        }
        const oursMs = median(measured.ours);
        const job = `vector tile, ${n.toLocaleString('en')} finds, level ${z}`;
        const note = `${tiles.length} tiles, median`;
        if (database !== null) {
          const peerMs = median(measured.postgis);
          rows.push({
            job,
            peer: `ST_AsMVT (${database.version})`,
            ours_ms: oursMs,
            peer_ms: peerMs,
            ratio: peerMs / oursMs,
            note,
            gate: `at least ${leastRatio} times as fast`,
            pass: peerMs / oursMs >= leastRatio,
          });
        }
        const pairMs = median(measured.pair);
        rows.push({
          job,
          peer: 'geojson-vt + vt-pbf',
          ours_ms: oursMs,
          peer_ms: pairMs,
          ratio: pairMs / oursMs,
          note,
          gate: null,
          pass: null,
        });
        if (z < 19) {
          const thinnedMs = median(measured.thinned);
          rows.push({
            job: `${job}, thinned`,
            peer: 'ours, every find drawn',
            ours_ms: thinnedMs,
            peer_ms: oursMs,
            ratio: oursMs / thinnedMs,
            note,
            gate: null,
            pass: null,
          });
        }
      }
    }
  } finally {
    await database?.stop();
  }
  return rows;
}
