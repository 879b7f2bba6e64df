import type { AnswerTable } from '../contract.js';
import type { Compared } from './answer.js';
import { wayText } from './ground.js';
import type { PairRow, Parameters, SeasonRow, Summary } from './schemas.js';
import { sharedRows } from './shared-rows.js';

type Cell = string | number | null;
type ColumnOf<Row> = readonly [name: string, title: string, unit: string | undefined, cell: (row: Row) => Cell];

function table<Row>(columns: readonly ColumnOf<Row>[], rows: readonly Row[]): AnswerTable {
  return {
    columns: columns.map(([name, title, unit]) => ({ name, title, ...(unit ? { unit } : {}) })),
    rows: rows.map((row) => columns.map(([, , , cell]) => cell(row))),
  };
}

const seasonColumns: readonly ColumnOf<SeasonRow>[] = [
  ['season', 'Season', undefined, (row) => row.season],
  ['finds', 'Finds of the register', '1', (row) => row.finds],
  ['n', 'Counted in dug squares', '1', (row) => row.n],
  ['elsewhere', 'Finds in no square dug in the season', '1', (row) => row.elsewhere],
  ['squares', 'Squares dug', '1', (row) => row.squares],
  ['dug_m2', 'Ground dug', 'm2', (row) => row.dug_m2],
  ['per_m2', 'Count per m²', 'm-2', (row) => row.per_m2],
  ['per_m2_low', 'from (widened)', 'm-2', (row) => row.per_m2_low],
  ['per_m2_high', 'to (widened)', 'm-2', (row) => row.per_m2_high],
  ['per_m2_exact_low', 'from (if one by one)', 'm-2', (row) => row.per_m2_exact_low],
  ['per_m2_exact_high', 'to (if one by one)', 'm-2', (row) => row.per_m2_exact_high],
  ['volume_m3', 'Deposit dug', 'm3', (row) => row.volume_m3],
  ['per_m3', 'Count per m³', 'm-3', (row) => row.per_m3],
  ['per_m3_low', 'from (widened)', 'm-3', (row) => row.per_m3_low],
  ['per_m3_high', 'to (widened)', 'm-3', (row) => row.per_m3_high],
  ['dispersion', 'χ² / df over squares', '1', (row) => row.dispersion],
  ['negative_binomial_k', 'Negative binomial k', '1', (row) => row.negative_binomial_k],
  [
    'dug_with',
    'Tool and mesh',
    undefined,
    (row) => row.dug_with.map(({ tool, mesh_mm }) => wayText({ tool, meshMm: mesh_mm })).join('; '),
  ],
  ['centre_x_m', 'Mean centre, x', 'm', (row) => row.centre_x_m],
  ['centre_y_m', 'Mean centre, y', 'm', (row) => row.centre_y_m],
  ['p_centre', 'p of the centre', '1', (row) => row.p_centre],
  ['standard_distance_m', 'Standard distance', 'm', (row) => row.standard_distance_m],
  ['p_spread', 'p of the spread', '1', (row) => row.p_spread],
  ['bearing_deg', 'Bearing of the ellipse', 'deg', (row) => row.ellipse?.bearing_deg ?? null],
  ['semi_major_m', 'Longer half axis', 'm', (row) => row.ellipse?.semi_major_m ?? null],
  ['semi_minor_m', 'Shorter half axis', 'm', (row) => row.ellipse?.semi_minor_m ?? null],
  ['p_elongation', 'p of its length', '1', (row) => row.p_elongation],
  ['p_bearing', 'p of its bearing', '1', (row) => row.p_bearing],
];

const pairColumns: readonly ColumnOf<PairRow>[] = [
  ['first', 'First season', undefined, (row) => row.first],
  ['second', 'Second season', undefined, (row) => row.second],
  ['place', 'Place', undefined, (row) => row.place],
  ['reading', 'Reading', undefined, (row) => row.reading],
  ['n_first', 'Counted, first', '1', (row) => row.n_first],
  ['n_second', 'Counted, second', '1', (row) => row.n_second],
  ['ratio_per_m2', 'Ratio per m², second over first', '1', (row) => row.per_m2.value],
  ['ratio_low', 'from (widened)', '1', (row) => row.per_m2.low],
  ['ratio_high', 'to (widened)', '1', (row) => row.per_m2.high],
  ['p', 'p', '1', (row) => row.p],
  ['p_holm', 'p raised for the number of pairs', '1', (row) => row.p_holm],
  ['seen_above', 'Smallest ratio seen with 80 %', '1', (row) => row.per_m2.seen_above],
  ['ratio_per_m3', 'Ratio per m³', '1', (row) => row.per_m3?.value ?? null],
  ['ratio_per_m3_low', 'from (widened)', '1', (row) => row.per_m3?.low ?? null],
  ['ratio_per_m3_high', 'to (widened)', '1', (row) => row.per_m3?.high ?? null],
  ['p_per_m3', 'p per m³', '1', (row) => row.p_per_m3],
  ['shared_squares', 'Squares dug in both', '1', (row) => row.shared_squares],
  ['shared_ratio', 'Ratio per m² on them', '1', (row) => row.shared?.per_m2.value ?? null],
  ['shared_low', 'from (widened)', '1', (row) => row.shared?.per_m2.low ?? null],
  ['shared_high', 'to (widened)', '1', (row) => row.shared?.per_m2.high ?? null],
  ['shared_p', 'p on them', '1', (row) => row.shared?.p ?? null],
  ['syrjala_psi', 'Syrjala’s Ψ', '1', (row) => row.syrjala?.psi ?? null],
  ['syrjala_p', 'p of it', '1', (row) => row.syrjala?.p ?? null],
  ['shift_m', 'Shift of the centre', 'm', (row) => row.centre_shift?.shift_m ?? null],
  ['shift_low_m', 'from', 'm', (row) => row.centre_shift?.low_m ?? null],
  ['shift_high_m', 'to', 'm', (row) => row.centre_shift?.high_m ?? null],
  ['ground_shift_m', 'Shift of the ground', 'm', (row) => row.centre_shift?.ground_shift_m ?? null],
  ['p_shift', 'p of the shift', '1', (row) => row.centre_shift?.p ?? null],
  ['depth_share_larger', 'Share of pairs larger in the second', '1', (row) => row.depth?.share_larger ?? null],
  ['p_depth', 'p of the depth', '1', (row) => row.depth?.p_mann_whitney ?? null],
];

type StratumRow = { readonly pair: PairRow; readonly own: PairRow['strata'][number] };

const stratumColumns: readonly ColumnOf<StratumRow>[] = [
  ['first', 'First season', undefined, ({ pair }) => pair.first],
  ['second', 'Second season', undefined, ({ pair }) => pair.second],
  ['by', 'Stratified by', undefined, ({ own }) => own.by],
  ['stratum', 'Stratum', undefined, ({ own }) => own.stratum],
  ['n_first', 'Counted, first', '1', ({ own }) => own.n_first],
  ['n_second', 'Counted, second', '1', ({ own }) => own.n_second],
  ['dug_m2_first', 'Ground, first', 'm2', ({ own }) => own.dug_m2_first],
  ['dug_m2_second', 'Ground, second', 'm2', ({ own }) => own.dug_m2_second],
  ['ratio_per_m2', 'Ratio per m², second over first', '1', ({ own }) => own.per_m2.value],
  ['ratio_low', 'from (widened)', '1', ({ own }) => own.per_m2.low],
  ['ratio_high', 'to (widened)', '1', ({ own }) => own.per_m2.high],
];

type MixCell = NonNullable<Summary['class_mix']>['cells'][number];

const mixColumns: readonly ColumnOf<MixCell>[] = [
  ['season', 'Season', undefined, (row) => row.season],
  ['artefact_class', 'Artefact class', undefined, (row) => row.artefact_class ?? 'class unknown'],
  ['n', 'Counted', '1', (row) => row.n],
  ['expected', 'Expected', '1', (row) => row.expected],
  ['residual', 'Standardised residual', '1', (row) => row.residual],
  ['p', 'p', '1', (row) => row.p],
  ['p_holm', 'p raised for the number of cells', '1', (row) => row.p_holm],
];

/** The table asked for. */
export function tableOf(compared: Compared, own: Parameters): AnswerTable {
  const { numbers } = compared;
  switch (own.list) {
    case 'seasons':
      return table(seasonColumns, numbers.seasons);
    case 'pairs':
      return table(pairColumns, numbers.pairs);
    case 'strata':
      return table(
        stratumColumns,
        numbers.pairs.flatMap((pair) => pair.strata.map((stratum) => ({ pair, own: stratum }))),
      );
    case 'classes':
      return table(mixColumns, numbers.class_mix?.cells ?? []);
    case 'squares':
      return table(
        [
          ['square', 'Square', undefined, (row) => row.square],
          ['first', 'First season', undefined, (row) => row.first],
          ['second', 'Second season', undefined, (row) => row.second],
          ['n_first', 'Counted, first', '1', (row) => row.countFirst],
          ['n_second', 'Counted, second', '1', (row) => row.countSecond],
          ['dug_m2_first', 'Ground dug, first', 'm2', (row) => row.dugFirstM2],
          ['dug_m2_second', 'Ground dug, second', 'm2', (row) => row.dugSecondM2],
          ['volume_m3_first', 'Deposit dug, first', 'm3', (row) => row.volumeFirstM3],
          ['volume_m3_second', 'Deposit dug, second', 'm3', (row) => row.volumeSecondM3],
        ],
        sharedRows(compared),
      );
  }
}
