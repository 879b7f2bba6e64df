import type { Sample } from '../../domain/sample.js';
import type { RandomStream } from '../../math/random.js';
import type { Trial } from '../contract.js';
import { movedTo } from '../planting.js';
import type { Summary } from './schemas.js';

/** Finds moved to one side of the ship, among all finds of the same seasons. */
export const trial: Trial = {
  effect: 'metres by which the finds lie to port of where names dealt out would put them',
  unit: 'm',
  strengths: [0.1, 0.25, 0.5, 0.75, 1, 1.5, 2, 3, 5, 8],
  plant: movedToPort,
  probability: (summary) => (summary as Summary).p_two_sided,
};

/** Names are dealt over the crowd; those who got one, and their places in the crowd, are moved. */
function movedToPort(sample: Sample, metres: number, random: RandomStream): Sample {
  const crowd = (sample.others.xy.length >= sample.xy.length ? sample.others.xy : sample.xy).slice();
  const n = sample.xy.length / 2;
  const pack = Uint32Array.from({ length: crowd.length / 2 }, (_, i) => i);
  const xy = new Float64Array(2 * n);
  const [portX, portY] = port(sample);
  for (let i = 0; i < n; i++) {
    const j = i + random.below(pack.length - i);
    [pack[i], pack[j]] = [pack[j], pack[i]];
    crowd[2 * pack[i]] += metres * portX;
    crowd[2 * pack[i] + 1] += metres * portY;
    xy[2 * i] = crowd[2 * pack[i]];
    xy[2 * i + 1] = crowd[2 * pack[i] + 1];
  }
  const classCode = sample.others.xy.length >= sample.xy.length ? sample.others.classCode : sample.classCode;
  return { ...movedTo(sample, xy), others: { xy: crowd, classCode } };
}

/** One metre to port; to the north where there is no ship axis. */
function port({ shipAxis }: Sample): readonly [number, number] {
  if (!shipAxis) return [0, 1];
  const [dx, dy] = [shipAxis.bow[0] - shipAxis.after[0], shipAxis.bow[1] - shipAxis.after[1]];
  const length = Math.sqrt(dx * dx + dy * dy);
  return [-dy / length, dx / length];
}
