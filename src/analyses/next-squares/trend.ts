import { countQuantile } from '../../math/count-law.js';
import { exponential, naturalLog } from '../../math/elementary.js';
import { linkAt, type PoissonFit, poissonRegression } from '../../math/poisson-regression.js';

/** A square as the trend sees it. */
export interface TrendPlace {
  /** middle of the square, site-grid metres */
  readonly x: number;
  readonly y: number;
  /** from its middle to the nearest hull feature, metres; null = no hull is known */
  readonly hullM: number | null;
}

/** A dug square: what was counted on how much ground. */
export interface DugSquare extends TrendPlace {
  readonly count: number;
  readonly exposureM2: number;
}

export const trends = ['none', 'hull', 'linear', 'hull_and_linear', 'quadratic'] as const;
export type TrendName = (typeof trends)[number];

const terms: Readonly<Record<TrendName, readonly string[]>> = {
  none: [],
  hull: ['distance_to_hull'],
  linear: ['east', 'north'],
  hull_and_linear: ['distance_to_hull', 'east', 'north'],
  quadratic: ['east', 'north', 'east²', 'east·north', 'north²'],
};

/** A trend of finds per m² over the dug squares. */
export interface RateTrend {
  readonly name: TrendName;
  /** names of the terms, the intercept first */
  readonly terms: readonly string[];
  readonly fit: PoissonFit;
  /** how much more than chance counts vary, never below 1 */
  readonly dispersion: number;
  /** values of the terms at a place */
  termsAt(place: TrendPlace): number[];
  /** largest variance of a log rate among the dug squares themselves, under Poisson counts */
  readonly mostVariance: number;
}

function termsAt(name: TrendName, { x, y, hullM }: TrendPlace): number[] {
  const d = hullM ?? 0;
  const own = {
    none: [],
    hull: [d],
    linear: [x, y],
    hull_and_linear: [d, x, y],
    quadratic: [x, y, x * x, x * y, y * y],
  }[name];
  return [1, ...own];
}

/**
 * Fits counts by square with a log-linear trend over distance to the hull and place; ground dug enters as exposure.
 *
 * @returns null when the terms cannot be told apart on these squares, or nothing was found
 */
export function fitRates(squares: readonly DugSquare[], name: TrendName): RateTrend | null {
  const rows = squares.map((square) => termsAt(name, square));
  const fit = poissonRegression({
    design: Float64Array.from(rows.flat()),
    terms: terms[name].length + 1,
    counts: Float64Array.from(squares, (s) => s.count),
    exposure: Float64Array.from(squares, (s) => s.exposureM2),
  });
  if (fit === null) return null;
  return {
    name,
    terms: ['intercept', ...terms[name]],
    fit,
    termsAt: (place) => termsAt(name, place),
    dispersion: Math.max(1, fit.dispersion ?? 1),
    mostVariance: rows.reduce((most, row) => Math.max(most, linkAt(fit, row).variance), 0),
  };
}

/** Whether so many squares carry the terms of a trend, and hull is known where it is measured to. */
function isCarried(squares: readonly DugSquare[], name: TrendName): boolean {
  if (terms[name].includes('distance_to_hull') && squares.some(({ hullM }) => hullM === null)) return false;
  // a trend needs a few squares for each of its terms
  return name === 'none' || squares.length >= 3 * (terms[name].length + 1);
}

/** The trend asked for, or the richest one these squares carry. */
export function fittingTrend(squares: readonly DugSquare[], asked: TrendName): RateTrend | null {
  for (const name of [asked, 'linear', 'hull', 'none'] as const) {
    if (terms[name].length > terms[asked].length || !isCarried(squares, name)) continue;
    const trend = fitRates(squares, name);
    if (trend !== null) return trend;
  }
  return null;
}

/** A trend with how it foretells dug squares whose neighbourhood was left out. */
export interface TriedTrend {
  readonly trend: RateTrend;
  readonly apart: CrossValidation;
}

/**
 * All trends these squares carry, the one that foretells best first: by the deviance of squares left out together
 * with their neighbourhood, which is what an undug square faces. Fitted rates never decide: a richer trend always fits.
 */
export function triedTrends(
  squares: readonly DugSquare[],
  how: { readonly bufferM: number; tick(share: number): void },
): TriedTrend[] {
  const tried = trends.flatMap((name, i): TriedTrend[] => {
    const trend = isCarried(squares, name) ? fitRates(squares, name) : null;
    if (trend === null) return [];
    const tick = (share: number) => how.tick((i + share) / trends.length);
    const apart = leaveOut(squares, trend, { bufferM: how.bufferM, tick });
    // a trend that cannot be fitted without a few squares leans on them alone
    return apart !== null && apart.squares === apart.tried ? [{ trend, apart }] : [];
  });
  return tried.sort((a, b) => a.apart.meanDeviance - b.apart.meanDeviance);
}

/** Log rate per m² at a place with its variance, overdispersion included. */
export interface RateAt {
  readonly link: number;
  readonly variance: number;
  /** the place lies outside what the dug squares span: its log rate is known less well than that of any of them */
  readonly isBeyondFit: boolean;
}

export function rateAt(trend: RateTrend, place: TrendPlace): RateAt {
  const { link, variance } = linkAt(trend.fit, trend.termsAt(place));
  return {
    link,
    variance: trend.dispersion * variance,
    isBeyondFit: variance > trend.mostVariance * (1 + 1e-9),
  };
}

/** A count still to be made, as far as it can be told. */
export interface Prediction {
  readonly mean: number;
  readonly variance: number;
  /** 95 % of such counts lie between these */
  readonly low: number;
  readonly high: number;
}

/** log rates are taken as no surer than this: a wider one would put no end to the interval */
const mostLinkVariance = 9;

/**
 * Finds expected on some ground, with the interval that a count made there should fall in: chance and overdispersion
 * of one square, and the uncertainty of the trend.
 *
 * The interval trusts the trend; beyond the dug squares nothing does.
 */
export function predict({ link, variance }: RateAt, on: { groundM2: number; dispersion: number }): Prediction {
  const mean = on.groundM2 * exponential(link);
  const spread = exponential(Math.min(variance, mostLinkVariance)) - 1;
  return within(mean, on.dispersion * mean + mean * mean * spread);
}

/** A count of this mean and variance with its interval. */
export function within(mean: number, variance: number): Prediction {
  return {
    mean,
    variance,
    low: countQuantile({ mean, variance }, 0.025),
    high: countQuantile({ mean, variance }, 0.975),
  };
}

/** How the trend foretold squares that were dug: each left out in turn. */
export interface CrossValidation {
  readonly squares: number;
  /** squares tried; some may leave too little behind to foretell them from */
  readonly tried: number;
  /** counts inside the interval foretold without them */
  readonly covered: number;
  /** mean of |count − foretold| */
  readonly meanError: number;
  /** mean Poisson deviance of the counts about what was foretold: small is good, sure mistakes cost most */
  readonly meanDeviance: number;
  /** mean of |count − foretold| if the mean rate of the other squares foretold it */
  readonly meanErrorOfMeanRate: number;
}

/** no more squares are left out one by one; a larger dig is tried on evenly chosen ones */
const mostTried = 600;
/** a count foretold is taken as no less: one find where none was thought possible must not cost without end */
const leastForetold = 1e-6;

/**
 * Leaves each dug square out, alone or with all squares within a distance, and asks the trend what is in it.
 *
 * Neighbours are alike: leaving out one square alone flatters a trend that has to foretell ground further off.
 *
 * @param bufferM  squares whose middles lie no farther are left out as well; 0 = the square alone
 * @returns        null when no square could be foretold
 * @see Stone 1974, doi:10.1111/j.2517-6161.1974.tb00994.x; Roberts et al. 2017, doi:10.1111/ecog.02881
 */
export function leaveOut(
  squares: readonly DugSquare[],
  trend: RateTrend,
  how: { readonly bufferM: number; tick(share: number): void },
): CrossValidation | null {
  const step = Math.max(1, Math.ceil(squares.length / mostTried));
  let tried = 0;
  let foretold = 0;
  let deviance = 0;
  let covered = 0;
  let error = 0;
  let errorOfMean = 0;
  for (let i = 0; i < squares.length; i += step) {
    how.tick(i / squares.length);
    const own = squares[i];
    const rest = squares.filter(
      (other, j) => j !== i && Math.hypot(other.x - own.x, other.y - own.y) > how.bufferM * (1 + 1e-9),
    );
    tried++;
    const fitted = fitRates(rest, trend.name);
    if (fitted === null) continue;
    const { mean, low, high } = predict(rateAt(fitted, own), {
      groundM2: own.exposureM2,
      dispersion: fitted.dispersion,
    });
    foretold++;
    if (own.count >= low && own.count <= high) covered++;
    error += Math.abs(own.count - mean);
    deviance += devianceOf(own.count, Math.max(mean, leastForetold));
    const counted = rest.reduce((sum, s) => sum + s.count, 0);
    const ground = rest.reduce((sum, s) => sum + s.exposureM2, 0);
    errorOfMean += Math.abs(own.count - (own.exposureM2 * counted) / ground);
  }
  if (foretold === 0) return null;
  return {
    squares: foretold,
    tried,
    covered,
    meanError: error / foretold,
    meanDeviance: deviance / foretold,
    meanErrorOfMeanRate: errorOfMean / foretold,
  };
}

const devianceOf = (count: number, mean: number) =>
  2 * ((count > 0 ? count * naturalLog(count / mean) : 0) - (count - mean));
