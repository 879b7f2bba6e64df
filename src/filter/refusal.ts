import { Problem } from '../problems.js';

/** A filter may nest so deep, hold so many parts and be so long: more is a mistake or an attack. */
export const filterLimits = { depth: 32, nodes: 500, bytes: 8192 } as const;

/** A refusal of a filter that names the place in it. @param at "character 12" or "/args/0" */
export function filterProblem(at: string, message: string): Problem {
  const text = at === '' ? message : `${at}: ${message}`;
  return new Problem('bad-filter', `filter: ${text}`, { errors: [{ parameter: 'filter', message: text }] });
}

/** A client's word, shortened for a message. */
export function quoted(text: string): string {
  return `"${text.length <= 40 ? text : `${text.slice(0, 37)}…`}"`;
}
