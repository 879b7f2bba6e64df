import { type DistanceCurves, distanceCurves, type SeenDistances } from '../../math/distance-estimators.js';
import { jFunction, type TestPlaces } from '../../math/empty-space.js';
import { hanischCurve } from '../../math/erosion.js';
import { edgeCorrections, kFunctions, type PairCurves } from '../../math/k-function.js';
import { nearestBetween, nearestDistances } from '../../math/nearest.js';
import { usualHalfWidth } from '../../math/pair-correlation.js';
import { type Radii, radiiOf } from '../../math/radii.js';
import { boundaryDistance } from '../../math/rings.js';
import type { SetCovariance } from '../../math/set-covariance.js';
import type { Ground } from './ground.js';

/** Every curve of the observed pattern; NaN where undefined. */
export interface ObservedCurves extends PairCurves {
  readonly halfWidthM: number | null;
  readonly nearest: SeenDistances;
  readonly g: DistanceCurves;
  readonly hanisch: Float64Array | null;
  readonly f: DistanceCurves;
  readonly j: Float64Array;
}

/** Half-width of the pair correlation's kernel for the finds looked for; null below two finds. */
export function halfWidthOf(ground: Ground): number | null {
  const isEnough = ground.isCross ? ground.from.length > 0 && ground.to.length > 0 : ground.from.length > 2;
  return isEnough ? usualHalfWidth(ground.to.length / 2 / ground.areaM2) : null;
}

/** Distances from finds of the first type to the nearest other find, or to the nearest of the second type, and to the edge. */
export function nearestSeen({ from, to, window }: Pick<Ground, 'from' | 'to' | 'window'>): SeenDistances {
  return {
    distances: from === to ? nearestDistances(from) : nearestBetween(from, to),
    boundaries: Float64Array.from({ length: from.length / 2 }, (_, i) =>
      boundaryDistance(window, from[2 * i], from[2 * i + 1]),
    ),
  };
}

/** Computes every curve of the observed pattern with exact weights. */
export function observedCurves(
  ground: Ground,
  how: {
    readonly radii: Radii;
    readonly covariance: SetCovariance;
    readonly places: TestPlaces;
    readonly hanisch: boolean;
    tick(): void;
  },
): ObservedCurves {
  const { radii, covariance, places } = how;
  const halfWidthM = halfWidthOf(ground);
  const pairs = kFunctions(ground, {
    radii,
    corrections: edgeCorrections,
    covariance,
    tick: how.tick,
    ...(halfWidthM === null ? {} : { halfWidthM }),
  });
  const nearest = nearestSeen(ground);
  const isAlone = !ground.isCross && ground.from.length <= 2;
  const g = isAlone || ground.to.length === 0 ? undefinedCurves(radii) : distanceCurves(nearest, radii);
  const f =
    ground.to.length === 0
      ? undefinedCurves(radii)
      : distanceCurves({ distances: nearestBetween(places.xy, ground.to), boundaries: places.boundaries }, radii);
  return {
    ...pairs,
    halfWidthM,
    nearest,
    g,
    hanisch: how.hanisch ? hanischCurve(ground.window, nearest, radii) : null,
    f,
    j: jFunction(g.kaplanMeier, f.kaplanMeier),
  };
}

function undefinedCurves(radii: Radii): DistanceCurves {
  const nothing = new Float64Array(radii.values.length).fill(Number.NaN);
  return { raw: nothing, reducedSample: nothing, kaplanMeier: nothing };
}

/** Radii with short steps that hold all of the given ones: `at` says where. */
export function withShortSteps(radii: Radii): { readonly fine: Radii; readonly at: readonly number[] } {
  const { values } = radii;
  const longest = values[values.length - 1] / 64;
  const fine: number[] = [];
  const at: number[] = [];
  let before = 0;
  for (const r of values) {
    const parts = Math.ceil((r - before) / longest - 1e-9);
    for (let k = 1; k < parts; k++) fine.push(before + (k * (r - before)) / parts);
    at.push(fine.length);
    fine.push(r);
    before = r;
  }
  return { fine: radiiOf(fine), at };
}
