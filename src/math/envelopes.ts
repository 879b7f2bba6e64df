import { rankProbability } from './monte-carlo.js';

/** An observed curve and the same curve of simulated patterns, at the same places. */
export interface CurveSet {
  /** [k] rising places of the curve */
  readonly places: Float64Array;
  /** [k] NaN where undefined; left untouched */
  readonly observed: Float64Array;
  /** [m × k] one simulated curve a row; left untouched */
  readonly simulated: Float64Array;
}

/** Ground between two curves that random patterns leave ANYWHERE with the stated probability. */
export interface GlobalBand {
  /** [k] NaN at places not tested */
  readonly low: Float64Array;
  readonly high: Float64Array;
  /** share of random patterns whose curve leaves the band somewhere */
  readonly level: number;
}

/** Differences that rounding alone can make: they count as ties, and ties count against significance. */
const rounding = 1e-11;

/** Places where a test can look: above 0, where the observed and every simulated curve is defined. */
export function testedPlaces(set: CurveSet): number[] {
  const { places, observed, simulated } = set;
  const k = places.length;
  const out: number[] = [];
  for (let at = 0; at < k; at++) {
    let isDefined = places[at] > 0 && Number.isFinite(observed[at]);
    for (let row = at; isDefined && row < simulated.length; row += k) isDefined = Number.isFinite(simulated[row]);
    if (isDefined) out.push(at);
  }
  return out;
}

/** What deviations are counted from: a known curve, or for each curve the mean of all others. */
export type Reference = Float64Array | 'mean_of_others';

/** A deviation test with add-one rank probability. */
export interface DeviationTest {
  readonly statistic: number;
  readonly p: number;
}

/**
 * Two global tests of a whole curve: the maximum absolute deviation (MAD) and the integrated squared deviation (DCLF)
 * from a reference, ranked among those of the simulated curves.
 *
 * With `mean_of_others` the observed curve is treated as one of all, so that the test is exact whatever bias the
 * estimator has. MAD sees one high excursion, DCLF a long low one; choose before looking.
 *
 * @param level  of the band about the reference: the k-th largest simulated deviation, k = level × (m + 1) rounded down
 * @returns      null without simulations or places to test; band null when there are too few simulations for the level
 * @see Diggle 1986, doi:10.1016/0165-0270(86)90135-0; Ripley 1981, Spatial Statistics; Baddeley et al. 2014, doi:10.1890/13-2042.1
 */
export function deviationTests(
  set: CurveSet,
  reference: Reference,
  level: number,
): { readonly mad: DeviationTest & { readonly band: GlobalBand | null }; readonly dclf: DeviationTest } | null {
  const { places, observed, simulated } = set;
  const k = places.length;
  const m = simulated.length / k;
  const tested = testedPlaces(set);
  if (m === 0 || tested.length === 0) return null;
  const others = meanOf(simulated, k);
  const centre = reference === 'mean_of_others' ? others : reference;
  const step = (at: number) => places[at] - (at === 0 ? 0 : places[at - 1]);
  const deviate = (value: (at: number) => number, from: (at: number) => number) => {
    let largest = 0;
    let squares = 0;
    for (const at of tested) {
      const deviation = value(at) - from(at);
      largest = Math.max(largest, Math.abs(deviation));
      squares += deviation * deviation * step(at);
    }
    return { largest, squares };
  };
  const own = deviate(
    (at) => observed[at],
    (at) => centre[at],
  );
  const each = Array.from({ length: m }, (_, i) => {
    const value = (at: number) => simulated[i * k + at];
    return deviate(value, (at) =>
      reference === 'mean_of_others' ? others[at] + (observed[at] - value(at)) / m : reference[at],
    );
  });
  let scale = 0;
  let range = 0;
  for (const at of tested) {
    scale = Math.max(scale, Math.abs(observed[at]));
    range += step(at);
  }
  const p = (statistic: number, among: readonly number[], same: number) =>
    rankProbability(
      statistic,
      among.map((other) => (Math.abs(other - statistic) <= same ? statistic : other)),
    ).upper;
  const largest = each.map((one) => one.largest);
  const rank = bandRankOf(m, level);
  const sorted = [...largest].sort((a, b) => b - a);
  const band = rank === 0 ? null : bandAbout(centre, tested, sorted[rank - 1]);
  return {
    mad: {
      statistic: own.largest,
      p: p(own.largest, largest, rounding * scale),
      band: band && { ...band, level: rank / (m + 1) },
    },
    dclf: {
      statistic: own.squares,
      // roots, so that a difference of rounding is as small as in the curves
      p: p(
        Math.sqrt(own.squares),
        each.map((one) => Math.sqrt(one.squares)),
        rounding * scale * Math.sqrt(range),
      ),
    },
  };
}

/** Which rank gives a global band of at most this level; 0 = too few simulations. */
function bandRankOf(simulations: number, level: number): number {
  return Math.floor(level * (simulations + 1) + 1e-9);
}

function bandAbout(centre: Float64Array, tested: readonly number[], halfWidth: number) {
  const low = new Float64Array(centre.length).fill(Number.NaN);
  const high = low.slice();
  for (const at of tested) {
    low[at] = centre[at] - halfWidth;
    high[at] = centre[at] + halfWidth;
  }
  return { low, high };
}

/** Mean of the simulated curves at each place. */
export function meanOf(simulated: Float64Array, k: number): Float64Array {
  const m = simulated.length / k;
  const out = new Float64Array(k);
  for (let i = 0; i < simulated.length; i++) out[i % k] += simulated[i];
  return out.map((sum) => sum / m);
}

/**
 * Global test by extreme rank length: curves are ordered by their most extreme rank among all, equal ones by how often
 * they reach it. Fair also where the curve's spread changes along r, and fine-grained with few simulations.
 *
 * @returns  p, and the band that holds all curves but the k most extreme, k = level × (m + 1) rounded down: the
 *           observed curve leaves it somewhere when p ≤ level. Null as with deviationTests
 * @see Myllymäki et al. 2017, doi:10.1111/rssb.12172
 */
export function extremeRankLength(
  set: CurveSet,
  level: number,
): { readonly p: number; readonly band: GlobalBand | null } | null {
  const { places, observed, simulated } = set;
  const k = places.length;
  const m = simulated.length / k;
  const tested = testedPlaces(set);
  if (m === 0 || tested.length === 0) return null;
  const count = m + 1;
  // curve 0 is the observed one
  const value = (curve: number, at: number) => (curve === 0 ? observed[at] : simulated[(curve - 1) * k + at]);
  const ranks = Array.from({ length: count }, () => new Float64Array(tested.length));
  tested.forEach((at, t) => {
    const column = Float64Array.from({ length: count }, (_, curve) => value(curve, at));
    middleRanks(column).forEach((rank, curve) => {
      ranks[curve][t] = Math.min(rank, count + 1 - rank);
    });
  });
  for (const row of ranks) row.sort();
  const order = Array.from(ranks.keys()).sort((a, b) => compare(ranks[a], ranks[b]));
  // curves at least as extreme as each, itself included; equal ones count as more extreme
  const atLeast = new Uint32Array(count);
  for (let i = count - 1, last = count; i >= 0; i--) {
    if (i + 1 < count && compare(ranks[order[i]], ranks[order[i + 1]]) !== 0) last = i + 1;
    atLeast[order[i]] = last;
  }
  const rank = bandRankOf(m, level);
  if (rank === 0) return { p: atLeast[0] / count, band: null };
  const low = new Float64Array(k).fill(Number.NaN);
  const high = low.slice();
  for (const at of tested) {
    low[at] = Infinity;
    high[at] = -Infinity;
    for (let curve = 0; curve < count; curve++) {
      if (atLeast[curve] <= rank) continue;
      low[at] = Math.min(low[at], value(curve, at));
      high[at] = Math.max(high[at], value(curve, at));
    }
  }
  return { p: atLeast[0] / count, band: { low, high, level: rank / count } };
}

/** Ranks from 1, equal values sharing their middle rank; differences of rounding count as equal. */
function middleRanks(values: Float64Array): Float64Array {
  const order = Uint32Array.from(values.keys()).sort((a, b) => values[a] - values[b]);
  const out = new Float64Array(values.length);
  const scale = Math.max(Math.abs(values[order[0]]), Math.abs(values[order[order.length - 1]]));
  for (let i = 0; i < order.length; ) {
    let j = i + 1;
    while (j < order.length && values[order[j]] - values[order[j - 1]] <= rounding * scale) j++;
    for (let t = i; t < j; t++) out[order[t]] = (i + 1 + j) / 2;
    i = j;
  }
  return out;
}

function compare(a: Float64Array, b: Float64Array): number {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return a[i] - b[i];
  return 0;
}

/** First place where a curve lies outside a band, and on which side; null when it stays inside. */
export function firstOutside(
  places: Float64Array,
  curve: Float64Array,
  band: { readonly low: Float64Array; readonly high: Float64Array },
): { readonly at: number; readonly side: 'above' | 'below' } | null {
  for (let k = 0; k < places.length; k++) {
    const slack = rounding * Math.abs(curve[k]);
    if (curve[k] > band.high[k] + slack) return { at: places[k], side: 'above' };
    if (curve[k] < band.low[k] - slack) return { at: places[k], side: 'below' };
  }
  return null;
}
