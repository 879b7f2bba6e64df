import { normalLowerTail, normalTwoSided, normalUpperTail } from '../../math/distributions.js';
import { productLimit, productLimitMean } from '../../math/product-limit.js';
import { type Region, ringArea } from '../../math/rings.js';

/** Standard deviation of a nearest distance under randomness, times √λ: exact 0.2613616…, often printed 0.26136. */
export const clarkEvansConstant = Math.sqrt((4 - Math.PI) / (4 * Math.PI));

/** Donnelly's constants as most programs carry them; print varies (0.041 for 0.0412; 0.070 and 0.035 in the variance). */
export const donnellyConstants = {
  perimeter: 0.0514,
  perimeterRoot: 0.0412,
  variance: 0.0703,
  varianceEdge: 0.037,
} as const;
export type DonnellyConstants = { readonly [name in keyof typeof donnellyConstants]: number };

/** A scatter, as the formulas need it. */
export interface MeanDistance {
  /** finds; at least 2 */
  readonly n: number;
  /** mean distance to the nearest other find, metres */
  readonly meanDistanceM: number;
  /** area of the window, holes taken off, m²; above 0 */
  readonly areaM2: number;
}

/** A ratio and its test by the normal law. */
export interface RatioTest {
  /** mean distance expected of a random scatter, metres */
  readonly expectedDistanceM: number;
  /** observed over expected: below 1 clustered, above 1 evenly spaced */
  readonly ratio: number;
  readonly z: number;
  /** two-sided */
  readonly p: number;
  /** lower tail */
  readonly pClustered: number;
  /** upper tail */
  readonly pRegular: number;
}

function ratioTest(meanDistanceM: number, expectedDistanceM: number, standardError: number): RatioTest {
  const z = (meanDistanceM - expectedDistanceM) / standardError;
  return {
    expectedDistanceM,
    ratio: meanDistanceM / expectedDistanceM,
    z,
    p: normalTwoSided(z),
    pClustered: normalLowerTail(z),
    pRegular: normalUpperTail(z),
  };
}

/**
 * Mean distance to the nearest other find, over the mean expected if as many finds lay at random: below 1
 * clustered, above 1 evenly spaced.
 *
 * Finds near the edge lose neighbours beyond it, so without a correction the ratio leans upward and z is too large; a
 * window wider than the excavated area makes any scatter look clustered.
 *
 * @see Clark & Evans 1954, doi:10.2307/1931034
 */
export function clarkEvans(scatter: MeanDistance): RatioTest {
  const { n, meanDistanceM, areaM2 } = scatter;
  const intensity = n / areaM2;
  return ratioTest(meanDistanceM, 0.5 / Math.sqrt(intensity), clarkEvansConstant / Math.sqrt(n * intensity));
}

/**
 * The ratio with the mean and variance that random scatters in a rectangle really have, edge included.
 *
 * Made for smooth compact shapes: on an L-shaped or holed window it misleads, see isRectangular.
 *
 * @param scatter  with the length of the window's edge, metres
 * @see Donnelly 1978, in Hodder (ed.), Simulation Studies in Archaeology, 91–95
 */
export function donnelly(
  scatter: MeanDistance & { readonly perimeterM: number },
  constants: DonnellyConstants = donnellyConstants,
): RatioTest {
  const { n, meanDistanceM, areaM2, perimeterM } = scatter;
  const expected =
    0.5 * Math.sqrt(areaM2 / n) + ((constants.perimeter + constants.perimeterRoot / Math.sqrt(n)) * perimeterM) / n;
  const variance =
    (constants.variance * areaM2) / (n * n) + (constants.varianceEdge * perimeterM * Math.sqrt(areaM2 / n)) / (n * n);
  return ratioTest(meanDistanceM, expected, Math.sqrt(variance));
}

/**
 * Mean nearest distance and ratio when a find nearer to the edge than to its neighbour counts as cut short. Good in
 * any window, holes included; it has no standard error of its own.
 *
 * @param distances   [n] to the nearest other find, metres
 * @param boundaries  [n] to the nearest edge of the window, metres
 * @param areaM2      area of the window
 * @returns           null when every find is nearer to the edge than to its neighbour
 * @see Baddeley & Gill 1997, doi:10.1214/aos/1034276629
 */
export function kaplanMeierRatio(
  distances: Float64Array,
  boundaries: Float64Array,
  areaM2: number,
): { ratio: number; meanDistanceM: number } | null {
  const meanDistanceM = productLimitMean(productLimit(distances, boundaries));
  if (meanDistanceM === null) return null;
  return { meanDistanceM, ratio: meanDistanceM / (0.5 * Math.sqrt(areaM2 / distances.length)) };
}

/**
 * Mean distances to the first, second … k-th neighbour expected of a random scatter without edge.
 * @param intensity  finds per m²
 * @returns          [k] metres: 0.5, 0.75, 0.9375 … over √λ
 * @see Thompson 1956, doi:10.2307/1933159
 */
export function expectedKthDistances(k: number, intensity: number): number[] {
  const expected: number[] = [];
  let share = 0.5;
  for (let i = 1; i <= k; i++) {
    expected.push(share / Math.sqrt(intensity));
    share *= (2 * i + 1) / (2 * i);
  }
  return expected;
}

/** Mean of some distances, metres; null when there is none or one find alone. */
export function meanDistance(distances: Float64Array): number | null {
  if (distances.length < 2) return null;
  let sum = 0;
  for (const d of distances) sum += d;
  return sum / distances.length;
}

/** Whether a window is one rectangle, turned as it may be; corners standing on a straight side do not matter. */
export function isRectangular(window: Region): boolean {
  if (window.rings.length !== 1) return false;
  const ring = window.rings[0];
  const slack = 1e-9 * Math.abs(ringArea(ring));
  const corners: number[][] = [];
  const m = ring.length / 2;
  for (let i = 0; i < m; i++) {
    const [ax, ay] = corners.at(-1) ?? lastCorner(ring);
    const [bx, by] = [ring[2 * i], ring[2 * i + 1]];
    const next = (2 * i + 2) % ring.length;
    const cross = (bx - ax) * (ring[next + 1] - by) - (by - ay) * (ring[next] - bx);
    if (Math.abs(cross) > slack) corners.push([bx, by]);
  }
  if (corners.length !== 4) return false;
  return corners.every(([x, y], i) => {
    const [ax, ay] = corners[(i + 3) % 4];
    const [bx, by] = corners[(i + 1) % 4];
    return Math.abs((ax - x) * (bx - x) + (ay - y) * (by - y)) <= slack;
  });
}

function lastCorner(ring: Float64Array): number[] {
  return [ring[ring.length - 2], ring[ring.length - 1]];
}
