import { tableOf as featureTableOf } from '../../domain/columns.js';
import { type CountedSample, tilesWithGround } from '../../domain/counted-sample.js';
import { squareShapes } from '../../domain/counting-squares.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import type { AnswerTable } from '../contract.js';
import type { CountedFinds } from './answer.js';
import type { BeyondThickness } from './beyond.js';

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

const fields: readonly Field[] = [
  { name: 'square', title: 'Square', type: 'text' },
  { name: 'count', title: 'Count', type: 'number', unit: '1' },
  { name: 'expected', title: 'Count of a random scatter', type: 'number', unit: '1' },
  { name: 'residual', title: '(Count − expected) / √expected', type: 'number', unit: '1' },
  { name: 'area_m2', title: 'Ground in the window', type: 'number', unit: 'm2' },
  { name: 'exposure_m2', title: 'Ground dug', type: 'number', unit: 'm2' },
];
const thicknessFields: readonly Field[] = [
  { name: 'thickness_m', title: 'Mean thickness of the deposit', type: 'number', unit: 'm' },
  { name: 'expected_by_thickness', title: 'Count expected of ground and thickness', type: 'number', unit: '1' },
  { name: 'residual_beyond_thickness', title: 'Count less that, in standard deviations', type: 'number', unit: '1' },
];

/** Rows with the columns about thickness, where they were asked for. */
function wholeRows(counted: CountedSample, all: CountedFinds, beyond: BeyondThickness | null) {
  const { ground } = counted;
  const measured = new Map(beyond?.tiles.map((tile, i) => [tile, i]));
  return tileRows(counted, all).map(({ tile, ...row }) => {
    const i = measured.get(tile);
    const trend = beyond?.trend ?? null;
    return {
      tile,
      values: {
        ...row,
        area_m2: ground.areaM2[tile],
        exposure_m2: ground.exposureM2[tile],
        ...(beyond === null
          ? {}
          : {
              thickness_m: i === undefined ? null : beyond.thicknessM[tile],
              expected_by_thickness: i === undefined || trend === null ? null : trend.expected[i],
              residual_beyond_thickness: i === undefined || trend === null ? null : trend.residual[i],
            }),
      },
    };
  });
}

const fieldsOf = (beyond: BeyondThickness | null) => (beyond === null ? fields : [...fields, ...thicknessFields]);

/** One row for each tile with ground. */
export function tableOf(counted: CountedSample, all: CountedFinds, beyond: BeyondThickness | null): AnswerTable {
  return {
    columns: fieldsOf(beyond).map(({ name, title, unit }) => ({
      name,
      title,
      ...(unit === undefined ? {} : { unit }),
    })),
    rows: wholeRows(counted, all, beyond).map(({ values }) => Object.values(values)),
  };
}

/** The dug part of every tile with its count. */
export function tilesLayer(counted: CountedSample, all: CountedFinds, beyond: BeyondThickness | null): FeatureTable {
  const { squares, ground, local, origin } = counted;
  const rows = wholeRows(counted, all, beyond);
  return featureTableOf({
    name: 'quadrat-counts',
    fields: fieldsOf(beyond),
    rows: rows.map(({ values }) => values),
    geometry: squareShapes(
      squares,
      rows.map((row) => row.tile),
      { window: local.window, areaM2: ground.areaM2, origin },
    ),
  });
}
