import { type RandomStream, shuffle } from './random.js';

/**
 * Deals names anew over places that stay. Members of a group (sherds of one pot, children of one concretion) keep
 * together: the names of a group go, as a whole, to a group of the same size, so that every name stays as frequent.
 *
 * @param group  [n] group of each place; null = by itself
 * @returns      fills `giver` [n]: the place whose name comes here
 */
export function nameDealer(group: readonly (string | null)[]): {
  readonly units: number;
  /** places in a group of two or more */
  readonly grouped: number;
  /** places in a group of which no other has the same size: their names never move */
  readonly fixed: number;
  deal(giver: Uint32Array, random: RandomStream): void;
} {
  const groups = new Map<string, number[]>();
  group.forEach((name, i) => {
    const key = name === null ? `alone ${i}` : `group ${name}`;
    const own = groups.get(key);
    if (own) own.push(i);
    else groups.set(key, [i]);
  });
  const bySize = new Map<number, number[][]>();
  for (const unit of groups.values()) {
    const alike = bySize.get(unit.length);
    if (alike) alike.push(unit);
    else bySize.set(unit.length, [unit]);
  }
  const sizes = [...bySize.entries()].sort(([a], [b]) => a - b).map(([, units]) => units);
  const orders = sizes.map((units) => new Uint32Array(units.length));
  return {
    units: groups.size,
    grouped: group.length - (bySize.get(1)?.length ?? 0),
    fixed: sizes.reduce((sum, units) => sum + (units.length === 1 ? units[0].length : 0), 0),
    deal(giver, random) {
      sizes.forEach((units, s) => {
        const order = orders[s];
        for (let u = 0; u < order.length; u++) order[u] = u;
        shuffle(order, random);
        for (let u = 0; u < units.length; u++) {
          const from = units[order[u]];
          units[u].forEach((place, k) => {
            giver[place] = from[k];
          });
        }
      });
    },
  };
}
