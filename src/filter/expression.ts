import type { PlaneShape } from './plane-shape.js';

export type ComparisonOperator = '=' | '<>' | '<' | '>' | '<=' | '>=';
export type ArithmeticOperator = '+' | '-' | '*' | '/' | '^' | '%' | 'div';

export const spatialRelations = [
  'intersects',
  'disjoint',
  'within',
  'contains',
  'equals',
  'touches',
  'crosses',
  'overlaps',
] as const;
export type SpatialRelation = (typeof spatialRelations)[number];

export const temporalRelations = [
  'after',
  'before',
  'contains',
  'disjoint',
  'during',
  'equals',
  'finishedby',
  'finishes',
  'intersects',
  'meets',
  'metby',
  'overlappedby',
  'overlaps',
  'startedby',
  'starts',
] as const;
export type TemporalRelation = (typeof temporalRelations)[number];

/** Where in the filter an expression was written: "character 12" of a text, "/args/0" of JSON. */
interface Placed {
  readonly at: string;
}

/** A moment as written: a whole day, or an instant in milliseconds since 1970. */
export interface MomentLiteral extends Placed {
  readonly kind: 'moment';
  readonly grain: 'day' | 'instant';
  /** start of the day, or the instant */
  readonly ms: number;
}

/**
 * What a filter says, whichever of its two languages it was written in. Whether the parts fit together (a text is not
 * compared with a number) is found when it is compiled for a table.
 */
export type Expression =
  | (Placed & { readonly kind: 'and' | 'or'; readonly parts: readonly Expression[] })
  | (Placed & { readonly kind: 'not'; readonly part: Expression })
  | (Placed & {
      readonly kind: 'comparison';
      readonly operator: ComparisonOperator;
      readonly left: Expression;
      readonly right: Expression;
    })
  | (Placed & { readonly kind: 'like'; readonly value: Expression; readonly pattern: Expression })
  | (Placed & {
      readonly kind: 'between';
      readonly value: Expression;
      readonly low: Expression;
      readonly high: Expression;
    })
  | (Placed & { readonly kind: 'in'; readonly value: Expression; readonly list: readonly Expression[] })
  | (Placed & { readonly kind: 'is-null'; readonly value: Expression })
  | (Placed & {
      readonly kind: 'spatial';
      readonly relation: SpatialRelation;
      readonly left: Expression;
      readonly right: Expression;
    })
  | (Placed & {
      readonly kind: 'temporal';
      readonly relation: TemporalRelation;
      readonly left: Expression;
      readonly right: Expression;
    })
  | (Placed & {
      readonly kind: 'arithmetic';
      readonly operator: ArithmeticOperator;
      readonly left: Expression;
      readonly right: Expression;
    })
  | (Placed & { readonly kind: 'casei' | 'accenti'; readonly value: Expression })
  | (Placed & { readonly kind: 'property'; readonly name: string })
  | (Placed & { readonly kind: 'text'; readonly value: string })
  | (Placed & { readonly kind: 'number'; readonly value: number })
  | (Placed & { readonly kind: 'boolean'; readonly value: boolean })
  | MomentLiteral
  | (Placed & {
      readonly kind: 'interval';
      /** null = open */
      readonly start: Expression | null;
      readonly end: Expression | null;
    })
  /** several shapes = a collection of mixed kinds; east before north, in the units of the filter's CRS */
  | (Placed & { readonly kind: 'geometry'; readonly shapes: readonly PlaneShape[] });

/** The expressions directly inside one. */
export function childrenOf(expression: Expression): readonly Expression[] {
  switch (expression.kind) {
    case 'and':
    case 'or':
      return expression.parts;
    case 'not':
      return [expression.part];
    case 'comparison':
    case 'spatial':
    case 'temporal':
    case 'arithmetic':
      return [expression.left, expression.right];
    case 'like':
      return [expression.value, expression.pattern];
    case 'between':
      return [expression.value, expression.low, expression.high];
    case 'in':
      return [expression.value, ...expression.list];
    case 'is-null':
    case 'casei':
    case 'accenti':
      return [expression.value];
    case 'interval':
      return [expression.start, expression.end].filter((end) => end !== null);
    default:
      return [];
  }
}
