import { middleInterval, tellingStride } from '../../math/blocks.js';
import { rankProbability } from '../../math/monte-carlo.js';
import { median } from '../../math/quantiles.js';
import { type RandomStream, randomStream } from '../../math/random.js';

/** Joins between positions, and who may trade places with whom. */
export interface JoinedFinds {
  /** [2n] metres from a local origin */
  readonly xy: Float64Array;
  /** [joins] positions of the two ends; heavier first where bearings run from heavy to light */
  readonly a: Uint32Array;
  readonly b: Uint32Array;
  /** numbers of the joins whose bearing counts */
  readonly withBearing: Uint32Array;
  /** [joins] 0-based unit (pot vessel, or group of joined finds) of each join */
  readonly unit: Uint32Array;
  /** positions of each circle of finds that may trade places */
  readonly circles: readonly Uint32Array[];
}

/** whole steps a metre: equal means are equal whatever their order */
const stepsPerM = 2 ** 20;
/** resamplings carry an interval, not a tail: more than this add nothing */
const mostResamplings = 1999;
const resamplingStreams = 500_000_000;

/** Distances of joins after finds have traded places, one row of [joins] for each simulation, in whole steps. */
export interface Reallocated {
  readonly distance: Float64Array;
  /** [simulations] mean resultant of the bearings, doubled when axial */
  readonly rBar: Float64Array;
}

/** Distance of every join, in whole steps of a thousandth of a millimetre. */
export function joinDistances({ xy, a, b }: JoinedFinds): Float64Array {
  return Float64Array.from(a, (from, k) => stepsBetween(xy, from, b[k]));
}

function stepsBetween(xy: Float64Array, a: number, b: number): number {
  const dx = xy[2 * b] - xy[2 * a];
  const dy = xy[2 * b + 1] - xy[2 * a + 1];
  return Math.round(Math.sqrt(dx * dx + dy * dy) * stepsPerM);
}

/**
 * Lets finds trade places inside their circle, again and again: joins keep their finds, finds change their place.
 * Simulation 417 draws from stream 417 wherever it runs.
 */
export function reallocate(
  finds: JoinedFinds,
  plan: {
    readonly count: number;
    readonly seed: number;
    readonly kind: 'axial' | 'directed';
    readonly progress: (share: number) => void;
  },
): Reallocated {
  const { xy, a, b, circles } = finds;
  const joins = a.length;
  const distance = new Float64Array(plan.count * joins);
  const rBar = new Float64Array(plan.count);
  const starting = Uint32Array.from({ length: xy.length / 2 }, (_, i) => i);
  const place = new Uint32Array(starting.length);
  const stride = tellingStride(plan.count, xy.length);
  for (let s = 0; s < plan.count; s++) {
    if (s % stride === 0) plan.progress(s / plan.count);
    const random = randomStream(plan.seed, s);
    place.set(starting);
    for (const circle of circles) shuffleCircle(place, circle, random);
    for (let k = 0; k < joins; k++) distance[s * joins + k] = stepsBetween(xy, place[a[k]], place[b[k]]);
    rBar[s] = resultant(finds, place, plan.kind);
  }
  return { distance, rBar };
}

function shuffleCircle(place: Uint32Array, circle: Uint32Array, random: RandomStream): void {
  for (let i = circle.length - 1; i > 0; i--) {
    const j = random.below(i + 1);
    const kept = place[circle[i]];
    place[circle[i]] = place[circle[j]];
    place[circle[j]] = kept;
  }
}

/**
 * Mean resultant of the bearings from a to b; joins of no length have none.
 * @param place  [n] the find whose place each find stands at
 */
export function resultant(
  { xy, a, b, withBearing }: JoinedFinds,
  place: ArrayLike<number>,
  kind: 'axial' | 'directed',
): number {
  let c = 0;
  let s = 0;
  let n = 0;
  for (const k of withBearing) {
    const from = 2 * place[a[k]];
    const to = 2 * place[b[k]];
    const dx = xy[to] - xy[from];
    const dy = xy[to + 1] - xy[from + 1];
    const squared = dx * dx + dy * dy;
    if (squared === 0) continue;
    n++;
    // cosine and sine of the bearing, doubled for axes, without any trigonometry: the rank must not hang on a machine
    if (kind === 'axial') {
      c += (dy * dy - dx * dx) / squared;
      s += (2 * dx * dy) / squared;
    } else {
      const length = Math.sqrt(squared);
      c += dy / length;
      s += dx / length;
    }
  }
  return n === 0 ? 0 : Math.round((Math.sqrt(c * c + s * s) / n) * 2 ** 40) / 2 ** 40;
}

/** What is said of the distances of some joins. */
export interface DistanceSummary {
  readonly joins: number;
  readonly units: number;
  readonly meanM: number | null;
  readonly meanEnds: { readonly low: number; readonly high: number } | null;
  readonly medianM: number | null;
  readonly greatestM: number | null;
  readonly expectedM: number | null;
  readonly expectedEnds: { readonly low: number; readonly high: number } | null;
  readonly p: { readonly lower: number; readonly upper: number; readonly twoSided: number } | null;
}

/**
 * Mean distance of some joins against reallocated finds. Every unit counts once with the mean of its joins: a pot in
 * forty sherds is one pot.
 *
 * @param chosen  numbers of the joins asked about
 */
export function summariseDistances(
  finds: JoinedFinds,
  of: {
    readonly observed: Float64Array;
    readonly reallocated: Reallocated;
    readonly chosen: readonly number[];
    readonly simulations: number;
    readonly seed: number;
  },
): DistanceSummary {
  const { observed, reallocated, chosen, simulations } = of;
  const joins = finds.a.length;
  const units = new Map<number, number[]>();
  for (const k of chosen) {
    const list = units.get(finds.unit[k]);
    if (list) list.push(k);
    else units.set(finds.unit[k], [k]);
  }
  const lists = [...units.values()];
  const m = lists.length;
  if (m === 0) {
    return {
      joins: 0,
      units: 0,
      meanM: null,
      meanEnds: null,
      medianM: null,
      greatestM: null,
      expectedM: null,
      expectedEnds: null,
      p: null,
    };
  }
  const unitMeans = (distance: Float64Array, from: number) =>
    lists.map((list) => list.reduce((sum, k) => sum + distance[from + k], 0) / list.length);
  const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;
  const own = unitMeans(observed, 0);
  const simulated = Float64Array.from({ length: simulations }, (_, s) =>
    mean(unitMeans(reallocated.distance, s * joins)),
  );
  const ends = middleInterval(simulated);
  const asMetres = (interval: { low: number; high: number } | null) =>
    interval && { low: interval.low / stepsPerM, high: interval.high / stepsPerM };
  const metres = chosen.map((k) => observed[k] / stepsPerM);
  return {
    joins: chosen.length,
    units: m,
    meanM: mean(own) / stepsPerM,
    meanEnds: asMetres(m < 3 ? null : resampledMean(own, { simulations, seed: of.seed })),
    medianM: median(metres),
    greatestM: metres.reduce((most, v) => Math.max(most, v), 0),
    expectedM: simulations > 0 ? mean(Array.from(simulated)) / stepsPerM : null,
    expectedEnds: asMetres(ends),
    p: simulations > 0 ? rankProbability(mean(own), simulated) : null,
  };
}

function resampledMean(values: readonly number[], of: { readonly simulations: number; readonly seed: number }) {
  const count = Math.min(of.simulations, mostResamplings);
  const m = values.length;
  return middleInterval(
    Float64Array.from({ length: count }, (_, s) => {
      const random = randomStream(of.seed, resamplingStreams + s);
      let sum = 0;
      for (let k = 0; k < m; k++) sum += values[random.below(m)];
      return sum / m;
    }),
  );
}

/** Share of joins within each place, observed and reallocated: rows for a drawing. */
export function shareWithin(distance: Float64Array, from: number, joins: number, placesM: readonly number[]): number[] {
  const sorted = distance.slice(from, from + joins).sort();
  let k = 0;
  return placesM.map((r) => {
    while (k < joins && sorted[k] <= r * stepsPerM) k++;
    return k / joins;
  });
}
