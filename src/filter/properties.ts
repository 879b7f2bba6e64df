import type { Field } from '../domain/fields.js';
import { childrenOf, type Expression } from './expression.js';
import { queryablesOf } from './queryables.js';
import { filterProblem, quoted } from './refusal.js';

/** A layer as far as its properties go. */
export interface NamedLayer {
  readonly id: string;
  readonly geometryType: unknown;
  readonly table: { readonly fields: readonly Field[] };
}

/**
 * Checks that every property of a filter exists in one of the layers at least.
 * @throws Problem bad-filter
 */
export function checkProperties(expression: Expression, layers: readonly NamedLayer[]): void {
  const known = new Set(
    layers.flatMap(({ table, geometryType }) => [...queryablesOf(table.fields, geometryType !== null).keys()]),
  );
  const visit = (part: Expression): void => {
    if (part.kind === 'property' && !known.has(part.name)) {
      const ids = layers.map(({ id }) => id).join(', ');
      throw filterProblem(part.at, `none of ${ids} has a property ${quoted(part.name)}; see their queryables`);
    }
    childrenOf(part).forEach(visit);
  };
  visit(expression);
}
