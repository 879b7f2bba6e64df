import { groundBySquare } from '../../domain/counting-squares.js';
import { type SquareGround, squareGround } from '../../domain/register-squares.js';
import type { DugArea, Sample } from '../../domain/sample.js';
import { type SeasonSquare, type SeasonSquares, squaresDugBySeason } from '../../domain/season-squares.js';
import { intersection, union } from '../../math/overlay.js';
import type { Region } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import type { Parameters } from './schemas.js';

/** How ground was dug: with what tool, through what mesh; null = not stated. */
export interface DugWith {
  readonly tool: string | null;
  readonly meshMm: number | null;
}

/** One season with the ground it dug. */
export interface ComparedSeason {
  /** 1-based code in the sample */
  readonly code: number;
  readonly name: string;
  /** numbers of its squares among all season squares */
  readonly squares: readonly number[];
  readonly dugM2: number;
  /** its ground inside the window, metres from the local origin */
  readonly window: Region;
  readonly dugWith: readonly DugWith[];
}

/** Squares and ground of all seasons compared. */
export interface SeasonGround extends SeasonSquares {
  readonly ground: SquareGround;
  readonly seasons: readonly ComparedSeason[];
  /** [season squares] how most of the square was dug */
  readonly dugWith: readonly DugWith[];
  /** true: the ground does not say which season dug it, and counts for every season */
  readonly isOneWindow: boolean;
}

/** so many seasons make 276 pairs; more would be a study of its own */
const mostSeasons = 24;

/** The seasons chosen that dug ground, in the order of the site. @throws Problem too-much-work */
export function seasonGround(sample: Sample, own: Parameters): SeasonGround {
  const ground = squareGround(sample, own.square_m);
  const found = squaresDugBySeason(ground);
  const { local } = ground;
  const seasons = local.seasons.flatMap((name, s): ComparedSeason[] => {
    const squares = found.seasonSquares.flatMap((square, k) => (square.season === s + 1 ? [k] : []));
    const areas = local.dug.filter((area) => area.season === name || area.season === '');
    if (squares.length === 0 || areas.length === 0) return [];
    return [
      {
        code: s + 1,
        name,
        squares,
        dugM2: squares.reduce((sum, k) => sum + found.seasonSquares[k].dugM2, 0),
        window: intersection(union(areas.map((area) => area.region)), local.window),
        dugWith: differentWays(areas),
      },
    ];
  });
  if (seasons.length > mostSeasons) {
    throw new Problem(
      'too-much-work',
      `${seasons.length} seasons make ${(seasons.length * (seasons.length - 1)) / 2} pairs; at most ${mostSeasons} seasons are compared in one run: choose some with the input season`,
      { seasons: seasons.length },
    );
  }
  return {
    ...found,
    ground,
    seasons,
    dugWith: waysOfSquares(ground, found.seasonSquares),
    isOneWindow: local.dug.length > 0 && local.dug.every((area) => area.season === ''),
  };
}

/** How ground was dug, in words. */
export function wayText({ tool, meshMm }: DugWith): string {
  return `${tool ?? 'tool not stated'}, ${meshMm === null ? 'mesh not stated' : `${meshMm} mm mesh`}`;
}

const keyOf = ({ tool, meshMm }: DugWith) => JSON.stringify([tool, meshMm]);

function differentWays(areas: readonly DugArea[]): DugWith[] {
  return [...new Map(areas.map(({ tool, meshMm }) => [keyOf({ tool, meshMm }), { tool, meshMm }])).values()];
}

/** The way most of each square was dug in its season. */
function waysOfSquares(ground: SquareGround, squares: readonly SeasonSquare[]): DugWith[] {
  const { local } = ground;
  const ways = local.seasons.map((name) => {
    const areas = local.dug.filter((area) => area.season === name || area.season === '');
    const different = differentWays(areas);
    return different.map((way) => ({
      way,
      areaM2:
        different.length === 1
          ? null
          : groundBySquare({ ...local, dug: areas.filter((area) => keyOf(area) === keyOf(way)) }, ground.squares, name)
              .areaM2,
    }));
  });
  return squares.map(({ season, tile }) => {
    const own = ways[season - 1] ?? [];
    const most = own.reduce<(typeof own)[number] | null>(
      (best, one) => (best === null || (one.areaM2?.[tile] ?? 0) > (best.areaM2?.[tile] ?? 0) ? one : best),
      null,
    );
    return most?.way ?? { tool: null, meshMm: null };
  });
}

/** Squares that two seasons both dug, as numbers of their season squares. */
export function sharedSquares(
  { seasonSquares, seasonSquareOf }: SeasonSquares,
  first: ComparedSeason,
  second: ComparedSeason,
): { readonly first: number; readonly second: number }[] {
  return first.squares.flatMap((k) => {
    const other = seasonSquareOf(second.code, seasonSquares[k].tile);
    const isDug = other >= 0 && seasonSquares[k].dugM2 > 0 && seasonSquares[other].dugM2 > 0;
    return isDug ? [{ first: k, second: other }] : [];
  });
}
