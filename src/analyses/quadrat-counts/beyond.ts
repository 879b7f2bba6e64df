import { type CountedSample, tilesWithGround } from '../../domain/counted-sample.js';
import { groundBySquare } from '../../domain/counting-squares.js';
import { squaresDugBySeason } from '../../domain/season-squares.js';
import { Problem } from '../../problems.js';
import type { CountedFinds } from './answer.js';
import type { Parameters, Summary } from './schemas.js';
import {
  fewestMeasured,
  type ThicknessTerm,
  type ThicknessTrend,
  thicknessTrend,
  timesPerStep,
} from './thickness-trend.js';

/** Tiles whose deposit was measured, and their counts after thickness. */
export interface BeyondThickness {
  readonly term: ThicknessTerm;
  readonly tiles: readonly number[];
  /** [tiles of the grid] metres; NaN = not known */
  readonly thicknessM: Float64Array;
  readonly trend: ThicknessTrend | null;
  readonly reason: string | null;
  readonly unmeasured: number;
}

/**
 * Counts beyond thickness, if asked for.
 * @throws Problem cannot-answer when no tile has top and bottom levelled in the season that dug it
 */
export function beyondThickness(counted: CountedSample, all: CountedFinds, own: Parameters): BeyondThickness | null {
  if (own.beyond === 'none') return null;
  const thicknessM = tileThickness(counted);
  const ground = tilesWithGround(counted).filter((tile) => counted.ground.exposureM2[tile] > 0);
  const tiles = ground.filter((tile) => thicknessM[tile] > 0);
  if (tiles.length === 0) {
    throw new Problem(
      'cannot-answer',
      `beyond = ${own.beyond} needs the thickness of the deposit, and in none of ${ground.length} dug squares are deposit_top and deposit_bottom both levelled in the season that dug it; give levels, or leave beyond out`,
      { beyond: own.beyond },
    );
  }
  const trend = thicknessTrend(
    {
      counts: Float64Array.from(tiles, (tile) => all.counts[tile]),
      exposure: Float64Array.from(tiles, (tile) => counted.ground.exposureM2[tile]),
      thickness: Float64Array.from(tiles, (tile) => thicknessM[tile]),
    },
    own.beyond,
  );
  const reason =
    trend !== null
      ? null
      : tiles.length < fewestMeasured
        ? `${tiles.length} squares of known thickness, at least ${fewestMeasured} are needed`
        : 'nothing was counted in squares of known thickness, or they are all as thick';
  return { term: own.beyond, tiles, thicknessM, trend, reason, unmeasured: ground.length - tiles.length };
}

/** Mean thickness of the deposit that was dug in each tile, over the seasons that dug and levelled it. */
function tileThickness({ local, squares, ground, origin }: CountedSample): Float64Array {
  const volume = new Float64Array(ground.areaM2.length);
  const dug = new Float64Array(ground.areaM2.length);
  const { seasonSquares } = squaresDugBySeason({
    squares,
    local,
    origin,
    pooled: ground,
    bySeason: local.seasons.map((season) => groundBySquare(local, squares, season)),
  });
  for (const { tile, dugM2, volumeM3 } of seasonSquares) {
    if (volumeM3 === null) continue;
    volume[tile] += volumeM3;
    dug[tile] += dugM2;
  }
  return volume.map((v, tile) => (dug[tile] > 0 ? v / dug[tile] : Number.NaN));
}

/** The part of the summary about thickness. */
export function beyondPart(counted: CountedSample, all: CountedFinds, beyond: BeyondThickness | null) {
  if (beyond === null) return null;
  const { trend, term, tiles } = beyond;
  const times = (coefficient: number | undefined) =>
    coefficient === undefined ? null : timesPerStep(coefficient, term);
  const standing = tiles.flatMap((tile, i) =>
    trend !== null && Math.abs(trend.residual[i]) > 2 ? [{ tile, i, residual: trend.residual[i] }] : [],
  );
  const part: NonNullable<Summary['beyond_thickness']> = {
    term,
    coefficient: trend?.coefficient ?? null,
    low: trend?.low ?? null,
    high: trend?.high ?? null,
    times_per_step: times(trend?.coefficient),
    times_low: times(trend?.low),
    times_high: times(trend?.high),
    p_two_sided: trend?.pTwoSided ?? null,
    reason: beyond.reason,
    squares: tiles.length,
    squares_without_thickness: beyond.unmeasured,
    dispersion_before: trend?.dispersionBefore ?? null,
    dispersion_after: trend?.dispersionAfter ?? null,
    standing_out: standing
      .sort((a, b) => Math.abs(b.residual) - Math.abs(a.residual))
      .map(({ tile, i, residual }) => ({
        square: counted.squares.label(tile),
        count: all.counts[tile],
        expected: trend?.expected[i] ?? 0,
        residual,
      })),
  };
  return part;
}
