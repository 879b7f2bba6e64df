import { tellingStride } from './blocks.js';
import { randomStream } from './random.js';

/** Groups to be drawn from a crowd: how many of each. */
export interface LabelDraw {
  /** members of each group; at most the crowd */
  readonly sizes: readonly number[];
  readonly count: number;
  readonly seed: number;
  readonly progress?: (share: number) => void;
}

/**
 * Sums of values over groups drawn at random from a crowd without replacement: what a class would show if its name had
 * been dealt out among all finds. Groups of one draw do not overlap while the crowd lasts.
 *
 * @param values  lists of N values of the crowd
 * @returns       for each list [count × groups] sums, one draw a row
 */
export function randomlyLabelledSums(values: readonly Float64Array[], draw: LabelDraw): Float64Array[] {
  const crowd = values[0].length;
  const groups = draw.sizes.length;
  const starting = Uint32Array.from({ length: crowd }, (_, i) => i);
  const place = new Uint32Array(crowd);
  const out = values.map(() => new Float64Array(draw.count * groups));
  const stride = tellingStride(draw.count, crowd);
  for (let s = 0; s < draw.count; s++) {
    if (draw.progress && s % stride === 0) draw.progress(s / draw.count);
    const random = randomStream(draw.seed, s);
    place.set(starting);
    let at = 0;
    for (let g = 0; g < groups; g++) {
      const size = Math.min(draw.sizes[g], crowd);
      if (at + size > crowd) at = 0;
      for (let t = 0; t < size; t++, at++) {
        const j = at + random.below(crowd - at);
        const drawn = place[j];
        place[j] = place[at];
        place[at] = drawn;
        for (let k = 0; k < values.length; k++) out[k][s * groups + g] += values[k][drawn];
      }
    }
  }
  return out;
}
