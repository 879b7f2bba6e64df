import type { PlaneShape } from './plane-shape.js';
import type { Utf8Rows } from './text-rows.js';

/** Rows are worked on in blocks that fit the processor's nearest memory. */
export const blockRows = 2048;

/** The three truth values, as bits: then AND is &, OR is |, and half of it is 1 for yes alone. */
export const no = 0;
export const unknown = 1;
export const yes = 3;

/** A block of rows to be answered. */
export interface BlockRows {
  readonly from: number;
  /** behind the last row */
  readonly to: number;
  /** 0 = the answer for this row of the block does not matter, and may be left out; null = all matter */
  readonly wanted: Uint8Array | null;
}

/** Something true, false or unknown for each row. */
export interface Truth {
  readonly type: 'truth';
  /** roughly how long a row takes: what is quick is asked first */
  readonly cost: number;
  /** Writes no, unknown or yes for each row of the block, from out[0] on. */
  fill(out: Uint8Array, rows: BlockRows): void;
}

/** A number for each row, NaN where unknown. */
export interface NumberOperand {
  readonly type: 'number';
  /** the same for all rows */
  readonly constant: number | null;
  /** numbers of the rows from … to − 1; good until the next call, left untouched by callers */
  read(from: number, to: number): Float64Array;
}

/** A moment for each row, milliseconds since 1970: the start of a day, or an instant; NaN where unknown. */
export interface MomentOperand {
  readonly type: 'moment';
  readonly grain: 'day' | 'instant';
  read(from: number, to: number): Float64Array;
}

/** A stretch of time for each row; null = open. */
export interface IntervalOperand {
  readonly type: 'interval';
  readonly start: MomentOperand | null;
  readonly end: MomentOperand | null;
}

/** A text for each row: of a dictionary, of a column of distinct texts, or the same for all rows. */
export type TextOperand =
  | { readonly type: 'text'; readonly source: 'constant'; readonly value: string }
  | {
      readonly type: 'text';
      readonly source: 'dictionary';
      readonly codes: Uint32Array;
      /** word 0 = unknown */
      readonly words: readonly string[];
    }
  | { readonly type: 'text'; readonly source: 'rows'; readonly rows: Utf8Rows };

/** A geometry written in the filter, or that of each row. */
export type GeometryOperand =
  | { readonly type: 'geometry'; readonly source: 'literal'; readonly shapes: readonly PlaneShape[] }
  | { readonly type: 'geometry'; readonly source: 'rows' };

/** A property this table does not have, where that is allowed: unknown in every row, whatever it is compared with. */
export interface UnknownOperand {
  readonly type: 'unknown';
}

export type Operand =
  | Truth
  | NumberOperand
  | MomentOperand
  | IntervalOperand
  | TextOperand
  | GeometryOperand
  | UnknownOperand;

/** Room for one block of numbers or truth values, made when first used and no longer than needed. */
function room<T extends Float64Array | Uint8Array>(make: (length: number) => T): (length: number) => T {
  let held = make(0);
  return (length) => {
    if (held.length < length) held = make(length);
    return held;
  };
}

export const numberRoom = () => room((length) => new Float64Array(length));
export const truthRoom = () => room((length) => new Uint8Array(length));

/** The same answer for every row. */
export function constantTruth(value: typeof no | typeof unknown | typeof yes): Truth {
  return {
    type: 'truth',
    cost: 0,
    fill: (out, { from, to }) => {
      out.fill(value, 0, to - from);
    },
  };
}

/** The same number for every row. */
export function constantNumber(value: number): NumberOperand {
  const block = room((length) => new Float64Array(length).fill(value));
  return { type: 'number', constant: value, read: (from, to) => block(to - from).subarray(0, to - from) };
}

/** Numbers that stand in a column. */
export function columnNumbers(values: Float64Array): NumberOperand {
  return { type: 'number', constant: null, read: (from, to) => values.subarray(from, to) };
}
