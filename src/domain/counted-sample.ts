import type { DugGround } from '../math/dug-ground.js';
import { type Box, regionBox, shiftRegion } from '../math/rings.js';
import { type CountingSquares, type FindsBySquare, findsBySquare, groundBySquare } from './counting-squares.js';
import type { Sample } from './sample.js';

/** A sample counted by tiles. */
export interface CountedSample {
  readonly squares: CountingSquares;
  readonly ground: DugGround;
  readonly finds: FindsBySquare;
  /** what was subtracted from all coordinates */
  readonly origin: readonly [number, number];
  /** the sample in metres from that origin */
  readonly local: Sample;
}

/**
 * Counts the finds of a sample by squares.
 * @param choose  the squares for a sample, in metres from its local origin
 * @throws Problem whatever `choose` refuses
 */
export function countSample(sample: Sample, choose: (local: Sample, box: Box) => CountingSquares): CountedSample {
  const { local, origin } = localSample(sample);
  const squares = choose(local, regionBox(local.window));
  const ground = groundBySquare(local, squares);
  return { squares, ground, finds: findsBySquare(local, squares, ground.areaM2), origin, local };
}

/** Plain files may lie millions of metres off: they are counted from the window's lower-left corner. */
export function localSample(sample: Sample): { local: Sample; origin: readonly [number, number] } {
  if (sample.grid !== null) return { local: sample, origin: [0, 0] };
  const [west, south] = regionBox(sample.window);
  return {
    origin: [west, south],
    local: {
      ...sample,
      xy: sample.xy.map((v, i) => v - (i % 2 === 0 ? west : south)),
      window: shiftRegion(sample.window, west, south),
      areas: sample.areas.map((area) => ({ ...area, region: shiftRegion(area.region, west, south) })),
      dug: sample.dug.map((dug) => ({ ...dug, region: shiftRegion(dug.region, west, south) })),
      levels: sample.levels && {
        ...sample.levels,
        x: sample.levels.x.map((v) => v - west),
        y: sample.levels.y.map((v) => v - south),
      },
    },
  };
}

/** One find, concretion or pot vessel as it falls into tiles. */
export interface CountedUnits {
  /** [m] tile of each; −1 = none */
  readonly tile: Int32Array;
  /** [m] what each counts */
  readonly weight: Float64Array;
}

/** Positions and finds known by an area, of one class or of all. */
export function unitsOf(counted: CountedSample, classCode: number | null): CountedUnits {
  const { local, finds } = counted;
  const tile: number[] = [];
  const weight: number[] = [];
  finds.tile.forEach((t, i) => {
    if (classCode !== null && local.classCode[i] !== classCode) return;
    tile.push(t);
    weight.push(local.weight[i]);
  });
  local.areas.forEach((area, k) => {
    if (classCode !== null && area.classCode !== classCode) return;
    tile.push(finds.areaTile[k]);
    weight.push(area.weight);
  });
  return { tile: Int32Array.from(tile), weight: Float64Array.from(weight) };
}

/** Sums of what the units count, by tile. */
export function tileCounts(units: CountedUnits, tiles: number): Float64Array {
  const counts = new Float64Array(tiles);
  units.tile.forEach((tile, i) => {
    if (tile >= 0) counts[tile] += units.weight[i];
  });
  return counts;
}

/** Codes of the classes that occur, in the order of the site; 0, unknown, last. */
export function presentClasses(sample: Sample): number[] {
  const found = new Set<number>([...sample.classCode, ...sample.areas.map((area) => area.classCode)]);
  return [...found].sort((a, b) => (a === 0 ? 1 : b === 0 ? -1 : a - b));
}

/** Tiles with ground, row by row from the north. */
export function tilesWithGround({ squares, ground }: CountedSample): number[] {
  const { columns, rows } = squares.tiles;
  return Array.from({ length: columns * rows }, (_, i) => {
    const row = rows - 1 - Math.floor(i / columns);
    return row * columns + (i % columns);
  }).filter((tile) => ground.areaM2[tile] > 0);
}
