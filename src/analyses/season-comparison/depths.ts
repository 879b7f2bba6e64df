import type { Sample } from '../../domain/sample.js';
import { middleInterval, resampleBlocks } from '../../math/blocks.js';
import { levelledSurface } from '../../math/level-surface.js';
import { median } from '../../math/quantiles.js';
import { relativeDepth } from '../../math/relative-depth.js';
import { shareLarger } from '../../math/share-larger.js';
import { mannWhitney, twoSampleGap } from '../../math/two-samples.js';
import type { SeasonGround } from './ground.js';
import type { PlacedSeason } from './places.js';

/** Depths of the things of one season. */
export interface SeasonDepths {
  /** [m] one for each find, pot or concretion with a depth: the mean of its positions */
  readonly value: Float64Array;
  /** [m] number of the season square */
  readonly square: Int32Array;
}

/** Depths of all seasons, and in what they are told. */
export interface ComparedDepths {
  readonly measure: 'relative_depth' | 'elevation';
  readonly seasons: readonly SeasonDepths[];
}

/** a deposit thinner than so many of its errors gives no relative depth */
const leastThicknessSigmas = 4;
/** a level or a find without a stated error, metres */
const unstatedSigmaM = 0.02;
/** states of a top that no longer is the top of the undisturbed deposit */
const disturbedStates: ReadonlySet<string> = new Set(['after_dig', 'backfilled']);

/**
 * Relative depth of the finds in the deposit as their own season levelled it, top and bottom; elevation where no
 * season levelled both. Null when no two seasons have finds with an elevation.
 */
export function seasonDepths(ground: SeasonGround, places: readonly PlacedSeason[]): ComparedDepths | null {
  const { local } = ground.ground;
  const relative = ground.seasons.map((season, s) =>
    gathered(places[s], relativeDepths(local, season.name, places[s])),
  );
  const isCompared = (seasons: readonly SeasonDepths[]) => seasons.filter(({ value }) => value.length > 0).length > 1;
  if (isCompared(relative)) return { measure: 'relative_depth', seasons: relative };
  const elevation = places.map((own) =>
    gathered(
      own,
      Float64Array.from(own.position, (i) => (i < 0 ? Number.NaN : local.z[i])),
    ),
  );
  return isCompared(elevation) ? { measure: 'elevation', seasons: elevation } : null;
}

function relativeDepths(sample: Sample, season: string, places: PlacedSeason): Float64Array {
  const unknown = new Float64Array(places.position.length).fill(Number.NaN);
  const { levels } = sample;
  if (levels === null) return unknown;
  const stepM = sample.grid?.node_spacing ?? null;
  const read = (surface: string, counts?: (k: number) => boolean) =>
    levelledSurface(levels, { surface, season, stepM, unstatedSigmaM, ...(counts ? { counts } : {}) })?.(places.xy);
  const top = read('deposit_top', (k) => !disturbedStates.has(levels.state[k] ?? ''));
  const bottom = read('deposit_bottom');
  if (!top || !bottom) return unknown;
  return unknown.map((_, i) => {
    const p = places.position[i];
    if (p < 0) return Number.NaN;
    const depth = relativeDepth({
      top: top.value[i],
      topSigma: top.sigma[i],
      bottom: bottom.value[i],
      bottomSigma: bottom.sigma[i],
      z: sample.z[p],
      zSigma: sample.detail.sigmaZ[p] >= 0 ? sample.detail.sigmaZ[p] : unstatedSigmaM,
    });
    return depth.thicknessM >= leastThicknessSigmas * depth.thicknessSigmaM && depth.thicknessM > 0
      ? depth.u
      : Number.NaN;
  });
}

function gathered({ group, square }: PlacedSeason, values: Float64Array): SeasonDepths {
  const rows = new Map<string, number[]>();
  values.forEach((value, i) => {
    if (Number.isNaN(value)) return;
    const key = group[i] === null ? `alone ${i}` : `${group[i]} ${square[i]}`;
    const own = rows.get(key);
    if (own) own.push(i);
    else rows.set(key, [i]);
  });
  const lists = [...rows.values()];
  return {
    value: Float64Array.from(lists, (own) => own.reduce((sum, i) => sum + values[i], 0) / own.length),
    square: Int32Array.from(lists, ([first]) => square[first]),
  };
}

/** Depths of the second season against those of the first. */
export interface DepthDifference {
  readonly n: readonly [number, number];
  readonly median: readonly [number, number];
  /** share of pairs in which the find of the second season has the larger value; 0.5 = no difference */
  readonly shareLarger: number;
  readonly low: number | null;
  readonly high: number | null;
  readonly pMannWhitney: number | null;
  readonly pKolmogorov: number | null;
}

const mostResamplings = 999;

/** Null when either season has no depth. */
export function depthDifference(
  first: SeasonDepths,
  second: SeasonDepths,
  plan: { readonly count: number; readonly seed: number; readonly first: number },
): DepthDifference | null {
  const [n1, n2] = [first.value.length, second.value.length];
  if (n1 === 0 || n2 === 0) return null;
  const test = mannWhitney(second.value, first.value);
  const gap = twoSampleGap(second.value, first.value);
  const share = shareLarger(second.value, first.value);
  const count = n1 < 2 || n2 < 2 ? 0 : Math.min(plan.count, mostResamplings);
  const resampled = new Float64Array(count);
  // squares of both seasons are told apart: a season square belongs to one season
  const block = Uint32Array.from([...second.square, ...first.square], (square) => square + 1);
  resampleBlocks(block, { ...plan, count }, (weight, s) => {
    resampled[s] = share(weight);
  });
  const interval = middleInterval(resampled);
  return {
    n: [n1, n2],
    median: [median(first.value) ?? Number.NaN, median(second.value) ?? Number.NaN],
    shareLarger: share(),
    low: interval?.low ?? null,
    high: interval?.high ?? null,
    pMannWhitney: test === null ? null : (test.pExact ?? test.pContinuity),
    pKolmogorov: gap === null ? null : (gap.pExact ?? gap.pLimit),
  };
}
