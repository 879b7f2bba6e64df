/** Counts of one row of a table, side by side in every unit. */
export interface Tally {
  readonly finds: number;
  /** pieces of the finds that were counted; the others are in `uncounted` */
  readonly pieces: number;
  readonly uncounted: number;
  /** grams of the finds that were weighed; the others are in `unweighed` */
  readonly weightG: number;
  readonly unweighed: number;
  /** the pot vessels met; null = none */
  readonly vessels: ReadonlySet<string> | null;
}

/** What is tallied, all arrays [n]. */
export interface TalliedFinds {
  readonly pieces: Float64Array;
  readonly weightG: Float64Array;
  readonly potVessel: readonly (string | null)[];
}

export const emptyTally: Tally = { finds: 0, pieces: 0, uncounted: 0, weightG: 0, unweighed: 0, vessels: null };

type Running = { -readonly [name in keyof Tally]: Tally[name] } & { vessels: Set<string> | null };

/**
 * Tallies finds by key. Every find counts in exactly one row, so that rows add up to the finds.
 * @param keyOf  [n] row of each find
 */
export function tallyBy<K>(finds: TalliedFinds, keyOf: (i: number) => K): Map<K, Tally> {
  const rows = new Map<K, Running>();
  const n = finds.pieces.length;
  for (let i = 0; i < n; i++) {
    const key = keyOf(i);
    let row = rows.get(key);
    if (!row) {
      row = { finds: 0, pieces: 0, uncounted: 0, weightG: 0, unweighed: 0, vessels: null };
      rows.set(key, row);
    }
    row.finds++;
    const pieces = finds.pieces[i];
    if (Number.isNaN(pieces)) row.uncounted++;
    else row.pieces += pieces;
    const weight = finds.weightG[i];
    if (Number.isNaN(weight)) row.unweighed++;
    else row.weightG += weight;
    const vessel = finds.potVessel[i];
    if (vessel !== null) {
      row.vessels ??= new Set();
      row.vessels.add(vessel);
    }
  }
  return rows;
}

/** Several rows as one: counts add up, a pot vessel met in several rows is still one. */
export function mergedTally(tallies: readonly Tally[]): Tally {
  const sum: Running = { finds: 0, pieces: 0, uncounted: 0, weightG: 0, unweighed: 0, vessels: null };
  for (const tally of tallies) {
    sum.finds += tally.finds;
    sum.pieces += tally.pieces;
    sum.uncounted += tally.uncounted;
    sum.weightG += tally.weightG;
    sum.unweighed += tally.unweighed;
    if (tally.vessels === null) continue;
    sum.vessels ??= new Set();
    for (const vessel of tally.vessels) sum.vessels.add(vessel);
  }
  return sum;
}

/** How rates count: finds, pieces, different pot vessels, or grams. */
export type RateUnit = 'find' | 'piece' | 'pot_vessel' | 'weight';

/** The count of a row in one unit. */
export function countIn(tally: Tally, unit: RateUnit): number {
  switch (unit) {
    case 'find':
      return tally.finds;
    case 'piece':
      return tally.pieces;
    case 'pot_vessel':
      return tally.vessels?.size ?? 0;
    case 'weight':
      return tally.weightG;
  }
}
