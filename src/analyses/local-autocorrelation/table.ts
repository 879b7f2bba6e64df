import { tableOf as featureTableOf } from '../../domain/columns.js';
import { squareShapes } from '../../domain/counting-squares.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import type { AnswerTable } from '../contract.js';
import type { Breakage } from './breakage.js';
import type { SquareLattice } from './lattice.js';
import type { LocalLikeness } from './likeness.js';

/** What a square is amid its neighbours, after false-discovery control at 5 %. */
export type SquareKind = 'high amid high' | 'low amid low' | 'high amid low' | 'low amid high' | 'not told apart';

/** Values of the squares with what was found of each. */
export interface SquareRows {
  readonly lattice: SquareLattice;
  /** [n] */
  readonly counts: Float64Array;
  /** [n] */
  readonly values: Float64Array;
  readonly mean: number | null;
  readonly local: LocalLikeness | null;
  /** what was found of breakage, where the values speak of it */
  readonly breakage: Breakage | null;
}

/** What square i is. */
export function kindOf({ local, values, mean }: SquareRows, i: number): SquareKind {
  if (local === null || mean === null || !(local.pFdr[i] <= 0.05)) return 'not told apart';
  const own = values[i] > mean ? 'high' : 'low';
  return `${own} amid ${local.side[i] > 0 ? 'high' : 'low'}`;
}

const fields: readonly Field[] = [
  { name: 'square', title: 'Square', type: 'text' },
  { name: 'count', title: 'Count', type: 'number', unit: '1' },
  { name: 'exposure_m2', title: 'Ground dug', type: 'number', unit: 'm2' },
  { name: 'value', title: 'Value', type: 'number' },
  { name: 'neighbours', title: 'Dug neighbours', type: 'integer', unit: '1' },
  { name: 'local_i', title: 'Local Moran’s I', type: 'number', unit: '1' },
  { name: 'gi_star', title: 'Gi*, standard deviations', type: 'number', unit: '1' },
  { name: 'p', title: 'Two-sided p', type: 'number', unit: '1' },
  { name: 'p_fdr', title: 'p after false-discovery control', type: 'number', unit: '1' },
  { name: 'p_holm', title: 'p after Holm', type: 'number', unit: '1' },
  { name: 'kind', title: 'What the square is', type: 'text' },
];

const breakageFields: readonly Field[] = [
  { name: 'p_breakage', title: 'Two-sided p of the value, pots dealt anew', type: 'number', unit: '1' },
  { name: 'p_breakage_fdr', title: 'The same after false-discovery control', type: 'number', unit: '1' },
  { name: 'p_breakage_holm', title: 'The same after Holm', type: 'number', unit: '1' },
];

const fieldsOf = ({ breakage }: SquareRows) => (breakage === null ? fields : [...fields, ...breakageFields]);

function rowOf(rows: SquareRows, i: number) {
  const { lattice, counts, values, local, breakage } = rows;
  const known = (column: Float64Array | undefined) =>
    column === undefined || Number.isNaN(column[i]) ? null : column[i];
  return {
    square: lattice.counted.squares.label(lattice.tiles[i]),
    count: counts[i],
    exposure_m2: lattice.exposureM2[i],
    value: values[i],
    neighbours: lattice.links.start[i + 1] - lattice.links.start[i],
    local_i: known(local?.moran),
    gi_star: known(local?.star),
    p: known(local?.p),
    p_fdr: known(local?.pFdr),
    p_holm: known(local?.pHolm),
    kind: kindOf(rows, i),
    ...(breakage === null
      ? {}
      : {
          p_breakage: known(breakage.pSquare),
          p_breakage_fdr: known(breakage.pFdr),
          p_breakage_holm: known(breakage.pHolm),
        }),
  };
}

/** One row for each square, from the north. */
export function tableOf(rows: SquareRows): AnswerTable {
  return {
    columns: fieldsOf(rows).map(({ name, title, unit }) => ({ name, title, ...(unit === undefined ? {} : { unit }) })),
    rows: rows.lattice.tiles.map((_, i) => Object.values(rowOf(rows, i))),
  };
}

/** The squares with their values. */
export function squaresLayer(rows: SquareRows): FeatureTable {
  const { counted, tiles } = rows.lattice;
  return featureTableOf({
    name: 'local-autocorrelation',
    fields: fieldsOf(rows),
    rows: tiles.map((_, i) => rowOf(rows, i)),
    geometry: squareShapes(counted.squares, tiles, {
      window: counted.local.window,
      areaM2: counted.ground.areaM2,
      origin: counted.origin,
    }),
  });
}
