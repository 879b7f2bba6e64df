import type { Column } from '../domain/feature-table.js';
import { type NumberOperand, no, numberRoom, type Truth, truthRoom, unknown, yes } from './operands.js';

/** Truth values of a column. */
export function columnTruth({ values }: Extract<Column, { kind: 'boolean' }>): Truth {
  // the column has 0 unknown, 1 no, 2 yes
  const truths = Uint8Array.of(unknown, no, yes);
  return {
    type: 'truth',
    cost: 1,
    fill(out, { from, to }) {
      for (let row = from; row < to; row++) out[row - from] = truths[values[row]];
    },
  };
}

/** Truth values as numbers, no below yes, unknown NaN. */
export function truthNumbers(truth: Truth): Pick<NumberOperand, 'read'> {
  const [numbers, room] = [numberRoom(), truthRoom()];
  return {
    read(from, to) {
      const block = numbers(to - from);
      const truths = room(to - from);
      truth.fill(truths, { from, to, wanted: null });
      for (let i = 0; i < to - from; i++) block[i] = truths[i] === unknown ? Number.NaN : truths[i];
      return block.subarray(0, to - from);
    },
  };
}

/** Whether a number is unknown. */
export function numberIsUnknown({ read }: Pick<NumberOperand, 'read'>): Truth {
  return {
    type: 'truth',
    cost: 1,
    fill(out, { from, to }) {
      const values = read(from, to);
      for (let i = 0; i < values.length; i++) out[i] = Number.isNaN(values[i]) ? yes : no;
    },
  };
}

/** Whether a number is one of a list. */
export function numberIsOneOf(operand: NumberOperand, list: readonly number[]): Truth {
  const wanted = new Set(list);
  return {
    type: 'truth',
    cost: 4,
    fill(out, { from, to }) {
      const values = operand.read(from, to);
      for (let i = 0; i < values.length; i++)
        out[i] = Number.isNaN(values[i]) ? unknown : wanted.has(values[i]) ? yes : no;
    },
  };
}
