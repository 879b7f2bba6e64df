import type { Sample } from '../../domain/sample.js';
import { normalDeviate, type RandomStream } from '../../math/random.js';
import { insideEvenOdd } from '../../math/rings.js';
import type { Trial } from '../contract.js';
import { uniformFinds } from '../planting.js';
import type { Summary } from './schemas.js';

/** standard deviation of the planted patch in either axis: wider than a square, so that neighbours share it */
const patchM = 1.5;

/** One rich patch planted in a random scatter. */
export const trial: Trial = {
  effect: 'share of the finds lying in one patch about 3 m wide',
  unit: '1',
  strengths: [0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 0.8, 1],
  plant: withPatch,
  // what is planted moves finds, not sherds: of breakage it tells nothing
  probability: (summary) => ((summary as Summary).breakage === null ? (summary as Summary).moran.p_permutation : null),
};

function withPatch(sample: Sample, share: number, random: RandomStream): Sample {
  const planted = uniformFinds(sample, random);
  const { xy } = planted;
  const members = Math.round((share * xy.length) / 2);
  for (let i = 1; i < members; i++) {
    for (;;) {
      const x = xy[0] + patchM * normalDeviate(random);
      const y = xy[1] + patchM * normalDeviate(random);
      if (!insideEvenOdd(sample.window, x, y)) continue;
      xy[2 * i] = x;
      xy[2 * i + 1] = y;
      break;
    }
  }
  return planted;
}
