import { countIntervals } from '../../math/rate-interval.js';
import type { AnswerTable } from '../contract.js';
import { type BookCell, type ClassBook, groupTallies } from './book.js';
import { changesTable } from './changes.js';
import { type DisturbedGround, disturbedFinds, disturbedTable } from './disturbed.js';
import { ratesOf } from './rates.js';
import type { Parameters, Summary } from './schemas.js';
import { sizeTable } from './sizes.js';
import { countIn, emptyTally, type RateUnit, type Tally } from './tally.js';

type Cell = string | number | null;
type Column = AnswerTable['columns'][number];

const text = (name: string, title: string): Column => ({ name, title });
const number = (name: string, title: string, unit = '1'): Column => ({ name, title, unit });

const tallyHeads: readonly Column[] = [
  number('finds', 'Finds'),
  number('pieces', 'Pieces'),
  number('weight_g', 'Weight', 'g'),
  number('pot_vessels', 'Different pot vessels'),
];
const tallyCells = (tally: Tally): Cell[] => [tally.finds, tally.pieces, tally.weightG, tally.vessels?.size ?? 0];

const rateHeads: readonly Column[] = [
  number('dug_m2', 'Ground dug', 'm2'),
  number('per_m2', 'Count per m²', 'm-2'),
  number('per_m2_low', 'Lower end, 95 %', 'm-2'),
  number('per_m2_high', 'Upper end, 95 %', 'm-2'),
  number('volume_m3', 'Deposit dug', 'm3'),
  number('per_m3', 'Count per m³', 'm-3'),
];

/** Name of a class by its code; null = unknown. */
export const className = ({ sample }: ClassBook, code: number): Cell => (code === 0 ? null : sample.classes[code - 1]);
const seasonName = ({ sample }: ClassBook, code: number): Cell => (code === 0 ? null : sample.seasons[code - 1]);

/** The rows asked for. */
export function tableOf(
  book: ClassBook,
  own: Parameters,
  of: { readonly disturbed: DisturbedGround | null; readonly part: Summary['disturbed'] },
): AnswerTable {
  if (of.disturbed !== null && of.part !== null) {
    return own.list === 'disturbed' ? disturbedTable(of.part) : disturbedFinds(book, of.disturbed);
  }
  switch (own.list) {
    case 'squares':
      return longTable(book, own.rate_of);
    case 'squares_wide':
      return wideTable(book, own.rate_of);
    case 'squares_by_size':
      return sizeTable(book);
    case 'classes':
    case 'disturbed':
    case 'disturbed_finds':
      return classTable(book, own.rate_of);
    case 'concordance':
      return concordance(book);
    case 'changes':
      return changesTable(book.sample, own);
  }
}

/** One row for each class, season and square: zeros in dug squares, nothing where no ground was dug. */
function longTable(book: ClassBook, unit: RateUnit): AnswerTable {
  const { squares } = book.ground;
  const intervalOf = countIntervals();
  const rows: Cell[][] = [];
  book.seasonSquares.forEach(({ season, tile, dugM2, volumeM3 }, k) => {
    const place = [seasonName(book, season), squares.label(tile), 'dug'];
    for (const code of book.classes) {
      const tally = book.cell(k, code);
      const count = countIn(tally, unit);
      const rates = ratesOf({ count, dugM2, countWithVolume: count, volumeM3: volumeM3 ?? 0 }, unit, intervalOf);
      rows.push([
        ...place,
        className(book, code),
        ...tallyCells(tally),
        dugM2,
        rates.per_m2,
        rates.per_m2_low,
        rates.per_m2_high,
        volumeM3,
        rates.per_m3,
      ]);
    }
  });
  for (const { season, square, why, classCode, tally } of book.cells.filter((cell) => cell.seasonSquare < 0)) {
    rows.push([
      seasonName(book, season),
      square,
      why,
      className(book, classCode),
      ...tallyCells(tally),
      ...rateHeads.map(() => null),
    ]);
  }
  return {
    columns: [
      text('season', 'Season'),
      text('square', 'Square'),
      text('ground', 'Ground'),
      text('artefact_class', 'Artefact class'),
      ...tallyHeads,
      ...rateHeads,
    ],
    rows,
  };
}

/** One row for each season and square, the classes side by side. */
function wideTable(book: ClassBook, unit: RateUnit): AnswerTable {
  const { squares } = book.ground;
  const counts = (of: (code: number) => Tally) => book.classes.map((code) => countIn(of(code), unit));
  const rows: Cell[][] = book.seasonSquares.map(({ season, tile, dugM2, volumeM3 }, k) => {
    const cells = counts((code) => book.cell(k, code));
    return [seasonName(book, season), squares.label(tile), 'dug', dugM2, volumeM3, ...cells];
  });
  const places = new Map<string, { head: Cell[]; tallies: Map<number, Tally> }>();
  for (const { season, square, why, classCode, tally } of book.cells.filter((cell) => cell.seasonSquare < 0)) {
    const key = JSON.stringify([season, square, why]);
    const place = places.get(key) ?? { head: [seasonName(book, season), square, why, null, null], tallies: new Map() };
    place.tallies.set(classCode, tally);
    places.set(key, place);
  }
  for (const { head, tallies } of places.values()) {
    rows.push([...head, ...counts((code) => tallies.get(code) ?? emptyTally)]);
  }
  return {
    columns: [
      text('season', 'Season'),
      text('square', 'Square'),
      text('ground', 'Ground'),
      number('dug_m2', 'Ground dug', 'm2'),
      number('volume_m3', 'Deposit dug', 'm3'),
      ...classHeads(book, unit),
    ],
    rows,
  };
}

function classHeads(book: ClassBook, unit: RateUnit): Column[] {
  const names = columnNames(book);
  return book.classes.map((code, k) =>
    number(names[k], String(className(book, code) ?? 'class unknown'), unit === 'weight' ? 'g' : '1'),
  );
}

/** Class names as column names: lower case, words joined, no two alike. */
export function columnNames(book: ClassBook): string[] {
  const used = new Set<string>();
  return book.classes.map((code) => {
    const words = String(className(book, code) ?? 'class unknown').toLowerCase();
    const plain = `n_${words.replaceAll(/[^\p{L}\p{N}]+/gu, '_').replaceAll(/^_+|_+$/g, '')}`;
    let name = plain;
    for (let k = 2; used.has(name); k++) name = `${plain}_${k}`;
    used.add(name);
    return name;
  });
}

/** One row for each class and season; every find in exactly one. */
function classTable(book: ClassBook, unit: RateUnit): AnswerTable {
  const { cells, seasonSquares, sample } = book;
  const intervalOf = countIntervals();
  const stride = sample.classes.length + 1;
  const keyOf = (cell: BookCell) => cell.season * stride + cell.classCode;
  const all = groupTallies(cells, keyOf);
  const inDug = groupTallies(cells, (cell) => (cell.tile >= 0 ? keyOf(cell) : null));
  const volumed = groupTallies(cells, (cell) =>
    cell.seasonSquare >= 0 && seasonSquares[cell.seasonSquare].volumeM3 !== null ? keyOf(cell) : null,
  );
  const metSeasons = new Set(cells.map((cell) => cell.season));
  const dugSeasons = new Set(seasonSquares.map((square) => square.season));
  const seasons = [...sample.seasons.map((_, s) => s + 1), 0].filter(
    (code) => dugSeasons.has(code) || metSeasons.has(code),
  );
  const rows = seasons.flatMap((season) => {
    const own = seasonSquares.filter((square) => square.season === season);
    const dugM2 = own.reduce((sum, square) => sum + square.dugM2, 0);
    const volumeM3 = own.reduce((sum, square) => sum + (square.volumeM3 ?? 0), 0);
    return book.classes.map((code): Cell[] => {
      const key = season * stride + code;
      const dug = inDug.get(key) ?? emptyTally;
      const rates = ratesOf(
        {
          count: countIn(dug, unit),
          dugM2,
          countWithVolume: countIn(volumed.get(key) ?? emptyTally, unit),
          volumeM3,
        },
        unit,
        intervalOf,
      );
      return [
        className(book, code),
        seasonName(book, season),
        ...tallyCells(all.get(key) ?? emptyTally),
        dug.finds,
        dugM2,
        rates.per_m2,
        rates.per_m2_low,
        rates.per_m2_high,
        volumeM3 > 0 ? volumeM3 : null,
        rates.per_m3,
        rates.per_m3_low,
        rates.per_m3_high,
      ];
    });
  });
  return {
    columns: [
      text('artefact_class', 'Artefact class'),
      text('season', 'Season'),
      ...tallyHeads,
      number('in_dug_squares', 'Of them, finds in dug squares'),
      ...rateHeads,
      number('per_m3_low', 'Lower end, 95 %', 'm-3'),
      number('per_m3_high', 'Upper end, 95 %', 'm-3'),
    ],
    rows,
  };
}

/** One row for each find: which other numbers it goes by. */
function concordance(book: ClassBook): AnswerTable {
  const { entries, sample, ground, placed } = book;
  const { register } = sample;
  const links = new Map<string, { drawing: string[]; photograph: string[]; other: string[] }>();
  for (const { find, document, kind } of register?.documents ?? []) {
    const of = links.get(find) ?? { drawing: [], photograph: [], other: [] };
    of[kind === 'drawing' || kind === 'photograph' ? kind : 'other'].push(document);
    links.set(find, of);
  }
  const joined = (list: readonly string[] | undefined): Cell => (list && list.length > 0 ? list.join('; ') : null);
  return {
    columns: [
      text('find', 'Find'),
      text('artefact_class', 'Artefact class'),
      text('class_registered', 'Class as first registered'),
      text('season', 'Season'),
      text('square', 'Square'),
      text('former_numbers', 'Former numbers'),
      text('accession_number', 'Accession number'),
      text('pot_vessel', 'Pot vessel'),
      text('drawings', 'Drawings'),
      text('photographs', 'Photographs'),
      text('other_documents', 'Other documents'),
    ],
    rows: entries.find.map((find, i) => {
      const of = links.get(find);
      return [
        find,
        className(book, entries.classCode[i]),
        register?.classRegistered[i] ?? null,
        seasonName(book, entries.seasonCode[i]),
        placed.tile[i] >= 0 ? ground.squares.label(placed.tile[i]) : entries.square[i],
        register?.formerNumbers[i] ?? null,
        register?.accessionNumber[i] ?? null,
        entries.potVessel[i],
        joined(of?.drawing),
        joined(of?.photograph),
        joined(of?.other),
      ];
    }),
  };
}
