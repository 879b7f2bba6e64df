import { FilterBuilder } from './builder.js';
import {
  type ArithmeticOperator,
  type ComparisonOperator,
  type Expression,
  type SpatialRelation,
  spatialRelations,
  type TemporalRelation,
  temporalRelations,
} from './expression.js';
import { boxShapes, type LiteralPlane, shapesOf, type WrittenGeometry } from './geometry-literal.js';
import { filterProblem, quoted } from './refusal.js';
import { intervalEnd, momentLiteral } from './text.js';

/** How many arguments each operator takes: least and most. */
const counts: ReadonlyMap<string, readonly [number, number]> = new Map<string, readonly [number, number]>([
  ...['and', 'or'].map((op) => [op, [2, Infinity]] as const),
  ...['not', 'isNull', 'casei', 'accenti'].map((op) => [op, [1, 1]] as const),
  ...['=', '<>', '<', '>', '<=', '>=', 'like', 'in', '*', '/', '^', '%', 'div', '+'].map((op) => [op, [2, 2]] as const),
  ['-', [1, 2]],
  ['between', [3, 3]],
  ...spatialRelations.map((relation) => [`s_${relation}`, [2, 2]] as const),
  ...temporalRelations.map((relation) => [jsonName(relation), [2, 2]] as const),
]);

/** The JSON form writes t_finishedBy where the text form writes T_FINISHEDBY. */
function jsonName(relation: TemporalRelation): string {
  return `t_${relation.replace(/^(finished|met|overlapped|started)by$/, '$1By')}`;
}

/**
 * Reads a filter in CQL2 JSON.
 * @param source  the parsed JSON
 * @throws Problem bad-filter naming the place as a JSON pointer and what is wanted there
 * @see OGC Common Query Language (CQL2) 1.0, 21-065r2
 */
export function parseJson(source: unknown, plane: LiteralPlane): Expression {
  return new JsonParser(plane).read(source, '');
}

class JsonParser {
  readonly #plane: LiteralPlane;
  readonly #builder = new FilterBuilder();

  constructor(plane: LiteralPlane) {
    this.#plane = plane;
  }

  read(value: unknown, pointer: string): Expression {
    const at = pointer === '' ? '/' : pointer;
    return this.#builder.within(at, () => this.#any(value, at, pointer));
  }

  #any(value: unknown, at: string, pointer: string): Expression {
    switch (typeof value) {
      case 'string':
        return this.#builder.add({ kind: 'text', value, at });
      case 'number':
        if (!Number.isFinite(value)) throw filterProblem(at, 'this number is too large');
        return this.#builder.add({ kind: 'number', value, at });
      case 'boolean':
        return this.#builder.add({ kind: 'boolean', value, at });
    }
    if (value === null || typeof value !== 'object' || Array.isArray(value)) {
      throw filterProblem(
        at,
        `${value === null ? 'null' : 'a list'} stands where a value or an object with "op" or "property" is wanted${value === null ? '; ask with "isNull"' : ''}`,
      );
    }
    return this.#object(value as Record<string, unknown>, at, pointer);
  }

  #object(value: Record<string, unknown>, at: string, pointer: string): Expression {
    const has = (name: string) => Object.hasOwn(value, name);
    const only = (...names: string[]) => {
      const other = Object.keys(value).find((name) => !names.includes(name));
      if (other !== undefined)
        throw filterProblem(at, `there is no member ${quoted(other)} here; known are ${names.join(', ')}`);
    };
    if (has('op')) {
      only('op', 'args');
      return this.#operation(value['op'], value['args'], { at, pointer });
    }
    if (has('property')) {
      only('property');
      if (typeof value['property'] !== 'string' || value['property'] === '')
        throw filterProblem(at, '"property" takes the name of a property');
      return this.#builder.add({ kind: 'property', name: value['property'], at });
    }
    if (has('date') || has('timestamp')) {
      const name = has('date') ? 'date' : 'timestamp';
      only(name);
      const text = this.#builder.add({ kind: 'text' as const, value: String(value[name]), at });
      return this.#builder.add(momentLiteral(text, name === 'date' ? 'day' : 'instant'));
    }
    if (has('interval')) {
      only('interval');
      const ends = value['interval'];
      if (!Array.isArray(ends) || ends.length !== 2)
        throw filterProblem(at, '"interval" takes a list of two ends, such as ["2024-07-01", ".."]');
      const [start, end] = ends.map((e, i) => intervalEnd(this.read(e, `${pointer}/interval/${i}`), this.#builder));
      return this.#builder.add({ kind: 'interval', start, end, at });
    }
    const context = { plane: this.#plane, builder: this.#builder, at };
    if (has('bbox') && !has('type')) {
      only('bbox');
      const numbers = value['bbox'];
      if (!Array.isArray(numbers)) throw filterProblem(at, '"bbox" takes a list of 4 numbers');
      return this.#builder.add({ kind: 'geometry', shapes: boxShapes(numbers, context), at });
    }
    if (typeof value['type'] === 'string') {
      only('type', 'coordinates', 'geometries', 'bbox');
      return this.#builder.add({
        kind: 'geometry',
        shapes: shapesOf(value as unknown as WrittenGeometry, context),
        at,
      });
    }
    throw filterProblem(
      at,
      'an object needs "op" with "args", "property", "date", "timestamp", "interval", "bbox" or a GeoJSON "type"',
    );
  }

  #operation(op: unknown, args: unknown, { at, pointer }: { at: string; pointer: string }): Expression {
    const known = typeof op === 'string' ? counts.get(op) : undefined;
    if (known === undefined) {
      throw filterProblem(
        at,
        `there is no operator ${quoted(String(op))} here; there are ${[...counts.keys()].join(' ')}`,
      );
    }
    const [least, most] = known;
    if (!Array.isArray(args) || args.length < least || args.length > most) {
      const wanted = most === Infinity ? `${least} or more` : least === most ? least : `${least} or ${most}`;
      throw filterProblem(
        at,
        `${quoted(op as string)} takes ${wanted} "args", got ${Array.isArray(args) ? args.length : 'none'}`,
      );
    }
    const read = (index: number) => this.read(args[index], `${pointer}/args/${index}`);
    const all = () => args.map((_, index) => read(index));
    const add = <E extends Expression>(expression: E) => this.#builder.add(expression);
    const name = op as string;
    switch (name) {
      case 'and':
      case 'or':
        return add({ kind: name, parts: all(), at });
      case 'not':
        return add({ kind: 'not', part: read(0), at });
      case 'isNull':
        return add({ kind: 'is-null', value: read(0), at });
      case 'casei':
      case 'accenti':
        return add({ kind: name, value: read(0), at });
      case 'like':
        return add({ kind: 'like', value: read(0), pattern: read(1), at });
      case 'between':
        return add({ kind: 'between', value: read(0), low: read(1), high: read(2), at });
      case 'in': {
        const items = args[1];
        if (!Array.isArray(items) || items.length === 0)
          throw filterProblem(`${pointer}/args/1`, '"in" takes a list of values as its second argument');
        const list = items.map((item, i) => this.read(item, `${pointer}/args/1/${i}`));
        return add({ kind: 'in', value: read(0), list, at });
      }
      case '=':
      case '<>':
      case '<':
      case '>':
      case '<=':
      case '>=':
        return add({ kind: 'comparison', operator: name as ComparisonOperator, left: read(0), right: read(1), at });
    }
    if (name.startsWith('s_')) {
      return add({ kind: 'spatial', relation: name.slice(2) as SpatialRelation, left: read(0), right: read(1), at });
    }
    if (name.startsWith('t_')) {
      const relation = name.slice(2).toLowerCase() as TemporalRelation;
      return add({ kind: 'temporal', relation, left: read(0), right: read(1), at });
    }
    if (args.length === 1) {
      const minusOne = add({ kind: 'number' as const, value: -1, at });
      return add({ kind: 'arithmetic', operator: '*', left: minusOne, right: read(0), at });
    }
    return add({ kind: 'arithmetic', operator: name as ArithmeticOperator, left: read(0), right: read(1), at });
  }
}
