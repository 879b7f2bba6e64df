import { type CountedSample, countSample, tileCounts, tilesWithGround, unitsOf } from '../../domain/counted-sample.js';
import { type CountingSquares, evenSquares, gridSquares } from '../../domain/counting-squares.js';
import type { Sample } from '../../domain/sample.js';
import type { Box } from '../../math/rings.js';
import { type SquareLinks, squareLinks } from '../../math/square-links.js';
import type { Parameters } from './schemas.js';

/** The squares of an answer: dug, and beside at least one other dug square. */
export interface SquareLattice {
  readonly counted: CountedSample;
  /** [n] tile of each square, row by row from the north */
  readonly tiles: readonly number[];
  readonly links: SquareLinks;
  /** [n] m² dug */
  readonly exposureM2: Float64Array;
  /** squares without a dug neighbour, left out */
  readonly alone: number;
}

/** Dug squares with their neighbours. @throws Problem bad-parameter when the block does not fit the grid */
export function squareLattice(sample: Sample, own: Parameters): SquareLattice {
  const counted = countSample(sample, (local, box) => chooseSquares(local, own, box));
  const dug = tilesWithGround(counted).filter((tile) => counted.ground.exposureM2[tile] > 0);
  return latticeOn(counted, dug, own);
}

/** The same with only some of its squares, those that have a value. @param kept  tiles */
export function narrowedLattice(lattice: SquareLattice, kept: ReadonlySet<number>, own: Parameters): SquareLattice {
  const narrowed = latticeOn(
    lattice.counted,
    lattice.tiles.filter((tile) => kept.has(tile)),
    own,
  );
  return { ...narrowed, alone: lattice.alone + narrowed.alone };
}

function latticeOn(counted: CountedSample, dug: readonly number[], own: Parameters): SquareLattice {
  const { columns } = counted.squares.tiles;
  const how = { contiguity: own.contiguity, style: own.weights };
  const linksOf = (tiles: readonly number[]) =>
    squareLinks(
      tiles.map((t) => t % columns),
      tiles.map((t) => Math.floor(t / columns)),
      how,
    );
  const { start } = linksOf(dug);
  const tiles = dug.filter((_, i) => start[i + 1] > start[i]);
  return {
    counted,
    tiles,
    links: linksOf(tiles),
    exposureM2: Float64Array.from(tiles, (tile) => counted.ground.exposureM2[tile]),
    alone: dug.length - tiles.length,
  };
}

function chooseSquares(sample: Sample, own: Parameters, box: Box): CountingSquares {
  if (sample.grid !== null) return gridSquares(sample.grid, box, own.block_m ?? sample.grid.node_spacing);
  const longer = Math.max(box[2] - box[0], box[3] - box[1]);
  const shorter = Math.min(box[2] - box[0], box[3] - box[1]);
  return evenSquares(box, own.block_m ?? (longer > 200 || shorter < 2 ? longer / 20 : 1));
}

/** Counts of all finds or of one class in the squares of the lattice. @param classCode null = all */
export function latticeCounts(lattice: SquareLattice, classCode: number | null): { n: number; counts: Float64Array } {
  const units = unitsOf(lattice.counted, classCode);
  const counts = tileCounts(units, lattice.counted.ground.areaM2.length);
  return { n: units.tile.length, counts: Float64Array.from(lattice.tiles, (tile) => counts[tile]) };
}
