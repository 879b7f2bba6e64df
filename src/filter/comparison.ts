import type { ComparisonOperator } from './expression.js';
import { type BlockRows, type NumberOperand, no, type Truth, truthRoom, unknown, yes } from './operands.js';

/** The operator with its sides changed over: a < b is b > a. */
export function turned(operator: ComparisonOperator): ComparisonOperator {
  switch (operator) {
    case '<':
      return '>';
    case '>':
      return '<';
    case '<=':
      return '>=';
    case '>=':
      return '<=';
    default:
      return operator;
  }
}

/** Whether an operator holds for two values in this order. @param order below 0, 0 or above 0, as a sort has it */
export function holds(operator: ComparisonOperator, order: number): boolean {
  switch (operator) {
    case '=':
      return order === 0;
    case '<>':
      return order !== 0;
    case '<':
      return order < 0;
    case '>':
      return order > 0;
    case '<=':
      return order <= 0;
    case '>=':
      return order >= 0;
  }
}

interface Sides {
  readonly left: Pick<NumberOperand, 'read'>;
  readonly right: Pick<NumberOperand, 'read'>;
}

/** Compares numbers (or moments, or truth values as numbers) row by row; NaN on either side is unknown. */
export function compareNumbers(operator: ComparisonOperator, { left, right }: Sides): Truth {
  const fill = comparers[operator];
  return {
    type: 'truth',
    cost: 1,
    fill: (out, { from, to }) => fill(out, left.read(from, to), right.read(from, to)),
  };
}

type Comparer = (out: Uint8Array, a: Float64Array, b: Float64Array) => void;

// 1 is unknown; true adds 2, false takes 1 off, NaN does neither. Without branches: four times as fast on mixed data.
const comparers: Readonly<Record<ComparisonOperator, Comparer>> = {
  '=': (out, a, b) => {
    for (let i = 0; i < a.length; i++)
      out[i] = 1 + 2 * Number(a[i] === b[i]) - Number(a[i] < b[i]) - Number(a[i] > b[i]);
  },
  '<>': (out, a, b) => {
    for (let i = 0; i < a.length; i++)
      out[i] = 1 - Number(a[i] === b[i]) + 2 * Number(a[i] < b[i]) + 2 * Number(a[i] > b[i]);
  },
  '<': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = 1 + 2 * Number(a[i] < b[i]) - Number(a[i] >= b[i]);
  },
  '>': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = 1 + 2 * Number(a[i] > b[i]) - Number(a[i] <= b[i]);
  },
  '<=': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = 1 + 2 * Number(a[i] <= b[i]) - Number(a[i] > b[i]);
  },
  '>=': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = 1 + 2 * Number(a[i] >= b[i]) - Number(a[i] < b[i]);
  },
};

/** From here on a part is dear enough to be told which rows it may leave out. */
const dear = 8;

/** All of several, or any of them; quick ones first, and dear ones only where nothing is decided yet. */
export function joined(kind: 'and' | 'or', parts: readonly Truth[]): Truth {
  const ordered = parts.map((part, place) => ({ part, place }));
  ordered.sort((a, b) => a.part.cost - b.part.cost || a.place - b.place);
  const [first, ...others] = ordered.map(({ part }) => part);
  const [scratchRoom, openRoom] = [truthRoom(), truthRoom()];
  return {
    type: 'truth',
    cost: parts.reduce((sum, part) => sum + part.cost, 0),
    fill(out, rows) {
      const n = rows.to - rows.from;
      first.fill(out, rows);
      const scratch = scratchRoom(n);
      for (const part of others) {
        if (part.cost < dear) part.fill(scratch, rows);
        else {
          const open = openRoom(n);
          const decided = kind === 'and' ? no : yes;
          let left = 0;
          for (let i = 0; i < n; i++) {
            open[i] = out[i] ^ decided;
            left |= open[i];
          }
          if (left === 0) return;
          part.fill(scratch, { from: rows.from, to: rows.to, wanted: open });
        }
        // what was left out is no (under OR yes) already, and stays so
        if (kind === 'and') for (let i = 0; i < n; i++) out[i] &= scratch[i];
        else for (let i = 0; i < n; i++) out[i] |= scratch[i];
      }
    },
  };
}

/** The opposite; unknown stays unknown. */
export function negated(part: Truth): Truth {
  // by the truth value: no, unknown, (never), yes
  const opposite = Uint8Array.of(yes, unknown, unknown, no);
  return {
    type: 'truth',
    cost: part.cost,
    fill(out, rows: BlockRows) {
      part.fill(out, rows);
      const n = rows.to - rows.from;
      for (let i = 0; i < n; i++) out[i] = opposite[out[i]];
    },
  };
}
