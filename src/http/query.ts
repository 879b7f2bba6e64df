import { Problem } from '../problems.js';

/** One query parameter as it is checked and published. */
export interface Parameter {
  readonly name: string;
  readonly description: string;
  readonly schema: Readonly<Record<string, unknown>>;
  /** may stand several times in an address */
  readonly repeatable?: true;
}

/** Allowed at every address, so never part of a route's own list. */
const formatParameter = 'f';

function refuse(parameter: string, message: string): Problem {
  return new Problem('bad-parameter', `${parameter}: ${message}`, { errors: [{ parameter, message }] });
}

/**
 * Refuses what the address does not know: a misspelt filter that is silently dropped gives a wrong answer.
 * @throws Problem unknown-parameter, bad-parameter (repeated or empty)
 */
export function checkQuery(query: URLSearchParams, parameters: readonly Parameter[]): void {
  const known = new Map(parameters.map((p) => [p.name, p]));
  const seen = new Set<string>();
  for (const [name, value] of query) {
    const parameter = known.get(name);
    if (parameter === undefined && name !== formatParameter) {
      const names = [...known.keys(), formatParameter].join(', ');
      const message = `there is no parameter "${clip(name)}" here; known are ${names}`;
      throw new Problem('unknown-parameter', message, { errors: [{ parameter: clip(name), message: 'unknown' }] });
    }
    if (seen.has(name) && !parameter?.repeatable) throw refuse(name, 'give it once');
    if (value.includes('\0')) throw refuse(name, 'holds a NUL character');
    seen.add(name);
  }
}

/** A whole number in decimal digits. @throws Problem bad-parameter */
export function wholeNumber(
  query: URLSearchParams,
  name: string,
  bounds: { min: number; max?: number },
): number | null {
  const text = query.get(name);
  if (text === null) return null;
  if (!/^[+-]?\d{1,15}$/.test(text)) {
    if (/^\d{16,}$/.test(text)) return bounds.max ?? Number.MAX_SAFE_INTEGER;
    throw refuse(name, `"${clip(text)}" is not a whole number`);
  }
  const value = Number(text);
  if (value < bounds.min) throw refuse(name, `${text} is below ${bounds.min}`);
  return bounds.max === undefined ? value : Math.min(value, bounds.max);
}

const decimal = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?$/;

/** A finite decimal number: neither '' nor 0x10 nor 1e999. @throws Problem bad-parameter */
export function strictNumber(name: string, text: string): number {
  const value = decimal.test(text) ? Number(text) : Number.NaN;
  if (!Number.isFinite(value)) throw refuse(name, `"${clip(text)}" is not a number`);
  return value;
}

/** Numbers between commas. @throws Problem bad-parameter */
export function numberList(query: URLSearchParams, name: string): number[] | null {
  const text = query.get(name);
  return text === null ? null : text.split(',').map((part) => strictNumber(name, part.trim()));
}

/** A text parameter that must not be empty. @throws Problem bad-parameter */
export function words(query: URLSearchParams, name: string): string[] {
  return query.getAll(name).map((word) => {
    if (word === '') throw refuse(name, 'is empty; leave it out to take all');
    return word;
  });
}

/** One of a fixed list. @throws Problem bad-parameter */
export function choice(query: URLSearchParams, name: string, choices: readonly string[]): string | null {
  const text = query.get(name);
  if (text !== null && !choices.includes(text))
    throw refuse(name, `"${clip(text)}" is not one of ${choices.join(', ')}`);
  return text;
}

/** A refusal of one parameter, for callers with rules of their own. */
export function badParameter(name: string, message: string): Problem {
  return refuse(name, message);
}

/** A client's text, shortened for a message. */
export function clip(text: string): string {
  return text.length <= 60 ? text : `${text.slice(0, 57)}…`;
}
