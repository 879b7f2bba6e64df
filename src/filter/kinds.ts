import { momentOf } from './calendar.js';
import type { Expression } from './expression.js';
import { literalMoment } from './moments.js';
import type { Operand } from './operands.js';
import { filterProblem, quoted } from './refusal.js';

/** What an operand is, in words. */
export const kindNames: Readonly<Record<Operand['type'], string>> = {
  truth: 'a truth value',
  number: 'a number',
  text: 'a text',
  moment: 'a date',
  interval: 'an interval',
  geometry: 'a geometry',
  unknown: 'unknown',
};

/** A date as clients really send it (2024/07/05, 2024-07-05T, 2024-07-05T10:00:00), as the standard has it. */
function asStandard(text: string): string {
  return text
    .replace(/^(\d{4})\/(\d{2})\/(\d{2})/, '$1-$2-$3')
    .replace(/^(\d{4}-\d{2}-\d{2})T$/, '$1')
    .replace(/^(.{10}[T ]\d{2}:\d{2}:\d{2}(?:\.\d+)?)$/, '$1Z');
}

/** A date written as a plain text beside a date: clients that know no DATE('…') send it so. */
export function datesFromTexts(left: Operand, right: Operand): [Operand, Operand] {
  const asDate = (operand: Operand): Operand => {
    if (operand.type !== 'text' || operand.source !== 'constant') return operand;
    const moment = momentOf(asStandard(operand.value));
    return moment === null ? operand : literalMoment(moment);
  };
  if (left.type === 'moment') return [left, asDate(right)];
  if (right.type === 'moment') return [asDate(left), right];
  return [left, right];
}

/** A refusal of a comparison between two kinds, with what to do. */
export function mismatch(left: Expression, right: Expression, [a, b]: readonly Operand[]): Error {
  const name = (expression: Expression, operand: Operand) =>
    `${expression.kind === 'property' ? `${quoted(expression.name)} is ` : ''}${kindNames[operand.type]}`;
  const remedy =
    a.type === 'geometry' || b.type === 'geometry'
      ? 'geometries are compared by S_EQUALS and its kin'
      : a.type === 'interval' || b.type === 'interval'
        ? 'intervals are compared by T_EQUALS and its kin'
        : a.type === 'moment' || b.type === 'moment'
          ? "write a date as DATE('2024-07-05')"
          : 'both sides must be of one kind';
  return filterProblem(right.at, `${name(left, a)} and cannot be compared with ${name(right, b)}; ${remedy}`);
}
