import {
  booleanColumn,
  type Column,
  codeColumn,
  type FeatureTable,
  numberColumn,
  textColumn,
} from '../../domain/feature-table.js';
import type { AnswerTable } from '../contract.js';
import type { Kind, Oddity } from './schemas.js';

/** Each kind in the trade's words. */
export const kindWords: Readonly<Record<Kind, string>> = {
  inverted_node: 'top below bottom at a node',
  series_offset: 'reading series that looks like an unreduced tide',
  neighbour_spike: 'level unlike its neighbours',
  several_readings: 'several readings of a node',
  missing_node: 'node of a dug square without top or bottom',
  square_without_top: 'dug square without a top',
  square_without_bottom: 'dug square without a bottom',
  part_dug_square: 'square dug in part',
  open_square: 'square opened and not dug',
  duplicate_number: 'register numbers that read alike',
  missing_number: 'register number left out',
  child_without_parent: 'child of a concretion that is not in the register',
  class_unknown: 'find without a class',
  season_unknown: 'find without a season',
  outside_stated_square: 'find outside its stated square',
  find_outside_dug_ground: 'find outside the dug ground',
  above_top: 'find above the top',
  below_bottom: 'find below the bottom',
  heaped_offsets: 'offsets heaped on 0.0 and 0.5 m',
  identical_coordinates: 'identical coordinates',
  find_without_elevation: 'find without an elevation',
};

const severities = ['serious', 'look', 'note'];

/** One row for each oddity. */
export function tableOf(rows: readonly Oddity[]): AnswerTable {
  return {
    columns: [
      { name: 'what', title: 'What' },
      { name: 'where', title: 'Where' },
      { name: 'season', title: 'Season' },
      { name: 'x_m', title: 'x', unit: 'm' },
      { name: 'y_m', title: 'y', unit: 'm' },
      { name: 'value', title: 'Value' },
      { name: 'unit', title: 'Unit of the value' },
      { name: 'beyond', title: 'How far beyond the rule' },
      { name: 'rule', title: 'Rule' },
      { name: 'severity', title: 'Severity' },
      { name: 'before_backfill', title: 'Before backfilling' },
    ],
    rows: rows.map((row) => [
      kindWords[row.kind],
      row.where,
      row.season,
      row.x_m,
      row.y_m,
      row.value,
      row.unit,
      row.beyond,
      row.rule,
      row.severity,
      row.before_backfill ? 'yes' : 'no',
    ]),
  };
}

/** Rows with a place, as points in site-grid metres. */
export function rowsLayer(rows: readonly Oddity[]): FeatureTable {
  const placed = rows.filter((row) => row.x_m !== null && row.y_m !== null);
  const numbers = (of: (row: Oddity) => number | null) => numberColumn(placed.map(of));
  return {
    name: 'register-check',
    length: placed.length,
    fields: [
      { name: 'what', title: 'What', type: 'text', choices: Object.values(kindWords) },
      { name: 'where', title: 'Square, node, find or series', type: 'text', distinct: true },
      { name: 'value', title: 'Value found, in the unit beside it', type: 'number' },
      { name: 'unit', title: 'Unit of the value, UCUM', type: 'text' },
      { name: 'beyond', title: 'How far beyond the rule, in the same unit', type: 'number' },
      { name: 'rule', title: 'Rule it does not fit', type: 'text' },
      { name: 'severity', title: 'Severity', type: 'text', choices: severities },
      { name: 'season', title: 'Season', type: 'text' },
      { name: 'before_backfill', title: 'To be settled before backfilling', type: 'boolean' },
    ],
    columns: new Map<string, Column>([
      ['what', codeColumn(placed.map((row) => kindWords[row.kind]))],
      ['where', textColumn(placed.map((row) => row.where))],
      ['value', numbers((row) => row.value)],
      ['unit', codeColumn(placed.map((row) => row.unit))],
      ['beyond', numbers((row) => row.beyond)],
      ['rule', codeColumn(placed.map((row) => row.rule))],
      ['severity', codeColumn(placed.map((row) => row.severity))],
      ['season', codeColumn(placed.map((row) => row.season))],
      ['before_backfill', booleanColumn(placed.map((row) => row.before_backfill))],
    ]),
    geometry: {
      type: 'point',
      coordinates: Float64Array.from(placed.flatMap((row) => [row.x_m ?? Number.NaN, row.y_m ?? Number.NaN])),
    },
    ids: Float64Array.from(placed, (_, i) => i + 1),
  };
}
