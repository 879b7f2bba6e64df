import {
  type Entries,
  entriesOf,
  noSquare,
  notDug,
  type PlacedEntries,
  placeEntries,
  type SquareGround,
  squareGround,
} from '../../domain/register-squares.js';
import type { Sample } from '../../domain/sample.js';
import { type SeasonSquares, squaresDugBySeason } from '../../domain/season-squares.js';
import type { Parameters } from './schemas.js';
import { emptyTally, mergedTally, type Tally, tallyBy } from './tally.js';

/** Finds of one class, season and square. */
export interface BookCell {
  /** 1-based code; 0 = not known */
  readonly season: number;
  readonly classCode: number;
  /** tile with dug ground; below 0 = none */
  readonly tile: number;
  /** number of the season square; −1 = not dug in the season */
  readonly seasonSquare: number;
  /** where no ground was dug: the square stated, and why it does not count */
  readonly square: string | null;
  readonly why: string | null;
  readonly tally: Tally;
}

/** The register counted by class, season and square. */
export interface ClassBook extends SeasonSquares {
  readonly sample: Sample;
  readonly ground: SquareGround;
  readonly entries: Entries;
  readonly placed: PlacedEntries;
  /** codes of the classes of the table, unknown last */
  readonly classes: readonly number[];
  /** every find is in exactly one; those without dug ground last, by season and square */
  readonly cells: readonly BookCell[];
  /** tally of a class in a season square; zeros where nothing was found */
  cell(seasonSquare: number, classCode: number): Tally;
}

/** Counts the sample. */
export function classBook(sample: Sample, own: Parameters): ClassBook {
  const ground = squareGround(sample, own.square_m);
  const entries = entriesOf(ground);
  const placed = placeEntries(entries, ground);
  const { seasonSquares, seasonSquareOf } = squaresDugBySeason(ground);
  const stride = sample.classes.length + 1;
  const tiles = ground.pooled.areaM2.length + 2;
  const tallies = tallyBy(
    entries,
    (i) => (entries.seasonCode[i] * tiles + placed.tile[i] + 2) * stride + entries.classCode[i],
  );
  const inSquares: BookCell[] = [];
  const tallyOf = new Map<number, Tally>();
  for (const [key, tally] of tallies) {
    const classCode = key % stride;
    const place = (key - classCode) / stride;
    const tile = (place % tiles) - 2;
    const season = Math.floor(place / tiles);
    const seasonSquare = seasonSquareOf(season, tile);
    if (seasonSquare < 0) continue;
    inSquares.push({ season, classCode, tile, seasonSquare, square: null, why: null, tally });
    tallyOf.set(seasonSquare * stride + classCode, tally);
  }
  inSquares.sort((a, b) => a.seasonSquare - b.seasonSquare || a.classCode - b.classCode);
  const cells = [...inSquares, ...elsewhere(entries, placed, seasonSquareOf)];
  return {
    sample,
    ground,
    entries,
    placed,
    classes: classesOf(sample, cells),
    seasonSquares,
    seasonSquareOf,
    cells,
    cell: (seasonSquare, classCode) => tallyOf.get(seasonSquare * stride + classCode) ?? emptyTally,
  };
}

/** Merged tally of the cells of each group; cells without a group are left out. */
export function groupTallies(
  cells: readonly BookCell[],
  groupOf: (cell: BookCell) => number | null,
): ReadonlyMap<number, Tally> {
  const groups = new Map<number, Tally[]>();
  for (const cell of cells) {
    const group = groupOf(cell);
    if (group === null) continue;
    const list = groups.get(group);
    if (list) list.push(cell.tally);
    else groups.set(group, [cell.tally]);
  }
  return new Map([...groups].map(([group, list]) => [group, mergedTally(list)]));
}

/** Classes that occur, or all asked for when none does; unknown last. */
function classesOf(sample: Sample, cells: readonly BookCell[]): number[] {
  const met = new Set(cells.map((cell) => cell.classCode));
  const found = sample.classes.map((_, c) => c + 1).filter((code) => met.has(code));
  if (met.has(0)) return [...found, 0];
  return found.length > 0 ? found : sample.classes.map((_, c) => c + 1);
}

/** Finds that fall into no square dug in their season, each place with its reason. */
function elsewhere(
  entries: Entries,
  placed: PlacedEntries,
  seasonSquareOf: SeasonSquares['seasonSquareOf'],
): BookCell[] {
  const lost = Array.from(placed.tile.keys()).filter((i) => seasonSquareOf(entries.seasonCode[i], placed.tile[i]) < 0);
  const pick = <T>(column: ArrayLike<T>) => lost.map((i) => column[i]);
  const places = lost.map((i) => ({
    season: entries.seasonCode[i],
    classCode: entries.classCode[i],
    tile: placed.tile[i],
    seasonSquare: -1,
    square: entries.square[i],
    why: whyElsewhere(entries, i, placed.tile[i]),
  }));
  const keys = places.map((place) => JSON.stringify(Object.values(place)));
  const placeOf = new Map(keys.map((key, k) => [key, places[k]]));
  const tallies = tallyBy(
    {
      pieces: Float64Array.from(pick(entries.pieces)),
      weightG: Float64Array.from(pick(entries.weightG)),
      potVessel: pick(entries.potVessel),
    },
    (k) => keys[k],
  );
  return [...tallies]
    .map(([key, tally]) => ({ ...(placeOf.get(key) as (typeof places)[number]), tally }))
    .sort(
      (a, b) =>
        a.season - b.season ||
        compareWords(a.square ?? '', b.square ?? '') ||
        compareWords(a.why, b.why) ||
        a.classCode - b.classCode,
    );
}

/** By code unit, so that every machine sorts alike. */
function compareWords(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function whyElsewhere(entries: Entries, i: number, tile: number): string {
  if (tile === noSquare) return `no square (position ${entries.kind[i].replace('_', ' ')})`;
  if (entries.seasonCode[i] === 0) return 'season not known';
  if (tile === notDug) return 'not dug in this season';
  return 'no ground of this season';
}
