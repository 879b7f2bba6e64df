import { fUpperTail } from './distributions.js';
import { leastSquares } from './least-squares.js';
import { median } from './quantiles.js';

/** Levels at places, all [n]. */
export interface LevelPlaces {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/** A polynomial surface through levels. */
export interface Trend {
  readonly order: 1 | 2 | 3;
  /** terms of the polynomial: 3, 6 or 10 */
  readonly terms: number;
  /** [n] level less trend, metres */
  readonly residual: Float64Array;
  readonly sumOfSquares: number;
  /** level of the trend at a place, metres */
  at(x: number, y: number): number;
}

/** How much better an order explains the levels than a level plane, and than the order before. */
export interface OrderTest {
  readonly order: 1 | 2 | 3;
  /** 1 − residual / total sum of squares; null when all levels are equal */
  readonly rSquared: number | null;
  /** against a level plane; null without degrees of freedom or residual */
  readonly f: number | null;
  readonly p: number | null;
  /** against the order before */
  readonly fIncrease: number | null;
  readonly pIncrease: number | null;
  readonly degreesOfFreedom: number;
}

const powers: readonly (readonly [number, number])[] = [
  [0, 0],
  [1, 0],
  [0, 1],
  [2, 0],
  [1, 1],
  [0, 2],
  [3, 0],
  [2, 1],
  [1, 2],
  [0, 3],
];

const termsOf = (order: number) => ((order + 1) * (order + 2)) / 2;

/**
 * Least-squares polynomial of an order in centred, scaled coordinates.
 * @param weights  [n]; null = all 1
 * @returns        null when the places do not carry so many terms: too few, or on one line or curve
 * @see Krumbein 1959, doi:10.1029/JZ064i007p00823; Davis 2002, Statistics and Data Analysis in Geology, ch. 5
 */
export function fitTrend(places: LevelPlaces, order: 1 | 2 | 3, weights: Float64Array | null = null): Trend | null {
  const { x, y, z } = places;
  const n = x.length;
  if (n === 0) return null;
  const middle = (values: Float64Array) => values.reduce((sum, v) => sum + (v - values[0]) / n, 0) + values[0];
  const cx = middle(x);
  const cy = middle(y);
  const size = x.reduce((reach, v, i) => Math.max(reach, Math.abs(v - cx), Math.abs(y[i] - cy)), 0) || 1;
  const terms = termsOf(order);
  const used = powers.slice(0, terms);
  const columns = used.map(([p, q]) => x.map((v, i) => ((v - cx) / size) ** p * ((y[i] - cy) / size) ** q));
  // relative to the first level: levels of a far datum then cost no digits
  const fit = leastSquares(
    columns,
    z.map((v) => v - z[0]),
    weights,
  );
  if (fit === null) return null;
  return {
    order,
    terms,
    residual: fit.residual,
    sumOfSquares: fit.sumOfSquares,
    at: (px, py) =>
      used.reduce(
        (sum, [p, q], k) => sum + fit.coefficients[k] * ((px - cx) / size) ** p * ((py - cy) / size) ** q,
        z[0],
      ),
  };
}

/**
 * R² and F of every order that the places carry, each against a level plane and against the order before.
 *
 * Levels of neighbouring nodes are alike, so they are fewer independent facts than they are many: p is too small.
 */
export function orderTests(places: LevelPlaces): OrderTest[] {
  const { z } = places;
  const n = z.length;
  const mean = z.reduce((sum, v) => sum + (v - z[0]) / n, 0) + (z[0] ?? 0);
  const total = z.reduce((sum, v) => sum + (v - mean) ** 2, 0);
  const out: OrderTest[] = [];
  let before = { sumOfSquares: total, terms: 1 };
  for (const order of [1, 2, 3] as const) {
    const trend = fitTrend(places, order);
    if (trend === null) break;
    const free = n - trend.terms;
    const against = (base: { sumOfSquares: number; terms: number }) => {
      const more = trend.terms - base.terms;
      // nothing left over but rounding: there is no error to compare with
      if (free < 1 || !(trend.sumOfSquares > 1e-24 * Math.max(total, 1e-300))) return { f: null, p: null };
      const f = (base.sumOfSquares - trend.sumOfSquares) / more / (trend.sumOfSquares / free);
      return { f: Math.max(0, f), p: fUpperTail(Math.max(0, f), more, free) };
    };
    const overall = against({ sumOfSquares: total, terms: 1 });
    const increase = against(before);
    out.push({
      order,
      rSquared: total > 0 ? 1 - trend.sumOfSquares / total : null,
      f: overall.f,
      p: overall.p,
      fIncrease: increase.f,
      pIncrease: increase.p,
      degreesOfFreedom: free,
    });
    before = trend;
  }
  return out;
}

/** A trend that far-off levels cannot pull. */
export interface RobustTrend {
  readonly trend: Trend;
  /** [n] 1 = counted in full, 0 = not at all */
  readonly weights: Float64Array;
  /** robust standard deviation of the residuals, metres */
  readonly scaleM: number;
}

/** Tukey's constant: 95 % of the efficiency of least squares when all levels are good. */
export const biweightConstant = 4.685;
/** Huber's constant, for the way in. */
const huberConstant = 1.345;

/**
 * The trend by iteratively reweighted least squares: Huber's weights from the plain fit to a safe start, then Tukey's
 * biweight, whose scale is the median absolute residual / 0.6745. A tenth of wrong levels (inverted nodes, a tide not
 * taken off) hardly moves it.
 *
 * @returns null when the places do not carry the order
 * @see Huber 1964, doi:10.1214/aoms/1177703732; Beaton & Tukey 1974, doi:10.1080/00401706.1974.10489171
 */
export function robustTrend(places: LevelPlaces, order: 1 | 2 | 3): RobustTrend | null {
  let trend = fitTrend(places, order);
  if (trend === null) return null;
  let weights = new Float64Array(places.x.length).fill(1);
  let scaleM = scaleOf(trend.residual);
  const huber = (u: number) => (u <= huberConstant ? 1 : huberConstant / u);
  const biweight = (u: number) => (u >= biweightConstant ? 0 : (1 - (u / biweightConstant) ** 2) ** 2);
  for (const [weigh, rounds] of [
    [huber, 30],
    [biweight, 100],
  ] as const) {
    for (let round = 0; round < rounds && scaleM > 0; round++) {
      const next = trend.residual.map((r) => weigh(Math.abs(r) / scaleM));
      const fitted = fitTrend(places, order, next);
      // so few levels left that they do not carry the order: keep the last fit that stood
      if (fitted === null) break;
      const change = next.reduce((largest, w, i) => Math.max(largest, Math.abs(w - weights[i])), 0);
      trend = fitted;
      weights = next;
      scaleM = scaleOf(trend.residual);
      if (change < 1e-10) break;
    }
  }
  return { trend, weights, scaleM };
}

function scaleOf(residual: Float64Array): number {
  return (median(residual.map(Math.abs)) ?? 0) / 0.6744897501960817;
}
