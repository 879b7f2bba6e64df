import { valueAt } from '../../src/domain/feature-table.js';
import { gridFrame } from '../../src/domain/grid.js';
import { siteSchema } from '../../src/domain/site.js';
import { PublishedCollection, type RowConditions } from '../../src/operations/published-collection.js';
import { readFilterText } from '../../src/operations/read-filter.js';
import { lonLatToUnit, type TileAddress } from '../../src/tiles/matrix-set.js';
import { median, type Row } from './row.js';
import { type SeededFinds, seededFinds, siteHeightM, siteWidthM } from './seeded-finds.js';

const mostMs = 40;
const mostTimes = 1.5;

/** A frame round the invented site: UTM zone 31 N, at 3° E, 40° N. */
function siteFrame() {
  const site = siteSchema.parse({
    id: 'bench',
    name: 'Bench',
    vertical_datum: { name: 'CP1', kind: 'control_point_plane' },
    grids: [
      {
        id: 'g1',
        crs: 'EPSG:32631',
        origin_easting: 500_000,
        origin_northing: 4_427_757,
        azimuth_deg: 0,
        columns: 40,
        rows: 25,
      },
    ],
    seasons: [{ id: '2015' }],
    artefact_classes: [{ id: 'coin' }],
  });
  return gridFrame(site.grids[0]);
}

function published({ table }: SeededFinds): PublishedCollection {
  const entry = { id: 'finds', title: 'Finds', description: '', geometryType: 'point' } as const;
  return new PublishedCollection(entry, table, siteFrame());
}

let serial = 0;

/** Conditions of one filter that nothing remembers: the time of a first request. */
function fresh(text: string): RowConditions {
  const filter = { ...readFilterText(text), key: `${text} ${serial++}`, unknownProperty: 'refuse' } as const;
  return { seasons: null, classes: null, bbox: null, datetime: null, equals: [], filter };
}

/** Reading, fitting and answering a filter over a million finds, up to the list of their rows. */
function overRows(): Row[] {
  const finds = seededFinds(1_000_000);
  const collection = published(finds);
  const { table } = finds;
  const [lon, lat] = collection.extent as readonly [number, number, number, number];
  const east = lon + 15 / 85_000;
  const north = lat + 8 / 111_000;
  const value = (name: string) => {
    const column = table.columns.get(name) ?? null;
    if (column === null) throw new Error(name);
    return (row: number) => valueAt(column, row);
  };
  const [season, artefactClass, z, count, find] = ['season', 'artefact_class', 'z_elevation', 'count', 'find'].map(
    value,
  );
  const places = collection.placed.coordinates('crs84');
  const questions: { filter: string; plain: (row: number) => boolean }[] = [
    {
      filter: "season = '2016' AND artefact_class IN ('coin', 'glass') AND z_elevation < -31",
      plain: (row) =>
        season(row) === '2016' && ['coin', 'glass'].includes(String(artefactClass(row))) && Number(z(row)) < -31,
    },
    {
      filter: `S_INTERSECTS(geometry, BBOX(${lon}, ${lat}, ${east}, ${north})) AND NOT count * 2 > 9`,
      plain: (row) => places[2 * row] <= east && places[2 * row + 1] <= north && !(Number(count(row)) * 2 > 9),
    },
    { filter: "find LIKE 'F00%7'", plain: (row) => /^F00.*7$/.test(String(find(row))) },
  ];
  return questions.map(({ filter, plain }) => {
    const ours: number[] = [];
    const peer: number[] = [];
    let rows = 0;
    for (let round = 0; round < 24; round++) {
      let started = performance.now();
      rows = collection.rows(fresh(filter)).length;
      if (round > 3) ours.push(performance.now() - started);
      if (round % 3 > 0) continue;
      started = performance.now();
      let plainRows = 0;
      for (let row = 0; row < table.length; row++) plainRows += plain(row) ? 1 : 0;
      peer.push(performance.now() - started);
      // the box is compared in metres with a tenth of a millimetre of slack
      if (Math.abs(plainRows - rows) > 20) throw new Error(`${filter}: ${rows} rows, ${plainRows} by hand`);
    }
    // what other programs take only adds
    const [oursMs, peerMs] = [Math.min(...ours), Math.min(...peer)];
    return {
      job: `CQL2 over 1,000,000 finds: \`${filter.replace(/BBOX\(.*?\)/, 'BBOX(…)')}\``,
      peer: 'one plain JavaScript test for each row',
      ours_ms: oursMs,
      peer_ms: peerMs,
      ratio: peerMs / oursMs,
      note: `${rows.toLocaleString('en')} rows; read, fitted and answered anew each time, best of ${ours.length}`,
      gate: `at most ${mostMs} ms`,
      pass: oursMs <= mostMs,
    };
  });
}

/** Tiles of a level over the site, at most `most`. */
function tilesOver(collection: PublishedCollection, z: number, most: number): TileAddress[] {
  const [west, south, east, north] = collection.extent as readonly [number, number, number, number];
  const [u0, v1] = lonLatToUnit(west, south);
  const [u1, v0] = lonLatToUnit(east, north);
  const tiles: TileAddress[] = [];
  for (let x = Math.floor(u0 * 2 ** z); x <= Math.floor(u1 * 2 ** z); x++) {
    for (let y = Math.floor(v0 * 2 ** z); y <= Math.floor(v1 * 2 ** z); y++) tiles.push({ z, x, y });
  }
  const step = Math.max(1, Math.ceil(tiles.length / most));
  return tiles.filter((_, k) => k % step === 0);
}

/** The median tile with a filter against the same tile without one, taken in turn; the filter itself is known already. */
function inTiles(): Row[] {
  const collection = published(seededFinds(100_000));
  const none: RowConditions = { seasons: null, classes: null, bbox: null, datetime: null, equals: [], filter: null };
  const half = fresh("season IN ('2015','2016','2017','2018') AND z_elevation < -30");
  return [14, 16, 18, 20, 22].map((z) => {
    const tiles = tilesOver(collection, z, 40);
    const best = { filtered: tiles.map(() => Infinity), plain: tiles.map(() => Infinity) };
    const time = (list: number[], conditions: RowConditions, key: string) =>
      tiles.forEach((tile, k) => {
        const started = performance.now();
        collection.tile(tile, conditions, key);
        list[k] = Math.min(list[k], performance.now() - started);
      });
    for (let round = 0; round < 30; round++) {
      time(best.filtered, half, 'half');
      time(best.plain, none, 'all');
    }
    const [oursMs, peerMs] = [median(best.filtered), median(best.plain)];
    return {
      job: `vector tile with a filter, 100,000 finds, level ${z}`,
      peer: 'the same tile without',
      ours_ms: oursMs,
      peer_ms: peerMs,
      ratio: peerMs / oursMs,
      note: `${siteWidthM} m × ${siteHeightM} m, half of the finds fit; ${tiles.length} tiles: best of the rounds of each, median of the tiles`,
      gate: `at most ${mostTimes} times as long`,
      pass: oursMs <= mostTimes * peerMs,
    };
  });
}

/** Filters: over all rows of a large register, and in tiles. */
export async function run(): Promise<Row[]> {
  return [...overRows(), ...inTiles()];
}
