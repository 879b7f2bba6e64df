import { FilterBuilder } from './builder.js';
import { momentOf } from './calendar.js';
import {
  type ArithmeticOperator,
  type ComparisonOperator,
  type Expression,
  type SpatialRelation,
  spatialRelations,
  type TemporalRelation,
  temporalRelations,
} from './expression.js';
import type { LiteralPlane } from './geometry-literal.js';
import { filterProblem, quoted } from './refusal.js';
import { type Token, TokenReader, tokensOf } from './tokens.js';
import { isGeometry, list, readGeometry } from './wkt.js';

const comparisons: ReadonlySet<string> = new Set(['=', '<>', '<', '>', '<=', '>=']);
const keywords: ReadonlySet<string> = new Set([
  'AND',
  'OR',
  'NOT',
  'LIKE',
  'ILIKE',
  'BETWEEN',
  'IN',
  'IS',
  'NULL',
  'TRUE',
  'FALSE',
  'DIV',
]);

/** What can be called in a filter, for refusals. */
export const functionNames = 'CASEI, ACCENTI, the S_ and T_ functions, DATE, TIMESTAMP, INTERVAL and BBOX';

/**
 * Reads a filter in CQL2 text.
 * @throws Problem bad-filter naming the character and what is wanted there
 * @see OGC Common Query Language (CQL2) 1.0, 21-065r2
 */
export function parseText(source: string, plane: LiteralPlane): Expression {
  return new TextParser(new TokenReader(tokensOf(source)), plane).whole();
}

/** One method for each level of binding, loosest first: OR, AND, NOT, comparisons, sums, products, powers. */
class TextParser {
  readonly #reader: TokenReader;
  readonly #plane: LiteralPlane;
  readonly #builder = new FilterBuilder();

  constructor(reader: TokenReader, plane: LiteralPlane) {
    this.#reader = reader;
    this.#plane = plane;
  }

  whole(): Expression {
    const expression = this.#either();
    if (this.#reader.peek().kind !== 'end') throw this.#reader.unexpected('AND, OR or the end');
    return expression;
  }

  #either(): Expression {
    const { at } = this.#reader.peek();
    const parts = [this.#both()];
    while (this.#reader.skipWord('OR')) parts.push(this.#both());
    return parts.length === 1 ? parts[0] : this.#builder.add({ kind: 'or', parts, at });
  }

  #both(): Expression {
    const { at } = this.#reader.peek();
    const parts = [this.#negated()];
    while (this.#reader.skipWord('AND')) parts.push(this.#negated());
    return parts.length === 1 ? parts[0] : this.#builder.add({ kind: 'and', parts, at });
  }

  #negated(): Expression {
    const { at } = this.#reader.peek();
    if (!this.#reader.skipWord('NOT')) return this.#predicate();
    return this.#builder.within(at, () => this.#not(this.#negated(), at));
  }

  #not(part: Expression, at: string): Expression {
    return this.#builder.add({ kind: 'not', part, at });
  }

  #predicate(): Expression {
    const reader = this.#reader;
    const left = this.#sum();
    const { at } = left;
    const token = reader.peek();
    if (token.kind === 'symbol' && comparisons.has(token.text)) {
      reader.take();
      const operator = token.text as ComparisonOperator;
      const made = this.#builder.add({ kind: 'comparison', operator, left, right: this.#sum(), at: token.at });
      if (comparisons.has(reader.peek().text) && reader.peek().kind === 'symbol')
        throw filterProblem(reader.peek().at, 'comparisons do not chain; join two of them by AND');
      return made;
    }
    if (reader.skipWord('IS')) {
      const not = reader.skipWord('NOT');
      if (!reader.skipWord('NULL')) throw reader.unexpected('NULL');
      const made = this.#builder.add({ kind: 'is-null' as const, value: left, at });
      return not ? this.#not(made, at) : made;
    }
    const not = reader.isWord('NOT') && ['LIKE', 'ILIKE', 'BETWEEN', 'IN'].some((word) => reader.isWord(word, 1));
    if (not) reader.take();
    const made = this.#listed(left);
    return made === null ? left : not ? this.#not(made, at) : made;
  }

  /** LIKE, BETWEEN or IN behind a value; null when none of them comes. */
  #listed(value: Expression): Expression | null {
    const reader = this.#reader;
    const { at } = reader.peek();
    if (reader.skipWord('LIKE')) return this.#builder.add({ kind: 'like', value, pattern: this.#sum(), at });
    if (reader.skipWord('ILIKE')) {
      // not of the standard, but what GDAL sends
      const [own, pattern] = [value, this.#sum()].map((side) =>
        this.#builder.add({ kind: 'casei' as const, value: side, at: side.at }),
      );
      return this.#builder.add({ kind: 'like', value: own, pattern, at });
    }
    if (reader.skipWord('BETWEEN')) {
      const low = this.#sum();
      if (!reader.skipWord('AND')) throw reader.unexpected('AND and the upper end');
      return this.#builder.add({ kind: 'between', value, low, high: this.#sum(), at });
    }
    if (reader.skipWord('IN')) {
      if (!reader.isSymbol('(')) throw reader.unexpected('a list such as (1, 2)');
      return this.#builder.add({ kind: 'in', value, list: list(reader, () => this.#sum()), at });
    }
    return null;
  }

  #sum(): Expression {
    let left = this.#product();
    for (let token = this.#reader.peek(); isOneOf(token, ['+', '-']); token = this.#reader.peek()) {
      this.#reader.take();
      left = this.#reckon(token, left, this.#product());
    }
    return left;
  }

  #product(): Expression {
    let left = this.#power();
    for (
      let token = this.#reader.peek();
      isOneOf(token, ['*', '/', '%']) || this.#reader.isWord('DIV');
      token = this.#reader.peek()
    ) {
      this.#reader.take();
      left = this.#reckon(token, left, this.#power());
    }
    return left;
  }

  #power(): Expression {
    const left = this.#signed();
    const token = this.#reader.peek();
    if (!this.#reader.skipSymbol('^')) return left;
    return this.#builder.within(token.at, () => this.#reckon(token, left, this.#power()));
  }

  #reckon(token: Token, left: Expression, right: Expression): Expression {
    const operator = token.text.toLowerCase() as ArithmeticOperator;
    return this.#builder.add({ kind: 'arithmetic', operator, left, right, at: token.at });
  }

  #signed(): Expression {
    const reader = this.#reader;
    const { at } = reader.peek();
    if (reader.skipSymbol('+')) return this.#builder.within(at, () => this.#signed());
    if (!reader.skipSymbol('-')) return this.#primary();
    return this.#builder.within(at, () => {
      const value = this.#signed();
      if (value.kind === 'number') return this.#builder.add({ kind: 'number', value: -value.value, at });
      const minusOne = this.#builder.add({ kind: 'number' as const, value: -1, at });
      return this.#builder.add({ kind: 'arithmetic', operator: '*', left: minusOne, right: value, at });
    });
  }

  #primary(): Expression {
    const reader = this.#reader;
    const token = reader.peek();
    const { at } = token;
    if (reader.skipSymbol('(')) {
      const inner = this.#builder.within(at, () => this.#either());
      reader.expectSymbol(')');
      return inner;
    }
    if (isGeometry(reader)) {
      const shapes = readGeometry(reader, { plane: this.#plane, builder: this.#builder });
      return this.#builder.add({ kind: 'geometry', shapes, at });
    }
    const word = token.kind === 'name' ? token.text.toUpperCase() : '';
    if (word === 'TRUE' || word === 'FALSE') {
      reader.take();
      return this.#builder.add({ kind: 'boolean', value: word === 'TRUE', at });
    }
    if (token.kind === 'end' || token.kind === 'symbol' || keywords.has(word))
      throw reader.unexpected('a property, a value or a function');
    reader.take();
    if (token.kind === 'text') return this.#builder.add({ kind: 'text', value: token.text, at });
    if (token.kind === 'number') return this.#builder.add({ kind: 'number', value: Number(token.text), at });
    if (token.kind === 'name' && reader.isSymbol('(')) return this.#builder.within(at, () => this.#called(token));
    return this.#builder.add({ kind: 'property', name: token.text, at });
  }

  #called({ text, at }: Token): Expression {
    const name = text.toLowerCase();
    const relation = name.slice(2);
    if (name === 'casei' || name === 'accenti') {
      const [value] = this.#arguments(text, 1);
      return this.#builder.add({ kind: name, value, at });
    }
    if (name.startsWith('s_') && (spatialRelations as readonly string[]).includes(relation)) {
      const [left, right] = this.#arguments(text, 2);
      return this.#builder.add({ kind: 'spatial', relation: relation as SpatialRelation, left, right, at });
    }
    if (name.startsWith('t_') && (temporalRelations as readonly string[]).includes(relation)) {
      const [left, right] = this.#arguments(text, 2);
      return this.#builder.add({ kind: 'temporal', relation: relation as TemporalRelation, left, right, at });
    }
    if (name === 'date' || name === 'timestamp') {
      const [value] = this.#arguments(text, 1);
      return this.#builder.add(momentLiteral(value, name === 'date' ? 'day' : 'instant'));
    }
    if (name === 'interval') {
      const [start, end] = this.#arguments(text, 2).map((value) => intervalEnd(value, this.#builder));
      return this.#builder.add({ kind: 'interval', start, end, at });
    }
    throw filterProblem(at, `there is no function ${quoted(text)} here; there are ${functionNames}`);
  }

  #arguments(name: string, count: number): Expression[] {
    const { at } = this.#reader.peek();
    const given = list(this.#reader, () => this.#sum());
    if (given.length !== count)
      throw filterProblem(at, `${quoted(name)} takes ${count} argument${count > 1 ? 's' : ''}, got ${given.length}`);
    return given;
  }
}

function isOneOf(token: Token, symbols: readonly string[]): boolean {
  return token.kind === 'symbol' && symbols.includes(token.text);
}

/** A date or instant from its text. @throws Problem bad-filter when it is none, or of the other grain */
export function momentLiteral(value: Expression, grain: 'day' | 'instant'): Expression {
  const moment = value.kind === 'text' ? momentOf(value.value) : null;
  if (moment?.grain !== grain) {
    const shown = value.kind === 'text' ? quoted(value.value) : 'this';
    throw filterProblem(
      value.at,
      grain === 'day'
        ? `${shown} is no date of the calendar; write DATE('2024-07-05')`
        : `${shown} is no date-time; write TIMESTAMP('2024-07-05T10:00:00Z')`,
    );
  }
  return { kind: 'moment', ...moment, at: value.at };
}

/** An end of an interval: '..' is open, a text is a date or date-time, anything else stays. */
export function intervalEnd(value: Expression, builder: FilterBuilder): Expression | null {
  if (value.kind !== 'text') return value;
  if (value.value === '..') return null;
  const moment = momentOf(value.value);
  if (moment === null) {
    throw filterProblem(
      value.at,
      `${quoted(value.value)} is no end of an interval; write '2024-07-05', '2024-07-05T10:00:00Z' or '..'`,
    );
  }
  return builder.add({ kind: 'moment', ...moment, at: value.at });
}
