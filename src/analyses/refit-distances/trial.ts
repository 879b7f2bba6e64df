import type { Sample } from '../../domain/sample.js';
import { normalDeviate, type RandomStream } from '../../math/random.js';
import { insideEvenOdd } from '../../math/rings.js';
import type { Trial } from '../contract.js';
import { uniformFinds } from '../planting.js';
import type { Summary } from './schemas.js';

/** how far from its fellow a sherd is planted in either axis, standard deviation in metres */
const spreadM = 0.5;

/** Joins planted close together among finds at random. */
export const trial: Trial = {
  effect: 'share of the joins whose sherds lie within about 0.5 m',
  unit: '1',
  strengths: [0.05, 0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1],
  plant: joinedClose,
  probability: (summary) => (summary as Summary).p_two_sided,
};

function joinedClose(sample: Sample, share: number, random: RandomStream): Sample {
  const planted = uniformFinds(sample, random);
  const { xy } = planted;
  for (const { a, b } of sample.joins.slice(0, Math.round(share * sample.joins.length))) {
    for (;;) {
      const x = xy[2 * a] + spreadM * normalDeviate(random);
      const y = xy[2 * a + 1] + spreadM * normalDeviate(random);
      if (!insideEvenOdd(sample.window, x, y)) continue;
      xy[2 * b] = x;
      xy[2 * b + 1] = y;
      break;
    }
  }
  return planted;
}
