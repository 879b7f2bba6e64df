import { benjaminiHochberg, holm } from '../../math/false-discovery.js';
import { pairRatioIntervals, type RatioInterval } from '../../math/marked-bootstrap.js';
import { type ScaledDeviation, scaledDeviation } from '../../math/scaled-deviation.js';
import { type Association, pairNumber } from './dealings.js';
import type { PairRow } from './schemas.js';

/** What pair rows are made with. */
export interface PairContext {
  readonly classes: readonly string[];
  /** [n] first classes of finds with a place */
  readonly label: Uint8Array;
  readonly leastFinds: number;
  /** pair asked about beforehand, by class number */
  readonly asked: readonly [number, number] | null;
  /** names are dealt find by find over everything: the mean of K is then that of all finds */
  readonly isPlainDealing: boolean;
  readonly areaM2: number;
  /** [n] block of ground of each find, for intervals */
  readonly block: Int32Array;
  readonly blocks: number;
  readonly simulations: number;
  readonly seed: number;
  readonly progress: (share: number) => void;
}

/** of two normal quantiles, 0.975 and 0.8: an effect so many standard deviations off is seen four times in five */
const powerFactor = 1.959963984540054 + 0.8416212335729143;
/** with a Poisson mean above this, no pair at all is seen less than once in forty times */
const noneSeen = 3.688879454113936;
const level = 0.05;
/** resamplings carry an interval, not a tail */
const mostResamplings = 999;
/** streams of resamplings, apart from those of the dealings */
const resamplingStreams = 500_000_000;

/** All pairs of classes in the order of the classes, with p allowing for all of them. */
export function pairRows(found: Association, context: PairContext): PairRow[] {
  const { layout, count, dealt, observed } = found;
  const intervals = pairRatioIntervals(
    { pairs: found.pairs, label: context.label, classes: layout.classes, block: context.block, blocks: context.blocks },
    {
      count: Math.min(context.simulations, mostResamplings),
      seed: context.seed,
      first: resamplingStreams,
      progress: context.progress,
    },
  );
  const isTested = (i: number, j: number) => Math.min(count[i], count[j]) >= context.leastFinds;
  const all: { readonly i: number; readonly j: number }[] = [];
  for (let i = 0; i < layout.classes; i++) for (let j = i + 1; j < layout.classes; j++) all.push({ i, j });
  const test = (at: readonly number[]) =>
    // a class without a square has no likeness to test
    at.every((k) => Number.isFinite(observed[k]) && dealt[k].every(Number.isFinite))
      ? scaledDeviation(
          at.map((k) => observed[k]),
          at.map((k) => dealt[k]),
        )
      : null;
  const distances = Array.from({ length: layout.distances }, (_, d) => d);
  const deviations = all.map(({ i, j }) =>
    isTested(i, j) ? test(distances.map((d) => layout.k(pairNumber(i, j), d))) : null,
  );
  const near = family(deviations);
  // squares are compared with the finds known by a square among them
  const squareTests = (at: (pair: number) => number) =>
    family(all.map(({ i, j }) => (isTested(i, j) ? test([at(pairNumber(i, j))]) : null)));
  const jaccard = squareTests(layout.jaccard);
  const robinsonBrainerd = squareTests(layout.robinsonBrainerd);
  return all.map(({ i, j }, row): PairRow => {
    const pair = pairNumber(i, j);
    const at = distances.map((d) => distanceRow(found, context, { i, j, d, deviation: deviations[row], intervals }));
    const strongest = deviations[row]?.strongest ?? strongestWithout(at);
    const leading = at[strongest];
    const place = deviations[row]?.places[strongest];
    const isAsked = context.asked?.includes(i) === true && context.asked.includes(j);
    const p = isAsked ? near.p[row] : near.holm[row];
    const isSeen = p !== null && p <= level && place !== undefined;
    const spread = place && place.mean > 0 ? (powerFactor * place.deviation) / place.mean : null;
    const likeness = (value: number, tested: Family) => ({
      value: numberOrNull(value),
      expected: tested.means[row],
      p: tested.p[row],
      p_holm: tested.holm[row],
      p_bh: tested.bh[row],
    });
    return {
      first: context.classes[i],
      second: context.classes[j],
      n_first: count[i],
      n_second: count[j],
      reading: isSeen ? (place.scaled > 0 ? 'together' : 'apart') : 'cannot tell',
      reason: isSeen ? restsOn(leading) : reasonOf(found, context, { i, j, p }),
      strongest_at_m: leading.ratio === null ? null : leading.distance_m,
      ratio: leading.ratio,
      low: leading.low,
      high: leading.high,
      p: near.p[row],
      p_holm: near.holm[row],
      p_bh: near.bh[row],
      smallest_seen_below: spread !== null && spread < 1 ? 1 - spread : null,
      smallest_seen_above: spread === null ? null : 1 + spread,
      over_draws: null,
      at,
      shared_squares: found.sharedSquares[i * layout.classes + j],
      jaccard: likeness(observed[layout.jaccard(pair)], jaccard),
      robinson_brainerd: likeness(observed[layout.robinsonBrainerd(pair)], robinsonBrainerd),
    };
  });
}

const numberOrNull = (value: number): number | null => (Number.isFinite(value) ? value : null);

interface Family {
  readonly p: readonly (number | null)[];
  readonly holm: readonly (number | null)[];
  readonly bh: readonly (number | null)[];
  readonly means: readonly (number | null)[];
}

/** Tests of one kind, raised for their number. */
function family(tests: readonly (ScaledDeviation | null)[]): Family {
  const p = Float64Array.from(tests, (one) => one?.p ?? Number.NaN);
  return {
    p: Array.from(p, numberOrNull),
    holm: Array.from(holm(p), numberOrNull),
    bh: Array.from(benjaminiHochberg(p), numberOrNull),
    means: tests.map((one) => one && numberOrNull(one.places[0].mean)),
  };
}

/** Mean of K of a pair when names are dealt out: exact where it is known, else over the dealings. */
export function expectedK(
  found: Association,
  isPlainDealing: boolean,
  { pair, d }: { readonly pair: number; readonly d: number },
): number {
  if (isPlainDealing) return found.pooledK[d];
  const values = found.dealt[found.layout.k(pair, d)];
  return values.length === 0 ? Number.NaN : values.reduce((sum, v) => sum + v, 0) / values.length;
}

function distanceRow(
  found: Association,
  context: PairContext,
  of: {
    readonly i: number;
    readonly j: number;
    readonly d: number;
    readonly deviation: ScaledDeviation | null;
    readonly intervals: (pair: { i: number; j: number; distance: number }) => RatioInterval | null;
  },
): PairRow['at'][number] {
  const { i, j, d } = of;
  const { layout, observed, pooledK, plainPairs, radii } = found;
  const pair = pairNumber(i, j);
  const k = observed[layout.k(pair, d)];
  const expected = expectedK(found, context.isPlainDealing, { pair, d });
  const ratio = expected > 0 ? numberOrNull(k / expected) : null;
  const place = of.deviation?.places[d];
  const pairs = plainPairs[d * layout.classes ** 2 + i * layout.classes + j];
  let ends: { low: number; high: number } | null = null;
  if (ratio !== null && place && pairs > 0) {
    const interval = of.intervals({ i, j, distance: d });
    // intervals are of K over that of all finds
    const scale = pooledK[d] / expected;
    ends = interval && { low: interval.low * scale, high: interval.high * scale };
  } else if (ratio !== null && place) {
    // no pair was seen: the largest ratio that would leave none once in forty times, pairs coming in bunches
    const meanPairs = (found.count[i] * found.count[j] * expected) / context.areaM2;
    const bunching = Math.max(1, (place.deviation / place.mean) ** 2 * meanPairs);
    ends = { low: 0, high: (noneSeen * bunching) / meanPairs };
  }
  const relative = (value: number | undefined) =>
    value === undefined || !(expected > 0) ? null : numberOrNull(value / expected);
  return {
    distance_m: radii.values[d],
    pairs,
    k_m2: numberOrNull(k),
    expected_m2: numberOrNull(expected),
    ratio,
    low: ends?.low ?? null,
    high: ends?.high ?? null,
    chance_low: relative(place?.low),
    chance_high: relative(place?.high),
    p_together: place && place.deviation > 0 ? place.upper : null,
    p_apart: place && place.deviation > 0 ? place.lower : null,
  };
}

/** Without simulations the ratio farthest from 1 leads. */
function strongestWithout(at: readonly PairRow['at'][number][]): number {
  const far = at.map(({ ratio }) => (ratio === null ? -1 : Math.max(ratio, 1 / Math.max(ratio, 1e-9))));
  return far.indexOf(Math.max(...far));
}

/** A pattern that dealings do not give may still rest on one heap. */
function restsOn({ low, high }: PairRow['at'][number]): string | null {
  if (low === null || high === null) return 'no interval can be told: the finds lie on few patches of ground';
  return low <= 1 && high >= 1 ? 'the interval holds 1: it rests on few patches of ground' : null;
}

function reasonOf(
  found: Association,
  context: PairContext,
  { i, j, p }: { readonly i: number; readonly j: number; readonly p: number | null },
): string {
  const small = [i, j].filter((c) => found.count[c] < context.leastFinds);
  if (small.length > 0) {
    return `too few finds: ${small.map((c) => `${context.classes[c]} ${found.count[c]}`).join(', ')}`;
  }
  if (context.simulations === 0) return 'no names were dealt out';
  if (p === null) return 'no dealing changes this pair: both classes move only in groups of their own';
  return 'not told apart from names dealt out';
}
