import type { Sample } from '../../domain/sample.js';
import { Problem } from '../../problems.js';
import type { RunControl } from '../contract.js';
import { type CentreOnGround, centreOnGround } from './centres.js';
import { classMix } from './class-mix.js';
import { type ComparedDepths, seasonDepths } from './depths.js';
import { type SeasonGround, seasonGround } from './ground.js';
import { dealtOverSquares, onGround, type SeasonPair, seasonPairs } from './pairs.js';
import { mixPart, pairRow, seasonRow } from './parts.js';
import { type PlacedSeason, placedSeasons } from './places.js';
import { dispersionOf } from './rates.js';
import type { PairRow, Parameters, Summary } from './schemas.js';
import { blockOf } from './streams.js';
import { type CountedSeasons, countSeasons } from './units.js';

/** Everything found out of a sample, and the summary of it without its sentences. */
export interface Compared {
  readonly ground: SeasonGround;
  readonly counted: CountedSeasons;
  readonly places: readonly PlacedSeason[];
  readonly centres: readonly CentreOnGround[];
  readonly depths: ComparedDepths | null;
  readonly numbers: Omit<Summary, 'sentence' | 'headline'>;
}

/** Compares the seasons of a sample. @throws Problem unknown-season, bad-parameter, too-much-work */
export function compareSeasons(sample: Sample, own: Parameters, control: RunControl): Compared {
  const ground = seasonGround(sample, own);
  const asked = askedPair(ground, own);
  const counted = countSeasons(sample, ground);
  const places = placedSeasons(ground);
  const { simulations: count, seed } = control;
  refuseTooMuch(counted, count);
  const tell = (from: number, to: number, doing: string) => (share: number) =>
    control.progress(from + (to - from) * share, doing);
  const centres = ground.seasons.map((season, s) =>
    centreOnGround(places[s], season.window, {
      count,
      seed,
      first: blockOf('centres', s),
      progress: tell((0.3 * s) / ground.seasons.length, (0.3 * (s + 1)) / ground.seasons.length, 'laying out finds'),
    }),
  );
  const depths = counted.unit === 'pot_vessel' ? null : seasonDepths(ground, places);
  const pairs = seasonPairs({
    ground,
    counted,
    places,
    centres,
    depths,
    asked,
    plan: { count, seed, progress: tell(0.3, 0.8, 'comparing two seasons') },
  });
  const mix = classMix(counted, {
    seasons: ground.seasons.length,
    count,
    seed,
    first: blockOf('class_mix'),
    progress: tell(0.8, 1, 'dealing out seasons'),
  });
  const sides = ground.seasons.map(({ squares }) => onGround(ground, counted, squares, 'm2'));
  const { origin } = ground.ground;
  const seasonRows = ground.seasons.map((season, s) =>
    seasonRow({ season, ground, counted, s, place: centres[s], origin }),
  );
  const lead = asked ? pairs.findIndex((pair) => isPair(pair, ground, asked)) : mostShared(pairs);
  const pairRows = pairs.map((pair, k) =>
    pairRow(pair, {
      // one pair named beforehand is one test
      isPlanned: pairs.length === 1 || (asked !== null && k === lead),
      measure: depths?.measure ?? null,
    }),
  );
  const allSeasons = {
    p: ground.seasons.length > 2 ? dealtOverSquares(sides, { count, seed, first: blockOf('all_seasons') }) : null,
    dispersion: counted.unit === 'weight' ? null : dispersionOf(sides),
  };
  const rows = {
    seasons: seasonRows,
    all_seasons: allSeasons,
    pairs: pairRows,
    class_mix: mix && mixPart(mix, ground, sample),
  };
  return {
    ground,
    counted,
    places,
    centres,
    depths,
    numbers: {
      ...leadPart(lead < 0 ? null : pairRows[lead]),
      tests_made: testsMade(rows),
      n: seasonRows.reduce((sum, row) => sum + row.n, 0),
      count_unit: counted.unit,
      window_area_m2: sample.windowAreaM2,
      without_season: counted.withoutSeason,
      simulations: count,
      ...rows,
    },
  };
}

/** Dealings of finds, all simulations together: some minutes of work. */
const mostDealt = 5e9;

function refuseTooMuch(counted: CountedSeasons, simulations: number): void {
  const n = counted.units.length;
  if (simulations * n <= mostDealt) return;
  throw new Problem(
    'too-much-work',
    `${simulations} simulations of ${n} finds are too many for one run; at most ${Math.floor(mostDealt / n)} fit`,
    { simulations, n },
  );
}

/** Places of the two seasons asked for; null = none was. */
function askedPair({ seasons }: SeasonGround, { first, second }: Parameters): readonly [number, number] | null {
  if (first === null && second === null) return null;
  if (first === null || second === null || first === second) {
    throw new Problem(
      'bad-parameter',
      `input ${first === null ? 'first' : 'second'}: a pair needs two different seasons in \`first\` and \`second\`; leave both out to have the pair chosen`,
      { first, second },
    );
  }
  const placeOf = (name: string) => {
    const place = seasons.findIndex((season) => season.name === name);
    if (place >= 0) return place;
    throw new Problem(
      'unknown-season',
      `season "${name}" dug no ground in this selection; these did: ${seasons.map((season) => season.name).join(', ') || 'none'}`,
      { season: name },
    );
  };
  return [placeOf(first), placeOf(second)];
}

const isPair = (pair: SeasonPair, { seasons }: SeasonGround, [a, b]: readonly [number, number]) =>
  pair.first === seasons[a] && pair.second === seasons[b];

/** The pair that shares most squares, else the first two seasons: chosen by what was dug, never by what was found. */
function mostShared(pairs: readonly SeasonPair[]): number {
  const squares = (pair: SeasonPair) => pair.shared?.squares ?? 0;
  return pairs.reduce((best, pair, k) => (best < 0 || squares(pair) > squares(pairs[best]) ? k : best), -1);
}

function leadPart(row: PairRow | null) {
  if (row === null) {
    return {
      first: null,
      second: null,
      over: null,
      ratio: null,
      ratio_low: null,
      ratio_high: null,
      p: null,
      reading: null,
    };
  }
  const isShared = row.place === 'shared' && row.shared !== null;
  const over = isShared && row.shared ? row.shared : row;
  return {
    first: row.first,
    second: row.second,
    over: isShared ? ('shared_squares' as const) : ('all_ground' as const),
    ratio: over.per_m2.value,
    ratio_low: over.per_m2.low,
    ratio_high: over.per_m2.high,
    p: over.p,
    reading: row.reading,
  };
}

/** Every p printed, but the Kolmogorov forms that stand beside a test of the same question. */
function testsMade(rows: Pick<Summary, 'seasons' | 'all_seasons' | 'pairs' | 'class_mix'>): number {
  const all = [
    ...rows.seasons.flatMap((row) => [row.p_centre, row.p_spread, row.p_elongation, row.p_bearing]),
    rows.all_seasons.p,
    ...rows.pairs.flatMap((row) => [
      row.p,
      row.p_per_m3,
      row.shared?.p,
      row.shared?.p_centre_shift,
      row.syrjala?.p,
      row.centre_shift?.p,
      row.depth?.p_mann_whitney,
    ]),
    rows.class_mix?.p,
    ...(rows.class_mix?.cells.map((cell) => cell.p) ?? []),
  ];
  return all.filter((p) => typeof p === 'number').length;
}
