import type { FeatureTable } from './feature-table.js';
import type { Field } from './fields.js';

/**
 * A table whose fields are known and whose rows are worked out when first looked at: a page that only names the
 * collection need not wait for them.
 */
export function deferredTable(given: {
  readonly name: string;
  readonly fields: readonly Field[];
  make(): FeatureTable;
}): FeatureTable {
  let made: FeatureTable | null = null;
  const table = (): FeatureTable => {
    made ??= given.make();
    return made;
  };
  return {
    name: given.name,
    fields: given.fields,
    get length() {
      return table().length;
    },
    get columns() {
      return table().columns;
    },
    get geometry() {
      return table().geometry;
    },
    get ids() {
      return table().ids;
    },
  };
}
