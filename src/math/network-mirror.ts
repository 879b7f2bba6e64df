import type { SurveyNetwork } from './network-reading.js';

/** A network turned over. */
export interface MirrorImage {
  readonly image: Float64Array;
  /** how far fixed points stand off the mirror, as a share of how far apart they stand: 0 = both sides fit the same */
  readonly flatness: number;
}

/**
 * A solution turned over: in plan about the line of the first and last fixed point, in 3-D also about the plane of the
 * fixed points. Good starts for the other solution when control lies in a line or plane, or nearly so.
 *
 * @param coordinates  [n·dimension] metres about a local origin
 */
export function mirrorImages(network: SurveyNetwork, coordinates: Float64Array): MirrorImage[] {
  const { dimension, fixed } = network;
  const at = (p: number) => [
    coordinates[p * dimension],
    coordinates[p * dimension + 1],
    dimension === 3 ? coordinates[p * dimension + 2] : 0,
  ];
  const held = [...fixed.keys()].filter((p) => fixed[p] === 1);
  if (held.length === 0) return [];
  const foot = at(held[0]);
  const away = (p: number) => at(p).map((v, k) => v - foot[k]);
  const images: MirrorImage[] = [];
  const extent = Math.max(...held.map((p) => Math.hypot(...away(p))), 1e-9);
  const turnOver = (normal: readonly number[]) => {
    const off = Math.max(...held.map((p) => Math.abs(away(p).reduce((sum, v, k) => sum + v * normal[k], 0))));
    images.push({ image: reflected(network, coordinates, { foot, normal }), flatness: off / extent });
  };
  const last = away(held[held.length - 1]);
  const flat = Math.hypot(last[0], last[1]);
  if (flat > 1e-9) turnOver([-last[1] / flat, last[0] / flat, 0]);
  if (dimension === 3) {
    const normal = planeNormal(held.slice(1).map(away));
    if (normal) turnOver(normal);
  }
  return images;
}

/** Unit normal of the plane that the two arms with the widest parallelogram span; null when all lie in a line. */
function planeNormal(arms: readonly number[][]): number[] | null {
  let best: number[] | null = null;
  let widest = 0;
  let longest = 0;
  for (const [i, a] of arms.entries()) {
    longest = Math.max(longest, Math.hypot(...a));
    for (const b of arms.slice(0, i)) {
      const cross = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
      const size = Math.hypot(...cross);
      if (size > widest) [best, widest] = [cross.map((v) => v / size), size];
    }
  }
  return widest > 1e-6 * longest * longest ? best : null;
}

function reflected(
  network: SurveyNetwork,
  coordinates: Float64Array,
  plane: { readonly foot: readonly number[]; readonly normal: readonly number[] },
): Float64Array {
  const { dimension } = network;
  const out = coordinates.slice();
  network.fixed.forEach((fixed, p) => {
    if (fixed === 1) return;
    let beyond = 0;
    for (let k = 0; k < dimension; k++) beyond += (coordinates[p * dimension + k] - plane.foot[k]) * plane.normal[k];
    for (let k = 0; k < dimension; k++) out[p * dimension + k] -= 2 * beyond * plane.normal[k];
  });
  return out;
}
