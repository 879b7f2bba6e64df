import type { Sample } from '../../domain/sample.js';
import { nearestShapes, straightPieces } from '../../math/hull-distance.js';
import type { RandomStream } from '../../math/random.js';
import { regionBox } from '../../math/rings.js';
import { uniformPoints } from '../../math/uniform-points.js';
import type { Trial } from '../contract.js';
import { uniformFinds } from '../planting.js';
import type { Summary } from './schemas.js';

/** of so many random spots the one nearest to the hull is taken */
const spots = 4;

/** Finds drawn towards the hull in a random scatter. */
export const trial: Trial = {
  effect: 'share of the finds that took the nearest to the hull of four random spots',
  unit: '1',
  strengths: [0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 0.8, 1],
  plant: drawnToHull,
  // finds are drawn to the hull: of the trench edge that tells nothing
  probability: (summary) =>
    (summary as Summary).trench_edge === null ? ((summary as Summary).simulated?.p_two_sided ?? null) : null,
};

function drawnToHull(sample: Sample, share: number, random: RandomStream): Sample {
  const planted = uniformFinds(sample, random);
  const { distance } = nearestShapes(straightPieces(sample.hull), regionBox(sample.window));
  const draw = uniformPoints(sample.window);
  const spot = new Float64Array(2);
  const moved = Math.round((share * planted.xy.length) / 2);
  for (let i = 0; i < moved; i++) {
    let least = distance(planted.xy[2 * i], planted.xy[2 * i + 1]);
    for (let k = 1; k < spots; k++) {
      draw(spot, random);
      const d = distance(spot[0], spot[1]);
      if (d >= least) continue;
      least = d;
      planted.xy.set(spot, 2 * i);
    }
  }
  return planted;
}
