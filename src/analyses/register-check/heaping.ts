import { incompleteBeta } from '../../math/distributions.js';

/** how near a half metre an offset counts as lying on it, metres */
const nearM = 0.005;
const halfM = 0.5;
/** share of a half metre within that reach of either end */
const chance = (2 * nearM) / halfM;

/** How many offsets lie on whole and half metres, and the chance of so many or more. */
interface Heaping {
  readonly offsets: number;
  readonly onHalfMetres: number;
  readonly expected: number;
  /** P(X ≥ onHalfMetres), X binomial */
  readonly p: number;
}

/** Counts offsets within 5 mm of 0.0 or 0.5 m; when nobody rounded, two in a hundred lie there. @param offsets  metres */
export function heapedOffsets(offsets: readonly number[]): Heaping {
  const n = offsets.length;
  // a place read to the millimetre and carried over from another grid may come out a hair off
  const isNear = (v: number) => Math.abs(v - halfM * Math.round(v / halfM)) < nearM - 1e-6;
  const k = offsets.filter(isNear).length;
  return {
    offsets: n,
    onHalfMetres: k,
    expected: n * chance,
    p: k === 0 ? 1 : incompleteBeta({ a: k, b: n - k + 1, x: chance }),
  };
}
