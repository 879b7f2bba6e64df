import type { Sample } from '../domain/sample.js';
import { normalDeviate, type RandomStream } from '../math/random.js';
import { insideEvenOdd } from '../math/rings.js';
import { uniformPoints } from '../math/uniform-points.js';

/** finds of one planted heap, and its standard deviation in metres */
const heapSize = 5;
const heapSpreadM = 0.2;

/** The same dig with its finds at other places, none known by an area only; squares are those they come to lie in. */
export const movedTo = (sample: Sample, xy: Float64Array): Sample => ({
  ...sample,
  xy,
  areas: [],
  detail: { ...sample.detail, square: new Array<null>(xy.length / 2).fill(null) },
});

/** Every find anywhere in the window, each spot as likely as any other. */
export function uniformFinds(sample: Sample, random: RandomStream): Sample {
  const xy = new Float64Array(sample.xy.length);
  uniformPoints(sample.window)(xy, random);
  return movedTo(sample, xy);
}

/**
 * Finds at random, a share of them in heaps of five about 0.2 m wide.
 * @param share  of the finds, 0 to 1
 */
export function heapedFinds(sample: Sample, share: number, random: RandomStream): Sample {
  const { xy } = uniformFinds(sample, random);
  const heaped = Math.round((share * xy.length) / 2);
  for (let i = 0; i < heaped; i++) {
    const first = i - (i % heapSize);
    if (i === first) continue;
    for (;;) {
      const x = xy[2 * first] + heapSpreadM * normalDeviate(random);
      const y = xy[2 * first + 1] + heapSpreadM * normalDeviate(random);
      if (!insideEvenOdd(sample.window, x, y)) continue;
      xy[2 * i] = x;
      xy[2 * i + 1] = y;
      break;
    }
  }
  return movedTo(sample, xy);
}

/** Strengths of heaping, as shares of the finds. */
export const heapShares = [0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1] as const;
