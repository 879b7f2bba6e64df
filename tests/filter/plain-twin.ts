import type { Value } from '../../src/domain/feature-table.js';

// A filter in CQL2 JSON over plain rows, one value after the other, as a reader of the standard would write it down.
// Shares no code with src/filter.

// biome-ignore lint/suspicious/noExplicitAny: filters are looked at as they come
export type Filter = any;

/** Axis-parallel shapes on whole metres: points, lines corner by corner, rectangles with at most one hole each. */
export interface PlainShape {
  readonly kind: 'point' | 'line' | 'area';
  readonly points?: readonly (readonly [number, number])[];
  readonly lines?: readonly (readonly (readonly [number, number])[])[];
  readonly areas?: readonly { readonly box: PlainBox; readonly hole?: PlainBox }[];
}
type PlainBox = readonly [west: number, south: number, east: number, north: number];

export interface PlainRow {
  readonly values: Readonly<Record<string, Value>>;
  readonly shape: PlainShape | null;
}

const letters: Readonly<Record<string, string>> = {
  A: 'a',
  B: 'b',
  C: 'c',
  E: 'e',
  N: 'n',
  S: 's',
  T: 't',
  R: 'r',
  ß: 'ss',
  É: 'é',
  Σ: 'σ',
  ς: 'σ',
};
const bare: Readonly<Record<string, string>> = { é: 'e', É: 'E', ø: 'o' };
const each = (text: string, by: Readonly<Record<string, string>>) => [...text].map((c) => by[c] ?? c).join('');

/** Order by code points. */
function textOrder(a: string, b: string): number {
  const [x, y] = [a, b].map((t) => [...t].map((c) => c.codePointAt(0) as number));
  for (let i = 0; i < Math.min(x.length, y.length); i++) if (x[i] !== y[i]) return x[i] - y[i];
  return x.length - y.length;
}

interface PlainMoment {
  readonly day: boolean;
  readonly ms: number;
}
interface PlainInterval {
  readonly start: PlainMoment | null;
  readonly end: PlainMoment | null;
}

function moment(text: string): PlainMoment {
  return { day: text.length === 10, ms: Date.parse(text) };
}

/** A value of any kind; null = unknown. */
function value(filter: Filter, row: PlainRow): unknown {
  if (typeof filter !== 'object') return filter;
  if ('property' in filter) {
    if (filter.property === 'geometry') return row.shape;
    const own = row.values[filter.property];
    return own !== null && ['day', 'until', 'moment'].includes(filter.property) ? moment(String(own)) : own;
  }
  if ('date' in filter) return moment(filter.date);
  if ('timestamp' in filter) return moment(filter.timestamp);
  if ('interval' in filter) {
    const ends = filter.interval.map((end: Filter) =>
      end === '..' ? 'open' : typeof end === 'string' ? moment(end) : value(end, row),
    );
    if (ends.includes(null)) return null;
    const [start, end] = ends.map((e: unknown) => (e === 'open' ? null : e));
    return { start, end } satisfies PlainInterval;
  }
  if ('plain' in filter) return filter.plain;
  const [left, right] = filter.args.map((arg: Filter) => (Array.isArray(arg) ? arg : value(arg, row)));
  switch (filter.op) {
    case 'casei':
      return left === null ? null : each(left as string, letters);
    case 'accenti':
      return left === null ? null : each(left as string, bare);
    case '+':
    case '-':
    case '*':
    case '/':
    case '^':
    case '%':
    case 'div': {
      if (left === null || right === null) return null;
      const [a, b] = [left as number, right as number];
      const result = {
        '+': a + b,
        '-': a - b,
        '*': a * b,
        '/': a / b,
        '^': a ** b,
        '%': a % b,
        div: Math.trunc(a / b),
      }[filter.op as '+'];
      return Number.isFinite(result) ? result : null;
    }
    default:
      return holds(filter, row);
  }
}

function compared(op: string, a: unknown, b: unknown): boolean | null {
  if (a === null || b === null) return null;
  let order: number;
  if (typeof a === 'string') order = textOrder(a, b as string);
  else if (typeof a === 'object') order = (a as PlainMoment).ms - (b as PlainMoment).ms;
  else order = Number(a) - Number(b);
  return { '=': order === 0, '<>': order !== 0, '<': order < 0, '>': order > 0, '<=': order <= 0, '>=': order >= 0 }[
    op
  ] as boolean;
}

const patterns = new Map<string, RegExp>();

function like(text: string, pattern: string): boolean {
  const known = patterns.get(pattern);
  if (known) return known.test(text);
  const parts = [...pattern.matchAll(/\\([\s\S])|([\s\S])/gu)].map(([, escaped, plain]) => {
    if (escaped === undefined && plain === '%') return '[^]*';
    if (escaped === undefined && plain === '_') return '.';
    return (escaped ?? plain).replace(/[.*+?^${}()|[\]\\/-]/g, '\\$&');
  });
  const made = new RegExp(`^${parts.join('')}$`, 'su');
  patterns.set(pattern, made);
  return made.test(text);
}

/** True, false, or null where nothing can be known. */
export function holds(filter: Filter, row: PlainRow): boolean | null {
  if (typeof filter === 'boolean') return filter;
  if ('property' in filter) return value(filter, row) as boolean | null;
  const { op, args } = filter;
  if (op === 'and') {
    const all = args.map((arg: Filter) => holds(arg, row));
    return all.includes(false) ? false : all.includes(null) ? null : true;
  }
  if (op === 'or') {
    const all = args.map((arg: Filter) => holds(arg, row));
    return all.includes(true) ? true : all.includes(null) ? null : false;
  }
  if (op === 'not') {
    const inner = holds(args[0], row);
    return inner === null ? null : !inner;
  }
  if (op === 'in') {
    const all = args[1].map((item: Filter) => compared('=', value(args[0], row), value(item, row)));
    return all.includes(true) ? true : all.includes(null) ? null : false;
  }
  const [a, b, c] = args.map((arg: Filter) => value(arg, row));
  if (op === 'isNull') return a === null;
  if (args.some((_: unknown, k: number) => [a, b, c][k] === null) && op !== 'between') return null;
  if (op === 'between') {
    const [low, high] = [compared('>=', a, b), compared('<=', a, c)];
    return low === false || high === false ? false : low === null || high === null ? null : true;
  }
  if (op === 'like') return like(a as string, b as string);
  if (op.startsWith('t_')) return temporal(op, a as never, b as never);
  if (op.startsWith('s_')) return spatial(op, a as PlainShape, b as PlainShape);
  return compared(op, a, b);
}

function temporal(op: string, left: PlainMoment | PlainInterval, right: PlainMoment | PlainInterval): boolean {
  const ends = [left, right].map((o) => ('ms' in o ? { start: o, end: o } : o));
  const days = ends.every(({ start, end }) => [start, end].every((e) => e === null || e.day));
  const [a, b] = ends.map(({ start, end }) => ({
    from: start === null ? -Infinity : start.ms,
    to: end === null ? Infinity : end.ms + (end.day && !days ? 86_399_999 : 0),
  }));
  switch (op) {
    case 't_after':
      return a.from > b.to;
    case 't_before':
      return a.to < b.from;
    case 't_contains':
      return a.from < b.from && a.to > b.to;
    case 't_disjoint':
      return a.from > b.to || a.to < b.from;
    case 't_during':
      return a.from > b.from && a.to < b.to;
    case 't_equals':
      return a.from === b.from && a.to === b.to;
    case 't_finishedBy':
      return a.from < b.from && a.to === b.to;
    case 't_finishes':
      return a.from > b.from && a.to === b.to;
    case 't_intersects':
      return !(a.from > b.to || a.to < b.from);
    case 't_meets':
      return a.to === b.from;
    case 't_metBy':
      return a.from === b.to;
    case 't_overlappedBy':
      return a.from > b.from && a.from < b.to && a.to > b.to;
    case 't_overlaps':
      return a.from < b.from && a.to > b.from && a.to < b.to;
    case 't_startedBy':
      return a.from === b.from && a.to > b.to;
    case 't_starts':
      return a.from === b.from && a.to < b.to;
    default:
      throw new Error(op);
  }
}

/** Where a place lies: I inside, B on the boundary, E outside. */
function lies({ kind, points = [], lines = [], areas = [] }: PlainShape, x: number, y: number): 'I' | 'B' | 'E' {
  if (kind === 'point') return points.some(([px, py]) => px === x && py === y) ? 'I' : 'E';
  if (kind === 'line') {
    const ends = lines.flatMap((line) => [line[0], line[line.length - 1]]);
    if (ends.filter(([ex, ey]) => ex === x && ey === y).length % 2 === 1) return 'B';
    const on = lines.some((line) =>
      line.slice(1).some(([bx, by], k) => {
        const [ax, ay] = line[k];
        return ax === bx
          ? x === ax && y >= Math.min(ay, by) && y <= Math.max(ay, by)
          : y === ay && x >= Math.min(ax, bx) && x <= Math.max(ax, bx);
      }),
    );
    return on ? 'I' : 'E';
  }
  const all = areas.map(({ box: [w, s, e, n], hole }) => {
    if (x < w || x > e || y < s || y > n) return 'E';
    if (x === w || x === e || y === s || y === n) return 'B';
    if (!hole) return 'I';
    const [hw, hs, he, hn] = hole;
    if (x > hw && x < he && y > hs && y < hn) return 'E';
    return x < hw || x > he || y < hs || y > hn ? 'I' : 'B';
  });
  return all.includes('I') ? 'I' : all.includes('B') ? 'B' : 'E';
}

const across = 19;
const up = 13;
const looked = new WeakMap<PlainShape, Uint8Array>();

/** Where every half metre of the ground lies: on whole metres nothing hides in between. */
function everyHalfMetre(shape: PlainShape): Uint8Array {
  let places = looked.get(shape);
  if (!places) {
    places = Uint8Array.from({ length: across * up }, (_, k) =>
      'IBE'.indexOf(lies(shape, (k % across) / 2, Math.floor(k / across) / 2)),
    );
    looked.set(shape, places);
  }
  return places;
}

function spatial(op: string, a: PlainShape, b: PlainShape): boolean {
  const [inA, inB] = [everyHalfMetre(a), everyHalfMetre(b)];
  const counts = new Uint32Array(9);
  let sharedLine = false;
  for (let k = 0; k < inA.length; k++) {
    const both = 3 * inA[k] + inB[k];
    counts[both]++;
    if (both === 0 && ((k % across) % 2 === 1 || Math.floor(k / across) % 2 === 1)) sharedLine = true;
  }
  const found = new Set(['II', 'IB', 'IE', 'BI', 'BB', 'BE', 'EI', 'EB', 'EE'].filter((_, k) => counts[k] > 0));
  const has = (...pairs: string[]) => pairs.some((pair) => found.has(pair));
  const meets = has('II', 'IB', 'BI', 'BB');
  const size = { point: 0, line: 1, area: 2 };
  switch (op) {
    case 's_intersects':
      return meets;
    case 's_disjoint':
      return !meets;
    case 's_within':
      return has('II') && !has('IE', 'BE');
    case 's_contains':
      return has('II') && !has('EI', 'EB');
    case 's_equals':
      return has('II') && !has('IE', 'BE', 'EI', 'EB');
    case 's_touches':
      return meets && !has('II');
    case 's_crosses':
      if (size[a.kind] < size[b.kind]) return has('II') && has('IE');
      if (size[a.kind] > size[b.kind]) return has('II') && has('EI');
      return a.kind === 'line' && has('II') && !sharedLine;
    case 's_overlaps':
      if (a.kind !== b.kind || !has('IE') || !has('EI')) return false;
      return a.kind === 'line' ? sharedLine : has('II');
    default:
      throw new Error(op);
  }
}
