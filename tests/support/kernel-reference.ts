import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { orientRings, type Region } from '../../src/math/rings.js';

type Pair = readonly [number, number];

interface WindowRecord {
  readonly type: 'rectangle' | 'polygon';
  readonly xrange: Pair;
  readonly yrange: Pair;
  readonly outer: readonly Pair[];
  readonly holes: readonly (readonly Pair[])[];
}

/** Patterns of the reference files: unit squares and rectangles, polygons, two with a hole. */
export const patterns = [
  'site_a',
  'cells',
  'japanesepines',
  'redwood',
  'betacells',
  'ants',
  'demopat',
  'humberside',
] as const;

/** A reference file, its points and its window. */
export function readReference<Expected>(method: string, pattern: string) {
  const folder = join(import.meta.dirname, '../reference', pattern === 'site_a' ? '' : 'gpl');
  const file = JSON.parse(readFileSync(join(folder, `${method}_${pattern}.json`), 'utf8')) as {
    input: { window: WindowRecord; points: readonly Pair[] };
    expected: Expected;
  };
  return {
    expected: file.expected,
    xy: flat(file.input.points),
    window: windowOf(file.input.window),
    isRectangle: file.input.window.type === 'rectangle',
  };
}

export const flat = (pairs: readonly (readonly number[])[]): Float64Array => Float64Array.from(pairs.flat());

function windowOf(record: WindowRecord): Region {
  if (record.type === 'polygon') return orientRings([[flat(record.outer), ...record.holes.map(flat)]]);
  const [west, east] = record.xrange;
  const [south, north] = record.yrange;
  return rectangle([west, south, east, north]);
}

export function rectangle([west, south, east, north]: readonly [number, number, number, number]): Region {
  return { rings: [Float64Array.of(west, south, east, south, east, north, west, north)] };
}

/** A room with two thin arms, a slanting side and a hole: the hardest window for anything that works on cells. */
export const thinArms: Region = orientRings([
  [
    Float64Array.of(0, 0, 9, 0, 9, 2.6, 14.3, 2.9, 14.3, 3.25, 9, 3, 8, 6, 3, 6.5, 3.1, 11, 2.8, 11, 2.5, 6.4, 0, 5),
    Float64Array.of(2, 1.5, 5.5, 1.2, 5, 3.6, 2.4, 3.1),
  ],
]);
