import { intersection, polygonsRegion, regionPolygons } from '../../math/overlay.js';
import { countInterval } from '../../math/rate-interval.js';
import { regionArea, regionBox } from '../../math/rings.js';
import type { Ground } from './ground.js';

/** Finds along the keel in one step of it. */
export interface KeelBin {
  readonly fromM: number;
  readonly toM: number;
  readonly n: number;
  /** dug ground abreast of this step, m² */
  readonly areaM2: number;
  /** how much of the step's length has any dug ground abreast of it */
  readonly dugLengthM: number;
  readonly perM2: number | null;
  /** exact 95 % interval of perM2 */
  readonly low: number | null;
  readonly high: number | null;
  /** finds for each metre of the keel's length with dug ground abreast */
  readonly perMDug: number | null;
}

/**
 * Finds in even steps along the ship axis, each held to the ground dug abreast of it: a bare count shows where was dug.
 *
 * @param alongM  [n] distance of each find along the axis from the after end, metres
 * @param stepM   above 0
 */
export function keelBins(ground: Ground, alongM: readonly number[], stepM: number): KeelBin[] {
  const { axis, window } = ground;
  if (!axis) return [];
  const [dx, dy] = [axis.bow[0] - axis.after[0], axis.bow[1] - axis.after[1]];
  const length = Math.sqrt(dx * dx + dy * dy);
  const [ux, uy] = [dx / length, dy / length];
  const along = (x: number, y: number) => (x - axis.after[0]) * ux + (y - axis.after[1]) * uy;
  const [west, south, east, north] = regionBox(window);
  const corners = [along(west, south), along(east, south), along(west, north), along(east, north)];
  const first = Math.floor(Math.min(...corners) / stepM);
  const last = Math.ceil(Math.max(...corners) / stepM);
  // wide enough to reach past the window on both sides
  const reach = Math.hypot(east - west, north - south) + Math.abs(axis.after[0]) + Math.abs(axis.after[1]) + length;
  const counts = new Map<number, number>();
  for (const s of alongM) {
    const k = Math.floor(s / stepM);
    counts.set(k, (counts.get(k) ?? 0) + 1);
  }
  const bins: KeelBin[] = [];
  for (let k = first; k < last; k++) {
    const at = (s: number, off: number): [number, number] => [
      axis.after[0] + s * ux - off * uy,
      axis.after[1] + s * uy + off * ux,
    ];
    const [fromM, toM] = [k * stepM, (k + 1) * stepM];
    const ring = [at(fromM, -reach), at(toM, -reach), at(toM, reach), at(fromM, reach), at(fromM, -reach)];
    const strip = intersection(window, polygonsRegion([[ring]]));
    const areaM2 = regionArea(strip);
    const n = counts.get(k) ?? 0;
    if (areaM2 <= 1e-9 && n === 0) continue;
    const dugLengthM = coveredLength(
      regionPolygons(strip).map(([outer]) => {
        const places = outer.map(([x, y]) => along(x, y));
        return [Math.min(...places), Math.max(...places)];
      }),
    );
    const isDug = areaM2 > 1e-9;
    const interval = isDug ? countInterval(n) : null;
    bins.push({
      fromM,
      toM,
      n,
      areaM2,
      dugLengthM,
      perM2: isDug ? n / areaM2 : null,
      low: interval && interval.low / areaM2,
      high: interval && interval.high / areaM2,
      perMDug: dugLengthM > 1e-9 ? n / dugLengthM : null,
    });
  }
  return bins;
}

/** Length of the union of stretches of a line. */
function coveredLength(stretches: [number, number][]): number {
  let reached = Number.NEGATIVE_INFINITY;
  let sum = 0;
  for (const [from, to] of stretches.sort(([a], [b]) => a - b)) {
    if (to <= reached) continue;
    sum += to - Math.max(from, reached);
    reached = to;
  }
  return sum;
}
