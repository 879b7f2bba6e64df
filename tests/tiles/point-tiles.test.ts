import GeoJSONVT from 'geojson-vt';
import { describe, expect, test } from 'vitest';
import vtpbf from 'vt-pbf';
import {
  booleanColumn,
  type Column,
  codeColumn,
  type FeatureTable,
  numberColumn,
  textColumn,
  valueAt,
} from '../../src/domain/feature-table.js';
import { randomStream } from '../../src/math/random.js';
import { lonLatToUnit, type TileAddress, tileBox, webMercatorQuad } from '../../src/tiles/matrix-set.js';
import { pointTiles } from '../../src/tiles/point-tiles.js';
import { seededFinds, siteTiles } from '../bench/seeded-finds.js';
import { near } from '../support/near.js';
import { type DecodedFeature, lawfulTile } from './tile-laws.js';

function table(columns: Record<string, Column>, length: number, ids?: number[]): FeatureTable {
  return {
    name: 'finds',
    length,
    fields: [],
    columns: new Map(Object.entries(columns)),
    geometry: { type: 'point', coordinates: new Float64Array(2 * length) },
    ids: Float64Array.from(ids ?? Array.from({ length }, (_, i) => i + 1)),
  };
}

const features = (bytes: Uint8Array): DecodedFeature[] => (bytes.length === 0 ? [] : lawfulTile(bytes)[0].features);
const byId = (list: readonly DecodedFeature[]) => [...list].sort((a, b) => a.id - b.id);

/** One line for each find, in the order of their ids: quick to compare. */
const lines = (list: readonly DecodedFeature[]) =>
  byId(list).map(({ id, parts, properties }) => JSON.stringify([id, parts, Object.entries(properties).sort()]));

/** The ten-line twin: every point, by the rule as it is written in the documentation. */
function slowTile(finds: { table: FeatureTable; unit: Float64Array }, { z, x, y }: TileAddress): DecodedFeature[] {
  const out: DecodedFeature[] = [];
  for (let row = 0; row < finds.table.length; row++) {
    const px = finds.unit[2 * row] * 2 ** z * 4096 - x * 4096;
    const py = finds.unit[2 * row + 1] * 2 ** z * 4096 - y * 4096;
    if (!(px >= -64 && px < 4160 && py >= -64 && py < 4160)) continue;
    const properties: DecodedFeature['properties'] = Object.create(null);
    for (const [name, column] of finds.table.columns) {
      const value = valueAt(column, row);
      if (value !== null) properties[name] = value;
    }
    out.push({
      id: finds.table.ids[row],
      type: 1,
      properties,
      parts: [[[Math.floor(px + 0.5), Math.floor(py + 0.5)]]],
    });
  }
  return out;
}

const scattered = seededFinds(1500, 11);
const properties = [...scattered.table.columns.keys()];
const everyPoint = pointTiles({ ...scattered, layer: 'finds', properties, thinBelowZoom: 0 });

describe('every find, at every level', () => {
  test('a tile is what the rule says, over all levels and the neighbours of the site', () => {
    for (let z = 0; z <= 24; z++) {
      const tiles = siteTiles(z);
      const step = Math.ceil(tiles.length / 6);
      for (const tile of tiles.filter((_, k) => k % step === 0)) {
        expect(lines(features(everyPoint.tile(tile)))).toEqual(lines(slowTile(scattered, tile)));
      }
    }
  });

  test('geojson-vt with vt-pbf decodes to the same finds, within a unit', () => {
    const cutter = new GeoJSONVT(
      {
        type: 'FeatureCollection',
        features: Array.from({ length: scattered.table.length }, (_, row) => ({
          type: 'Feature',
          id: scattered.table.ids[row],
          geometry: { type: 'Point', coordinates: [scattered.lonLat[2 * row], scattered.lonLat[2 * row + 1]] },
          properties: Object.fromEntries(
            properties.map((name) => [name, valueAt(scattered.table.columns.get(name) as Column, row)]),
          ),
        })),
      },
      { maxZoom: 24, extent: 4096, buffer: 64 },
    );
    let compared = 0;
    for (let z = 0; z <= 24; z += 2) {
      for (const tile of siteTiles(z).slice(0, 8)) {
        const cut = cutter.getTile(tile.z, tile.x, tile.y);
        const theirs =
          cut === null || cut.features.length === 0
            ? []
            : features(vtpbf.fromGeojsonVt({ finds: cut as never }, { version: 2 }));
        const ours = new Map(features(everyPoint.tile(tile)).map((feature) => [feature.id, feature]));
        const onlyTheirs = theirs.filter(({ id }) => !ours.has(id));
        // the strip's edge is reckoned in another place there: a find that sits on it may be in one and not in the other
        for (const { parts } of onlyTheirs) {
          expect(parts[0][0].some((v) => Math.abs(v + 64) <= 1 || Math.abs(v - 4160) <= 1)).toBe(true);
        }
        expect(theirs.length - onlyTheirs.length).toBe(ours.size);
        for (const { id, parts, properties: theirProperties } of theirs) {
          const mine = ours.get(id);
          if (mine === undefined) continue;
          const [[x, y], [theirX, theirY]] = [mine.parts[0][0], parts[0][0]];
          const same =
            Math.abs(x - theirX) <= 1 &&
            Math.abs(y - theirY) <= 1 &&
            JSON.stringify(Object.entries(mine.properties).sort()) ===
              JSON.stringify(Object.entries(theirProperties).sort());
          if (!same) expect.fail(`find ${id} differs in tile ${JSON.stringify(tile)}`);
          compared++;
        }
      }
    }
    expect(compared).toBeGreaterThan(10_000);
  });

  test('drawn places are within half a unit of the ground: 0.9 mm at level 22, 0.25 mm at level 24 here', () => {
    let worst = 0;
    for (const [z, unitM] of [
      [22, (40_075_017 / 2 ** 22 / 4096) * Math.cos((40 * Math.PI) / 180)],
      [24, (40_075_017 / 2 ** 24 / 4096) * Math.cos((40 * Math.PI) / 180)],
    ]) {
      for (const tile of siteTiles(z).filter((_, k) => k % 7 === 0)) {
        const [west, south, east, north] = tileBox(webMercatorQuad, { ...tile, z });
        for (const { id, parts } of features(everyPoint.tile({ ...tile, z }))) {
          const lon = west + ((east - west) * parts[0][0][0]) / 4096;
          const lat = north + ((south - north) * parts[0][0][1]) / 4096;
          const eastM = (lon - scattered.lonLat[2 * (id - 1)]) * 111_320 * Math.cos((40 * Math.PI) / 180);
          const northM = (lat - scattered.lonLat[2 * (id - 1) + 1]) * 111_320;
          worst = Math.max(worst, (Math.abs(eastM) - 1e-5) / unitM, (Math.abs(northM) - 1e-5) / unitM);
        }
      }
    }
    expect(worst).toBeLessThan(0.5);
    expect(worst).toBeGreaterThan(0.4);
  });

  test('a site on the corner of four tiles at every level, and points all over the map, are drawn like any other', () => {
    const random = randomStream(5, 0);
    const n = 800;
    const unit = new Float64Array(2 * n);
    for (let i = 0; i < n; i++) {
      const around = i < 400 ? 1e-6 : 0.999;
      unit[2 * i] = 0.5 + around * (random.next() - 0.5);
      unit[2 * i + 1] = 0.5 + around * (random.next() - 0.5);
    }
    const straddling = { table: table({ k: numberColumn(Array.from({ length: n }, (_, i) => i)) }, n), unit };
    const source = pointTiles({ ...straddling, layer: 'finds', properties: ['k'], thinBelowZoom: 0 });
    for (let z = 0; z <= 24; z++) {
      const middle = 2 ** z / 2;
      for (const x of [middle - 1, middle]) {
        for (const y of [middle - 1, middle]) {
          const tile = { z, x: Math.max(0, Math.floor(x)), y: Math.max(0, Math.floor(y)) };
          expect(lines(features(source.tile(tile)))).toEqual(lines(slowTile(straddling, tile)));
        }
      }
    }
  });

  test('the strip takes its near edge and leaves its far edge', () => {
    const side = 2 ** 10 * 4096;
    const at = (x: number, y: number) => [(4096 * 300 + x) / side, (4096 * 400 + y) / side];
    const unit = Float64Array.from(
      [at(-64, 5), at(-64.001, 5), at(4159.999, 5), at(4160, 5), at(5, -64), at(5, 4160)].flat(),
    );
    const source = pointTiles({ layer: 'finds', table: table({}, 6), unit, properties: [], thinBelowZoom: 0 });
    expect(byId(features(source.tile({ z: 10, x: 300, y: 400 }))).map(({ id, parts }) => [id, ...parts[0][0]])).toEqual(
      [
        [1, -64, 5],
        [3, 4160, 5],
        [5, 5, -64],
      ],
    );
  });
});

describe('values', () => {
  const odd = table(
    {
      text: textColumn(['ἄγκυρα „gefunden“ 錨 🏺', 'x'.repeat(300), null, 'x'.repeat(300)]),
      word: codeColumn(['κεραία', null, 'x'.repeat(300), 'κεραία']),
      whole: numberColumn([0, -1, 2 ** 53 - 1, -(2 ** 52) - 1], 'integer'),
      number: numberColumn([1.5, -0.25, 1e300, null]),
      integral: numberColumn([3, 127, 128, 300]),
      yes: booleanColumn([true, false, null, true]),
      constructor: textColumn(['kept', null, null, null]),
    },
    4,
    [1, 127, 2 ** 40 + 3, 2 ** 53 - 1],
  );
  const unit = Float64Array.from({ length: 8 }, (_, k) => 0.3 + k * 1e-4);
  const names = [...odd.columns.keys()];

  test('unicode, long texts, large numbers, truth values and ids beyond 2^40 come back whole; unknown is left out', () => {
    const source = pointTiles({ layer: 'Fundstücke', table: odd, unit, properties: names, thinBelowZoom: 0 });
    const tile = source.tile({ z: 0, x: 0, y: 0 });
    expect(byId(features(tile))).toEqual(slowTile({ table: odd, unit }, { z: 0, x: 0, y: 0 }));
    expect(lawfulTile(tile)[0].name).toBe('Fundstücke');
    // two texts of 300 letters make one feature longer than a one-byte length can say
    expect(tile.length).toBeGreaterThan(400);
  });

  test('more than 127 properties: tags longer than one byte can count, in keys and in lengths', () => {
    const columns = Object.fromEntries(
      Array.from({ length: 200 }, (_, c) => [`column_${c}`, numberColumn([c, c % 3 === 0 ? null : c + 0.5])]),
    );
    const wide = table(columns, 2);
    const places = Float64Array.of(0.1, 0.1, 0.2, 0.2);
    const source = pointTiles({
      layer: 'finds',
      table: wide,
      unit: places,
      properties: [...wide.columns.keys()],
      thinBelowZoom: 0,
    });
    expect(byId(features(source.tile({ z: 0, x: 0, y: 0 })))).toEqual(
      slowTile({ table: wide, unit: places }, { z: 0, x: 0, y: 0 }),
    );
  });

  test('only the columns asked for are written; none is possible', () => {
    const source = pointTiles({ layer: 'finds', table: odd, unit, properties: ['yes'], thinBelowZoom: 0 });
    expect(byId(features(source.tile({ z: 0, x: 0, y: 0 }))).map((f) => Object.keys(f.properties))).toEqual([
      ['yes'],
      ['yes'],
      [],
      ['yes'],
    ]);
  });
});

test('finds without a place, and places outside the map, are not drawn; an empty tile has no bytes', () => {
  const unit = Float64Array.of(Number.NaN, Number.NaN, 1, 0.5, -0.001, 0.5, 0.5, Number.NaN, 0.25, 0.25);
  const source = pointTiles({ layer: 'finds', table: table({}, 5), unit, properties: [] });
  expect(features(source.tile({ z: 0, x: 0, y: 0 })).map(({ id }) => id)).toEqual([5]);
  expect(source.tile({ z: 3, x: 7, y: 7 }).length).toBe(0);
  const none = pointTiles({ layer: 'finds', table: table({}, 0), unit: new Float64Array(0), properties: [] });
  expect(none.tile({ z: 0, x: 0, y: 0 }).length).toBe(0);
});

test('a filter, as marks or as a test, leaves the rows that pass', () => {
  const marks = Uint8Array.from({ length: 1500 }, (_, row) => (row % 3 === 0 ? 1 : 0));
  for (const z of [12, 18, 20, 23]) {
    for (const tile of siteTiles(z).slice(0, 9)) {
      const wanted = lines(slowTile(scattered, tile).filter(({ id }) => (id - 1) % 3 === 0));
      expect(lines(features(everyPoint.tile(tile, marks)))).toEqual(wanted);
      expect(lines(features(everyPoint.tile(tile, (row) => row % 3 === 0)))).toEqual(wanted);
    }
  }
  expect(everyPoint.tile(siteTiles(16)[0], new Uint8Array(1500)).length).toBe(0);
});

describe('zoomed out', () => {
  const thinned = pointTiles({ ...scattered, layer: 'finds', properties });

  test('each square of 2 × 2 units has one find, and the counts add up to all of them', () => {
    const marks = Uint8Array.from({ length: 1500 }, (_, row) => (row % 2 === 0 ? 1 : 0));
    for (let z = 0; z < 19; z++) {
      for (const tile of siteTiles(z)) {
        for (const filter of [null, marks]) {
          const wanted = new Map<string, number>();
          for (const { id } of slowTile(scattered, tile)) {
            if (filter !== null && filter[id - 1] === 0) continue;
            const cell = [scattered.unit[2 * id - 2], scattered.unit[2 * id - 1]].map((u) =>
              Math.floor(u * 2 ** z * 2048),
            );
            wanted.set(cell.join(), (wanted.get(cell.join()) ?? 0) + 1);
          }
          const drawn = new Map<string, number>();
          for (const { id, properties: drawnProperties } of features(thinned.tile(tile, filter))) {
            const cell = [scattered.unit[2 * id - 2], scattered.unit[2 * id - 1]].map((u) =>
              Math.floor(u * 2 ** z * 2048),
            );
            if (drawn.has(cell.join()) || drawnProperties['finds_here'] === 1) expect.fail(`two finds in one square`);
            drawn.set(cell.join(), (drawnProperties['finds_here'] as number | undefined) ?? 1);
          }
          expect(drawn).toEqual(wanted);
        }
      }
    }
  });

  test('a drawn find keeps its own properties and place', () => {
    const [tile] = siteTiles(15);
    const all = new Map(slowTile(scattered, tile).map((feature) => [feature.id, feature]));
    const drawn = features(thinned.tile(tile));
    expect(drawn.length).toBeLessThan(all.size);
    for (const { id, properties: drawnProperties, parts } of drawn) {
      const { finds_here, ...own } = drawnProperties;
      expect(own).toEqual({ ...all.get(id)?.properties });
      expect(parts).toEqual(all.get(id)?.parts);
    }
  });

  test('from level 19 on nothing is thinned, not even finds in one place', () => {
    const unit = new Float64Array(20).fill(0.3);
    const heap = pointTiles({ layer: 'finds', table: table({}, 10), unit, properties: [] });
    const side = (z: number) => ({ z, x: Math.floor(0.3 * 2 ** z), y: Math.floor(0.3 * 2 ** z) });
    expect(features(heap.tile(side(19))).length).toBe(10);
    expect(features(heap.tile(side(18))).map((f) => f.properties)).toEqual([{ finds_here: 10 }]);
  });

  test('the count may be called otherwise, and may not hide a column', () => {
    const unit = new Float64Array(4).fill(0.3);
    const readings = pointTiles({
      layer: 'levels',
      table: table({ readings: numberColumn([2, 7]) }, 2),
      unit,
      properties: ['readings'],
      countProperty: 'readings_here',
    });
    expect(features(readings.tile({ z: 4, x: 4, y: 4 }))[0].properties).toEqual({ readings: 2, readings_here: 2 });
    expect(() =>
      pointTiles({
        layer: 'x',
        table: table({ finds_here: numberColumn([1, 2]) }, 2),
        unit,
        properties: ['finds_here'],
      }),
    ).toThrow(/finds_here/);
  });
});

test('the same tile twice has the same bytes, whatever was drawn between', () => {
  const tiles = siteTiles(22).slice(0, 20);
  const first = tiles.map((tile) => Buffer.from(everyPoint.tile(tile)).toString('hex'));
  everyPoint.tile(siteTiles(16)[0]);
  expect(tiles.map((tile) => Buffer.from(everyPoint.tile(tile)).toString('hex'))).toEqual(first);
  expect(new Set(first).size).toBeGreaterThan(5);
});

test('the inputs are left untouched', () => {
  const before = scattered.unit.slice();
  pointTiles({ ...scattered, layer: 'finds', properties }).tile(siteTiles(17)[0]);
  expect(scattered.unit).toEqual(before);
  near(lonLatToUnit(scattered.lonLat[0], scattered.lonLat[1])[0], before[0], { absolute: 0 });
});
