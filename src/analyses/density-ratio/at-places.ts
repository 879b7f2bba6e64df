import { aboutOne, denominatorSide, edgeFactor, heldRatio, numeratorSide } from '../../math/density-ratio.js';
import { contains, edgeSlack } from '../../math/rings.js';
import { overallLevel } from './overall-level.js';
import type { Sides } from './sides.js';

/**
 * The log ratio at single places by the full sum; null beside the ground compared and where the denominator is below
 * the floor.
 * @param how.places  site-grid metres
 */
export function ratioAt(
  sides: Sides,
  how: {
    readonly sigmaM: number;
    readonly floorFinds: number;
    readonly places: readonly (readonly [number, number])[];
  },
): (number | null)[] {
  const { xy, side, shared, origin } = sides;
  const weight = aboutOne(sides.weight);
  const perTwo = 1 / (2 * how.sigmaM * how.sigmaM);
  const local = Float64Array.from(how.places.flatMap(([x, y]) => [x - origin[0], y - origin[1]]));
  const edge = edgeFactor({ windows: sides.windows, sigmaM: how.sigmaM }, local);
  const level = overallLevel(sides);
  const slack = edgeSlack(shared);
  return how.places.map((_, k) => {
    const [u, v] = [local[2 * k], local[2 * k + 1]];
    if (!contains(shared, u, v, slack)) return null;
    let above = 0;
    let below = 0;
    for (let i = 0; i < side.length; i++) {
      const kernel = weight[i] * Math.exp(-((u - xy[2 * i]) ** 2 + (v - xy[2 * i + 1]) ** 2) * perTwo);
      if ((side[i] & numeratorSide) !== 0) above += kernel;
      if ((side[i] & denominatorSide) !== 0) below += kernel;
    }
    return 2 * below < how.floorFinds ? null : heldRatio(Math.log(above) - Math.log(below) - level + edge[k]);
  });
}
