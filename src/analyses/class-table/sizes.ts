import type { AnswerTable } from '../contract.js';
import type { ClassBook } from './book.js';
import type { Summary } from './schemas.js';
import { emptyTally, type Tally, tallyBy } from './tally.js';

/** Size classes of the finds chosen, in order of first use; null = finds without one. */
function sizeClasses({ entries }: ClassBook): (string | null)[] {
  const named = [...new Set(entries.sizeClass.filter((size) => size !== null))].sort();
  return named.length === 0 ? [] : [...named, ...(entries.sizeClass.includes(null) ? [null] : [])];
}

/** Finds and weight of each size class, as of ballast; none when no find states one. */
export function sizePart(book: ClassBook, dugM2: number): Summary['by_size_class'] {
  const { entries, placed } = book;
  const all = tallyBy(entries, (i) => entries.sizeClass[i]);
  const inDug = tallyBy(entries, (i) => (placed.tile[i] < 0 ? undefined : entries.sizeClass[i]));
  return sizeClasses(book).map((size) => {
    const tally = all.get(size) ?? emptyTally;
    const dug = inDug.get(size) ?? emptyTally;
    return {
      size_class: size,
      finds: tally.finds,
      pieces: tally.pieces,
      weight_g: tally.weightG,
      unweighed: tally.unweighed,
      finds_per_m2: dugM2 > 0 ? dug.finds / dugM2 : null,
      g_per_m2: dugM2 > 0 ? dug.weightG / dugM2 : null,
    };
  });
}

/** One row for each season, square and size class: weight and finds, zeros in dug squares. */
export function sizeTable(book: ClassBook): AnswerTable {
  const { entries, placed, seasonSquares, ground, sample } = book;
  const sizes = sizeClasses(book);
  const keyOf = (square: number, size: string | null) => JSON.stringify([square, size]);
  const tallies: ReadonlyMap<string, Tally> = tallyBy(entries, (i) =>
    keyOf(book.seasonSquareOf(entries.seasonCode[i], placed.tile[i]), entries.sizeClass[i]),
  );
  const rows = (sizes.length === 0 ? [null] : sizes).map((size) => ({
    size,
    of: (k: number) => tallies.get(keyOf(k, size)) ?? emptyTally,
  }));
  const cells = (tally: Tally) => [tally.finds, tally.pieces, tally.weightG, tally.unweighed];
  return {
    columns: [
      { name: 'season', title: 'Season' },
      { name: 'square', title: 'Square' },
      { name: 'ground', title: 'Ground' },
      { name: 'size_class', title: 'Size class' },
      { name: 'finds', title: 'Finds', unit: '1' },
      { name: 'pieces', title: 'Pieces', unit: '1' },
      { name: 'weight_g', title: 'Weight', unit: 'g' },
      { name: 'unweighed', title: 'Finds not weighed', unit: '1' },
      { name: 'dug_m2', title: 'Ground dug', unit: 'm2' },
      { name: 'g_per_m2', title: 'Weight per m²', unit: 'g/m2' },
    ],
    rows: [
      ...seasonSquares.flatMap(({ season, tile, dugM2 }, k) =>
        rows.map(({ size, of }) => [
          season === 0 ? null : sample.seasons[season - 1],
          ground.squares.label(tile),
          'dug',
          size,
          ...cells(of(k)),
          dugM2,
          dugM2 > 0 ? of(k).weightG / dugM2 : null,
        ]),
      ),
      ...rows.flatMap(({ size, of }) =>
        of(-1).finds === 0
          ? []
          : [[null, null, 'not in a square dug in its season', size, ...cells(of(-1)), null, null]],
      ),
    ],
  };
}
