import type { ArithmeticOperator } from './expression.js';
import { constantNumber, type NumberOperand, numberRoom } from './operands.js';

type Operation = (out: Float64Array, a: Float64Array, b: Float64Array) => void;

const operations: Readonly<Record<ArithmeticOperator, Operation>> = {
  '+': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = a[i] + b[i];
  },
  '-': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = a[i] - b[i];
  },
  '*': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = a[i] * b[i];
  },
  '/': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = a[i] / b[i];
  },
  '^': (out, a, b) => {
    // an unknown number to the power 0 is unknown, where the language has it 1
    for (let i = 0; i < a.length; i++) out[i] = a[i] ** b[i] + 0 * a[i];
  },
  '%': (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = a[i] % b[i];
  },
  div: (out, a, b) => {
    for (let i = 0; i < a.length; i++) out[i] = Math.trunc(a[i] / b[i]);
  },
};

/** Reckons with two numbers. What has no finite answer (a division by 0, too large a power) is unknown. */
export function reckoned(operator: ArithmeticOperator, left: NumberOperand, right: NumberOperand): NumberOperand {
  const operation = operations[operator];
  const room = numberRoom();
  const read = (from: number, to: number) => {
    const block = room(to - from);
    operation(block, left.read(from, to), right.read(from, to));
    // an infinity less itself is NaN, any number less itself 0
    for (let i = 0; i < to - from; i++) block[i] += block[i] - block[i];
    return block.subarray(0, to - from);
  };
  if (left.constant !== null && right.constant !== null) return constantNumber(read(0, 1)[0]);
  return { type: 'number', constant: null, read };
}
