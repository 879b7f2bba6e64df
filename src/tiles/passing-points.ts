import type { ZOrder } from './z-order.js';

/** The positions that pass a filter, and how many of them come before each position. */
export interface Passing {
  readonly positions: Uint32Array;
  /** [positions + 1] */
  readonly before: Uint32Array;
}

/**
 * The positions that pass a filter, made once for each: marks are never changed after they are made.
 * @param known  lists made so far, dropped with their marks
 */
export function passingOf(known: WeakMap<Uint8Array, Passing>, order: ZOrder, marks: Uint8Array): Passing {
  let found = known.get(marks);
  if (found === undefined) {
    const { rows } = order;
    const positions = new Uint32Array(rows.length);
    const before = new Uint32Array(rows.length + 1);
    let m = 0;
    for (let j = 0; j < rows.length; j++) {
      before[j] = m;
      if (marks[rows[j]] !== 0) positions[m++] = j;
    }
    before[rows.length] = m;
    found = { positions, before };
    known.set(marks, found);
  }
  return found;
}
