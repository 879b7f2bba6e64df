import { noSquare, notDug } from '../../domain/register-squares.js';
import type { SeasonSquare } from '../../domain/season-squares.js';
import { type CountInterval, countIntervals } from '../../math/rate-interval.js';
import { type BookCell, type ClassBook, groupTallies } from './book.js';
import { changesOf } from './changes.js';
import { dispersionOf, ratesOf } from './rates.js';
import type { Parameters, Summary } from './schemas.js';
import { sizePart } from './sizes.js';
import { countIn, emptyTally, type RateUnit, type Tally } from './tally.js';

/** How rates are made, for all rows of an answer. */
interface Rating {
  readonly unit: RateUnit;
  intervalOf(count: number): CountInterval;
  /** whether a cell lies in a square whose thickness is known */
  hasVolume(cell: BookCell): boolean;
}

/** Everything but the sentence and the curve. */
export function summaryOf(book: ClassBook, own: Parameters): Omit<Summary, 'sentence' | 'accumulation' | 'disturbed'> {
  const { sample, entries, cells, ground, seasonSquares } = book;
  const rating: Rating = {
    unit: own.rate_of,
    intervalOf: countIntervals(),
    hasVolume: ({ seasonSquare }) => seasonSquare >= 0 && seasonSquares[seasonSquare].volumeM3 !== null,
  };
  const one = (wanted: (cell: BookCell) => boolean) =>
    groupTallies(cells, (cell) => (wanted(cell) ? 0 : null)).get(0) ?? emptyTally;
  const inDug = one((cell) => cell.tile >= 0);
  const dugM2 = ground.pooled.exposureM2.reduce((sum, v) => sum + v, 0);
  const volume = volumeOf(seasonSquares);
  const total = ratesOf(
    {
      count: countIn(inDug, rating.unit),
      dugM2,
      countWithVolume: countIn(one(rating.hasVolume), rating.unit),
      volumeM3: volume.volumeM3 ?? 0,
    },
    rating.unit,
    rating.intervalOf,
  );
  const squares = ground.pooled.areaM2.filter((area) => area > 0).length;
  const withFinds = new Set(cells.map((cell) => cell.tile).filter((tile) => tile >= 0)).size;
  return {
    rate_of: rating.unit,
    per_m2: total.per_m2,
    per_m2_low: total.per_m2_low,
    per_m2_high: total.per_m2_high,
    tests_made: 0,
    n: entries.find.length,
    ...tallyColumns(one(() => true)),
    in_dug_squares: inDug.finds,
    in_other_squares: one((cell) => cell.tile === notDug).finds,
    without_square: one((cell) => cell.tile === noSquare).finds,
    window_area_m2: sample.windowAreaM2,
    dug_m2: dugM2,
    squares,
    squares_without_finds: squares - withFinds,
    classes: new Set(cells.map((cell) => cell.classCode).filter((code) => code > 0)).size,
    by_class: classRows(book, rating, { dugM2, volumeM3: volume.volumeM3 ?? 0 }),
    by_season: seasonRows(book, rating),
    vessels: vesselsOf(book),
    by_size_class: sizePart(book, dugM2),
    reidentified: reidentified(book),
    changes: changesOf(sample, own),
  };
}

function tallyColumns(tally: Tally) {
  return {
    finds: tally.finds,
    pieces: tally.pieces,
    uncounted: tally.uncounted,
    weight_g: tally.weightG,
    unweighed: tally.unweighed,
    pot_vessels: tally.vessels?.size ?? 0,
  };
}

function volumeOf(squares: readonly SeasonSquare[]): { volumeM3: number | null; count: number } {
  let volumeM3 = 0;
  let count = 0;
  for (const square of squares) {
    if (square.volumeM3 === null) continue;
    volumeM3 += square.volumeM3;
    count++;
  }
  return { volumeM3: count === 0 ? null : volumeM3, count };
}

function classRows(
  book: ClassBook,
  rating: Rating,
  ground: { readonly dugM2: number; readonly volumeM3: number },
): Summary['by_class'] {
  const { cells, sample, seasonSquares } = book;
  const { unit } = rating;
  const all = groupTallies(cells, (cell) => cell.classCode);
  const inDug = groupTallies(cells, (cell) => (cell.tile >= 0 ? cell.classCode : null));
  const volumed = groupTallies(cells, (cell) => (rating.hasVolume(cell) ? cell.classCode : null));
  const exposure = Float64Array.from(seasonSquares, (square) => square.dugM2);
  return book.classes.map((code) => ({
    artefact_class: code === 0 ? null : sample.classes[code - 1],
    ...tallyColumns(all.get(code) ?? emptyTally),
    squares_with_finds: new Set(
      cells.filter((cell) => cell.classCode === code && cell.tile >= 0).map((cell) => cell.tile),
    ).size,
    ...ratesOf(
      {
        ...ground,
        count: countIn(inDug.get(code) ?? emptyTally, unit),
        countWithVolume: countIn(volumed.get(code) ?? emptyTally, unit),
      },
      unit,
      rating.intervalOf,
    ),
    dispersion: dispersionOf(
      Float64Array.from(seasonSquares, (_, k) => countIn(book.cell(k, code), unit)),
      exposure,
      unit,
    ),
  }));
}

function seasonRows(book: ClassBook, rating: Rating): Summary['by_season'] {
  const { cells, sample, seasonSquares } = book;
  const { unit } = rating;
  const all = groupTallies(cells, (cell) => cell.season);
  const inDug = groupTallies(cells, (cell) => (cell.tile >= 0 ? cell.season : null));
  const volumed = groupTallies(cells, (cell) => (rating.hasVolume(cell) ? cell.season : null));
  const bySquare = groupTallies(cells, (cell) => (cell.seasonSquare < 0 ? null : cell.seasonSquare));
  return [...sample.seasons.map((_, s) => s + 1), 0].flatMap((code) => {
    const squares = seasonSquares.filter((square) => square.season === code);
    if (squares.length === 0 && !all.has(code)) return [];
    const volume = volumeOf(squares);
    const dugM2 = squares.reduce((total, square) => total + square.dugM2, 0);
    return [
      {
        season: code === 0 ? null : sample.seasons[code - 1],
        ...tallyColumns(all.get(code) ?? emptyTally),
        squares: squares.length,
        dug_m2: dugM2,
        volume_m3: volume.volumeM3,
        squares_with_volume: volume.count,
        ...ratesOf(
          {
            count: countIn(inDug.get(code) ?? emptyTally, unit),
            dugM2,
            countWithVolume: countIn(volumed.get(code) ?? emptyTally, unit),
            volumeM3: volume.volumeM3 ?? 0,
          },
          unit,
          rating.intervalOf,
        ),
        dispersion: dispersionOf(
          Float64Array.from(squares, ({ tile }) =>
            countIn(bySquare.get(book.seasonSquareOf(code, tile)) ?? emptyTally, unit),
          ),
          Float64Array.from(squares, (square) => square.dugM2),
          unit,
        ),
      },
    ];
  });
}

/** Pot vessels of the selection by what is recorded of each. */
function vesselsOf({ entries, sample }: ClassBook): Summary['vessels'] {
  const met = new Set(entries.potVessel.filter((vessel): vessel is string => vessel !== null));
  const records = (sample.register?.potVessels ?? []).filter((record) => met.has(record.potVessel));
  const total = (of: (record: (typeof records)[number]) => number): number | null => {
    const known = records.map(of).filter((v) => !Number.isNaN(v));
    return known.length === 0 ? null : known.reduce((a, b) => a + b, 0);
  };
  return {
    met: met.size,
    minimum: total((record) => record.minimum),
    maximum: total((record) => record.maximum),
    rim_equivalents: total((record) => record.rimPercent / 100),
    without_record: met.size - records.length,
  };
}

/** What the identifications changed against the register. */
function reidentified({ sample }: ClassBook): Summary['reidentified'] {
  const { register } = sample;
  if (!register) return [];
  const changes = new Map<string, Summary['reidentified'][number]>();
  register.classRegistered.forEach((registered, i) => {
    const code = register.classCode[i];
    const known = code === 0 ? null : sample.classes[code - 1];
    if (known === registered) return;
    const key = JSON.stringify([registered, known]);
    const before = changes.get(key);
    changes.set(key, { registered, known, finds: (before?.finds ?? 0) + 1 });
  });
  return [...changes.values()];
}
