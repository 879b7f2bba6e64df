import type { Field } from './fields.js';

/** Numbers of one column; NaN = unknown. Integers, dates as words and truth values have their own kinds. */
export interface NumberColumn {
  readonly kind: 'number' | 'integer';
  readonly values: Float64Array;
}

/** Few different words: codes into `words`; code 0 = unknown and words[0] is the empty text. */
export interface CodeColumn {
  readonly kind: 'code';
  readonly codes: Uint32Array;
  readonly words: readonly string[];
}

/** Mostly different texts: UTF-8 bytes one after the other; row i ends before byte ends[i]; empty = unknown. */
export interface TextColumn {
  readonly kind: 'text';
  readonly bytes: Uint8Array;
  readonly ends: Uint32Array;
}

/** 0 = unknown, 1 = no, 2 = yes. */
export interface BooleanColumn {
  readonly kind: 'boolean';
  readonly values: Uint8Array;
}

export type Column = NumberColumn | CodeColumn | TextColumn | BooleanColumn;

/**
 * Geometry of a table in site-grid metres of the site's first grid. Coordinates are one interleaved array.
 * point: coordinates [2n], NaN = no position. line and area: feature i owns the parts featureStart[i] to
 * featureStart[i + 1] − 1 (none = no geometry), part p the corners partStart[p] to partStart[p + 1] − 1.
 * Area rings are not closed, outer rings anticlockwise, holes clockwise and marked in `hole`, each after its outer ring.
 */
export type Geometry =
  | { readonly type: 'point'; readonly coordinates: Float64Array }
  | {
      readonly type: 'line' | 'area';
      readonly coordinates: Float64Array;
      readonly partStart: Uint32Array;
      readonly featureStart: Uint32Array;
      /** [parts] 1 = hole; all 0 for lines */
      readonly hole: Uint8Array;
    };

/** Records as columns, all of length n, with at most one geometry each. Never changed after it is made. */
export interface FeatureTable {
  readonly name: string;
  readonly length: number;
  readonly fields: readonly Field[];
  /** one column for each field, by its name */
  readonly columns: ReadonlyMap<string, Column>;
  readonly geometry: Geometry | null;
  /** [n] stable positive whole numbers, strictly rising: the feature ids clients see; kept from version to version where the record is the same */
  readonly ids: Float64Array;
}

export type Value = string | number | boolean | null;

const decoder = new TextDecoder();

/** One cell; unknown is null. */
export function valueAt(column: Column, row: number): Value {
  switch (column.kind) {
    case 'number':
    case 'integer': {
      const v = column.values[row];
      return Number.isNaN(v) ? null : v;
    }
    case 'code':
      return column.codes[row] === 0 ? null : column.words[column.codes[row]];
    case 'text': {
      const start = row === 0 ? 0 : column.ends[row - 1];
      const end = column.ends[row];
      return end === start ? null : decoder.decode(column.bytes.subarray(start, end));
    }
    case 'boolean':
      return column.values[row] === 0 ? null : column.values[row] === 2;
  }
}

/** A column of words from plain values; null and '' are unknown. */
export function codeColumn(values: readonly (string | null)[]): CodeColumn {
  const words = [''];
  const index = new Map<string, number>([['', 0]]);
  const codes = new Uint32Array(values.length);
  values.forEach((value, i) => {
    const word = value ?? '';
    let code = index.get(word);
    if (code === undefined) {
      code = words.length;
      words.push(word);
      index.set(word, code);
    }
    codes[i] = code;
  });
  return { kind: 'code', codes, words };
}

/** A column of numbers from plain values; null is unknown. */
export function numberColumn(values: readonly (number | null)[], kind: 'number' | 'integer' = 'number'): NumberColumn {
  return { kind, values: Float64Array.from(values, (v) => v ?? Number.NaN) };
}

/** A column of mostly different texts; null and '' are unknown. */
export function textColumn(values: readonly (string | null)[]): TextColumn {
  const encoder = new TextEncoder();
  const parts = values.map((v) => encoder.encode(v ?? ''));
  const ends = new Uint32Array(values.length);
  let size = 0;
  parts.forEach((p, i) => {
    size += p.length;
    ends[i] = size;
  });
  const bytes = new Uint8Array(size);
  let at = 0;
  for (const p of parts) {
    bytes.set(p, at);
    at += p.length;
  }
  return { kind: 'text', bytes, ends };
}

/** A column of truth values; null is unknown. */
export function booleanColumn(values: readonly (boolean | null)[]): BooleanColumn {
  return { kind: 'boolean', values: Uint8Array.from(values, (v) => (v === null ? 0 : v ? 2 : 1)) };
}
