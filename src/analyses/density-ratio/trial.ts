import type { Sample } from '../../domain/sample.js';
import { normalDeviate, type RandomStream } from '../../math/random.js';
import { insideEvenOdd } from '../../math/rings.js';
import type { Trial } from '../contract.js';
import { movedTo, uniformFinds } from '../planting.js';
import type { Summary } from './schemas.js';

/** standard deviation of a planted gathering, metres */
const gatheringM = 0.5;

/** Gatherings planted in a random scatter: a spot of its own for every class of every season. */
export const trial: Trial = {
  effect: 'share of the finds of each class and season gathered within 0.5 m of a spot of their own',
  unit: '1',
  strengths: [0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1],
  plant: gatheredFinds,
  probability: (summary) => (summary as Summary).global?.p ?? null,
};

function gatheredFinds(sample: Sample, share: number, random: RandomStream): Sample {
  const { xy } = uniformFinds(sample, random);
  const spots = new Map<string, { readonly first: number; readonly members: number[] }>();
  sample.classCode.forEach((code, i) => {
    const key = `${code} ${sample.seasonCode[i]}`;
    const spot = spots.get(key);
    // the first find of a kind lies anywhere and is the spot of the others
    if (spot) spot.members.push(i);
    else spots.set(key, { first: i, members: [] });
  });
  for (const { first, members } of spots.values()) {
    for (const i of members.slice(0, Math.round(share * members.length))) {
      for (;;) {
        const x = xy[2 * first] + gatheringM * normalDeviate(random);
        const y = xy[2 * first + 1] + gatheringM * normalDeviate(random);
        if (!insideEvenOdd(sample.window, x, y)) continue;
        xy[2 * i] = x;
        xy[2 * i + 1] = y;
        break;
      }
    }
  }
  return movedTo(sample, xy);
}
