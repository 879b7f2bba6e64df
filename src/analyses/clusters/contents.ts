import type { Sample } from '../../domain/sample.js';
import { convexHull } from '../../math/convex-hull.js';
import { intersection } from '../../math/overlay.js';
import { regionArea, ringArea, shiftRegion } from '../../math/rings.js';
import type { Ground } from './ground.js';
import type { Summary } from './schemas.js';

/** One cluster with its hull and what lies in it. */
export interface Contents {
  readonly row: Summary['clusters'][number];
  /** [2m] ring in metres of the sample; fewer than three corners = the finds lie in one line or place */
  readonly hull: Float64Array;
}

/**
 * Hull and contents of each cluster, the finds in none last.
 * @param cluster  [n] by row of the sample; 0 = in none
 */
export function clusterContents(sample: Sample, ground: Ground, cluster: Int32Array): Contents[] {
  const members = new Map<number, number[]>();
  cluster.forEach((number, i) => {
    const own = members.get(number);
    if (own) own.push(i);
    else members.set(number, [i]);
  });
  return [...members.entries()]
    .sort(([a], [b]) => (a === 0 ? 1 : b === 0 ? -1 : a - b))
    .map(([number, rows]) => contentsOf(sample, ground, { number, rows }));
}

function contentsOf(
  sample: Sample,
  ground: Ground,
  { number, rows }: { readonly number: number; readonly rows: readonly number[] },
): Contents {
  const [west, south] = ground.origin;
  const local = Float64Array.from(rows.flatMap((i) => [sample.xy[2 * i] - west, sample.xy[2 * i + 1] - south]));
  // finds in no cluster have no hull that would mean anything
  const ring = number === 0 ? new Float64Array(0) : convexHull(local);
  const isArea = ring.length >= 6 && ringArea(ring) > 1e-9;
  const hullAreaM2 = isArea ? ringArea(ring) : null;
  const dugM2 = isArea ? regionArea(intersection({ rings: [ring] }, ground.window)) : null;
  const count = rows.reduce((sum, i) => sum + sample.weight[i], 0);
  const mean = (axis: number) => rows.reduce((sum, _, k) => sum + local[2 * k + axis], 0) / rows.length;
  const [hull] = shiftRegion({ rings: [isArea ? ring : new Float64Array(0)] }, -west, -south).rings;
  return {
    hull,
    row: {
      cluster: number,
      n: rows.length,
      count,
      centre_x_m: west + mean(0),
      centre_y_m: south + mean(1),
      hull_area_m2: hullAreaM2,
      dug_m2: dugM2,
      per_m2: dugM2 !== null && dugM2 > 0 ? count / dugM2 : null,
      classes: tally(rows, sample.classCode, sample),
      seasons: tally(rows, sample.seasonCode, { classes: sample.seasons, weight: sample.weight }),
    },
  };
}

/** Sums by name, largest first, unknown last. */
function tally(
  rows: readonly number[],
  code: Uint32Array,
  of: { readonly classes: readonly string[]; readonly weight: Float64Array },
): { name: string | null; count: number }[] {
  const sums = new Map<number, number>();
  for (const i of rows) sums.set(code[i], (sums.get(code[i]) ?? 0) + of.weight[i]);
  return [...sums.entries()]
    .sort(([a, sumA], [b, sumB]) => Number(a === 0) - Number(b === 0) || sumB - sumA || a - b)
    .map(([own, count]) => ({ name: own === 0 ? null : of.classes[own - 1], count }));
}
