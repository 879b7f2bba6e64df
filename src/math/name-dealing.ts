import { type RandomStream, shuffle } from './random.js';

/** Class names on finds, and what ties finds together. */
export interface NamedFinds {
  /** [n] 0-based class of each find */
  readonly label: Uint8Array | Uint32Array;
  /** [n] finds with the same number (children of one concretion, sherds of one pot) keep together; −1 = by itself */
  readonly group: Int32Array;
  /** [n] names change places only inside a stratum (a square, a season); a group is cut where strata part it */
  readonly stratum: Int32Array;
}

/** Deals class names out anew over places that stay. */
export interface NameDealer {
  /** Writes one dealing into `into` [n]. */
  deal(into: Uint8Array | Uint32Array, random: RandomStream): void;
  /** finds and groups dealt as wholes */
  readonly units: number;
  /** finds that move only with their group */
  readonly grouped: number;
  /** [n] 1 = no dealing gives this find another name */
  readonly fixed: Uint8Array;
}

/** Units that may change names with each other: same stratum, same number of finds. */
interface Alike {
  /** finds of each unit, one unit after the other */
  readonly members: Uint32Array;
  readonly size: number;
}

/**
 * Random labelling with groups kept whole: the names of a group go, as a whole and in their order, to a group of the
 * same size, so that the number of finds of each class stays what it is. Single finds change names among themselves.
 *
 * A class whose finds all stand in groups of their own sizes cannot be dealt at all: see `fixed`.
 *
 * @see Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses, on exchangeable units
 */
export function nameDealer({ label, group, stratum }: NamedFinds): NameDealer {
  const n = label.length;
  const units = new Map<string, number[]>();
  for (let i = 0; i < n; i++) {
    const key = group[i] < 0 ? `find ${i}` : `${stratum[i]} ${group[i]}`;
    const unit = units.get(key);
    if (unit) unit.push(i);
    else units.set(key, [i]);
  }
  const byKind = new Map<string, number[][]>();
  let grouped = 0;
  for (const unit of units.values()) {
    if (unit.length > 1) grouped += unit.length;
    const kind = `${stratum[unit[0]]} ${unit.length}`;
    const alike = byKind.get(kind);
    if (alike) alike.push(unit);
    else byKind.set(kind, [unit]);
  }
  const fixed = new Uint8Array(n);
  const dealt: Alike[] = [];
  for (const alike of byKind.values()) {
    const names = alike.map((unit) => unit.map((i) => label[i]).join(' '));
    if (names.every((name) => name === names[0])) for (const unit of alike) for (const i of unit) fixed[i] = 1;
    else dealt.push({ members: Uint32Array.from(alike.flat()), size: alike[0].length });
  }
  const orders = dealt.map(({ members, size }) => new Uint32Array(members.length / size));
  return {
    units: units.size,
    grouped,
    fixed,
    deal(into, random) {
      into.set(label);
      dealt.forEach(({ members, size }, k) => {
        const giver = orders[k];
        // from the same order each time: a dealing depends on its stream alone
        for (let u = 0; u < giver.length; u++) giver[u] = u;
        shuffle(giver, random);
        for (let u = 0; u < giver.length; u++) {
          const to = u * size;
          const from = giver[u] * size;
          for (let m = 0; m < size; m++) into[members[to + m]] = label[members[from + m]];
        }
      });
    },
  };
}

/** Numbers of groups as `NamedFinds` takes them, from their names. @param names  [n] null = by itself */
export function groupNumbers(names: readonly (string | null)[]): Int32Array {
  const known = new Map<string, number>();
  return Int32Array.from(names, (name) => {
    if (name === null) return -1;
    const own = known.get(name) ?? known.size;
    known.set(name, own);
    return own;
  });
}
