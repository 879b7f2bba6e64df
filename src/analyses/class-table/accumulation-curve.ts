import { dealAccumulation, expectedAccumulation, type SquareClasses, unseenClasses } from '../../math/accumulation.js';
import { middleRange } from '../../math/middle-range.js';
import { simulate } from '../../math/monte-carlo.js';
import type { ClassBook } from './book.js';
import type { Summary } from './schemas.js';

/** points of the curve that are printed */
const mostPlaces = 60;

/** Which classes each dug square holds, all seasons together; a find of unknown class is no class. */
export function classesBySquare(book: ClassBook): SquareClasses {
  const { pooled } = book.ground;
  const tiles = [...pooled.areaM2.keys()].filter((tile) => pooled.areaM2[tile] > 0);
  const squareOf = new Map(tiles.map((tile, k) => [tile, k]));
  const held = tiles.map(() => new Set<number>());
  for (const { tile, classCode } of book.cells) {
    const square = squareOf.get(tile);
    if (square !== undefined && classCode > 0) held[square].add(classCode);
  }
  const codes = [...new Set(held.flatMap((set) => [...set]))].sort((a, b) => a - b);
  const numberOf = new Map(codes.map((code, k) => [code, k]));
  const start = new Uint32Array(tiles.length + 1);
  held.forEach((set, k) => {
    start[k + 1] = start[k] + set.size;
  });
  return {
    squares: tiles.length,
    classCount: codes.length,
    start,
    classes: Uint32Array.from(
      held.flatMap((set) => [...set].sort((a, b) => a - b)),
      (code) => numberOf.get(code) ?? 0,
    ),
  };
}

/** How many classes turn up as more squares are looked at: the exact mean, and a band of random sequences. */
export function accumulationCurve(
  book: ClassBook,
  plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void },
): Summary['accumulation'] {
  const held = classesBySquare(book);
  const unseen = unseenClasses(held);
  if (unseen === null) return null;
  const exact = expectedAccumulation(held);
  const curves = simulate(plan, (random) => {
    const curve = new Float64Array(held.squares + 1);
    dealAccumulation(held, random, curve);
    return curve;
  });
  const count = Math.min(held.squares, mostPlaces);
  const places = [0, ...Array.from({ length: count }, (_, k) => Math.round(((k + 1) * held.squares) / count))];
  const bands = places.map((h) => middleRange(curves.map((curve) => curve[h])));
  return {
    squares: places,
    mean: places.map((h) => exact[h]),
    low: bands.map((band) => band.low),
    high: bands.map((band) => band.high),
    classes: held.classCount,
    once: unseen.once,
    estimate: unseen.estimate,
    estimate_low: unseen.low,
    estimate_high: unseen.high,
    // the chance that one more square of the same ground brings a class not met before
    next_square: unseen.once / held.squares,
  };
}
