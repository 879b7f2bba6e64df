import { groundBySquare } from '../../domain/counting-squares.js';
import { entriesOf, placeEntries } from '../../domain/register-squares.js';
import type { Sample } from '../../domain/sample.js';
import { Problem } from '../../problems.js';
import type { BrokenItems } from './breakage.js';
import { narrowedLattice, type SquareLattice } from './lattice.js';
import type { Parameters } from './schemas.js';

/** The sherds of an answer by square, and the squares that have any. */
export interface Sherds {
  readonly lattice: SquareLattice;
  readonly items: BrokenItems;
  /** [squares] pieces, after what each find counts */
  readonly counts: Float64Array;
  /** finds used, and those left out with no weight, no pot vessel or no square */
  readonly finds: number;
  readonly leftOut: number;
  readonly pots: number;
}

/** Whether a value speaks of breakage. */
export const isBreakage = (value: Parameters['value']): value is 'mean_sherd_weight' | 'sherds_per_vessel' =>
  value === 'mean_sherd_weight' || value === 'sherds_per_vessel';

/**
 * Gathers sherds by pot and square from the register, finds known by their square only included.
 * @throws Problem bad-parameter with count_unit other than find and piece, cannot-answer when no sherd can be used
 */
export function sherdsBySquare(sample: Sample, lattice: SquareLattice, own: Parameters): Sherds {
  const unit = sample.counting?.unit ?? 'find';
  if (unit === 'pot_vessel' || unit === 'weight') {
    throw new Problem('bad-parameter', `value = ${own.value} counts sherds by itself; leave count_unit = ${unit} out`, {
      value: own.value,
      count_unit: unit,
    });
  }
  const { counted } = lattice;
  const { squares, local, ground, origin } = counted;
  const of = {
    squares,
    local,
    origin,
    pooled: ground,
    bySeason: local.seasons.map((season) => groundBySquare(local, squares, season)),
  };
  const entries = entriesOf(of);
  const { tile } = placeEntries(entries, of);
  const byWeight = own.value === 'mean_sherd_weight';
  const items = new Map<string, { tile: number; pot: string; classCode: number; amount: number; sherds: number }>();
  let finds = 0;
  entries.find.forEach((find, i) => {
    const vessel = entries.potVessel[i];
    const sherds = Number.isNaN(entries.pieces[i]) ? 1 : entries.pieces[i];
    const grams = entries.weightG[i];
    if (tile[i] < 0 || !(sherds > 0) || (byWeight ? !(grams > 0) : vessel === null)) return;
    finds++;
    const pot = vessel === null ? `find ${find}` : `pot ${vessel}`;
    const key = JSON.stringify([tile[i], pot]);
    const item = items.get(key) ?? { tile: tile[i], pot, classCode: entries.classCode[i], amount: 0, sherds: 0 };
    item.amount += byWeight ? grams : sherds;
    item.sherds += sherds;
    items.set(key, item);
  });
  const list = [...items.values()];
  const narrowed = narrowedLattice(lattice, new Set(list.map((item) => item.tile)), own);
  const squareOf = new Map(narrowed.tiles.map((t, i) => [t, i]));
  const used = list.filter((item) => squareOf.has(item.tile));
  if (used.length === 0) {
    throw new Problem(
      'cannot-answer',
      byWeight
        ? `value = mean_sherd_weight needs finds with weight_g in squares side by side, and of ${entries.find.length} finds chosen there are none`
        : `value = sherds_per_vessel needs finds with pot_vessel in squares side by side, and of ${entries.find.length} finds chosen there are none`,
      { value: own.value },
    );
  }
  const names = new Map([...new Set(used.map((item) => item.pot))].map((pot, k) => [pot, k]));
  const counts = new Float64Array(narrowed.tiles.length);
  for (const item of used) counts[squareOf.get(item.tile) ?? 0] += item.sherds;
  return {
    lattice: narrowed,
    items: {
      square: Int32Array.from(used, (item) => squareOf.get(item.tile) ?? 0),
      amount: Float64Array.from(used, (item) => item.amount),
      parts: Float64Array.from(used, (item) => (byWeight ? item.sherds : 1)),
      pot: Int32Array.from(used, (item) => names.get(item.pot) ?? 0),
      classCode: Int32Array.from(used, (item) => item.classCode),
    },
    counts,
    finds,
    leftOut: entries.find.length - finds,
    pots: [...names.keys()].filter((pot) => pot.startsWith('pot ')).length,
  };
}
