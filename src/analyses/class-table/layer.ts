import { tableOf as featureTableOf } from '../../domain/columns.js';
import { squareShapes } from '../../domain/counting-squares.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import { type ClassBook, groupTallies } from './book.js';
import { className, columnNames } from './tables.js';
import { countIn, emptyTally, type RateUnit } from './tally.js';

/** classes that get a column of their own in the layer */
const mostClassColumns = 12;

/** Every dug square, all seasons together, with what was found in it; the commonest classes side by side. */
export function squaresLayer(book: ClassBook, unit: RateUnit): FeatureTable {
  const { ground, cells, sample } = book;
  const { squares, pooled } = ground;
  const { columns, rows } = squares.tiles;
  const byTile = groupTallies(cells, (cell) => (cell.tile >= 0 ? cell.tile : null));
  const stride = sample.classes.length + 1;
  const byTileClass = groupTallies(cells, (cell) => (cell.tile >= 0 ? cell.tile * stride + cell.classCode : null));
  const byClass = groupTallies(cells, (cell) => (cell.tile >= 0 ? cell.classCode : null));
  const names = columnNames(book);
  const chosen = book.classes
    .map((code, k) => ({ code, name: names[k], count: countIn(byClass.get(code) ?? emptyTally, unit) }))
    .sort((a, b) => b.count - a.count)
    .slice(0, mostClassColumns);
  const tiles: number[] = [];
  for (let row = rows - 1; row >= 0; row--) {
    for (let tile = row * columns; tile < (row + 1) * columns; tile++) if (pooled.areaM2[tile] > 0) tiles.push(tile);
  }
  const fields: Field[] = [
    { name: 'square', title: 'Square', type: 'text' },
    { name: 'seasons', title: 'Seasons that dug it', type: 'text' },
    { name: 'finds', title: 'Finds', type: 'integer', unit: '1' },
    { name: 'pieces', title: 'Pieces', type: 'number', unit: '1' },
    { name: 'weight_g', title: 'Weight', type: 'number', unit: 'g' },
    { name: 'pot_vessels', title: 'Different pot vessels', type: 'integer', unit: '1' },
    { name: 'dug_m2', title: 'Ground dug', type: 'number', unit: 'm2' },
    { name: 'per_m2', title: 'Count per m²', type: 'number', unit: 'm-2' },
    ...chosen.map(
      ({ code, name }): Field => ({
        name,
        title: String(className(book, code) ?? 'class unknown'),
        type: 'number',
        unit: unit === 'weight' ? 'g' : '1',
      }),
    ),
  ];
  return featureTableOf({
    name: 'class-table',
    fields,
    rows: tiles.map((tile) => {
      const tally = byTile.get(tile) ?? emptyTally;
      const dugM2 = pooled.exposureM2[tile];
      const seasons = sample.seasons.filter((_, s) => book.seasonSquareOf(s + 1, tile) >= 0);
      return {
        square: squares.label(tile),
        seasons: seasons.length === 0 ? null : seasons.join(', '),
        finds: tally.finds,
        pieces: tally.pieces,
        weight_g: tally.weightG,
        pot_vessels: tally.vessels?.size ?? 0,
        dug_m2: dugM2,
        per_m2: dugM2 > 0 ? countIn(tally, unit) / dugM2 : null,
        ...Object.fromEntries(
          chosen.map(({ code, name }) => [name, countIn(byTileClass.get(tile * stride + code) ?? emptyTally, unit)]),
        ),
      };
    }),
    geometry: squareShapes(squares, tiles, {
      window: ground.local.window,
      areaM2: pooled.areaM2,
      origin: ground.origin,
    }),
  });
}
