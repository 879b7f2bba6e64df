import { exponential, naturalLog } from './elementary.js';

/**
 * Tail probabilities of the usual test statistics. Tails are summed as tails, never as one minus the rest, so that a
 * p value of 1e-40 keeps its digits. Everything rests on + − × ÷ and square roots: equal on every machine.
 */

const rootTwoPi = 2.5066282746310002;
const logRootTwoPi = 0.9189385332046727;

/** exp(−z²/2) without the rounding of z², which would cost digits far out. */
function bell(z: number): number {
  const coarse = Math.floor(z * 16) / 16;
  return exponential((-coarse * coarse) / 2) * exponential((-(z - coarse) * (z + coarse)) / 2);
}

/** Quotient of two polynomials of Cody's tables: (…(top·t + upper₀) t + …) over (…(t + lower₀) t + …). */
function quotient(t: number, table: { top: number; upper: readonly number[]; lower: readonly number[] }): number {
  const { upper, lower } = table;
  const last = lower.length - 1;
  let numerator = table.top * t;
  let denominator = t;
  for (let i = 0; i < last; i++) {
    numerator = (numerator + upper[i]) * t;
    denominator = (denominator + lower[i]) * t;
  }
  return (numerator + upper[last]) / (denominator + lower[last]);
}

const middle = {
  top: 0.06568233791820745,
  upper: [2.2352520354606837, 161.02823106855587, 1067.6894854603709, 18154.981253343562],
  lower: [47.202581904688245, 976.0985517377767, 10260.932208618979, 45507.78933502673],
};
const shoulder = {
  top: 1.0765576773720192e-8,
  upper: [
    0.39894151208813466, 8.883149794388377, 93.50665613217785, 597.2702763948002, 2494.5375852903726, 6848.190450536283,
    11602.65143764735, 9842.714838383978,
  ],
  lower: [
    22.266688044328117, 235.387901782625, 1519.3775994075547, 6485.558298266761, 18615.571640885097, 34900.952721145979,
    38912.00328609327, 19685.429676859992,
  ],
};
const farTail = {
  top: 0.023073441764940174,
  upper: [0.215898534057957, 0.12740116116024736, 0.022235277870649807, 0.0014216191932278934, 2.9112874951168793e-5],
  lower: [1.284260096144911, 0.46823821248086511, 0.06598813786892856, 0.0037823963320275824, 7.297515550839662e-5],
};

/**
 * Probability that a standard normal value exceeds z, to a few units of the last place however far out.
 * @see Cody 1969, doi:10.1090/S0025-5718-1969-0247736-4
 */
export function normalUpperTail(z: number): number {
  const distance = Math.abs(z);
  if (distance <= 0.67448975) return 0.5 - z * quotient(z * z, middle);
  if (distance > 39) return z > 0 ? 0 : 1;
  let tail: number;
  if (distance <= 5.656854249492381) tail = quotient(distance, shoulder);
  else {
    const inverse = 1 / (distance * distance);
    tail = (1 / rootTwoPi - inverse * quotient(inverse, farTail)) / distance;
  }
  tail *= bell(distance);
  return z > 0 ? tail : 1 - tail;
}

/** Probability that a standard normal value lies below z: the distribution function. */
export function normalLowerTail(z: number): number {
  return normalUpperTail(-z);
}

/** Probability that a standard normal value lies at least as far from 0 as z, on either side. */
export function normalTwoSided(z: number): number {
  return Math.min(1, 2 * normalUpperTail(Math.abs(z)));
}

// Bernoulli numbers over 2k (2k − 1): the remainder of Stirling's formula
const stirlingShares = [1 / 12, -1 / 360, 1 / 1260, -1 / 1680, 1 / 1188, -691 / 360360, 1 / 156, -3617 / 122400];

/** ln Γ(a) less Stirling's formula; a ≥ 10. */
function stirlingRemainder(a: number): number {
  const square = 1 / (a * a);
  let sum = 0;
  for (let k = stirlingShares.length - 1; k >= 0; k--) sum = sum * square + stirlingShares[k];
  return sum / a;
}

/**
 * Logarithm of the gamma function; ln (a − 1)! for whole a.
 * @param a  above 0
 * @see Abramowitz & Stegun 1964, 6.1.40
 */
export function logGamma(a: number): number {
  let product = 1;
  let at = a;
  for (; at < 10; at++) product *= at;
  return (at - 0.5) * naturalLog(at) - at + logRootTwoPi + stirlingRemainder(at) - naturalLog(product);
}

/** x^a e^(−x) / Γ(a), without the cancellation of large terms when x is near a large a. */
function gammaFactor(a: number, x: number): number {
  if (a < 10) return exponential(a * naturalLog(x) - x - logGamma(a));
  const m = (x - a) / a;
  let deviance = m - naturalLog(x / a);
  if (Math.abs(m) < 0.5) {
    // m − ln(1 + m) by the series in s = m / (2 + m)
    const s = m / (2 + m);
    let series = 0;
    for (let k = 18; k >= 1; k--) series = series * s * s + 1 / (2 * k + 1);
    deviance = s * (m - 2 * s * s * series);
  }
  return (Math.sqrt(a) / rootTwoPi) * exponential(-a * deviance - stirlingRemainder(a));
}

/** γ(a, x) / Γ(a) by its series; for x < a + 1. */
function gammaSeries(a: number, x: number): number {
  let term = 1 / a;
  let sum = term;
  for (let k = 1; term > 1e-17 * sum; k++) {
    term *= x / (a + k);
    sum += term;
  }
  return sum * gammaFactor(a, x);
}

/** Γ(a, x) / Γ(a) by Legendre's continued fraction (Lentz's way of summing it); for x ≥ a + 1. */
function gammaFraction(a: number, x: number): number {
  let b = x + 1 - a;
  let c = Infinity;
  let d = 1 / b;
  let value = d;
  for (let k = 1; k < 100_000; k++) {
    const numerator = -k * (k - a);
    b += 2;
    d = 1 / (numerator * d + b);
    c = b + numerator / c;
    const step = d * c;
    value *= step;
    if (Math.abs(step - 1) < 2e-16) break;
  }
  return value * gammaFactor(a, x);
}

/** Regularised upper incomplete gamma function Q(a, x); a > 0, x ≥ 0. @see Abramowitz & Stegun 1964, 6.5 */
function gammaUpperTail(a: number, x: number): number {
  if (!(x > 0)) return 1;
  return x < a + 1 ? 1 - gammaSeries(a, x) : gammaFraction(a, x);
}

/** Regularised lower incomplete gamma function P(a, x); a > 0, x ≥ 0. */
function gammaLowerTail(a: number, x: number): number {
  if (!(x > 0)) return 0;
  return x < a + 1 ? gammaSeries(a, x) : 1 - gammaFraction(a, x);
}

/** Probability that χ² with `df` degrees of freedom exceeds `value`. */
export function chiSquareUpperTail(value: number, df: number): number {
  return gammaUpperTail(df / 2, value / 2);
}

/** Probability that χ² with `df` degrees of freedom lies below `value`. */
export function chiSquareLowerTail(value: number, df: number): number {
  return gammaLowerTail(df / 2, value / 2);
}

/** What the incomplete beta function is asked: 0 ≤ x ≤ 1, and its complement where the caller knows it more exactly. */
export interface BetaQuestion {
  readonly a: number;
  readonly b: number;
  readonly x: number;
  /** 1 − x */
  readonly complement?: number;
}

/**
 * Regularised incomplete beta function I_x(a, b).
 * @see Abramowitz & Stegun 1964, 26.5.8
 */
export function incompleteBeta(question: BetaQuestion): number {
  const { a, b, x, complement = 1 - x } = question;
  if (x <= 0) return 0;
  if (complement <= 0) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - betaFraction(b, a, { x: complement, complement: x });
  return betaFraction(a, b, { x, complement });
}

function betaFraction(a: number, b: number, at: { x: number; complement: number }): number {
  const { x, complement } = at;
  const factor = exponential(
    a * naturalLog(x) + b * naturalLog(complement) + logGamma(a + b) - logGamma(a) - logGamma(b),
  );
  const tiny = 1e-300;
  const apart = (v: number) => (Math.abs(v) < tiny ? tiny : v);
  let c = 1;
  let d = 1 / apart(1 - ((a + b) * x) / (a + 1));
  let value = d;
  for (let k = 1; k < 100_000; k++) {
    const even = (k * (b - k) * x) / ((a + 2 * k - 1) * (a + 2 * k));
    d = 1 / apart(1 + even * d);
    c = apart(1 + even / c);
    value *= d * c;
    const odd = (-(a + k) * (a + b + k) * x) / ((a + 2 * k) * (a + 2 * k + 1));
    d = 1 / apart(1 + odd * d);
    c = apart(1 + odd / c);
    const step = d * c;
    value *= step;
    if (Math.abs(step - 1) < 2e-16) break;
  }
  return (factor * value) / a;
}

/** Probability that Student's t with `df` degrees of freedom lies at least as far from 0 as t, on either side. */
export function studentTwoSided(t: number, df: number): number {
  const square = t * t;
  if (square === Infinity) return 0;
  return incompleteBeta({ a: df / 2, b: 0.5, x: df / (df + square), complement: square / (df + square) });
}

/** Probability that Student's t with `df` degrees of freedom exceeds t. */
export function studentUpperTail(t: number, df: number): number {
  const half = studentTwoSided(t, df) / 2;
  return t < 0 ? 1 - half : half;
}

/** Probability that F with df1 (upper) and df2 (lower) degrees of freedom exceeds `value`. */
export function fUpperTail(value: number, df1: number, df2: number): number {
  if (!(value > 0)) return 1;
  if (value === Infinity) return 0;
  const sum = df2 + df1 * value;
  return incompleteBeta({ a: df2 / 2, b: df1 / 2, x: df2 / sum, complement: (df1 * value) / sum });
}
