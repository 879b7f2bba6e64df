import { type Centre, type DeviationalEllipse, deviationalEllipse, meanCentre } from '../../math/centre.js';
import { rankProbability, simulate } from '../../math/monte-carlo.js';
import { regionCentre } from '../../math/region-centre.js';
import type { Region } from '../../math/rings.js';
import { uniformPoints } from '../../math/uniform-points.js';

/** Positions of one season, metres from the local origin. */
export interface SeasonPlaces {
  /** [2n] */
  readonly xy: Float64Array;
  /** [n] positions of one name (a pot, a concretion) are one thing that fell; null = by itself */
  readonly group: readonly (string | null)[];
}

/** Where finds of a season lie, against as many things lying at random in the ground that season dug. */
export interface CentreOnGround {
  readonly n: number;
  readonly units: number;
  readonly centre: Centre | null;
  readonly ellipse: DeviationalEllipse | null;
  /** middle of the ground dug */
  readonly groundCentre: readonly [number, number] | null;
  /** mean standard distance, and longer over shorter half axis, of the random scatters */
  readonly expectedSpreadM: number | null;
  readonly expectedElongation: number | null;
  /** as far from the middle of the ground, or farther */
  readonly pCentre: number | null;
  /** two-sided: gathered or spread out */
  readonly pSpread: number | null;
  /** as long for its breadth, or longer */
  readonly pElongation: number | null;
  /** turned as far away from the long axis of the ground, or farther */
  readonly pBearing: number | null;
  /** [2m] centres of the random scatters; empty without them */
  readonly simulatedCentres: Float64Array;
}

/** positions below which a spread says nothing */
const leastForEllipse = 3;

/**
 * Centre, standard distance and deviational ellipse of a season, ranked among random scatters in its own window. A pot
 * or a concretion is laid down as one, at one place, as heavy as it has positions.
 *
 * @param plan.first  number of the first stream
 * @see Besag & Diggle 1977, doi:10.2307/2346974; Yuill 1971, doi:10.1080/04353684.1971.11879353
 */
export function centreOnGround(
  places: SeasonPlaces,
  window: Region,
  plan: {
    readonly count: number;
    readonly seed: number;
    readonly first: number;
    readonly progress: (share: number) => void;
  },
): CentreOnGround {
  const { xy } = places;
  const n = xy.length / 2;
  const groundCentre = regionCentre(window);
  const units = gathered(places);
  const weight = units.weight;
  const none = {
    n,
    units: weight.length,
    groundCentre,
    expectedSpreadM: null,
    expectedElongation: null,
    pCentre: null,
    pSpread: null,
    pElongation: null,
    pBearing: null,
    simulatedCentres: new Float64Array(0),
  };
  if (n === 0) return { ...none, centre: null, ellipse: null };
  const centre = meanCentre(xy);
  const ellipse = n >= leastForEllipse ? deviationalEllipse(xy) : null;
  if (plan.count === 0 || groundCentre === null) return { ...none, centre, ellipse };
  const lay = uniformPoints(window);
  const drawn = new Float64Array(2 * weight.length);
  const simulated = simulate(plan, (random) => {
    lay(drawn, random);
    return momentsOf(drawn, weight);
  });
  const observed = momentsOf(units.xy, weight);
  const ground = meanMoments(simulated);
  const far = (m: Moments) => (m.x - groundCentre[0]) ** 2 + (m.y - groundCentre[1]) ** 2;
  const isSpread = weight.length >= leastForEllipse;
  const rank = (of: (m: Moments) => number) => rankProbability(of(observed), Float64Array.from(simulated, of));
  const spreadOf = (m: Moments) => m.xx + m.yy;
  return {
    ...none,
    centre,
    ellipse,
    expectedSpreadM: isSpread ? mean(simulated.map((m) => Math.sqrt(spreadOf(m)))) : null,
    expectedElongation: isSpread ? mean(simulated.map((m) => Math.sqrt(elongationOf(m)))) : null,
    pCentre: rank(far).upper,
    pSpread: isSpread ? rank(spreadOf).twoSided : null,
    pElongation: isSpread ? rank(elongationOf).upper : null,
    // the farther from the long axis of the ground, the smaller the cosine of the doubled angle
    pBearing: isSpread ? rank((m) => alongness(m, ground)).lower : null,
    simulatedCentres: Float64Array.from(simulated.flatMap((m) => [m.x, m.y])),
  };
}

interface Moments {
  readonly x: number;
  readonly y: number;
  readonly xx: number;
  readonly yy: number;
  readonly xy: number;
}

function momentsOf(xy: Float64Array, weight: Float64Array): Moments {
  let [total, x, y] = [0, 0, 0];
  for (let i = 0; i < weight.length; i++) {
    total += weight[i];
    x += weight[i] * xy[2 * i];
    y += weight[i] * xy[2 * i + 1];
  }
  x /= total;
  y /= total;
  let [sxx, syy, sxy] = [0, 0, 0];
  for (let i = 0; i < weight.length; i++) {
    const [dx, dy] = [xy[2 * i] - x, xy[2 * i + 1] - y];
    sxx += weight[i] * dx * dx;
    syy += weight[i] * dy * dy;
    sxy += weight[i] * dx * dy;
  }
  return { x, y, xx: sxx / total, yy: syy / total, xy: sxy / total };
}

const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v / values.length, 0);

function meanMoments(all: readonly Moments[]): Moments {
  const of = (name: keyof Moments) => mean(all.map((m) => m[name]));
  return { x: of('x'), y: of('y'), xx: of('xx'), yy: of('yy'), xy: of('xy') };
}

/** Larger over smaller eigenvalue; a very large number when all lie on one line. */
function elongationOf({ xx, yy, xy }: Moments): number {
  const half = (xx + yy) / 2;
  const split = Math.sqrt(((xx - yy) / 2) ** 2 + xy * xy);
  return (half + split) / Math.max(half - split, 1e-12 * half, Number.MIN_VALUE);
}

/** Cosine of the doubled angle between the long axes of two spreads; 0 when one has none. */
function alongness(one: Moments, other: Moments): number {
  const [a1, b1] = [one.yy - one.xx, 2 * one.xy];
  const [a2, b2] = [other.yy - other.xx, 2 * other.xy];
  const length = Math.sqrt((a1 * a1 + b1 * b1) * (a2 * a2 + b2 * b2));
  return length > 0 ? (a1 * a2 + b1 * b2) / length : 0;
}

/** Groups as one place each, at the mean of their positions. */
function gathered({ xy, group }: SeasonPlaces): { xy: Float64Array; weight: Float64Array } {
  const rows = new Map<string, number[]>();
  group.forEach((name, i) => {
    const key = name ?? `alone ${i}`;
    const own = rows.get(key);
    if (own) own.push(i);
    else rows.set(key, [i]);
  });
  const lists = [...rows.values()];
  const at = (from: 0 | 1) => (own: number[]) => own.reduce((sum, i) => sum + xy[2 * i + from], 0) / own.length;
  return {
    xy: Float64Array.from(lists.flatMap((own) => [at(0)(own), at(1)(own)])),
    weight: Float64Array.from(lists, (own) => own.length),
  };
}
