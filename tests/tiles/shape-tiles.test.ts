import { describe, expect, test } from 'vitest';
import {
  type Column,
  codeColumn,
  type FeatureTable,
  numberColumn,
  textColumn,
} from '../../src/domain/feature-table.js';
import { randomStream } from '../../src/math/random.js';
import { type Corner, cleanLine, cleanPolygon } from '../../src/tiles/clean.js';
import { lonLatToUnit, type TileAddress } from '../../src/tiles/matrix-set.js';
import { shapeTiles } from '../../src/tiles/shape-tiles.js';
import { near } from '../support/near.js';
import { type DecodedFeature, lawfulTile, surveyorsArea } from './tile-laws.js';

type Ring = [number, number][];

interface Shapes {
  readonly table: FeatureTable;
  readonly unit: Float64Array;
  readonly shapes: readonly (readonly Ring[])[];
}

/** A table from rings in the unit square; the first ring of an area is outer, the others are holes unless `outers` says so. */
function shapesOf(
  type: 'line' | 'area',
  shapes: readonly (readonly Ring[])[],
  given: { columns?: Record<string, Column>; outers?: readonly (readonly number[])[]; ids?: readonly number[] } = {},
): Shapes {
  const rings = shapes.flat();
  const hole = shapes.flatMap((parts, row) =>
    parts.map((_, k) => (type === 'line' || (given.outers?.[row] ?? [0]).includes(k) ? 0 : 1)),
  );
  const starts = (sizes: readonly number[]) => {
    const out = new Uint32Array(sizes.length + 1);
    sizes.forEach((size, k) => {
      out[k + 1] = out[k] + size;
    });
    return out;
  };
  const unit = Float64Array.from(rings.flat(2));
  const table: FeatureTable = {
    name: type === 'area' ? 'areas' : 'lines',
    length: shapes.length,
    fields: [],
    columns: new Map(Object.entries(given.columns ?? {})),
    geometry: {
      type,
      coordinates: new Float64Array(unit.length),
      partStart: starts(rings.map((ring) => ring.length)),
      featureStart: starts(shapes.map((parts) => parts.length)),
      hole: Uint8Array.from(hole),
    },
    ids: Float64Array.from(given.ids ?? shapes.map((_, row) => row + 1)),
  };
  return { table, unit, shapes };
}

const features = (bytes: Uint8Array): DecodedFeature[] => (bytes.length === 0 ? [] : lawfulTile(bytes)[0].features);

const [siteU, siteV] = lonLatToUnit(3.0002, 40.0001);
/** unit squares for one metre of ground at the site */
const metre = 1 / 40_075_016.7 / Math.cos((40 * Math.PI) / 180);
const square = (x: number, y: number, side: number): Ring => [
  [siteU + x * metre, siteV + y * metre],
  [siteU + (x + side) * metre, siteV + y * metre],
  [siteU + (x + side) * metre, siteV + (y + side) * metre],
  [siteU + x * metre, siteV + (y + side) * metre],
];
const tileAt = (z: number, u: number, v: number): TileAddress => ({
  z,
  x: Math.floor(u * 2 ** z),
  y: Math.floor(v * 2 ** z),
});

/** The slow twin: a ring cut by the four sides of the tile and its strip, in units, not rounded. */
function cutRing(ring: Ring, { z, x, y }: TileAddress): Ring {
  let out: Ring = ring.map(([u, v]) => [(u * 2 ** z - x) * 4096, (v * 2 ** z - y) * 4096]);
  for (const [axis, sign, limit] of [
    [0, 1, -64],
    [0, -1, -4160],
    [1, 1, -64],
    [1, -1, -4160],
  ] as const) {
    const from = out;
    out = [];
    from.forEach((b, k) => {
      const a = from[(k + from.length - 1) % from.length];
      const [depthA, depthB] = [sign * a[axis] - limit, sign * b[axis] - limit];
      if (depthA >= 0 !== depthB >= 0) {
        const t = depthA / (depthA - depthB);
        out.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
      }
      if (depthB >= 0) out.push(b);
    });
  }
  return out;
}
const around = (ring: Ring) =>
  ring.reduce((sum, [x, y], k) => {
    const [nx, ny] = ring[(k + 1) % ring.length];
    return sum + Math.hypot(nx - x, ny - y);
  }, 0);

/** Crooked areas of 0.2 m to 3 m, most with a hole, over a site of 30 m. */
function seededAreas(n: number, seed: number): Ring[][] {
  const random = randomStream(seed, 0);
  return Array.from({ length: n }, () => {
    const [x, y, size] = [random.next() * 30, random.next() * 30, 0.1 + 1.4 * random.next()];
    const star = (radius: number): Ring =>
      Array.from({ length: 9 }, (_, k) => {
        const r = radius * (0.6 + 0.4 * random.next());
        const angle = (2 * Math.PI * k) / 9;
        return [siteU + (x + r * Math.cos(angle)) * metre, siteV + (y + r * Math.sin(angle)) * metre];
      });
    return random.next() < 0.7 ? [star(size), star(size * 0.4)] : [star(size)];
  });
}

describe('areas', () => {
  const seeded = shapesOf('area', seededAreas(60, 3));
  const source = shapeTiles({ ...seeded, layer: 'areas', properties: [] });

  test('each tile holds the part of each area that lies in it, hole and all, at every level', () => {
    let compared = 0;
    for (let z = 0; z <= 24; z++) {
      const step = z < 22 ? 1 : z === 22 ? 4 : 16;
      const far = tileAt(z, siteU + 30 * metre, siteV + 30 * metre);
      const home = tileAt(z, siteU, siteV);
      for (let x = home.x; x <= far.x; x += step) {
        for (let y = home.y; y <= far.y; y += step) {
          const tile = { z, x, y };
          const drawn = new Map(features(source.tile(tile)).map((feature) => [feature.id, feature]));
          seeded.shapes.forEach((rings, row) => {
            const cut = rings.map((ring) => cutRing(ring, tile));
            const area = cut.reduce((sum, ring, k) => sum + (k === 0 ? 1 : -1) * Math.abs(surveyorsArea(ring)), 0);
            // each corner moves by at most one unit in both directions
            const slack = 2 * cut.reduce((sum, ring) => sum + around(ring), 0) + 8;
            const parts = drawn.get(row + 1)?.parts ?? [];
            const drawnArea = parts.reduce((sum, part) => sum + surveyorsArea(part), 0);
            if (!(Math.abs(drawnArea - area) <= slack)) {
              expect.fail(`area ${row + 1} in ${JSON.stringify(tile)}: ${drawnArea} drawn, ${area} by the twin`);
            }
            if (parts.some((part) => part.flat().some((v) => v < -64 || v > 4160))) expect.fail('outside the strip');
            compared += parts.length;
          });
        }
      }
    }
    expect(compared).toBeGreaterThan(900);
  });

  test('a one-metre square, and one of 5 cm, keep their corners to a unit at levels 16 to 24', () => {
    const small = shapesOf('area', [[square(3, 4, 1)], [square(8.02, 4.4, 0.05)]]);
    const tiles = shapeTiles({ ...small, layer: 'squares', properties: [] });
    for (let z = 16; z <= 24; z++) {
      small.shapes.forEach(([ring], row) => {
        let seen = 0;
        for (const [u, v] of ring) {
          const tile = tileAt(z, u, v);
          const corner = [(u * 2 ** z - tile.x) * 4096, (v * 2 ** z - tile.y) * 4096];
          const drawn = features(tiles.tile(tile)).find(({ id }) => id === row + 1);
          if (drawn === undefined) continue;
          seen++;
          const distances = drawn.parts[0].map(([x, y]) => Math.max(Math.abs(x - corner[0]), Math.abs(y - corner[1])));
          expect(Math.min(...distances)).toBeLessThanOrEqual(1);
        }
        // 5 cm are two units wide from level 18 on
        if (row === 0 || z >= 18) expect(seen).toBe(4);
      });
    }
  });

  test('an area that covers a tile fills it to the edge of its strip, from a site to half the world', () => {
    for (const side of [200, 20_000, 2_000_000, 15_000_000]) {
      const wide = shapesOf('area', [[square(-side / 2, -side / 2, side)]]);
      const tiles = shapeTiles({ ...wide, layer: 'areas', properties: [] });
      for (const z of [20, 22, 24]) {
        for (const [dx, dy] of [
          [0, 0],
          [17, -23],
        ]) {
          const tile = tileAt(z, siteU + dx * metre, siteV + dy * metre);
          const [feature, ...others] = features(tiles.tile(tile));
          expect(others).toEqual([]);
          expect(feature.parts.length).toBe(1);
          expect([...feature.parts[0]].sort((a, b) => a[0] - b[0] || a[1] - b[1])).toEqual([
            [-64, -64],
            [-64, 4160],
            [4160, -64],
            [4160, 4160],
          ]);
        }
      }
    }
  });

  test('the edge of a large area is right to a unit at level 24', () => {
    const wide = shapesOf('area', [[square(0, -3000, 6000)]]);
    const tiles = shapeTiles({ ...wide, layer: 'areas', properties: [] });
    const tile = tileAt(24, siteU, siteV);
    const edge = (siteU * 2 ** 24 - tile.x) * 4096;
    const [feature] = features(tiles.tile(tile));
    near(Math.min(...feature.parts[0].map(([x]) => x)), edge, { absolute: 1 });
    expect(Math.max(...feature.parts[0].map(([x]) => x))).toBe(4160);
  });

  test('one record far away, by mistake or not, does not cost the small ones their outline', () => {
    const spread = shapesOf('area', [
      [square(0, 0, 1)],
      [
        [
          [0.1, 0.9],
          [0.10001, 0.9],
          [0.1, 0.90001],
        ],
      ],
      [square(1, 0, 1)],
    ]);
    const tiles = shapeTiles({ ...spread, layer: 'areas', properties: [] });
    const side = 4096 * 2 ** 22 * metre;
    for (const row of [0, 2]) {
      const tile = tileAt(22, siteU + (row === 0 ? 0.5 : 1.5) * metre, siteV + 0.5 * metre);
      const drawn = features(tiles.tile(tile)).find(({ id }) => id === row + 1);
      const inTile = Math.abs(surveyorsArea(cutRing(spread.shapes[row][0], tile)));
      near(surveyorsArea(drawn?.parts[0] ?? []), inTile, { absolute: 4 * side });
    }
    expect(features(tiles.tile(tileAt(12, 0.1, 0.9))).map(({ id }) => id)).toEqual([2]);
  });

  test('several outer rings are one feature, each followed by its holes', () => {
    const many = shapesOf('area', [[square(0, 0, 3), square(1, 1, 1), square(5, 0, 3), square(6, 1, 1)]], {
      outers: [[0, 2]],
    });
    const tile = tileAt(19, siteU, siteV);
    const [feature] = features(shapeTiles({ ...many, layer: 'areas', properties: [] }).tile(tile));
    expect(feature.parts.map((part) => Math.sign(surveyorsArea(part)))).toEqual([1, -1, 1, -1]);
  });

  test('a site on the corner of four tiles at every level is drawn in all four', () => {
    const side = 10 * metre;
    const middle = shapesOf('area', [
      [
        [
          [0.5 - side, 0.5 - side],
          [0.5 + side, 0.5 - side],
          [0.5 + side, 0.5 + side],
          [0.5 - side, 0.5 + side],
        ],
      ],
    ]);
    const tiles = shapeTiles({ ...middle, layer: 'areas', properties: [] });
    for (let z = 10; z <= 24; z++) {
      const half = 2 ** z / 2;
      for (const x of [half - 1, half]) {
        for (const y of [half - 1, half]) {
          const [feature] = features(tiles.tile({ z, x, y }));
          const wanted = Math.abs(surveyorsArea(cutRing(middle.shapes[0][0], { z, x, y })));
          if (wanted > 200) near(surveyorsArea(feature.parts[0]), wanted, { absolute: 4 * Math.sqrt(wanted) + 8 });
        }
      }
    }
  });
});

describe('lines', () => {
  test('each tile holds the length of the line that lies in it', () => {
    const random = randomStream(9, 0);
    const timbers = Array.from({ length: 30 }, (): Ring[] => {
      let [x, y] = [random.next() * 30, random.next() * 30];
      return [
        Array.from({ length: 20 }, () => {
          x += 0.3;
          y += 0.5 * (random.next() - 0.5);
          return [siteU + x * metre, siteV + y * metre];
        }),
      ];
    });
    const { table, unit, shapes } = shapesOf('line', timbers);
    const source = shapeTiles({ layer: 'timbers', table, unit, properties: [] });
    for (const z of [15, 18, 20, 21, 23]) {
      for (const dx of [0, 7, 15, 29]) {
        const tile = tileAt(z, siteU + dx * metre, siteV + 12 * metre);
        const drawn = new Map(features(source.tile(tile)).map((feature) => [feature.id, feature]));
        shapes.forEach(([line], row) => {
          // out along the line and back again is a ring without area, and twice as long
          let wanted = 0;
          for (let k = 0; k + 1 < line.length; k++) wanted += around(cutRing([line[k], line[k + 1]], tile)) / 2;
          let length = 0;
          for (const part of drawn.get(row + 1)?.parts ?? []) {
            part.forEach(([x, y], k) => {
              if (k > 0) length += Math.hypot(x - part[k - 1][0], y - part[k - 1][1]);
            });
          }
          near(length, wanted, { absolute: 2 * 20 + 0.01 * wanted });
        });
      }
    }
  });

  test('several lines are one feature', () => {
    const line = (y: number): Ring => [
      [siteU, siteV + y * metre],
      [siteU + 3 * metre, siteV + y * metre],
    ];
    const two = shapesOf('line', [[line(1), line(2)], [line(3)]]);
    const drawn = features(shapeTiles({ ...two, layer: 'l', properties: [] }).tile(tileAt(19, siteU, siteV)));
    expect(drawn.map(({ id, parts }) => [id, parts.length])).toEqual([
      [1, 2],
      [2, 1],
    ]);
  });
});

test('properties are flat, known and under their own name, whatever it is', () => {
  const ids = [7, 2 ** 40 + 1, 2 ** 53 - 1];
  const odd = shapesOf('area', [[square(0, 0, 2)], [square(3, 0, 2)], [square(6, 0, 2)]], {
    ids,
    columns: {
      element: codeColumn(['κεραία', null, 'keel']),
      constructor: textColumn(['a', 'b', null]),
      length_m: numberColumn([1.5, null, 2 ** 60]),
      note: textColumn([null, 'ein „Wort“', '']),
    },
  });
  const source = shapeTiles({ ...odd, layer: 'hull', properties: [...odd.table.columns.keys()] });
  const tile = tileAt(19, siteU, siteV);
  expect(features(source.tile(tile)).map(({ id, properties }) => [id, { ...properties }])).toEqual([
    [7, { element: 'κεραία', constructor_: 'a', length_m: 1.5 }],
    [2 ** 40 + 1, { constructor_: 'b', note: 'ein „Wort“' }],
    [2 ** 53 - 1, { element: 'keel', length_m: '1152921504606847000' }],
  ]);
  expect(features(source.tile(tile, Uint8Array.of(0, 1, 0))).map(({ id }) => id)).toEqual([ids[1]]);
  expect(features(source.tile(tile, (row) => row !== 1)).map(({ id }) => id)).toEqual([ids[0], ids[2]]);
  expect(source.tile(tile, new Uint8Array(3)).length).toBe(0);
});

test('what is smaller than a unit is not drawn, and an empty tile has no bytes', () => {
  const small = shapesOf('area', [[square(0, 0, 1)], []]);
  const source = shapeTiles({ ...small, layer: 'areas', properties: [] });
  expect(source.tile({ z: 0, x: 0, y: 0 }).length).toBe(0);
  expect(source.tile({ z: 5, x: 1, y: 1 }).length).toBe(0);
  expect(source.tile(tileAt(22, siteU, siteV)).length).toBeGreaterThan(0);
  expect(source.tile(tileAt(22, siteU + 3000 * metre, siteV)).length).toBe(0);
});

test('the same tile has the same bytes from an index that has drawn other tiles before', () => {
  const shapes = shapesOf('area', seededAreas(40, 8));
  const one = shapeTiles({ ...shapes, layer: 'areas', properties: [] });
  const other = shapeTiles({ ...shapes, layer: 'areas', properties: [] });
  for (let z = 0; z < 24; z++) other.tile(tileAt(z, siteU + 10 * metre, siteV + 10 * metre));
  for (const z of [15, 16, 19, 21, 24]) {
    const tile = tileAt(z, siteU + 11 * metre, siteV + 9 * metre);
    expect(Buffer.from(one.tile(tile))).toEqual(Buffer.from(other.tile(tile)));
  }
});

describe('cleaning after rounding', () => {
  const box: Corner[] = [
    [0, 0],
    [10, 0],
    [10, 10],
    [0, 10],
  ];

  test('repeated corners, spikes and closing corners go; the winding becomes right', () => {
    const worn: Corner[] = [
      [0, 0],
      [0, 0],
      [10, 0],
      [14, 0],
      [10, 0],
      [10, 10],
      [10, 10],
      [0, 10],
      [0, 0],
    ];
    expect(cleanPolygon([worn])).toEqual([[...box, box[0]]]);
    expect(cleanPolygon([[...box].reverse()]).map(surveyorsArea)).toEqual([100]);
    expect(cleanPolygon([box, box.map(([x, y]): Corner => [x / 2 + 1, y / 2 + 1])]).map(surveyorsArea)).toEqual([
      100, -25,
    ]);
  });

  test('a spike at the start of a ring goes as well', () => {
    const start: Corner[] = [
      [-5, 0],
      [10, 0],
      [10, 10],
      [0, 10],
      [0, 0],
    ];
    expect(cleanPolygon([start]).map(surveyorsArea)).toEqual([100]);
    expect(cleanPolygon([start])[0].length).toBe(5);
  });

  test('a ring without area goes, and takes its holes along; a hole without area goes alone', () => {
    const flat: Corner[] = [
      [0, 0],
      [5, 0],
      [9, 0],
    ];
    expect(cleanPolygon([flat, box])).toEqual([]);
    expect(cleanPolygon([box, flat]).length).toBe(1);
    expect(cleanPolygon([[[1, 1]]])).toEqual([]);
    expect(cleanPolygon([[]])).toEqual([]);
    expect(
      cleanLine([
        [3, 3],
        [3, 3],
      ]),
    ).toBeNull();
    expect(
      cleanLine([
        [3, 3],
        [3, 3],
        [4, 3],
      ]),
    ).toEqual([
      [3, 3],
      [4, 3],
    ]);
  });
});
