import { Problem } from '../problems.js';
import { exponential } from './elementary.js';

/** Summary of some directions or axes. */
export interface CircularSummary {
  readonly n: number;
  /** Σ cos and Σ sin (of the doubled angles when axial), and their length */
  readonly c: number;
  readonly s: number;
  readonly r: number;
  /** R / n, 0 (no preference) to 1 (all alike) */
  readonly rBar: number;
  /** degrees clockwise, 0 to 360, axes 0 to 180; null where the resultant vanishes */
  readonly meanDeg: number | null;
  /** circular standard deviation √(−2 ln Rbar), degrees of the angles as given; null where the resultant vanishes */
  readonly standardDeviationDeg: number | null;
  /** half width of the 95 % interval of the mean, degrees; null where it cannot be told */
  readonly meanErrorDeg: number | null;
}

const radians = Math.PI / 180;
/** below this mean resultant the direction is rounding, not data */
const leastResultant = 1e-12;

/**
 * Mean direction and concentration. Axial data (timbers, guns without a known muzzle end) have no head and tail:
 * angles are doubled, the mean is halved.
 *
 * A mean of two opposite groups points between them, where nothing lies: look at the rose as well.
 *
 * @param degrees  [n] clockwise from one north; n ≥ 1; left untouched
 * @throws Problem too-few-points when n = 0
 * @see Mardia & Jupp 2000, Directional Statistics; Fisher 1993, Statistical Analysis of Circular Data, eq. 4.20–4.22
 */
export function circularSummary(degrees: ArrayLike<number>, kind: 'axial' | 'directed'): CircularSummary {
  const n = degrees.length;
  if (n === 0) throw new Problem('too-few-points', 'a mean direction needs at least 1 direction, got 0', { n });
  const fold = kind === 'axial' ? 2 : 1;
  let c = 0;
  let s = 0;
  let c2 = 0;
  let s2 = 0;
  for (let i = 0; i < n; i++) {
    const angle = fold * degrees[i] * radians;
    c += Math.cos(angle);
    s += Math.sin(angle);
    c2 += Math.cos(2 * angle);
    s2 += Math.sin(2 * angle);
  }
  const r = Math.hypot(c, s);
  const rBar = r / n;
  if (rBar < leastResultant) {
    return { n, c, s, r, rBar, meanDeg: null, standardDeviationDeg: null, meanErrorDeg: null };
  }
  const turn = 360 / fold;
  const meanDeg = ((((Math.atan2(s, c) / radians / fold) % turn) + turn) % turn) + 0;
  const mean = Math.atan2(s, c);
  const second = (c2 * Math.cos(2 * mean) + s2 * Math.sin(2 * mean)) / n;
  const error = 1.959963984540054 * Math.sqrt(Math.max(0, 1 - second) / (2 * n * rBar * rBar));
  return {
    n,
    c,
    s,
    r,
    rBar,
    meanDeg: meanDeg === turn ? 0 : meanDeg,
    standardDeviationDeg: Math.sqrt(Math.max(0, -2 * Math.log(Math.min(1, rBar)))) / radians / fold,
    meanErrorDeg: n > 1 && error < 1 ? Math.asin(error) / radians / fold : null,
  };
}

/** Rayleigh's test of no preferred direction, its p in three forms. */
export interface RayleighTest {
  /** n Rbar² */
  readonly z: number;
  /** exp[√(1 + 4n + 4(n² − R²)) − (1 + 2n)]: the one to quote, good from a handful of directions on */
  readonly p: number;
  /** exp(−z), too large for few directions */
  readonly pLarge: number;
  /** exp(−z) with the terms in 1/n and 1/n² */
  readonly pSeries: number;
}

/**
 * Probability of so strong a preference for one direction among directions at random.
 *
 * It sees one preferred direction (axis) only: two crossing groups of timbers pass unseen.
 *
 * @see Greenwood & Durand 1955, doi:10.1214/aoms/1177728540; Zar 2010, Biostatistical Analysis, eq. 27.4
 */
export function rayleigh({ n, r }: Pick<CircularSummary, 'n' | 'r'>): RayleighTest {
  const z = (r * r) / n;
  const pLarge = exponential(-z);
  const root = Math.sqrt(1 + 4 * n + 4 * (n * n - r * r));
  const first = (2 * z - z * z) / (4 * n);
  const second = (24 * z - 132 * z * z + 76 * z ** 3 - 9 * z ** 4) / (288 * n * n);
  return {
    z,
    p: Math.min(1, exponential(root - (1 + 2 * n))),
    pLarge,
    pSeries: Math.min(1, Math.max(0, pLarge * (1 + first - second))),
  };
}

/** Angle from one direction to another, degrees, folded to −180…180, for axes to −90…90. */
export function turnBetween(fromDeg: number, toDeg: number, kind: 'axial' | 'directed'): number {
  const turn = kind === 'axial' ? 180 : 360;
  const gap = (((toDeg - fromDeg) % turn) + turn) % turn;
  return gap > turn / 2 ? gap - turn : gap;
}

/** Bearing of a step, degrees clockwise from the y axis, 0 to 360. */
export function bearingOf(dx: number, dy: number): number {
  const bearing = (Math.atan2(dx, dy) / radians + 360) % 360;
  return bearing + 0;
}
