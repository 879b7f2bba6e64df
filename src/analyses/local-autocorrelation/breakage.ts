import { benjaminiHochberg, holm } from '../../math/false-discovery.js';
import { moranI } from '../../math/lattice-autocorrelation.js';
import { rankProbability, simulate } from '../../math/monte-carlo.js';
import { shuffle } from '../../math/random.js';
import type { SquareLinks } from '../../math/square-links.js';

/** Sherds by square: what lies of one pot in one square is one item, a sherd of no known pot is one by itself. All [k]. */
export interface BrokenItems {
  /** 0-based square */
  readonly square: Int32Array;
  /** grams, or sherds */
  readonly amount: Float64Array;
  /** sherds the grams belong to, or 1 for the pot, above 0 */
  readonly parts: Float64Array;
  /** items with the same number are of one pot */
  readonly pot: Int32Array;
  /** pots trade places only with pots of their class */
  readonly classCode: Int32Array;
}

/** Whether breakage differs from place to place, pots kept whole. */
export interface Breakage {
  /** [n] amount over parts of each square */
  readonly values: Float64Array;
  /** over all squares together */
  readonly mean: number;
  readonly units: number;
  /** pots whose like, by class and number of squares, is no other: they stay where they are */
  readonly fixed: number;
  /** Σ parts (value − mean)² / Σ parts, over the mean squared: how much squares differ */
  readonly spread: number;
  readonly spreadExpected: number | null;
  readonly pSpread: number | null;
  /** two-sided p of Moran's I by the same dealing; null where I does not exist */
  readonly pMoran: number | null;
  /** [n] two-sided p of each square; NaN without dealings */
  readonly pSquare: Float64Array;
  readonly pFdr: Float64Array;
  readonly pHolm: Float64Array;
}

/**
 * Is breakage worse in one place? Whole pots, and sherds of no known pot, trade places with others of their class that
 * lie in as many squares; the sherds of a square are then weighed, or counted by pot, again.
 *
 * Small sherds may be washed together or missed by a coarse sieve as well as broken on the spot.
 *
 * @param links  squares that have a value, [n]
 * @see Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses, doi:10.1007/b138696
 */
export function breakageOf(
  items: BrokenItems,
  links: SquareLinks,
  plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void },
): Breakage {
  const { n } = links;
  const k = items.square.length;
  const still = Uint32Array.from({ length: k }, (_, i) => i);
  const alike = alikePots(items);
  const sums = { amount: new Float64Array(n), parts: new Float64Array(n) };
  const measured = (giver: Uint32Array) => valuesOf(items, giver, sums);
  const total = items.amount.reduce((sum, v) => sum + v, 0);
  const mean = total / items.parts.reduce((sum, v) => sum + v, 0);
  const spreadOf = (values: Float64Array) => {
    let sum = 0;
    let parts = 0;
    for (let i = 0; i < n; i++) {
      sum += sums.parts[i] * (values[i] / mean - 1) ** 2;
      parts += sums.parts[i];
    }
    return sum / parts;
  };
  const values = measured(still).slice();
  const spread = spreadOf(values);
  const moran = moranI(values, links)?.value ?? null;
  const giver = new Uint32Array(k);
  const high = new Uint32Array(n);
  const low = new Uint32Array(n);
  // the same sum in another order may differ in the last bits: equal values must tie
  const slack = 1e-11 * Math.abs(mean);
  const dealt = simulate(plan, (random) => {
    giver.set(still);
    for (const pots of alike) {
      const order = Uint32Array.from(pots.keys());
      shuffle(order, random);
      pots.forEach((pot, p) => {
        pot.forEach((place, j) => {
          giver[place] = pots[order[p]][j];
        });
      });
    }
    const found = measured(giver);
    for (let i = 0; i < n; i++) {
      if (found[i] >= values[i] - slack) high[i]++;
      if (found[i] <= values[i] + slack) low[i]++;
    }
    return { spread: spreadOf(found), moran: moranI(found, links)?.value ?? Number.NaN };
  });
  const rounded = (v: number) => Number(v.toPrecision(11));
  const m = dealt.length;
  const morans = dealt.map((one) => one.moran).filter((v) => !Number.isNaN(v));
  const pSquare = Float64Array.from(values, (_, i) =>
    m === 0 ? Number.NaN : Math.min(1, (2 * (1 + Math.min(high[i], low[i]))) / (m + 1)),
  );
  const movable = new Set(alike.flatMap((pots) => pots.flatMap((pot) => pot.map((place) => items.pot[place]))));
  const units = new Set(items.pot).size;
  return {
    values,
    mean,
    units,
    fixed: units - movable.size,
    spread,
    spreadExpected: m === 0 ? null : dealt.reduce((sum, one) => sum + one.spread / m, 0),
    pSpread:
      m === 0
        ? null
        : rankProbability(
            rounded(spread),
            dealt.map((one) => rounded(one.spread)),
          ).upper,
    pMoran:
      moran === null || morans.length === 0 ? null : rankProbability(rounded(moran), morans.map(rounded)).twoSided,
    pSquare,
    pFdr: benjaminiHochberg(pSquare),
    pHolm: holm(pSquare),
  };
}

/** Items of pots that may trade places: of one class and in as many squares; those alone of their kind are left out. */
function alikePots({ pot, classCode }: BrokenItems): number[][][] {
  const pots = new Map<number, number[]>();
  pot.forEach((name, i) => {
    const own = pots.get(name);
    if (own) own.push(i);
    else pots.set(name, [i]);
  });
  const kinds = new Map<string, number[][]>();
  for (const places of pots.values()) {
    const kind = `${classCode[places[0]]} ${places.length}`;
    const own = kinds.get(kind);
    if (own) own.push(places);
    else kinds.set(kind, [places]);
  }
  return [...kinds.values()].filter((own) => own.length > 1);
}

function valuesOf(
  { square, amount, parts }: BrokenItems,
  giver: Uint32Array,
  sums: { readonly amount: Float64Array; readonly parts: Float64Array },
): Float64Array {
  sums.amount.fill(0);
  sums.parts.fill(0);
  for (let i = 0; i < square.length; i++) {
    sums.amount[square[i]] += amount[giver[i]];
    sums.parts[square[i]] += parts[giver[i]];
  }
  return sums.amount.map((v, i) => v / sums.parts[i]);
}
