import type { RandomStream } from '../../src/math/random.js';
import { days, instants, plainShape, words } from './plain-rows.js';
import type { Filter, PlainShape } from './plain-twin.js';

/** Filters by the grammar: any depth up to 4, every operator, every kind of operand. */
export class FilterMaker {
  readonly #random: RandomStream;

  constructor(random: RandomStream) {
    this.#random = random;
  }

  #pick<T>(list: readonly T[]): T {
    return list[this.#random.below(list.length)];
  }

  filter(depth: number): Filter {
    const random = this.#random;
    if (depth > 0 && random.below(3) > 0) {
      const op = this.#pick(['and', 'or', 'not']);
      const count = op === 'not' ? 1 : 2 + random.below(2);
      return { op, args: Array.from({ length: count }, () => this.filter(depth - 1)) };
    }
    switch (random.below(9)) {
      case 0:
        return { op: this.#operator(), args: [this.#text(1), this.#text(1)] };
      case 1:
        return { op: this.#operator(), args: [this.#number(2), this.#number(2)] };
      case 2:
        return { op: 'like', args: [this.#text(1), this.#pattern()] };
      case 3:
        return { op: 'between', args: [this.#number(1), this.#number(0), this.#number(0)] };
      case 4:
        return this.#pick([
          () => ({ op: 'in', args: [this.#text(0), [this.#word(), this.#word(), this.#word()]] }),
          () => ({ op: 'in', args: [this.#number(0), [random.below(3), this.#number(1)]] }),
        ])();
      case 5:
        return {
          op: 'isNull',
          args: [this.#pick([this.#text(0), this.#number(1), this.#day(), { property: 'geometry' }])],
        };
      case 6:
        return this.#pick([
          () => ({ property: 'loose' }),
          () => random.below(2) === 0,
          () => ({ op: this.#pick(['=', '<>', '<']), args: [{ property: 'loose' }, random.below(2) === 0] }),
        ])();
      case 7:
        return this.#pick([
          () => ({ op: this.#operator(), args: [this.#day(), this.#day()] }),
          () => ({ op: this.#pick(temporal), args: [this.#time(), this.#time()] }),
        ])();
      default:
        return { op: this.#pick(spatial), args: [{ property: 'geometry' }, this.#shape()] };
    }
  }

  #operator(): string {
    return this.#pick(['=', '<>', '<', '>', '<=', '>=']);
  }

  #word(): string {
    return this.#pick(words);
  }

  #text(folds: number): Filter {
    const plain = () => this.#pick([{ property: this.#pick(['kind', 'other', 'label', 'note']) }, this.#word()]);
    return folds > 0 && this.#random.below(3) === 0
      ? { op: this.#pick(['casei', 'accenti']), args: [this.#text(folds - 1)] }
      : plain();
  }

  #pattern(): Filter {
    const piece = () => this.#pick(['%', '_', '\\%', '\\_', ...words, 'a', 's', '']);
    const text = `${piece()}${piece()}${piece()}`;
    return this.#random.below(3) === 0 ? { op: 'casei', args: [text] } : text;
  }

  #number(depth: number): Filter {
    if (depth > 0 && this.#random.below(3) === 0) {
      const op = this.#pick(['+', '-', '*', '/', '^', '%', 'div']);
      return { op, args: [this.#number(depth - 1), this.#number(depth - 1)] };
    }
    return this.#pick([
      { property: 'count' },
      { property: 'size' },
      this.#random.below(5) - 2,
      (this.#random.below(9) - 4) / 4,
    ]);
  }

  #day(): Filter {
    return this.#pick([
      { property: this.#pick(['day', 'until', 'moment']) },
      { date: this.#pick(days) },
      { timestamp: this.#pick(instants) },
    ]);
  }

  #time(): Filter {
    if (this.#random.below(2) === 0) return this.#day();
    const end = () => this.#pick(['..', ...days, ...instants, { property: 'day' }, { property: 'until' }]);
    let [a, b] = [end(), end()];
    if (typeof a === 'string' && typeof b === 'string' && a !== '..' && b !== '..' && Date.parse(a) > Date.parse(b))
      [a, b] = [b, a];
    return { interval: [a, b] };
  }

  #shape(): Filter {
    const kind = this.#pick(['point', 'line', 'area'] as const);
    const plain = plainShape(kind, this.#random, 2);
    return { ...geoJson(plain), plain };
  }
}

const spatial = ['intersects', 'disjoint', 'within', 'contains', 'equals', 'touches', 'crosses', 'overlaps'].map(
  (name) => `s_${name}`,
);
const temporal = [
  'after',
  'before',
  'contains',
  'disjoint',
  'during',
  'equals',
  'finishedBy',
  'finishes',
  'intersects',
  'meets',
  'metBy',
  'overlappedBy',
  'overlaps',
  'startedBy',
  'starts',
].map((name) => `t_${name}`);

const ring = ([w, s, e, n]: readonly number[]) => [
  [w, s],
  [e, s],
  [e, n],
  [w, n],
  [w, s],
];

function geoJson({ kind, points = [], lines = [], areas = [] }: PlainShape): Filter {
  const name = { point: 'Point', line: 'LineString', area: 'Polygon' }[kind];
  const parts =
    kind === 'point'
      ? points
      : kind === 'line'
        ? lines
        : areas.map(({ box, hole }) => [ring(box), ...(hole ? [ring(hole)] : [])]);
  return parts.length === 1 ? { type: name, coordinates: parts[0] } : { type: `Multi${name}`, coordinates: parts };
}

/** What a service would be sent: without what only the twin reads. */
export function sent(filter: Filter): Filter {
  return JSON.parse(JSON.stringify(filter, (key, v) => (key === 'plain' ? undefined : v)));
}

const infix = new Set(['=', '<>', '<', '>', '<=', '>=', '+', '-', '*', '/', '^', '%', 'div']);

/** The same filter in CQL2 text, with more brackets than needed. */
export function asText(filter: Filter): string {
  if (typeof filter === 'string') return `'${filter.replaceAll("'", "''")}'`;
  if (typeof filter === 'boolean') return filter ? 'TRUE' : 'false';
  if (typeof filter === 'number') return String(filter);
  if ('property' in filter) return filter.property === 'note' ? '"note"' : filter.property;
  if ('date' in filter) return `DATE('${filter.date}')`;
  if ('timestamp' in filter) return `TIMESTAMP('${filter.timestamp}')`;
  if ('interval' in filter) return `INTERVAL(${filter.interval.map(asText).join(', ')})`;
  if ('type' in filter) return wellKnown(filter);
  const { op, args } = filter;
  if (op === 'in') return `${asText(args[0])} IN (${args[1].map(asText).join(', ')})`;
  const [a, b, c] = args.map(asText);
  if (op === 'and' || op === 'or') return `(${args.map(asText).join(` ${op.toUpperCase()} `)})`;
  if (op === 'not') return `NOT (${a})`;
  if (op === 'isNull') return `(${a}) IS NULL`;
  if (op === 'like') return `${a} LIKE ${b}`;
  if (op === 'between') return `(${a}) BETWEEN ${b} AND ${c}`;
  if (infix.has(op)) return `(${a} ${op} ${b})`;
  return `${op.toUpperCase()}(${args.map(asText).join(',')})`;
}

function wellKnown({ type, coordinates }: { type: string; coordinates: unknown }): string {
  const write = (value: unknown): string => {
    const list = value as unknown[];
    if (typeof list[0] === 'number') return list.join(' ');
    return `(${list.map((v) => (type === 'MultiPoint' ? `(${write(v)})` : write(v))).join(',')})`;
  };
  return type === 'Point' ? `POINT(${write(coordinates)})` : `${type.toUpperCase()}${write(coordinates)}`;
}
