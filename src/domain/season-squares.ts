import type { SquareGround } from './register-squares.js';
import { squareThickness } from './square-thickness.js';

/** A square dug in a season. */
export interface SeasonSquare {
  /** 1-based code of the season; 0 where the sample knows no seasons */
  readonly season: number;
  readonly tile: number;
  readonly dugM2: number;
  /** m³ of deposit; null = thickness not known */
  readonly volumeM3: number | null;
}

/** Squares dug, season by season, from the north. */
export interface SeasonSquares {
  readonly seasonSquares: readonly SeasonSquare[];
  /** number of the season square of a season (by its code) and tile; −1 = not dug */
  seasonSquareOf(season: number, tile: number): number;
}

/** The squares each season dug, with the ground and the deposit it dug there. */
export function squaresDugBySeason(ground: SquareGround): SeasonSquares {
  const { squares, bySeason, pooled, local } = ground;
  const { columns, rows } = squares.tiles;
  const seasonSquares: SeasonSquare[] = [];
  // plain files without seasons: all ground is one season's
  const seasons = local.seasons.length > 0 ? local.seasons : [''];
  const firstCode = local.seasons.length > 0 ? 1 : 0;
  const numbersOf = seasons.map((season, s) => {
    const { areaM2, exposureM2 } = bySeason[s] ?? pooled;
    const thickness = squareThickness(local, { season, tiles: squares.tiles, areaM2 });
    const numbers = new Int32Array(columns * rows).fill(-1);
    for (let row = rows - 1; row >= 0; row--) {
      for (let tile = row * columns; tile < (row + 1) * columns; tile++) {
        if (!(areaM2[tile] > 0)) continue;
        numbers[tile] = seasonSquares.length;
        const volume = thickness[tile] * exposureM2[tile];
        seasonSquares.push({
          season: s + firstCode,
          tile,
          dugM2: exposureM2[tile],
          volumeM3: volume > 0 ? volume : null,
        });
      }
    }
    return numbers;
  });
  return {
    seasonSquares,
    seasonSquareOf: (season, tile) => (tile < 0 ? -1 : (numbersOf[season - firstCode]?.[tile] ?? -1)),
  };
}
