import { dealtSquares, swappedSquares } from '../../math/dealt-counts.js';
import { holm } from '../../math/holm.js';
import { type Syrjala, syrjala } from '../../math/syrjala.js';
import { tileBox } from '../../math/tiles.js';
import type { CentreOnGround } from './centres.js';
import { type ComparedDepths, type DepthDifference, depthDifference } from './depths.js';
import { type ComparedSeason, type SeasonGround, sharedSquares } from './ground.js';
import type { PlacedSeason } from './places.js';
import { type CountsOnGround, dispersionOf, splitDispersion, type WidenedRatio, widenedRatio } from './rates.js';
import { type CentreShift, centreShift, dealtShift, resampledCentres } from './shift.js';
import { type Strata, strataOf } from './strata.js';
import { blockOf, type StreamBlocks } from './streams.js';
import type { CountedSeasons } from './units.js';

/** Squares dug in both seasons, below which neither Syrjala's test nor the headline leans on them. */
export const leastShared = 8;

/** Two seasons on the squares both dug. */
export interface SharedComparison {
  readonly squares: number;
  readonly n: readonly [number, number];
  readonly dugM2: readonly [number, number];
  readonly perM2: WidenedRatio;
  readonly p: number | null;
  readonly perM3: WidenedRatio | null;
  readonly shift: { readonly shiftM: number; readonly p: number | null } | null;
}

/** Everything said of two seasons. */
export interface SeasonPair {
  readonly first: ComparedSeason;
  readonly second: ComparedSeason;
  readonly n: readonly [number, number];
  readonly perM2: WidenedRatio;
  readonly p: number | null;
  readonly pHolm: number | null;
  readonly perM3: WidenedRatio | null;
  readonly pPerM3: number | null;
  /** null = no square was dug in both */
  readonly shared: SharedComparison | null;
  readonly syrjala: Syrjala | null;
  /** why there is no such test; null = there is */
  readonly syrjalaReason: string | null;
  readonly shift: CentreShift | null;
  readonly depth: DepthDifference | null;
  readonly strata: Strata;
}

/** What pairs are made of. */
export interface PairMaterial {
  readonly ground: SeasonGround;
  readonly counted: CountedSeasons;
  readonly places: readonly PlacedSeason[];
  readonly centres: readonly CentreOnGround[];
  readonly depths: ComparedDepths | null;
  /** places of the two seasons that were named, in that order; null = none were */
  readonly asked: readonly [number, number] | null;
  readonly plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void };
}

/** All pairs of seasons, the earlier one first unless named otherwise; p of the rates raised by Holm. */
export function seasonPairs(of: PairMaterial): SeasonPair[] {
  const { seasons } = of.ground;
  const { count, seed, progress } = of.plan;
  const resampled = of.places.map((own, s) =>
    resampledCentres(
      own.xy,
      Uint32Array.from(own.square, (square) => square + 1),
      {
        count,
        seed,
        first: blockOf('resampled_centres', s),
      },
    ),
  );
  const all = seasons.flatMap((_, a) => seasons.slice(a + 1).map((__, k) => [a, a + 1 + k] as const));
  const pairs = all.map(([a, b], k) => {
    progress(k / all.length);
    const isTurned = of.asked !== null && of.asked[0] === b && of.asked[1] === a;
    return comparedPair(of, isTurned ? [b, a] : [a, b], { number: k, resampled });
  });
  const raised = holm(pairs.map((pair) => pair.p));
  return pairs.map((pair, k) => ({ ...pair, pHolm: raised[k] }));
}

function comparedPair(
  of: PairMaterial,
  [a, b]: readonly [number, number],
  own: { readonly number: number; readonly resampled: readonly Float64Array[] },
): SeasonPair {
  const { ground, counted, places, centres, depths } = of;
  const pair = [ground.seasons[a], ground.seasons[b]] as const;
  const plan = (block: keyof StreamBlocks) => ({
    count: of.plan.count,
    seed: of.plan.seed,
    first: blockOf(block, own.number),
  });
  const areIndependent = counted.unit !== 'weight';
  const area = pair.map(({ squares }) => onGround(ground, counted, squares, 'm2')) as [CountsOnGround, CountsOnGround];
  const deposit = pair.map(({ squares }) => onGround(ground, counted, squares, 'm3')) as [
    CountsOnGround,
    CountsOnGround,
  ];
  const shared = sharedSquares(ground, ...pair);
  const hasDeposit = deposit.every(({ exposure }) => exposure.length > 0);
  const ratio = (sides: readonly [CountsOnGround, CountsOnGround]) =>
    widenedRatio(...sides, { dispersion: dispersionOf(sides), areIndependent });
  const both = shared.length === 0 ? null : sharedComparison(of, shared, plan);
  return {
    first: pair[0],
    second: pair[1],
    n: [sum(area[0].counts), sum(area[1].counts)],
    perM2: ratio(area),
    p: dealtOverSquares(area, plan('rates')),
    pHolm: null,
    perM3: hasDeposit ? ratio(deposit) : null,
    pPerM3: hasDeposit ? dealtOverSquares(deposit, plan('rates_of_deposit')) : null,
    shared: both && { ...both, shift: sharedShift(places, [a, b], { shared, plan: plan('shared_shift') }) },
    ...syrjalaOf(of, shared, plan('syrjala')),
    shift: centreShift(
      { place: centres[a], resampled: own.resampled[a] },
      { place: centres[b], resampled: own.resampled[b] },
    ),
    depth: depths && depthDifference(depths.seasons[a], depths.seasons[b], plan('resampled_depths')),
    strata: strataOf(ground, counted, pair),
  };
}

const sum = (values: readonly number[]) => values.reduce((total, v) => total + v, 0);

/** Counts of some season squares on their ground, or on their deposit where its thickness is known. */
export function onGround(
  { seasonSquares }: SeasonGround,
  counted: CountedSeasons,
  squares: readonly number[],
  unit: 'm2' | 'm3',
): CountsOnGround {
  const exposureOf = (k: number) => (unit === 'm2' ? seasonSquares[k].dugM2 : (seasonSquares[k].volumeM3 ?? 0));
  const used = squares.filter((k) => exposureOf(k) > 0);
  return { counts: used.map((k) => counted.bySquare[k]), exposure: used.map(exposureOf) };
}

/** p of unequal rates, the squares dealt out over the seasons. */
export function dealtOverSquares(
  sides: readonly CountsOnGround[],
  plan: { readonly count: number; readonly seed: number; readonly first: number },
): number | null {
  return dealtSquares(
    {
      counts: sides.flatMap((side) => side.counts),
      exposure: sides.flatMap((side) => side.exposure),
      group: Uint32Array.from(sides.flatMap((side, g) => side.counts.map(() => g))),
      groups: sides.length,
    },
    plan,
  );
}

type Shared = readonly { readonly first: number; readonly second: number }[];

function sharedComparison(
  { ground, counted }: PairMaterial,
  shared: Shared,
  plan: (block: keyof StreamBlocks) => { readonly count: number; readonly seed: number; readonly first: number },
): Omit<SharedComparison, 'shift'> {
  const areIndependent = counted.unit !== 'weight';
  const side = (of: Shared, which: 'first' | 'second', unit: 'm2' | 'm3') =>
    onGround(
      ground,
      counted,
      of.map((pair) => pair[which]),
      unit,
    );
  const [first, second] = [side(shared, 'first', 'm2'), side(shared, 'second', 'm2')];
  const { seasonSquares } = ground;
  const deep = shared.filter((pair) => seasonSquares[pair.first].volumeM3 && seasonSquares[pair.second].volumeM3);
  const [thick, thick2] = [side(deep, 'first', 'm3'), side(deep, 'second', 'm3')];
  return {
    squares: shared.length,
    n: [sum(first.counts), sum(second.counts)],
    dugM2: [sum(first.exposure), sum(second.exposure)],
    perM2: widenedRatio(first, second, { dispersion: splitDispersion(first, second), areIndependent }),
    p: swappedSquares(
      {
        first: first.counts,
        second: second.counts,
        exposureFirst: first.exposure,
        exposureSecond: second.exposure,
      },
      plan('swapped'),
    ),
    perM3:
      deep.length === 0
        ? null
        : widenedRatio(thick, thick2, { dispersion: splitDispersion(thick, thick2), areIndependent }),
  };
}

function sharedShift(
  places: readonly PlacedSeason[],
  [a, b]: readonly [number, number],
  of: { readonly shared: Shared; readonly plan: { count: number; seed: number; first: number } },
): SharedComparison['shift'] {
  const inShared = new Set(of.shared.flatMap(({ first, second }) => [first, second]));
  const rows = [a, b].flatMap((s, side) =>
    [...places[s].square.keys()].filter((i) => inShared.has(places[s].square[i])).map((i) => ({ s, side, i })),
  );
  return dealtShift(
    {
      xy: Float64Array.from(rows.flatMap(({ s, i }) => [places[s].xy[2 * i], places[s].xy[2 * i + 1]])),
      season: Uint8Array.from(rows, ({ side }) => side),
      group: rows.map(({ s, i }) => places[s].group[i]),
    },
    of.plan,
  );
}

function syrjalaOf(
  { ground, counted }: PairMaterial,
  shared: Shared,
  plan: { readonly count: number; readonly seed: number; readonly first: number },
): Pick<SeasonPair, 'syrjala' | 'syrjalaReason'> {
  if (shared.length < leastShared) {
    return {
      syrjala: null,
      syrjalaReason: `Syrjala’s test is not made on fewer than ${leastShared} squares dug in both seasons; there ${shared.length === 1 ? 'is 1' : `are ${shared.length === 0 ? 'none' : shared.length}`}.`,
    };
  }
  const { tiles } = ground.ground.squares;
  const density = (k: number) => counted.bySquare[k] / ground.seasonSquares[k].dugM2;
  const boxes = shared.map(({ first }) => tileBox(tiles, ground.seasonSquares[first].tile));
  const [first, second] = [shared.map((pair) => density(pair.first)), shared.map((pair) => density(pair.second))];
  const found = syrjala(
    {
      x: boxes.map(([west, , east]) => (west + east) / 2),
      y: boxes.map(([, south, , north]) => (south + north) / 2),
      first,
      second,
    },
    plan,
  );
  if (found) return { syrjala: found, syrjalaReason: null };
  return {
    syrjala: null,
    syrjalaReason:
      sum(first) > 0 && sum(second) > 0
        ? 'Syrjala’s test needs simulations: there are too many swaps to look at all.'
        : 'Syrjala’s test needs finds of both seasons in the squares dug in both.',
  };
}
