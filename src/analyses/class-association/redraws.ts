import { crossK, pairsByClass } from '../../math/near-pairs.js';
import { randomStream } from '../../math/random.js';
import { uniformPoints } from '../../math/uniform-points.js';
import { type Association, pairNumber, pairSearch, pooledK } from './dealings.js';
import type { Ground } from './ground.js';
import { expectedK } from './pair-rows.js';
import type { PairRow, Parameters } from './schemas.js';

/** streams from here on are redraws of finds known by an area; dealings and resamplings use those below */
const firstDrawStream = 1_000_000_000;

/**
 * What finds known by a square only leave open: each is drawn somewhere inside what is known of it, several times, and
 * the pairs are counted anew. Ratios are held to the same chance as those of the finds with a place.
 */
export function withRedraws(
  rows: readonly PairRow[],
  found: Association,
  of: {
    readonly ground: Ground;
    readonly edge: Parameters['edge'];
    readonly isPlainDealing: boolean;
    readonly draws: number;
    readonly seed: number;
    readonly tick: () => void;
  },
): PairRow[] {
  const { ground, draws } = of;
  if (ground.areas.length === 0 || draws === 0) return [...rows];
  const { classes } = found.layout;
  const sources = ground.areas.map((k) => uniformPoints(ground.counted.local.areas[k].region));
  const known = ground.xy.length;
  const xy = new Float64Array(known + 2 * sources.length);
  xy.set(ground.xy);
  const count = new Uint32Array(classes);
  for (const c of ground.label) count[c]++;
  const search = pairSearch({ ...ground, xy }, { radii: found.radii, edge: of.edge, overlaps: 'table', tick: of.tick });
  const drawn: Float64Array[] = [];
  for (let draw = 0; draw < draws; draw++) {
    const random = randomStream(of.seed, firstDrawStream + draw);
    sources.forEach((source, k) => {
      source(xy.subarray(known + 2 * k, known + 2 * k + 2), random);
    });
    const sums = pairsByClass(search, { label: ground.label, classes });
    const all = pooledK(sums, { classes, n: xy.length / 2, areaM2: ground.areaM2 });
    const k = crossK(sums, { count, areaM2: ground.areaM2 });
    drawn.push(k.map((value, at) => value / all[Math.floor(at / classes ** 2)]));
  }
  const classNumber = new Map(ground.classes.map((name, k) => [name, k]));
  return rows.map((row) => {
    const d = row.at.findIndex((at) => at.distance_m === row.strongest_at_m);
    if (d < 0) return row;
    const [i, j] = [classNumber.get(row.first) ?? 0, classNumber.get(row.second) ?? 0];
    const scale = found.pooledK[d] / expectedK(found, of.isPlainDealing, { pair: pairNumber(i, j), d });
    const ratios = drawn.map((values) => values[(d * classes + i) * classes + j] * scale).filter(Number.isFinite);
    return ratios.length === 0 ? row : { ...row, over_draws: { low: Math.min(...ratios), high: Math.max(...ratios) } };
  });
}
