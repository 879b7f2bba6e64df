import { describe, expect, test } from 'vitest';
import {
  booleanColumn,
  type Column,
  codeColumn,
  type FeatureTable,
  type Geometry,
  numberColumn,
  textColumn,
  valueAt,
} from '../../src/domain/feature-table.js';
import { featureText } from '../../src/operations/feature-text.js';
import { seededFinds } from '../bench/seeded-finds.js';

function table(columns: Record<string, Column>, geometry: Geometry | null, ids: readonly number[]): FeatureTable {
  return {
    name: 't',
    length: ids.length,
    fields: [],
    columns: new Map(Object.entries(columns)),
    geometry,
    ids: Float64Array.from(ids),
  };
}

function areas(features: readonly (readonly { ring: readonly number[]; hole?: boolean }[])[]) {
  const parts = features.flat();
  const starts = (sizes: readonly number[]) => {
    const out = [0];
    for (const size of sizes) out.push((out.at(-1) ?? 0) + size);
    return Uint32Array.from(out);
  };
  const geometry: Geometry = {
    type: 'area',
    coordinates: Float64Array.from(parts.flatMap(({ ring }) => ring)),
    partStart: starts(parts.map(({ ring }) => ring.length / 2)),
    featureStart: starts(features.map((feature) => feature.length)),
    hole: Uint8Array.from(parts, ({ hole }) => (hole === true ? 1 : 0)),
  };
  return table(
    {},
    geometry,
    features.map((_, k) => k + 1),
  );
}

const parsed = (text: Iterable<string>) => JSON.parse(`[${[...text].join('')}]`);

test('every value as it is, unknown as null, ids whole', () => {
  const columns = {
    find: textColumn(['F-1', 'a "quoted" \\ back', null, 'κεραία\n\u2028🏺', '\u0001tab\t']),
    word: codeColumn(['x', null, 'y"z', 'x', '']),
    n: numberColumn([1, -2.5, null, 1e21, 0.1 + 0.2]),
    whole: numberColumn([0, 2 ** 53 - 1, null, -7, 12], 'integer'),
    yes: booleanColumn([true, false, null, true, false]),
  };
  const coordinates = Float64Array.of(
    1,
    2,
    3.123456789123,
    -4,
    Number.NaN,
    Number.NaN,
    5,
    Number.NaN,
    -0.00000000001,
    7,
  );
  const given = table(columns, { type: 'point', coordinates }, [1, 2, 2 ** 40, 7, 2 ** 53 - 1]);
  const text = featureText({ table: given, coordinates, decimals: 9, properties: Object.keys(columns) });
  const all = parsed(text.features([0, 1, 2, 3, 4]));
  expect(all.map((f: { id: number }) => f.id)).toEqual([...given.ids]);
  expect(all.map((f: { geometry: unknown }) => f.geometry)).toEqual([
    { type: 'Point', coordinates: [1, 2] },
    { type: 'Point', coordinates: [3.123456789, -4] },
    null,
    null,
    { type: 'Point', coordinates: [0, 7] },
  ]);
  all.forEach((f: { type: string; properties: Record<string, unknown> }, row: number) => {
    expect(f.type).toBe('Feature');
    expect(Object.keys(f.properties)).toEqual(Object.keys(columns));
    for (const [name, column] of Object.entries(columns)) expect(f.properties[name]).toBe(valueAt(column, row));
  });
  expect(JSON.parse(text.feature(1))).toEqual(all[1]);
});

test('a seeded page is what JSON.stringify makes of it, in pieces of about 64 kB', () => {
  const { table: finds, lonLat } = seededFinds(3000);
  const properties = [...finds.columns.keys()];
  const text = featureText({ table: finds, coordinates: lonLat, decimals: 9, properties });
  const rows = Uint32Array.from({ length: 1500 }, (_, k) => 2 * k);
  const pieces = [...text.features(rows)];
  const round = (v: number) => Math.round(v * 1e9) / 1e9;
  const slow = [...rows].map((row) =>
    JSON.stringify({
      type: 'Feature',
      id: finds.ids[row],
      geometry: { type: 'Point', coordinates: [round(lonLat[2 * row]), round(lonLat[2 * row + 1])] },
      properties: Object.fromEntries(properties.map((name) => [name, valueAt(finds.columns.get(name) as Column, row)])),
    }),
  );
  expect(pieces.join('')).toBe(slow.join(','));
  expect(pieces.length).toBeGreaterThan(3);
  for (const piece of pieces) expect(piece.length).toBeLessThan(66_000);
  expect([...text.features([])]).toEqual([]);
  expect(Buffer.concat([...text.bytes(rows)]).toString()).toBe(slow.join(','));
});

test('no properties, no geometry', () => {
  const given = table({}, null, [9]);
  const text = featureText({ table: given, coordinates: new Float64Array(0), decimals: 4, properties: [] });
  expect(JSON.parse(text.feature(0))).toEqual({ type: 'Feature', id: 9, geometry: null, properties: {} });
});

describe('areas', () => {
  const outer = [0, 0, 10, 0, 10, 10, 0, 10];
  const hole = [2, 2, 2, 4, 4, 4, 4, 2];
  const far = [20, 0, 21, 0, 21, 1];
  const write = (given: FeatureTable, axisOrder?: 'north-east') => {
    const coordinates = given.geometry?.coordinates ?? new Float64Array(0);
    const text = featureText({
      table: given,
      coordinates,
      decimals: 4,
      properties: [],
      ...(axisOrder ? { axisOrder } : {}),
    });
    return parsed(text.features(given.ids.map((id) => id - 1))).map((f: { geometry: unknown }) => f.geometry);
  };

  test('rings are closed, outer ones anticlockwise, holes clockwise, whatever order they came in', () => {
    const backwards = (ring: readonly number[]) => {
      const out: number[] = [];
      for (let k = ring.length - 2; k >= 0; k -= 2) out.push(ring[k], ring[k + 1]);
      return out;
    };
    const [right, turned, none] = write(
      areas([
        [{ ring: outer }, { ring: hole, hole: true }],
        [{ ring: backwards(outer) }, { ring: backwards(hole), hole: true }],
        [],
      ]),
    );
    expect(right).toEqual({
      type: 'Polygon',
      coordinates: [
        [
          [0, 0],
          [10, 0],
          [10, 10],
          [0, 10],
          [0, 0],
        ],
        [
          [2, 2],
          [2, 4],
          [4, 4],
          [4, 2],
          [2, 2],
        ],
      ],
    });
    expect(turned).toEqual(right);
    expect(none).toBeNull();
  });

  test('one record of several outer rings makes all of them MultiPolygon', () => {
    const [two, one] = write(areas([[{ ring: outer }, { ring: hole, hole: true }, { ring: far }], [{ ring: far }]]));
    expect(two.type).toBe('MultiPolygon');
    expect(two.coordinates.map((polygon: unknown[]) => polygon.length)).toEqual([2, 1]);
    expect(one).toEqual({
      type: 'MultiPolygon',
      coordinates: [
        [
          [
            [20, 0],
            [21, 0],
            [21, 1],
            [20, 0],
          ],
        ],
      ],
    });
  });

  test('north first: the same ring on the ground, its numbers the other way round', () => {
    const [swapped] = write(areas([[{ ring: far }]]), 'north-east');
    expect(swapped.coordinates).toEqual([
      [
        [0, 20],
        [0, 21],
        [1, 21],
        [0, 20],
      ],
    ]);
  });
});

test('lines: one or several, the same type for all', () => {
  const coordinates = Float64Array.of(0, 0, 1, 1.00004, 5, 5, 6, 6, 7, 7);
  const geometry = (featureStart: number[]): Geometry => ({
    type: 'line',
    coordinates,
    partStart: Uint32Array.of(0, 2, 5),
    featureStart: Uint32Array.from(featureStart),
    hole: new Uint8Array(2),
  });
  const write = (given: FeatureTable) =>
    parsed(featureText({ table: given, coordinates, decimals: 4, properties: [] }).features([0, 1])).map(
      (f: { geometry: unknown }) => f.geometry,
    );
  expect(write(table({}, geometry([0, 1, 2]), [1, 2]))).toEqual([
    {
      type: 'LineString',
      coordinates: [
        [0, 0],
        [1, 1],
      ],
    },
    {
      type: 'LineString',
      coordinates: [
        [5, 5],
        [6, 6],
        [7, 7],
      ],
    },
  ]);
  expect(write(table({}, geometry([0, 2, 2]), [1, 2]))).toEqual([
    {
      type: 'MultiLineString',
      coordinates: [
        [
          [0, 0],
          [1, 1],
        ],
        [
          [5, 5],
          [6, 6],
          [7, 7],
        ],
      ],
    },
    null,
  ]);
});
