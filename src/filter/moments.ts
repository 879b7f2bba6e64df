import { type Column, type FeatureTable, valueAt } from '../domain/feature-table.js';
import { dayMs, momentOf } from './calendar.js';
import type { MomentLiteral, TemporalRelation } from './expression.js';
import {
  constantNumber,
  type IntervalOperand,
  type MomentOperand,
  no,
  numberRoom,
  type Truth,
  unknown,
  yes,
} from './operands.js';

/** Moments read from columns, by the column: it never changes, and reading texts is dear. */
const read = new WeakMap<Column, Float64Array>();

/** Dates or date-times of a column; what is none of them is unknown. */
export function columnMoments(table: FeatureTable, column: Column, grain: 'day' | 'instant'): MomentOperand {
  const ms = (text: string | null): number => {
    const moment = text === null ? null : momentOf(text);
    if (moment === null) return Number.NaN;
    return grain === 'day' ? Math.floor(moment.ms / dayMs) * dayMs : moment.ms;
  };
  let values = read.get(column);
  if (!values) {
    values =
      column.kind === 'code'
        ? Float64Array.from(column.words, (word, k) => (k === 0 ? Number.NaN : ms(word)))
        : Float64Array.from({ length: table.length }, (_, row) => ms(String(valueAt(column, row))));
    read.set(column, values);
  }
  const found = values;
  if (column.kind !== 'code') return { type: 'moment', grain, read: (from, to) => found.subarray(from, to) };
  const { codes } = column;
  const room = numberRoom();
  return {
    type: 'moment',
    grain,
    read(from, to) {
      const block = room(to - from);
      for (let row = from; row < to; row++) block[row - from] = found[codes[row]];
      return block.subarray(0, to - from);
    },
  };
}

/** A moment written in the filter. */
export function literalMoment({ grain, ms }: Pick<MomentLiteral, 'grain' | 'ms'>): MomentOperand {
  return { type: 'moment', grain, read: constantNumber(ms).read };
}

/** What each relation asks of the starts and ends of two stretches of time a and b (CQL2, temporal functions). */
const relations: Readonly<Record<TemporalRelation, (a0: number, a1: number, b0: number, b1: number) => boolean>> = {
  after: (a0, _a1, _b0, b1) => a0 > b1,
  before: (_a0, a1, b0) => a1 < b0,
  contains: (a0, a1, b0, b1) => a0 < b0 && a1 > b1,
  disjoint: (a0, a1, b0, b1) => a1 < b0 || a0 > b1,
  during: (a0, a1, b0, b1) => a0 > b0 && a1 < b1,
  equals: (a0, a1, b0, b1) => a0 === b0 && a1 === b1,
  finishedby: (a0, a1, b0, b1) => a0 < b0 && a1 === b1,
  finishes: (a0, a1, b0, b1) => a0 > b0 && a1 === b1,
  intersects: (a0, a1, b0, b1) => a0 <= b1 && a1 >= b0,
  meets: (_a0, a1, b0) => a1 === b0,
  metby: (a0, _a1, _b0, b1) => a0 === b1,
  overlappedby: (a0, a1, b0, b1) => a0 > b0 && a0 < b1 && a1 > b1,
  overlaps: (a0, a1, b0, b1) => a0 < b0 && a1 > b0 && a1 < b1,
  startedby: (a0, a1, b0, b1) => a0 === b0 && a1 > b1,
  starts: (a0, a1, b0, b1) => a0 === b0 && a1 < b1,
};

/**
 * Compares moments and intervals. Where every end is a date, days are compared with days; as soon as one is an
 * instant, a date is its whole day.
 */
export function temporalTruth(
  relation: TemporalRelation,
  left: MomentOperand | IntervalOperand,
  right: MomentOperand | IntervalOperand,
): Truth {
  const operands = [left, right].map((operand) =>
    operand.type === 'interval' ? operand : { start: operand, end: operand },
  );
  const wholeDays = operands
    .flatMap(({ start, end }) => [start, end])
    .every((end) => end === null || end.grain === 'day');
  const [a, b] = operands.map((operand) => endReaders(operand, wholeDays ? 0 : dayMs - 1));
  const test = relations[relation];
  return {
    type: 'truth',
    cost: 6,
    fill(out, { from, to }) {
      const [a0, a1] = [a.starts(from, to), a.ends(from, to)];
      const [b0, b1] = [b.starts(from, to), b.ends(from, to)];
      for (let i = 0; i < to - from; i++) {
        const known = !(Number.isNaN(a0[i]) || Number.isNaN(a1[i]) || Number.isNaN(b0[i]) || Number.isNaN(b1[i]));
        out[i] = known ? (test(a0[i], a1[i], b0[i], b1[i]) ? yes : no) : unknown;
      }
    },
  };
}

/** Readers of both ends, each with a block of its own. @param longDayMs what the end of a day lies behind its start */
function endReaders(
  { start, end }: { readonly start: MomentOperand | null; readonly end: MomentOperand | null },
  longDayMs: number,
) {
  const reader = (operand: MomentOperand | null, open: number, moreMs: number) => {
    if (operand === null) return constantNumber(open).read;
    const room = numberRoom();
    return (from: number, to: number): Float64Array => {
      const values = operand.read(from, to);
      const block = room(to - from);
      for (let i = 0; i < to - from; i++) block[i] = values[i] + moreMs;
      return block;
    };
  };
  return {
    starts: reader(start, -Infinity, 0),
    ends: reader(end, Infinity, end?.grain === 'day' ? longDayMs : 0),
  };
}
