import type { CountedSample } from '../../domain/counted-sample.js';
import { boxSquares, type CountingSquares, evenSquares, gridSquares } from '../../domain/counting-squares.js';
import type { Sample } from '../../domain/sample.js';
import { blockSums } from '../../math/quadrats.js';
import type { Box } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import type { Parameters } from './schemas.js';

/** The tiles asked for. @throws Problem bad-parameter when they do not fit the sample */
export function chooseSquares(sample: Sample, own: Parameters, box: Box): CountingSquares {
  const { block_m: blockM, columns, rows } = own;
  if (sample.grid !== null) {
    if (columns !== null || rows !== null) {
      throw new Problem(
        'bad-parameter',
        'columns and rows divide a plain window; on a site the squares of the grid count: use block_m for larger blocks',
        { columns, rows },
      );
    }
    return gridSquares(sample.grid, box, blockM ?? sample.grid.node_spacing);
  }
  if (blockM !== null && (columns !== null || rows !== null)) {
    throw new Problem('bad-parameter', 'give either block_m or columns and rows, not both', { block_m: blockM });
  }
  if (blockM !== null) return evenSquares(box, blockM);
  if (columns !== null || rows !== null) return boxSquares(box, columns ?? rows ?? 1, rows ?? columns ?? 1);
  // about five finds a tile, tiles about as high as wide
  const n = sample.xy.length / 2 + sample.areas.length;
  const tiles = Math.min(Math.max(n / 5, 4), 3600);
  const shape = Math.sqrt((box[2] - box[0]) / (box[3] - box[1]));
  const across = Math.max(1, Math.round(Math.sqrt(tiles) * shape));
  return boxSquares(box, across, Math.max(1, Math.round(tiles / across)));
}

/** Tiles taken together in blocks. */
export interface BlockSize {
  /** tiles along a side */
  readonly size: number;
  readonly blockOf: Int32Array;
  readonly blocks: number;
  readonly exposureM2: Float64Array;
}

/**
 * Single tiles, blocks of 2 × 2, 4 × 4 … as long as four blocks have ground; on a site grid counted from its first
 * square, so that a block of the curve is a block of `block_m`.
 */
export function blockSizes({ squares, ground }: CountedSample): BlockSize[] {
  const { tiles, grid } = squares;
  const first = grid ? [Math.round(tiles.west / squares.widthM), Math.round(tiles.south / squares.heightM)] : [0, 0];
  const out: BlockSize[] = [];
  for (let size = 1; ; size *= 2) {
    const blockColumn = (c: number) => Math.floor((first[0] + c) / size) - Math.floor(first[0] / size);
    const blockRow = (r: number) => Math.floor((first[1] + r) / size) - Math.floor(first[1] / size);
    const across = blockColumn(tiles.columns - 1) + 1;
    const blocks = across * (blockRow(tiles.rows - 1) + 1);
    const blockOf = Int32Array.from(
      { length: tiles.columns * tiles.rows },
      (_, t) => blockRow(Math.floor(t / tiles.columns)) * across + blockColumn(t % tiles.columns),
    );
    const exposureM2 = blockSums(ground.exposureM2, blockOf, blocks);
    const withGround = exposureM2.reduce((sum, e) => sum + (e > 0 ? 1 : 0), 0);
    if (size > 1 && withGround < 4) return out;
    out.push({ size, blockOf, blocks, exposureM2 });
    if (blocks === 1) return out;
  }
}
