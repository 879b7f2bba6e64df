import type { Sample } from '../../domain/sample.js';
import { placeOrder } from '../../math/cluster-numbers.js';
import { type Region, regionArea, regionBox, shiftRegion } from '../../math/rings.js';
import { Problem } from '../../problems.js';

/** The finds as the methods take them: from the window's lower-left corner, sorted by place. */
export interface Ground {
  readonly origin: readonly [number, number];
  /** [2n] from west to east; what is drawn by lot hangs on no file order */
  readonly xy: Float64Array;
  /** [n] row of the sample each place came from */
  readonly row: Uint32Array;
  readonly window: Region;
  readonly areaM2: number;
  /** different places */
  readonly places: number;
}

/** @throws Problem no-window when the window has no area */
export function sortedGround(sample: Sample): Ground {
  const [west, south] = regionBox(sample.window);
  const window = shiftRegion(sample.window, west, south);
  const areaM2 = regionArea(window);
  if (!(areaM2 > 0)) throw new Problem('no-window', 'the window has no area; name seasons with excavated areas');
  const local = sample.xy.map((v, i) => v - (i % 2 === 0 ? west : south));
  const row = placeOrder(local);
  const xy = new Float64Array(local.length);
  row.forEach((from, i) => {
    xy[2 * i] = local[2 * from];
    xy[2 * i + 1] = local[2 * from + 1];
  });
  let places = 0;
  for (let i = 0; i < row.length; i++) {
    if (i === 0 || xy[2 * i] !== xy[2 * i - 2] || xy[2 * i + 1] !== xy[2 * i - 1]) places++;
  }
  return { origin: [west, south], xy, row, window, areaM2, places };
}

/** Cluster numbers in the order in which the sample lists its finds. */
export function bySampleRow(ground: Ground, cluster: Int32Array): Int32Array {
  const out = new Int32Array(cluster.length);
  ground.row.forEach((row, i) => {
    out[row] = cluster[i];
  });
  return out;
}
