import type { Sample } from '../../domain/sample.js';
import { normalDeviate, type RandomStream, shuffle } from '../../math/random.js';
import { insideEvenOdd, regionBox } from '../../math/rings.js';
import type { Trial } from '../contract.js';
import { movedTo } from '../planting.js';
import type { Summary } from './schemas.js';

/** how far a find is laid beside its fellow in either axis, standard deviation as a share of the shorter side */
const besideShare = 0.02;
const mostBesideM = 0.15;

/** Class names dealt out over the finds, then some finds of the commonest class laid beside finds of the next. */
export const trial: Trial = {
  effect: 'share of the finds of the commonest class laid beside finds of the next commonest',
  unit: '1',
  strengths: [0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 0.8, 1],
  plant: besideEachOther,
  // allowing for all pairs: of several the answer leads with the strongest
  probability: (summary) => (summary as Summary).p_holm,
};

function besideEachOther(sample: Sample, share: number, random: RandomStream): Sample {
  const order = Uint32Array.from(sample.classCode.keys());
  shuffle(order, random);
  const classCode = Uint32Array.from(order, (i) => sample.classCode[i]);
  const sizes = new Map<number, number>();
  for (const code of classCode) if (code > 0) sizes.set(code, (sizes.get(code) ?? 0) + 1);
  const [first, second] = [...sizes.keys()].sort((a, b) => (sizes.get(b) ?? 0) - (sizes.get(a) ?? 0) || a - b);
  const xy = sample.xy.slice();
  const placesOf = (code: number) => [...classCode.keys()].filter((i) => classCode[i] === code);
  if (second !== undefined) {
    const movers = placesOf(first);
    const fellows = placesOf(second);
    const [west, south, east, north] = regionBox(sample.window);
    const spread = Math.min(mostBesideM, besideShare * Math.min(east - west, north - south));
    for (const i of movers.slice(0, Math.round(share * movers.length))) {
      const fellow = fellows[random.below(fellows.length)];
      for (;;) {
        const x = xy[2 * fellow] + spread * normalDeviate(random);
        const y = xy[2 * fellow + 1] + spread * normalDeviate(random);
        if (!insideEvenOdd(sample.window, x, y)) continue;
        xy[2 * i] = x;
        xy[2 * i + 1] = y;
        break;
      }
    }
  }
  return { ...movedTo(sample, xy), classCode };
}
