import type { FeatureTable } from '../domain/feature-table.js';
import { reckoned } from './arithmetic.js';
import { compareNumbers, joined, negated } from './comparison.js';
import type { ComparisonOperator, Expression } from './expression.js';
import { withoutAccents, withoutCase } from './fold.js';
import type { LiteralPlane } from './geometry-literal.js';
import { datesFromTexts, kindNames, mismatch } from './kinds.js';
import { columnMoments, literalMoment, temporalTruth } from './moments.js';
import {
  blockRows,
  columnNumbers,
  constantNumber,
  constantTruth,
  type IntervalOperand,
  type MomentOperand,
  type NumberOperand,
  no,
  type Operand,
  type TextOperand,
  type Truth,
  unknown,
  yes,
} from './operands.js';
import { queryablesOf } from './queryables.js';
import { filterProblem, quoted } from './refusal.js';
import { rowShapes } from './row-shapes.js';
import { spatialTruth } from './spatial.js';
import { columnTexts, compareTexts, foldTexts, textIsLike, textIsOneOf, textIsUnknown } from './texts.js';
import { columnTruth, numberIsOneOf, numberIsUnknown, truthNumbers } from './truths.js';

/** What a filter is compiled for. */
export interface FilterSource {
  readonly table: FeatureTable;
  /** what the numbers of `places` count */
  readonly unit: LiteralPlane['unit'];
  /** coordinates of the table in the CRS of the filter, interleaved, east before north; asked for only where a geometry is compared */
  places(): Float64Array;
  /** a name the table does not have: refused, or unknown in every row (one filter over several layers) */
  readonly unknownProperty: 'refuse' | 'unknown';
}

/** A filter ready for the rows of one table. */
export interface CompiledFilter {
  /** [n] no, unknown or yes, as in operands.ts */
  truths(): Uint8Array;
  /** [n] 1 for each row the filter is true of: what is unknown is not */
  marks(): Uint8Array;
}

/**
 * Fits a filter to a table: names become columns, words of a dictionary are looked up once, and everything else
 * works through the rows block by block.
 * @throws Problem bad-filter when a property does not exist or kinds do not fit together
 */
export function compileFilter(expression: Expression, source: FilterSource): CompiledFilter {
  const truth = new Compiler(source).truth(expression);
  const { length } = source.table;
  const truths = () => {
    const out = new Uint8Array(length);
    for (let from = 0; from < length; from += blockRows) {
      const to = Math.min(length, from + blockRows);
      truth.fill(out.subarray(from, to), { from, to, wanted: null });
    }
    return out;
  };
  return {
    truths,
    marks() {
      const out = truths();
      // half of yes is 1, of no and unknown 0
      for (let i = 0; i < length; i++) out[i] >>= 1;
      return out;
    },
  };
}

class Compiler {
  readonly #source: FilterSource;
  readonly #queryables: ReturnType<typeof queryablesOf>;

  constructor(source: FilterSource) {
    this.#source = source;
    this.#queryables = queryablesOf(source.table.fields, source.table.geometry !== null);
  }

  truth(expression: Expression): Truth {
    const operand = this.#operand(expression);
    if (operand.type === 'truth') return operand;
    if (operand.type === 'unknown') return constantTruth(unknown);
    throw filterProblem(
      expression.at,
      `${kindNames[operand.type]} stands where something true or false is wanted, such as season = 'S1'`,
    );
  }

  #operand(expression: Expression): Operand {
    switch (expression.kind) {
      case 'and':
      case 'or':
        return joined(
          expression.kind,
          expression.parts.map((part) => this.truth(part)),
        );
      case 'not':
        return negated(this.truth(expression.part));
      case 'comparison':
        return this.#comparison(expression.operator, expression.left, expression.right);
      case 'like':
        return this.#like(expression);
      case 'between': {
        const [value, low, high] = [expression.value, expression.low, expression.high].map((e) =>
          this.#number(e, 'BETWEEN'),
        );
        if (!value || !low || !high) return constantTruth(unknown);
        return joined('and', [
          compareNumbers('>=', { left: value, right: low }),
          compareNumbers('<=', { left: value, right: high }),
        ]);
      }
      case 'in':
        return this.#in(expression.value, expression.list);
      case 'is-null':
        return this.#isUnknown(expression.value);
      case 'spatial': {
        const [left, right] = [expression.left, expression.right].map((e) => this.#geometry(e));
        if (!left || !right) return constantTruth(unknown);
        return spatialTruth({ ...expression, left, right }, () =>
          rowShapes(this.#source.table, this.#source.places(), this.#source.unit),
        );
      }
      case 'temporal': {
        const [left, right] = [expression.left, expression.right].map((e) => this.#time(e));
        return left && right ? temporalTruth(expression.relation, left, right) : constantTruth(unknown);
      }
      case 'arithmetic': {
        const [left, right] = [expression.left, expression.right].map((e) => this.#number(e, expression.operator));
        return left && right ? reckoned(expression.operator, left, right) : { type: 'unknown' };
      }
      case 'casei':
      case 'accenti': {
        const value = this.#text(expression.value, expression.kind.toUpperCase());
        return value
          ? foldTexts(value, expression.kind === 'casei' ? withoutCase : withoutAccents)
          : { type: 'unknown' };
      }
      case 'property':
        return this.#property(expression.name, expression.at);
      case 'text':
        return { type: 'text', source: 'constant', value: expression.value };
      case 'number':
        return constantNumber(expression.value);
      case 'boolean':
        return constantTruth(expression.value ? yes : no);
      case 'moment':
        return literalMoment(expression);
      case 'interval':
        return this.#interval(expression);
      case 'geometry':
        return { type: 'geometry', source: 'literal', shapes: expression.shapes };
    }
  }

  #property(name: string, at: string): Operand {
    const { table, unknownProperty } = this.#source;
    const type = this.#queryables.get(name);
    if (type === 'id') return columnNumbers(table.ids);
    if (type === 'geometry') return { type: 'geometry', source: 'rows' };
    const column = table.columns.get(name);
    if (type === undefined || column === undefined) {
      if (unknownProperty === 'unknown') return { type: 'unknown' };
      const names = [...this.#queryables.keys()].join(', ');
      throw filterProblem(
        at,
        `${table.name} has no property ${quoted(name)} (a text stands between single quotes); there are ${names}`,
      );
    }
    if (type === 'day' || type === 'instant') return columnMoments(table, column, type);
    switch (column.kind) {
      case 'code':
      case 'text':
        return columnTexts(column);
      case 'boolean':
        return columnTruth(column);
      default:
        return columnNumbers(column.values);
    }
  }

  #comparison(operator: ComparisonOperator, leftGiven: Expression, rightGiven: Expression): Truth {
    const [left, right] = datesFromTexts(this.#operand(leftGiven), this.#operand(rightGiven));
    if (left.type === 'unknown' || right.type === 'unknown') return constantTruth(unknown);
    if (left.type === 'text' && right.type === 'text') return compareTexts(operator, left, right);
    if (left.type === 'number' && right.type === 'number') return compareNumbers(operator, { left, right });
    if (left.type === 'moment' && right.type === 'moment') return compareNumbers(operator, { left, right });
    if (left.type === 'truth' && right.type === 'truth')
      return compareNumbers(operator, { left: truthNumbers(left), right: truthNumbers(right) });
    throw mismatch(leftGiven, rightGiven, [left, right]);
  }

  #like({ value: valueGiven, pattern: patternGiven }: Extract<Expression, { kind: 'like' }>): Truth {
    const value = this.#text(valueGiven, 'LIKE');
    const pattern = this.#text(patternGiven, 'LIKE');
    if (pattern?.source !== 'constant')
      throw filterProblem(patternGiven.at, "the pattern of LIKE is a text, such as 'iron%', not a property");
    return value ? textIsLike(value, pattern.value) : constantTruth(unknown);
  }

  #in(value: Expression, list: readonly Expression[]): Truth {
    const own = this.#operand(value);
    const items = list.map((item) => this.#operand(item));
    const texts = items.flatMap((item) => (item.type === 'text' && item.source === 'constant' ? [item.value] : []));
    if (own.type === 'text' && texts.length === list.length) return textIsOneOf(own, texts);
    const numbers = items.flatMap((item) =>
      item.type === 'number' && Number.isFinite(item.constant) ? [item.constant as number] : [],
    );
    if (own.type === 'number' && numbers.length === list.length) return numberIsOneOf(own, numbers);
    return joined(
      'or',
      list.map((item) => this.#comparison('=', value, item)),
    );
  }

  #isUnknown(value: Expression): Truth {
    const operand = this.#operand(value);
    switch (operand.type) {
      case 'unknown':
        return constantTruth(yes);
      case 'text':
        return textIsUnknown(operand);
      case 'number':
      case 'moment':
        return numberIsUnknown(operand);
      case 'truth':
        return numberIsUnknown(truthNumbers(operand));
      case 'geometry': {
        if (operand.source === 'literal') return constantTruth(no);
        const { table } = this.#source;
        const shapes = rowShapes(table, this.#source.places(), this.#source.unit);
        return {
          type: 'truth',
          cost: 2,
          fill(out, { from, to }) {
            for (let row = from; row < to; row++) out[row - from] = shapes.has(row) ? no : yes;
          },
        };
      }
      case 'interval':
        throw filterProblem(value.at, 'IS NULL asks a property or a value, not an interval');
    }
  }

  #interval({ start, end, at }: Extract<Expression, { kind: 'interval' }>): IntervalOperand | { type: 'unknown' } {
    if (start?.kind === 'moment' && end?.kind === 'moment' && start.ms > end.ms)
      throw filterProblem(at, 'the interval ends before it starts');
    const ends = [start, end].map((given) => (given === null ? null : this.#time(given)));
    for (const [k, given] of [start, end].entries()) {
      if (ends[k]?.type === 'interval')
        throw filterProblem(given?.at ?? at, 'an interval ends with a date, not another interval');
    }
    if ((start !== null && ends[0] === null) || (end !== null && ends[1] === null)) return { type: 'unknown' };
    const [from, to] = ends as (MomentOperand | null)[];
    return { type: 'interval', start: from, end: to };
  }

  /** null = a property this table does not have */
  #number(expression: Expression, wanting: string): NumberOperand | null {
    const operand = this.#operand(expression);
    if (operand.type === 'number') return operand;
    if (operand.type === 'unknown') return null;
    const remedy = wanting === 'BETWEEN' && operand.type === 'moment' ? '; for dates use T_DURING, or >= and <=' : '';
    throw filterProblem(expression.at, `${wanting} takes numbers, and this is ${kindNames[operand.type]}${remedy}`);
  }

  #text(expression: Expression, wanting: string): TextOperand | null {
    const operand = this.#operand(expression);
    if (operand.type === 'text') return operand;
    if (operand.type === 'unknown') return null;
    throw filterProblem(expression.at, `${wanting} takes texts, and this is ${kindNames[operand.type]}`);
  }

  #time(expression: Expression): MomentOperand | IntervalOperand | null {
    const operand = this.#operand(expression);
    if (operand.type === 'moment' || operand.type === 'interval') return operand;
    if (operand.type === 'unknown') return null;
    throw filterProblem(
      expression.at,
      `a date, a date-time or an interval is wanted, and this is ${kindNames[operand.type]}; write DATE('2024-07-05')`,
    );
  }

  #geometry(expression: Expression) {
    const operand = this.#operand(expression);
    if (operand.type === 'geometry') return operand;
    if (operand.type === 'unknown') return null;
    throw filterProblem(
      expression.at,
      `a geometry is wanted, and this is ${kindNames[operand.type]}; write geometry, POINT(…), POLYGON(…) or BBOX(…)`,
    );
  }
}
