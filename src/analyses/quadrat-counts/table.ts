import { tableOf as featureTableOf } from '../../domain/columns.js';
import { type CountedSample, tilesWithGround } from '../../domain/counted-sample.js';
import { squareShapes } from '../../domain/counting-squares.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { AnswerTable } from '../contract.js';
import type { CountedFinds } from './answer.js';

interface TileRow {
  readonly tile: number;
  readonly square: string;
  readonly count: number;
  readonly expected: number | null;
  readonly residual: number | null;
}

/** Tiles with ground, row by row from the north, with the count a random scatter would have there. */
function tileRows(counted: CountedSample, { counts, test }: CountedFinds): TileRow[] {
  const { squares, ground } = counted;
  let total = 0;
  let exposure = 0;
  counts.forEach((count, k) => {
    if (!(ground.exposureM2[k] > 0)) return;
    total += count;
    exposure += ground.exposureM2[k];
  });
  return tilesWithGround(counted).map((tile) => {
    const expected = test === null ? null : (total * ground.exposureM2[tile]) / exposure;
    return {
      tile,
      square: squares.label(tile),
      count: counts[tile],
      expected,
      residual: expected === null || expected === 0 ? null : (counts[tile] - expected) / Math.sqrt(expected),
    };
  });
}

/** One row for each tile with ground. */
export function tableOf(counted: CountedSample, all: CountedFinds): AnswerTable {
  const { ground } = counted;
  return {
    columns: [
      { name: 'square', title: 'Square' },
      { name: 'count', title: 'Count', unit: '1' },
      { name: 'expected', title: 'Count of a random scatter', unit: '1' },
      { name: 'residual', title: '(Count − expected) / √expected', unit: '1' },
      { name: 'area_m2', title: 'Ground in the window', unit: 'm2' },
      { name: 'exposure_m2', title: 'Ground dug', unit: 'm2' },
    ],
    rows: tileRows(counted, all).map((row) => [
      row.square,
      row.count,
      row.expected,
      row.residual,
      ground.areaM2[row.tile],
      ground.exposureM2[row.tile],
    ]),
  };
}

/** The dug part of every tile with its count. */
export function tilesLayer(counted: CountedSample, all: CountedFinds): FeatureTable {
  const { squares, ground, local, origin } = counted;
  const rows = tileRows(counted, all);
  return featureTableOf({
    name: 'quadrat-counts',
    fields: [
      { name: 'square', title: 'Square', type: 'text' },
      { name: 'count', title: 'Count', type: 'number', unit: '1' },
      { name: 'expected', title: 'Count of a random scatter', type: 'number', unit: '1' },
      { name: 'residual', title: '(Count − expected) / √expected', type: 'number', unit: '1' },
      { name: 'area_m2', title: 'Ground in the window', type: 'number', unit: 'm2' },
      { name: 'exposure_m2', title: 'Ground dug', type: 'number', unit: 'm2' },
    ],
    rows: rows.map(({ tile, square, count, expected, residual }) => ({
      square,
      count,
      expected,
      residual,
      area_m2: ground.areaM2[tile],
      exposure_m2: ground.exposureM2[tile],
    })),
    geometry: squareShapes(
      squares,
      rows.map((row) => row.tile),
      { window: local.window, areaM2: ground.areaM2, origin },
    ),
  });
}
