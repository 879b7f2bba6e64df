import { Problem } from '../problems.js';
import { naturalLog } from './elementary.js';
import type { RandomStream } from './random.js';
import { insideEvenOdd, type Region } from './rings.js';
import type { PointSampler } from './uniform-points.js';

/** Two independent standard normal numbers a call, from + − × ÷ √ and our own logarithm. @see Marsaglia & Bray 1964, doi:10.1137/1006063 */
export function normalPair(random: RandomStream): readonly [number, number] {
  for (;;) {
    const u = 2 * random.next() - 1;
    const v = 2 * random.next() - 1;
    const s = u * u + v * v;
    if (s >= 1 || s === 0) continue;
    const scale = Math.sqrt((-2 * naturalLog(s)) / s);
    return [u * scale, v * scale];
  }
}

const mostTries = 100_000;

/**
 * Scatters that follow a smoothed density of finds and have no other pattern: each point starts from a find drawn at
 * random and is moved by the kernel; what falls outside the window is drawn anew about the same find. The density is
 * the kernel estimate with edge correction at each find (Jones–Diggle).
 *
 * @param xy      [2n] finds, n ≥ 1, metres; left untouched
 * @param sigmaM  bandwidth: standard deviation of the Gaussian kernel, metres
 * @throws Problem cannot-answer, on drawing, when a find's kernel falls almost wholly outside the window
 * @see Silverman 1986, Density Estimation for Statistics and Data Analysis, §6.4
 */
export function smoothedScatter(xy: Float64Array, window: Region, sigmaM: number): PointSampler {
  const n = xy.length / 2;
  return (into, random) => {
    for (let k = 0; k < into.length; k += 2) {
      const i = random.below(n);
      let tries = 0;
      let x: number;
      let y: number;
      do {
        if (++tries > mostTries) {
          throw new Problem(
            'cannot-answer',
            `a bandwidth of ${Number(sigmaM.toPrecision(3))} m throws nearly every simulated find out of the window; ask for a smaller one`,
            { bandwidth: sigmaM },
          );
        }
        const [u, v] = normalPair(random);
        x = xy[2 * i] + sigmaM * u;
        y = xy[2 * i + 1] + sigmaM * v;
      } while (!insideEvenOdd(window, x, y));
      into[k] = x;
      into[k + 1] = y;
    }
  };
}
