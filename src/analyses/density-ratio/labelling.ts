import type { PositionDetail } from '../../domain/sample.js';
import { type NameDealer, nameDealer } from '../../math/name-dealing.js';
import type { Sides } from './sides.js';

/** How the names of the sides are dealt anew. */
export interface Labelling extends Pick<NameDealer, 'deal' | 'units' | 'grouped'> {
  /** finds no dealing gives another name */
  readonly fixed: number;
  /** false: no dealing changes anything, so that nothing can be tested */
  readonly changes: boolean;
}

/**
 * Random labelling of the sides: finds of one concretion or pot vessel keep together, and names change places only on
 * the ground both sides were looked for on; what lies beside it stays as it is.
 */
export function labellingOf(sides: Sides, { concretion, potVessel }: PositionDetail): Labelling {
  const numbers = new Map<string, number>();
  const group = Int32Array.from(sides.member, (i) => {
    const key =
      concretion[i] !== null
        ? `concretion ${concretion[i]}`
        : potVessel[i] !== null
          ? `pot vessel ${potVessel[i]}`
          : '';
    if (key === '') return -1;
    const known = numbers.get(key);
    if (known !== undefined) return known;
    numbers.set(key, numbers.size);
    return numbers.size - 1;
  });
  const stratum = Int32Array.from(sides.onShared, (on, i) => (on === 1 ? 0 : i + 1));
  const { deal, units, grouped, fixed } = nameDealer({ label: sides.side, group, stratum });
  const still = fixed.reduce((sum, f) => sum + f, 0);
  return { deal, units, grouped, fixed: still, changes: still < fixed.length };
}
