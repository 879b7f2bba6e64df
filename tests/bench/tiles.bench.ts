import type { TileAddress } from '../../src/tiles/matrix-set.js';
import { pointTiles } from '../../src/tiles/point-tiles.js';
import { geojsonVtTiles } from './peers/geojson-vt-tiles.js';
import { startPostgis } from './peers/postgis.js';
import { loadFinds, tileTimes } from './peers/postgis-tiles.js';
import { median, type Row } from './row.js';
import { pickTiles, seededFinds, siteTiles } from './seeded-finds.js';

const levels = [16, 18, 20, 22, 24];
const leastRatio = 8;

/**
 * Draws the tiles over and over, at least once and for about `budgetMs`.
 * @returns milliseconds of each tile, round after round
 */
function times(draw: (tile: TileAddress) => unknown, tiles: readonly TileAddress[], budgetMs: number): number[] {
  const out: number[] = [];
  const end = performance.now() + budgetMs;
  do {
    for (const tile of tiles) {
      const started = performance.now();
      draw(tile);
      out.push(performance.now() - started);
    }
  } while (performance.now() < end);
  return out;
}

interface Compared {
  readonly oursMs: number;
  readonly peerMs: number;
}

/**
 * Times two in turn, each many times for a short while, so that a busy minute of the machine falls on both.
 * @returns of both: for each tile the best of its rounds, since what other programs take only adds; of these the median
 */
function inTurn(tiles: number, { ours, peer }: { ours: () => number[]; peer: () => number[] }): Compared {
  const best = { ours: new Array<number>(tiles).fill(Infinity), peer: new Array<number>(tiles).fill(Infinity) };
  const keep = (list: number[], rounds: readonly number[]) =>
    rounds.forEach((ms, k) => {
      list[k % tiles] = Math.min(list[k % tiles], ms);
    });
  for (let turn = 0; turn < 6; turn++) {
    keep(best.ours, ours());
    keep(best.peer, peer());
  }
  return { oursMs: median(best.ours), peerMs: median(best.peer) };
}

const budgetMs = 250;

/**
 * Time of the median tile of finds, levels 16 to 24, against ST_AsMVT (timed inside the server) and geojson-vt with
 * vt-pbf. Every find is drawn by all of them; further rows show what thinning saves.
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
      const perLevel = levels.map((z) => ({ z, tiles: pickTiles(siteTiles(z), 64) }));
      const job = (z: number) => `vector tile, ${n.toLocaleString('en')} finds, level ${z}`;
      const note = (tiles: readonly TileAddress[]) =>
        `${tiles.length} tiles: best of the rounds of each, median of the tiles`;
      const drawn = (tiles: readonly TileAddress[]) => () => times(ours.tile, tiles, budgetMs);
      if (database !== null) {
        loadFinds(database, finds);
        for (const { z, tiles } of perLevel) {
          const onceMs = tileTimes(database, tiles, 1).reduce((sum, ms) => sum + ms, 0);
          const rounds = Math.max(1, Math.round(budgetMs / onceMs));
          const compared = inTurn(tiles.length, {
            ours: drawn(tiles),
            peer: () => tileTimes(database, tiles, rounds),
          });
          rows.push({
            ...row({ job: job(z), peer: `ST_AsMVT (${database.version})`, note: note(tiles) }, compared),
            gate: `at least ${leastRatio} times as fast`,
            pass: compared.peerMs / compared.oursMs >= leastRatio,
          });
        }
      }
      for (const { z, tiles } of perLevel.filter((level) => level.z < 19)) {
        const compared = inTurn(tiles.length, {
          ours: () => times(thinned.tile, tiles, budgetMs),
          peer: drawn(tiles),
        });
        rows.push(row({ job: `${job(z)}, thinned`, peer: 'ours, every find drawn', note: note(tiles) }, compared));
      }
      // last: its heap of objects slows whatever is timed beside it
      const pair = geojsonVtTiles(finds);
      for (const { z, tiles } of perLevel) {
        const compared = inTurn(tiles.length, { ours: drawn(tiles), peer: () => times(pair, tiles, budgetMs) });
        rows.push(row({ job: job(z), peer: 'geojson-vt + vt-pbf', note: note(tiles) }, compared));
      }
    }
  } finally {
    await database?.stop();
  }
  return rows;
}

/** A row without a gate. */
function row(head: Pick<Row, 'job' | 'peer' | 'note'>, { oursMs, peerMs }: Compared): Row {
  return { ...head, ours_ms: oursMs, peer_ms: peerMs, ratio: peerMs / oursMs, gate: null, pass: null };
}
