import type { Expression } from './expression.js';
import type { LiteralPlane } from './geometry-literal.js';
import { parseJson } from './json.js';
import { filterLimits, filterProblem } from './refusal.js';
import { parseText } from './text.js';

/** The languages a filter may be written in; `cql-text` is the name by which older clients ask for the first. */
export const filterLanguages = ['cql2-text', 'cql2-json', 'cql-text'] as const;
export type FilterLanguage = (typeof filterLanguages)[number];

/**
 * Reads a filter.
 * @param source    the filter as written
 * @param language  what it is written in
 * @param plane     how the positions in it are meant
 * @throws Problem bad-filter naming the place in it and what to do
 */
export function parseFilter(source: string, language: FilterLanguage, plane: LiteralPlane): Expression {
  const bytes = Buffer.byteLength(source);
  if (bytes > filterLimits.bytes)
    throw filterProblem('', `it has ${bytes} bytes; at most ${filterLimits.bytes} are read, so ask in parts`);
  if (source.trim() === '') throw filterProblem('', 'it is empty; leave it out to take all');
  if (language !== 'cql2-json') return parseText(source, plane);
  let value: unknown;
  try {
    value = JSON.parse(source);
  } catch {
    throw filterProblem('', 'it is not JSON; for CQL2 text leave filter-lang out or give cql2-text');
  }
  return parseJson(value, plane);
}
