import { KeyIndex } from '../domain/records/key-index.js';
import type { ImportTransaction } from '../storage/store.js';

/** Where checked records go: an import transaction, or nowhere. */
export type Receiver = Pick<ImportTransaction, 'keys' | 'table' | 'setAside'>;

/** Takes records and forgets them: for a dry run. */
export function dryReceiver(): Receiver {
  const keys = new Map<string, KeyIndex>();
  return {
    keys(table) {
      const index = keys.get(table) ?? new KeyIndex();
      keys.set(table, index);
      return index;
    },
    table: () => ({ append: () => {} }),
    setAside: () => {},
  };
}
