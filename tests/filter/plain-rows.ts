import { shapes } from '../../src/domain/columns.js';
import {
  booleanColumn,
  codeColumn,
  type FeatureTable,
  numberColumn,
  textColumn,
  type Value,
} from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import type { RandomStream } from '../../src/math/random.js';
import type { PlainRow, PlainShape } from './plain-twin.js';

export const words = [
  'Nail',
  'nail',
  'Straße',
  'STRASSE',
  'Éclat',
  'eclat',
  'søm',
  '%a_b',
  'a\\b',
  "o'clock",
  'Σς',
  'ab',
  '🪵',
];
export const days = ['2023-07-01', '2023-07-02', '2023-07-05', '2024-01-01'];
export const instants = [
  '2023-07-01T00:00:00Z',
  '2023-07-02T12:30:00Z',
  '2023-07-05T23:59:59Z',
  '2024-01-01T00:00:00.500Z',
];

const fields: readonly Field[] = [
  { name: 'kind', title: 'Kind', type: 'text' },
  { name: 'other', title: 'Other kind', type: 'text' },
  { name: 'label', title: 'Label', type: 'text', distinct: true },
  { name: 'note', title: 'Note', type: 'text', distinct: true },
  { name: 'count', title: 'Count', type: 'integer' },
  { name: 'size', title: 'Size', type: 'number' },
  { name: 'loose', title: 'Loose', type: 'boolean' },
  { name: 'day', title: 'Day', type: 'date' },
  { name: 'until', title: 'Until', type: 'date' },
  { name: 'moment', title: 'Moment', type: 'date-time' },
];

/** Rows with every kind of column and shapes on whole metres, a fifth of everything unknown. */
export function plainRows(kind: PlainShape['kind'], length: number, random: RandomStream): PlainRow[] {
  const pick = <T>(list: readonly T[]): T => list[random.below(list.length)];
  const maybe = <T>(make: () => T): T | null => (random.below(5) === 0 ? null : make());
  return Array.from({ length }, () => ({
    values: {
      kind: maybe(() => pick(words)),
      other: maybe(() => pick(words)),
      label: maybe(() => pick(words)),
      note: maybe(() => pick(words) + pick(words)),
      count: maybe(() => random.below(7) - 3),
      size: maybe(() => (random.below(13) - 6) / 4),
      loose: maybe(() => random.below(2) === 1),
      day: maybe(() => pick(days)),
      until: maybe(() => pick(days)),
      moment: maybe(() => pick(instants)),
    },
    shape: maybe(() => plainShape(kind, random)),
  }));
}

/** A shape on whole metres, 0 to 9 east and 0 to 6 north. */
export function plainShape(kind: PlainShape['kind'], random: RandomStream, several = 1): PlainShape {
  const count = 1 + random.below(several);
  const some = <T>(make: (k: number) => T) => Array.from({ length: count }, (_, k) => make(k));
  if (kind === 'point') return { kind, points: some(() => [random.below(7), random.below(7)] as const) };
  if (kind === 'line') return { kind, lines: some(() => plainLine(random)) };
  return {
    kind,
    // side by side, so that they never overlap
    areas: some((k) => {
      const west = k * 5 + random.below(2);
      const south = random.below(3);
      const [east, north] = [west + 1 + random.below(3), south + 1 + random.below(4)];
      const holed = east - west === 3 && north - south >= 3 && random.below(2) === 0;
      return {
        box: [west, south, east, north] as const,
        ...(holed ? { hole: [west + 1, south + 1, west + 2, south + 2] as const } : {}),
      };
    }),
  };
}

function plainLine(random: RandomStream): [number, number][] {
  const line: [number, number][] = [[random.below(4), random.below(4)]];
  for (let k = 0; k <= random.below(3); k++) {
    const [x, y] = line[line.length - 1];
    const step = 1 + random.below(3);
    // always onward, never back on itself
    line.push(k % 2 === 0 ? [x + step, y] : [x, y + step]);
  }
  return line;
}

const corners = ([w, s, e, n]: readonly number[]): [number, number][] => [
  [w, s],
  [e, s],
  [e, n],
  [w, n],
];

/** The same rows as the columns of a table. */
export function plainTable(kind: PlainShape['kind'], rows: readonly PlainRow[]): FeatureTable {
  const of = <T extends Value>(name: string) => rows.map(({ values }) => values[name] as T | null);
  const coordinates = Float64Array.from(
    rows.flatMap(({ shape }) => [...(shape?.points?.[0] ?? [Number.NaN, Number.NaN])]),
  );
  return {
    name: 'things',
    length: rows.length,
    fields,
    columns: new Map<string, FeatureTable['columns'] extends ReadonlyMap<string, infer C> ? C : never>([
      ...['kind', 'other', 'day', 'moment'].map((name) => [name, codeColumn(of<string>(name))] as const),
      ...['label', 'note', 'until'].map((name) => [name, textColumn(of<string>(name))] as const),
      ['count', numberColumn(of<number>('count'), 'integer')],
      ['size', numberColumn(of<number>('size'))],
      ['loose', booleanColumn(of<boolean>('loose'))],
    ]),
    geometry:
      kind === 'point'
        ? { type: 'point', coordinates }
        : shapes(
            kind,
            rows.map(({ shape }) => [
              ...(shape?.lines ?? []).map((line) => ({ ring: Float64Array.from(line.flat()) })),
              ...(shape?.areas ?? []).flatMap(({ box, hole }) => [
                { ring: Float64Array.from(corners(box).flat()) },
                ...(hole ? [{ ring: Float64Array.from(corners(hole).reverse().flat()), hole: true as const }] : []),
              ]),
            ]),
          ),
    ids: Float64Array.from(rows, (_, i) => 10 + i),
  };
}
