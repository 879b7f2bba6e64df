import type { Column } from '../domain/feature-table.js';
import { holds, turned } from './comparison.js';
import type { ComparisonOperator } from './expression.js';
import type { Fold } from './fold.js';
import { likeTest } from './like.js';
import { constantTruth, no, type TextOperand, type Truth, unknown, yes } from './operands.js';
import { compareBytes, foldRows, type Utf8Rows, utf8Rows } from './text-rows.js';

type Dictionary = Extract<TextOperand, { source: 'dictionary' }>;
type Rows = Extract<TextOperand, { source: 'rows' }>;
type BytesTest = (bytes: Uint8Array, start: number, end: number) => boolean;

/** Texts of a column. */
export function columnTexts(column: Extract<Column, { kind: 'code' | 'text' }>): TextOperand {
  return column.kind === 'code'
    ? { type: 'text', source: 'dictionary', codes: column.codes, words: column.words }
    : { type: 'text', source: 'rows', rows: column };
}

/** Folded columns, by what they were made of: a column never changes, and folding it is dear. */
const foldedRows = new WeakMap<Utf8Rows, Map<Fold, Utf8Rows>>();

/** The same texts, each folded: without case, or without accents. */
export function foldTexts(operand: TextOperand, fold: Fold): TextOperand {
  switch (operand.source) {
    case 'constant':
      return { ...operand, value: fold.text(operand.value) };
    case 'dictionary':
      return { ...operand, words: operand.words.map(fold.text) };
    case 'rows': {
      const known = foldedRows.get(operand.rows) ?? new Map<Fold, Utf8Rows>();
      foldedRows.set(operand.rows, known);
      let rows = known.get(fold);
      if (!rows) {
        rows = foldRows(operand.rows, fold);
        known.set(fold, rows);
      }
      return { ...operand, rows };
    }
  }
}

/** A test of each text by itself: asked once for each word of a dictionary, then only looked up. */
function perText(operand: TextOperand, test: BytesTest): Truth {
  if (operand.source === 'constant') {
    const { bytes } = utf8Rows([operand.value]);
    return constantTruth(test(bytes, 0, bytes.length) ? yes : no);
  }
  if (operand.source === 'rows') return perRow(operand, test);
  const { bytes, ends } = utf8Rows(operand.words);
  const answers = new Uint8Array(operand.words.length).fill(unknown);
  // word 0 is the unknown one
  for (let k = 1; k < ends.length; k++) answers[k] = test(bytes, ends[k - 1], ends[k]) ? yes : no;
  const { codes } = operand;
  return {
    type: 'truth',
    cost: 1,
    fill(out, { from, to }) {
      for (let i = 0, row = from; row < to; i++, row++) out[i] = answers[codes[row]];
    },
  };
}

function perRow({ rows: { bytes, ends } }: Rows, test: BytesTest): Truth {
  return {
    type: 'truth',
    cost: 8,
    fill(out, { from, to, wanted }) {
      let start = from === 0 ? 0 : ends[from - 1];
      for (let row = from; row < to; row++) {
        const end = ends[row];
        if (wanted === null || wanted[row - from] !== 0) {
          out[row - from] = start === end ? unknown : test(bytes, start, end) ? yes : no;
        }
        start = end;
      }
    },
  };
}

/** Compares texts by their code points. */
export function compareTexts(operator: ComparisonOperator, left: TextOperand, right: TextOperand): Truth {
  if (right.source === 'constant') return perText(left, against(operator, right.value));
  if (left.source === 'constant') return perText(right, against(turned(operator), left.value));
  if (left.source === 'dictionary' && right.source === 'dictionary') return compareWords(operator, left, right);
  return compareRows(operator, left, right);
}

function against(operator: ComparisonOperator, value: string): BytesTest {
  const { bytes: own } = utf8Rows([value]);
  if (operator === '=' || operator === '<>') {
    const wanted = operator === '=';
    return (bytes, start, end) => {
      if (end - start !== own.length) return !wanted;
      for (let k = 0; k < own.length; k++) if (bytes[start + k] !== own[k]) return !wanted;
      return wanted;
    };
  }
  const other = { bytes: own, start: 0, end: own.length };
  return (bytes, start, end) => holds(operator, compareBytes({ bytes, start, end }, other));
}

/** Two dictionaries: all words get their rank in one order, and ranks are compared. */
function compareWords(operator: ComparisonOperator, left: Dictionary, right: Dictionary): Truth {
  const words = [...new Set([...left.words.slice(1), ...right.words.slice(1)])];
  const { bytes, ends } = utf8Rows(words);
  const order = words.map((_, k) => ({ bytes, start: k === 0 ? 0 : ends[k - 1], end: ends[k], k }));
  order.sort(compareBytes);
  const rank = new Map(order.map(({ k }, place) => [words[k], place]));
  const ranks = ({ words }: Dictionary) =>
    Float64Array.from(words, (word, k) => (k === 0 ? -1 : Number(rank.get(word))));
  const [a, b] = [ranks(left), ranks(right)];
  return {
    type: 'truth',
    cost: 2,
    fill(out, { from, to }) {
      for (let row = from; row < to; row++) {
        const one = a[left.codes[row]];
        const other = b[right.codes[row]];
        out[row - from] = one < 0 || other < 0 ? unknown : holds(operator, one - other) ? yes : no;
      }
    },
  };
}

interface Cursor {
  bytes: Uint8Array;
  start: number;
  end: number;
  /** Moves to a row; false = unknown there. */
  to(row: number): boolean;
}

function cursorOf(operand: Dictionary | Rows): Cursor {
  const { bytes, ends } = operand.source === 'rows' ? operand.rows : utf8Rows(operand.words);
  const codes = operand.source === 'rows' ? null : operand.codes;
  return {
    bytes,
    start: 0,
    end: 0,
    to(row) {
      const k = codes === null ? row : codes[row];
      this.start = k === 0 ? 0 : ends[k - 1];
      this.end = ends[k];
      return this.end > this.start;
    },
  };
}

function compareRows(operator: ComparisonOperator, left: Dictionary | Rows, right: Dictionary | Rows): Truth {
  const [a, b] = [cursorOf(left), cursorOf(right)];
  return {
    type: 'truth',
    cost: 8,
    fill(out, { from, to }) {
      for (let row = from; row < to; row++) {
        const known = a.to(row) && b.to(row);
        out[row - from] = known ? (holds(operator, compareBytes(a, b)) ? yes : no) : unknown;
      }
    },
  };
}

/** Whether a text is one of a list. */
export function textIsOneOf(value: TextOperand, list: readonly string[]): Truth {
  const lengths = new Map<number, Uint8Array[]>();
  for (const text of list) {
    const { bytes } = utf8Rows([text]);
    lengths.set(bytes.length, [...(lengths.get(bytes.length) ?? []), bytes]);
  }
  return perText(value, (bytes, start, end) => {
    for (const own of lengths.get(end - start) ?? []) {
      let k = 0;
      while (k < own.length && own[k] === bytes[start + k]) k++;
      if (k === own.length) return true;
    }
    return false;
  });
}

/** LIKE. */
export function textIsLike(value: TextOperand, pattern: string): Truth {
  return perText(value, likeTest(pattern));
}

/** Whether a text is unknown. */
export function textIsUnknown(operand: TextOperand): Truth {
  if (operand.source === 'constant') return constantTruth(no);
  const known = perText(operand, () => true);
  return {
    ...known,
    fill(out, rows) {
      known.fill(out, rows);
      for (let i = 0; i < rows.to - rows.from; i++) out[i] = out[i] === unknown ? yes : no;
    },
  };
}
