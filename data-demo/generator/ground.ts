import type { RandomStream } from '../../src/math/random.js';
import { dugFractionOf, dugUnion, type SeasonId, type Square, seasonsOf } from './areas.js';
import { between, normal, rounded } from './deviates.js';
import type { Point } from './grids.js';

/** A place where something was found, metres of the first grid to the millimetre, and the season that found it. */
export interface Spot {
  readonly x: number;
  readonly y: number;
  readonly season: SeasonId;
}

/** What decides whether something lying at a place came into the register. */
export interface Recovery {
  /** share kept by the coarse sieve of the first season */
  readonly keptAt6mm?: number;
  /** as many in the half-dug squares as elsewhere: for what is planted uniform over the window itself */
  readonly wholeSquares?: true;
  /** further condition on the place */
  keep?(x: number, y: number, season: SeasonId): boolean;
}

/** How many were lost in the coarse sieve while finds were planted, by artefact class. */
export type SieveLosses = Map<string, number>;

/** Clear of the grid lines by this much, so that rounding and the re-laid grid never move a find to another square. */
const clearOfLines = 0.002;

/** The spot something lying here became, or null when it was never dug or never recovered. */
export function recovered(random: RandomStream, place: Point, recovery: Recovery, onLoss?: () => void): Spot | null {
  const x = rounded(place[0], 3);
  const y = rounded(place[1], 3);
  if (nearLine(x) || nearLine(y)) return null;
  const square: Square = [Math.floor(x), Math.floor(y)];
  const seasons = seasonsOf(square);
  if (seasons.length === 0) return null;
  if (!recovery.wholeSquares && random.next() >= dugFractionOf(square)) return null;
  const season = seasons.length === 1 ? seasons[0] : seasons[random.below(seasons.length)];
  if (recovery.keep && !recovery.keep(x, y, season)) return null;
  if (season === 'S1' && random.next() >= (recovery.keptAt6mm ?? 1)) {
    onLoss?.();
    return null;
  }
  return { x, y, season };
}

function nearLine(v: number): boolean {
  return Math.abs(v - Math.round(v)) < clearOfLines;
}

/** A given number of spots, drawn from a law of places until enough were recovered. */
export function plant(
  random: RandomStream,
  law: { readonly count: number; place(): Point; readonly recovery: Recovery; onLoss?: () => void },
): Spot[] {
  const spots: Spot[] = [];
  for (let tries = 0; spots.length < law.count; tries++) {
    if (tries > 400 * law.count + 20_000) throw new Error(`only ${spots.length} of ${law.count} could be planted`);
    const spot = recovered(random, law.place(), law.recovery, law.onLoss);
    if (spot) spots.push(spot);
  }
  return spots;
}

/** A place uniform over the dug area of all seasons. */
export function anywhereDug(random: RandomStream): Point {
  const [c, r] = dugUnion[random.below(dugUnion.length)];
  return [c + random.next(), r + random.next()];
}

/** A place of a round cluster. */
export function around(random: RandomStream, centre: Point, sigmaM: number): Point {
  return [centre[0] + sigmaM * normal(random), centre[1] + sigmaM * normal(random)];
}

/** Uniform along the ship, normal off the keelson. */
export function alongHull(
  random: RandomStream,
  law: { readonly along: readonly [number, number]; readonly off: readonly [number, number] },
): { along: number; off: number } {
  return { along: between(random, ...law.along), off: law.off[0] + law.off[1] * normal(random) };
}
