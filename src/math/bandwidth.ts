import { Problem } from '../problems.js';
import { edgeMass } from './kernel-edge.js';
import { type Region, regionBox, shiftRegion } from './rings.js';

/** A bandwidth found by a rule. */
export interface ChosenBandwidth {
  readonly sigmaM: number;
  /** the rule's criterion has no best value inside the range searched: the figure is the end of the range, not an optimum */
  readonly atBoundary: boolean;
  /** value of the criterion there; null for a rule without one */
  readonly criterion: number | null;
}

/** most finds for which all pairs are summed at every bandwidth tried */
const mostFinds = 20_000;

/** Positions and what each counts for in the spread: a find spread over an area has many, sharing one. */
export interface SpreadFinds {
  readonly xy: Float64Array;
  /** [n] shares; they sum to the number of finds */
  readonly share: Float64Array;
}

/**
 * Scott's rule of thumb: the geometric mean of the standard deviations along both axes, less the more finds there
 * are (power −1/6). Made for one rounded cluster: on several clusters or along a hull it smooths far too much.
 *
 * @throws Problem cannot-answer for fewer than two finds or finds on one line along an axis
 * @see Scott 1992, Multivariate Density Estimation, doi:10.1002/9780470316849
 */
export function scottBandwidth({ xy, share }: SpreadFinds): ChosenBandwidth {
  let n = 0;
  let x = 0;
  let y = 0;
  for (let i = 0; i < share.length; i++) {
    n += share[i];
    x += share[i] * (xy[2 * i] - xy[0]);
    y += share[i] * (xy[2 * i + 1] - xy[1]);
  }
  if (n < 1.5) throw tooFew('scott', Math.round(n));
  const meanX = xy[0] + x / n;
  const meanY = xy[1] + y / n;
  let squaresX = 0;
  let squaresY = 0;
  for (let i = 0; i < share.length; i++) {
    squaresX += share[i] * (xy[2 * i] - meanX) ** 2;
    squaresY += share[i] * (xy[2 * i + 1] - meanY) ** 2;
  }
  const sigmaM = Math.sqrt(Math.sqrt((squaresX / (n - 1)) * (squaresY / (n - 1)))) * n ** (-1 / 6);
  const extent = Math.sqrt(squaresX + squaresY);
  if (!(sigmaM > 1e-6 * extent)) {
    throw new Problem(
      'cannot-answer',
      extent > 0
        ? 'the rule scott needs finds that spread along both axes of the site grid; these lie on one line: give a bandwidth in metres'
        : `the rule scott needs finds that spread; all ${Math.round(n)} lie at one place: give a bandwidth in metres`,
      { n },
    );
  }
  return { sigmaM, atBoundary: false, criterion: null };
}

/** The refusal every rule gives when there is nothing to learn a bandwidth from. */
export function tooFew(rule: string, n: number): Problem {
  return new Problem(
    'too-few-points',
    `the bandwidth rule ${rule} needs at least 2 finds with a position, got ${n}; give a bandwidth in metres`,
    { n, rule },
  );
}

/**
 * Likelihood cross-validation: how well the other finds foretell each find, as the sum over finds of the logarithm of
 * the density left without it, corrected at the place for the trench edge. Larger is better.
 *
 * @param xy  [2n] metres; n ≥ 2
 * @returns   the criterion as a function of the bandwidth in metres; n² / 2 exponentials a call
 * @see Loader 1999, Local Regression and Likelihood, Springer
 */
export function likelihoodCriterion(xy: Float64Array, window: Region): (sigmaM: number) => number {
  const { local, region } = toCorner(xy, window);
  const n = local.length / 2;
  const nearest2 = nearestSquares(local);
  return (sigmaM) => {
    const perTwo = 1 / (2 * sigmaM * sigmaM);
    const sums = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++) {
        const dx = local[2 * i] - local[2 * j];
        const dy = local[2 * i + 1] - local[2 * j + 1];
        const d2 = dx * dx + dy * dy;
        // from each find's nearest neighbour on, so that a lone find far from all others does not underflow to ln 0
        const fromI = (d2 - nearest2[i]) * perTwo;
        const fromJ = (d2 - nearest2[j]) * perTwo;
        if (fromI < 40) sums[i] += Math.exp(-fromI);
        if (fromJ < 40) sums[j] += Math.exp(-fromJ);
      }
    }
    const mass = edgeMass(region, sigmaM);
    let total = n * Math.log(perTwo / Math.PI);
    for (let i = 0; i < n; i++) {
      total += Math.log(sums[i] / mass(local[2 * i], local[2 * i + 1])) - nearest2[i] * perTwo;
    }
    return total;
  };
}

/**
 * Least-squares cross-validation: the integrated square of the density less twice its agreement with the finds left
 * out, in closed form and without edge correction. Smaller is better; coincident finds draw it to zero.
 *
 * @param xy  [2n] metres; n ≥ 2
 * @see Rudemo 1982, Scandinavian Journal of Statistics 9, 65–78; Bowman 1984, doi:10.1093/biomet/71.2.353
 */
export function leastSquaresCriterion(xy: Float64Array): (sigmaM: number) => number {
  const n = xy.length / 2;
  const local = xy.map((v, k) => v - xy[k % 2]);
  return (sigmaM) => {
    const perFour = 1 / (4 * sigmaM * sigmaM);
    let wide = 0;
    let narrow = 0;
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++) {
        const dx = local[2 * i] - local[2 * j];
        const dy = local[2 * i + 1] - local[2 * j + 1];
        const q = (dx * dx + dy * dy) * perFour;
        if (q > 700) continue;
        const kernel = Math.exp(-q);
        wide += kernel;
        narrow += kernel * kernel;
      }
    }
    const square = ((n + 2 * wide) * perFour) / (Math.PI * n * n);
    return square - (2 / (n * (n - 1))) * ((2 * narrow * 2 * perFour) / Math.PI);
  };
}

/**
 * Bandwidth of the best cross-validation criterion between 1/2000 and half of the window's diagonal: 40 steps of equal
 * ratio, then golden section around the best.
 *
 * @throws Problem too-few-points, cannot-answer when coincident finds draw the bandwidth to zero, too-much-work beyond 20,000 finds
 */
export function crossValidatedBandwidth(spec: {
  readonly rule: 'lcv' | 'lscv';
  readonly xy: Float64Array;
  readonly window: Region;
  progress?(share: number): void;
}): ChosenBandwidth {
  const { rule, xy, window } = spec;
  const n = xy.length / 2;
  if (n < 2) throw tooFew(rule, n);
  if (n > mostFinds) {
    throw new Problem(
      'too-much-work',
      `the rule ${rule} compares all pairs of finds and is kept to ${mostFinds} of them, got ${n}; use scott or give a bandwidth in metres`,
      { n, rule },
    );
  }
  const [west, south, east, north] = regionBox(window);
  const diagonal = Math.hypot(east - west, north - south);
  const criterion = rule === 'lcv' ? likelihoodCriterion(xy, window) : leastSquaresCriterion(xy);
  const cost = (logSigma: number) => (rule === 'lcv' ? -1 : 1) * criterion(Math.exp(logSigma));
  const found = leastOnRange({
    cost,
    from: Math.log(diagonal / 2000),
    to: Math.log(diagonal / 2),
    steps: 40,
    progress: (share) => spec.progress?.(share),
  });
  const sigmaM = Math.exp(found.at);
  if (found.end === 'lower') {
    const coincident = coincidentCount(xy);
    throw new Problem(
      'cannot-answer',
      coincident > 0
        ? `the rule ${rule} finds no bandwidth: ${coincident} finds share their position with another and draw it to zero; give a bandwidth in metres, use scott, or count them as one spot`
        : `the rule ${rule} finds no bandwidth above ${Number(sigmaM.toPrecision(2))} m, 1/2000 of the window's diagonal; give a bandwidth in metres or use scott`,
      { rule, coincident },
    );
  }
  return { sigmaM, atBoundary: found.end === 'upper', criterion: rule === 'lcv' ? -found.cost : found.cost };
}

/** How many finds lie exactly where another one lies. */
export function coincidentCount(xy: Float64Array): number {
  const times = new Map<string, number>();
  for (let i = 0; i < xy.length; i += 2) {
    const key = `${xy[i]} ${xy[i + 1]}`;
    times.set(key, (times.get(key) ?? 0) + 1);
  }
  let sum = 0;
  for (const count of times.values()) if (count > 1) sum += count;
  return sum;
}

function leastOnRange(range: {
  cost(at: number): number;
  from: number;
  to: number;
  steps: number;
  progress(share: number): void;
}): { at: number; cost: number; end: 'lower' | 'upper' | null } {
  const { cost, from, to, steps } = range;
  const width = (to - from) / steps;
  let best = 0;
  let bestCost = Infinity;
  for (let k = 0; k <= steps; k++) {
    const value = cost(from + k * width);
    if (value < bestCost) {
      best = k;
      bestCost = value;
    }
    range.progress((0.6 * k) / steps);
  }
  const golden = (Math.sqrt(5) - 1) / 2;
  let low = from + Math.max(0, best - 1) * width;
  let high = from + Math.min(steps, best + 1) * width;
  let left = high - golden * (high - low);
  let right = low + golden * (high - low);
  let leftCost = cost(left);
  let rightCost = cost(right);
  while (high - low > 2e-6) {
    if (leftCost < rightCost) {
      high = right;
      right = left;
      rightCost = leftCost;
      left = high - golden * (high - low);
      leftCost = cost(left);
    } else {
      low = left;
      left = right;
      leftCost = rightCost;
      right = low + golden * (high - low);
      rightCost = cost(right);
    }
    range.progress(Math.min(1, 1 + (0.4 * Math.log(2e-6 / (high - low))) / Math.log(width / 1e-6)));
  }
  const at = (low + high) / 2;
  const found = { at, cost: Math.min(leftCost, rightCost), end: at - from < 1e-4 ? ('lower' as const) : null };
  // near the upper end the criterion is flat: the last twentieth counts as no optimum
  if (to - at > 0.05) return found;
  const last = cost(to);
  return last <= found.cost ? { at: to, cost: last, end: 'upper' } : { ...found, end: 'upper' };
}

function toCorner(xy: Float64Array, window: Region): { local: Float64Array; region: Region } {
  const [west, south] = regionBox(window);
  return { local: xy.map((v, k) => v - (k % 2 === 0 ? west : south)), region: shiftRegion(window, west, south) };
}

function nearestSquares(xy: Float64Array): Float64Array {
  const n = xy.length / 2;
  const out = new Float64Array(n).fill(Infinity);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      const dx = xy[2 * i] - xy[2 * j];
      const dy = xy[2 * i + 1] - xy[2 * j + 1];
      const d2 = dx * dx + dy * dy;
      if (d2 < out[i]) out[i] = d2;
      if (d2 < out[j]) out[j] = d2;
    }
  }
  return out;
}
