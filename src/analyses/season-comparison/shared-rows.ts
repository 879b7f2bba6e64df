import type { Compared } from './answer.js';
import { sharedSquares } from './ground.js';

/** A square dug in both seasons of the pair that leads. */
export interface SharedRow {
  readonly square: string;
  readonly first: string;
  readonly second: string;
  readonly countFirst: number;
  readonly countSecond: number;
  readonly dugFirstM2: number;
  readonly dugSecondM2: number;
  readonly volumeFirstM3: number | null;
  readonly volumeSecondM3: number | null;
}

/** Squares dug in both seasons of the pair that leads, from the north; none without such a pair. */
export function sharedRows({ ground, counted, numbers }: Compared): SharedRow[] {
  const named = (name: string | null) => ground.seasons.find((season) => season.name === name);
  const [first, second] = [named(numbers.first), named(numbers.second)];
  if (!first || !second) return [];
  return sharedSquares(ground, first, second).map((pair) => {
    const [one, other] = [ground.seasonSquares[pair.first], ground.seasonSquares[pair.second]];
    return {
      square: ground.ground.squares.label(one.tile),
      first: first.name,
      second: second.name,
      countFirst: counted.bySquare[pair.first],
      countSecond: counted.bySquare[pair.second],
      dugFirstM2: one.dugM2,
      dugSecondM2: other.dugM2,
      volumeFirstM3: one.volumeM3,
      volumeSecondM3: other.volumeM3,
    };
  });
}
