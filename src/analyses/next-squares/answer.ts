import { tileCounts, unitsOf } from '../../domain/counted-sample.js';
import { findsBySquare } from '../../domain/counting-squares.js';
import type { Sample } from '../../domain/sample.js';
import { chanceOfNone } from '../../math/count-law.js';
import { exponential } from '../../math/elementary.js';
import { tileAreaM2, tileBox } from '../../math/tiles.js';
import { Problem } from '../../problems.js';
import type { RunControl } from '../contract.js';
import { type HullContinuity, hullContinuity } from './hull-continuity.js';
import { hullOf, placesOf } from './places.js';
import { type DigPlan, digPlan, type Proposal } from './proposals.js';
import { reasonsOf } from './reasons.js';
import type { Parameters, SquareRow, Summary } from './schemas.js';
import { measures, settling } from './settling.js';
import {
  type CrossValidation,
  type DugSquare,
  fitRates,
  fittingTrend,
  leaveOut,
  type Prediction,
  predict,
  type RateTrend,
  rateAt,
  type TrendPlace,
  triedTrends,
  within,
} from './trend.js';

/** a square dug less than this share tells too little of its rate */
const leastDug = 0.05;
/** 97.5 % point of the normal law */
const normal975 = 1.959963984540054;

/** Everything the answer is made of. */
export interface Foretold {
  readonly plan: DigPlan;
  readonly dug: readonly DugSquare[];
  readonly summary: Omit<Summary, 'sentence'>;
  /** finds that state a square without dug ground, and finds in no square */
  readonly moved: number;
  readonly lost: number;
  readonly unknownState: number;
}

/** @throws Problem cannot-answer without a grid, or where no square is left to dig */
export function foretell(sample: Sample, own: Parameters, control: RunControl): Foretold {
  control.progress(0, 'counting by square');
  const plan = digPlan(sample, own.candidates);
  if (plan.proposals.length === 0) {
    throw new Problem(
      'cannot-answer',
      'no square is unfinished or planned in the seasons chosen; record areas with progress = planned, or ask for candidates = edge',
    );
  }
  const { squares, ground } = plan;
  const finds = findsBySquare(sample, squares, ground.areaM2);
  const counted = { squares, ground, finds, origin: [0, 0] as const, local: sample };
  const countsOf = (classCode: number | null) => tileCounts(unitsOf(counted, classCode), ground.areaM2.length);
  const hull = hullOf(sample);
  const placeOf = placesOf(plan, hull.surviving);
  const counts = countsOf(null);
  const dugTiles = [...ground.exposureM2.keys()].filter(
    (tile) => ground.exposureM2[tile] >= leastDug * tileAreaM2(squares.tiles),
  );
  const dugSquares = (values: Float64Array): DugSquare[] =>
    dugTiles.map((tile) => ({ ...placeOf(tile), count: values[tile], exposureM2: ground.exposureM2[tile] }));
  const dug = dugSquares(counts);
  const tried =
    own.trend === 'best'
      ? triedTrends(dug, {
          bufferM: own.extrapolation_m,
          tick: (share) => control.progress(0.6 * share, 'trying trends on dug squares'),
        })
      : [];
  const trend = own.trend === 'best' ? (tried.at(0)?.trend ?? fittingTrend(dug, 'none')) : fittingTrend(dug, own.trend);
  const boundary =
    own.question === 'class_boundary' && trend
      ? boundaryTrends(sample, trend, (code) => dugSquares(countsOf(code)))
      : null;
  const continuity = hullContinuity({
    ...hull,
    axis: sample.shipAxis,
    finished: plan.finished,
    edgeM: own.edge_m,
    continueM: own.continue_m,
  });
  const rows = plan.proposals.map((proposal) => {
    const place = placeOf(proposal.tile);
    const told = continuity(tileBox(squares.tiles, proposal.tile));
    const firstM = told.pointsAt.at(0)?.afterM ?? Infinity;
    const row = rowOf({
      proposal,
      place,
      label: squares.label(proposal.tile),
      found: counts[proposal.tile],
      hull: told,
      own,
      trend,
      dug,
      boundary,
    });
    return { row, firstM };
  });
  const plainRows = rows.map(({ row }) => row);
  return {
    plan,
    dug,
    moved: finds.moved,
    lost: finds.lost,
    unknownState: hull.unknownState,
    summary: {
      question: own.question,
      settles_value_is: measures[own.question],
      n: finds.tile.length + finds.areaTile.length,
      total: counts.reduce((sum, c) => sum + c, 0),
      window_area_m2: sample.windowAreaM2,
      squares_dug: dug.length,
      squares_proposed: rows.length,
      squares_extrapolated: plainRows.filter((row) => row.extrapolated).length,
      expected_total:
        trend &&
        totalOf(
          trend,
          plainRows,
          plan.proposals.map(({ tile }) => placeOf(tile)),
        ),
      ...trendSummary(trend, own, dug),
      trends_tried: tried.map((one) => ({ trend: one.trend.name, deviance_apart: one.apart.meanDeviance })),
      ...validations(dug, trend, own, control),
      boundary_classes: boundary?.names ?? [],
      squares: ranked(rows),
    },
  };
}

interface Boundary {
  readonly names: (string | null)[];
  readonly first: RateTrend;
  readonly second: RateTrend;
}

/** Trends of the two classes with most finds; null when there are not two, or one cannot be fitted. */
function boundaryTrends(sample: Sample, trend: RateTrend, squaresOf: (code: number) => DugSquare[]): Boundary | null {
  const sums = new Map<number, number>();
  sample.classCode.forEach((code, i) => {
    sums.set(code, (sums.get(code) ?? 0) + sample.weight[i]);
  });
  for (const area of sample.areas) sums.set(area.classCode, (sums.get(area.classCode) ?? 0) + area.weight);
  const codes = [...sums].sort(([a, x], [b, y]) => y - x || a - b).slice(0, 2);
  const fits = codes.map(([code]) => fitRates(squaresOf(code), trend.name));
  const [first, second] = fits;
  if (!first || !second) return null;
  return { names: codes.map(([code]) => (code === 0 ? null : sample.classes[code - 1])), first, second };
}

interface RowFacts {
  readonly proposal: Proposal;
  readonly place: TrendPlace;
  readonly label: string;
  readonly found: number;
  readonly hull: HullContinuity;
  readonly own: Parameters;
  readonly trend: RateTrend | null;
  readonly dug: readonly DugSquare[];
  readonly boundary: Boundary | null;
}

function rowOf(facts: RowFacts): SquareRow {
  const { proposal, place, hull, own, trend, dug, boundary } = facts;
  const rate = trend && rateAt(trend, place);
  const left = proposal.groundLeftM2;
  const prediction: Prediction | null =
    trend && rate && left !== null ? predict(rate, { groundM2: left, dispersion: trend.dispersion }) : null;
  const near = dug.map((other) => Math.hypot(other.x - place.x, other.y - place.y));
  const about = dug.filter((_, i) => near[i] <= own.neighbour_m * (1 + 1e-9));
  const aboutM2 = about.reduce((sum, s) => sum + s.exposureM2, 0);
  const distance = near.reduce((least, d) => Math.min(least, d), Infinity);
  const settles = settling(own.question, {
    hull,
    prediction,
    classes: boundary && [rateAt(boundary.first, place), rateAt(boundary.second, place)],
    classNames: boundary?.names.map((name) => name ?? 'class unknown') ?? [],
  });
  const reach = rate && normal975 * Math.sqrt(rate.variance);
  const facing = {
    square: facts.label,
    rank: null,
    state: proposal.state,
    ground_left_m2: left,
    found: facts.found,
    expected: prediction?.mean ?? null,
    expected_low: prediction?.low ?? null,
    expected_high: prediction?.high ?? null,
    per_m2: rate && exponential(rate.link),
    per_m2_low: rate && reach !== null ? exponential(rate.link - reach) : null,
    // a rate whose error has no end must not become one without end
    per_m2_high: rate && reach !== null && rate.link + reach < 700 ? exponential(rate.link + reach) : null,
    neighbours: about.length,
    neighbours_per_m2: aboutM2 > 0 ? about.reduce((sum, s) => sum + s.count, 0) / aboutM2 : null,
    chance_of_none: prediction && chanceOfNone(prediction),
    distance_to_dug_m: distance < Infinity ? distance : null,
    extrapolated: distance > own.extrapolation_m * (1 + 1e-9) || (rate?.isBeyondFit ?? false),
    distance_to_hull_m: place.hullM,
    hull_ends: [...hull.endsAtEdge],
    hull_points: hull.pointsAt.map(({ name }) => name),
    hull_seen: [...hull.seen],
    hull_projected: [...hull.projected],
    ship_axis: axisWord(hull.axis),
    ship_axis_beyond_m: hull.axis?.beyondM ?? null,
    settles_value: settles.value,
    settles: settles.words,
  };
  return { ...facing, reasons: reasonsOf(facing, { own, hull }) };
}

function axisWord(axis: HullContinuity['axis']): SquareRow['ship_axis'] {
  if (axis === null) return null;
  return axis.end === null ? 'within' : axis.end === 'bow' ? 'beyond_bow' : 'beyond_after';
}

/** Most to settle first; equal ones by hull ends, then from the name of the square. Those that settle nothing have no rank. */
function ranked(rows: readonly { readonly row: SquareRow; readonly firstM: number }[]): SquareRow[] {
  const order = [...rows].sort(
    ({ row: a, firstM: aM }, { row: b, firstM: bM }) =>
      (b.settles_value ?? -1) - (a.settles_value ?? -1) ||
      b.hull_ends.length - a.hull_ends.length ||
      (aM === bM ? 0 : aM - bM) ||
      a.square.localeCompare(b.square, 'en', { numeric: true }),
  );
  return order.map(({ row }, i) => ({ ...row, rank: (row.settles_value ?? 0) > 0 ? i + 1 : null }));
}

/** Finds expected on all ground left but the extrapolated: the squares share the errors of one trend. */
function totalOf(
  trend: RateTrend,
  rows: readonly SquareRow[],
  places: readonly TrendPlace[],
): Summary['expected_total'] {
  const used = rows.flatMap((row, i) =>
    row.expected !== null && row.expected > 0 && !row.extrapolated ? [{ mean: row.expected, place: places[i] }] : [],
  );
  if (used.length === 0) return null;
  const mean = used.reduce((sum, { mean: own }) => sum + own, 0);
  const gradient = trend.terms.map((_, t) =>
    used.reduce((sum, { mean: own, place }) => sum + own * trend.termsAt(place)[t], 0),
  );
  const p = gradient.length;
  let variance = trend.dispersion * mean;
  for (let a = 0; a < p; a++) {
    for (let b = 0; b < p; b++) {
      variance += trend.dispersion * gradient[a] * gradient[b] * trend.fit.covariance[a * p + b];
    }
  }
  const { low, high } = within(mean, variance);
  return { squares: used.length, expected: mean, low, high };
}

function trendSummary(
  trend: RateTrend | null,
  own: Parameters,
  dug: readonly DugSquare[],
): Pick<Summary, 'trend' | 'trend_reason' | 'dispersion' | 'terms'> {
  const p = trend?.terms.length ?? 0;
  return {
    trend: trend?.name ?? null,
    trend_reason:
      trend === null
        ? 'nothing was found in the dug squares, or no rate could be fitted to them'
        : own.trend === 'best' || trend.name === own.trend
          ? null
          : dug.some(({ hullM }) => hullM === null) && own.trend.includes('hull')
            ? 'no articulated hull in place is recorded to measure from'
            : `the dug squares are too few or too much in line for the trend ${own.trend}`,
    dispersion: trend?.fit.dispersion ?? null,
    terms:
      trend?.terms.map((term, t) => ({
        term,
        estimate: trend.fit.coefficients[t],
        standard_error: Math.sqrt(trend.dispersion * trend.fit.covariance[t * p + t]),
      })) ?? [],
  };
}

function validations(
  dug: readonly DugSquare[],
  trend: RateTrend | null,
  own: Parameters,
  control: RunControl,
): Pick<Summary, 'cross_validation' | 'cross_validation_apart'> {
  if (trend === null) return { cross_validation: null, cross_validation_apart: null };
  const tried = (bufferM: number, from: number) =>
    told(
      leaveOut(dug, trend, {
        bufferM,
        tick: (share) => control.progress(0.6 + 0.2 * (from + share), 'foretelling dug squares from the others'),
      }),
    );
  return { cross_validation: tried(0, 0), cross_validation_apart: tried(own.extrapolation_m, 1) };
}

const told = (found: CrossValidation | null): Summary['cross_validation'] =>
  found && {
    squares: found.squares,
    covered: found.covered,
    coverage: found.covered / found.squares,
    mean_error: found.meanError,
    mean_error_of_mean_rate: found.meanErrorOfMeanRate,
  };
