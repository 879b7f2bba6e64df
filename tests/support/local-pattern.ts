import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Region, regionArea, regionBox, shiftRegion } from '../../src/math/rings.js';
import { readReference } from './kernel-reference.js';

/** A reference pattern moved to its window's lower-left corner, as the analyses do before any arithmetic. */
export function localPattern<Expected>(method: string, pattern: string) {
  const { expected, xy, window, isRectangle } = readReference<Expected>(method, pattern);
  const [west, south] = regionBox(window);
  const local: Region = shiftRegion(window, west, south);
  return {
    expected,
    xy: xy.map((v, i) => v - (i % 2 === 0 ? west : south)),
    window: local,
    areaM2: regionArea(local),
    isRectangle,
  };
}

/** Names of the points' types in a reference file with two or more types. */
export function markNames(method: string, pattern: string): string[] {
  const folder = join(import.meta.dirname, '../reference', pattern === 'site_a' ? '' : 'gpl');
  const file = JSON.parse(readFileSync(join(folder, `${method}_${pattern}.json`), 'utf8')) as {
    input: { marks: string[] };
  };
  return file.input.marks;
}

/** The points of one type. xy [2n] → [2k]. */
export function pointsOf(xy: Float64Array, marks: readonly string[], name: string): Float64Array {
  return xy.filter((_, i) => marks[i >> 1] === name);
}

/** An invented trench: an L with an undug square in it. */
export const trench: Region = {
  rings: [Float64Array.of(0, 0, 12, 0, 12, 5, 7, 5, 7, 8, 0, 8), Float64Array.of(3, 2, 3, 3, 5, 3, 5, 2)],
};
