import type { Sample } from '../../src/domain/sample.js';
import { randomStream } from '../../src/math/random.js';
import type { Region } from '../../src/math/rings.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { sampleOf } from './sample-of.js';

/** x, y of each point. flat [2n] */
export const pairsOf = (flat: Float64Array) =>
  Array.from({ length: flat.length / 2 }, (_, i) => [flat[2 * i], flat[2 * i + 1]] as const);

/** [2n] seeded points, uniform in a window. */
export function scatterIn(window: Region, n: number, seed: number): Float64Array {
  const xy = new Float64Array(2 * n);
  uniformPoints(window)(xy, randomStream(seed, 0));
  return xy;
}

/** A sample with classes by name. */
export function classed(
  xy: Float64Array,
  window: Region,
  names: readonly string[],
  more: Partial<Sample> = {},
): Sample {
  const classes = [...new Set(names)];
  return sampleOf(pairsOf(xy), window, {
    classes,
    classCode: Uint32Array.from(names, (name) => classes.indexOf(name) + 1),
    ...more,
  });
}
