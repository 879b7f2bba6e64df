import { stepDecimals } from '../../math/round-steps.js';
import type { Contour } from '../../math/surface-grid.js';
import { shapes, tableOf } from '../columns.js';
import type { FeatureTable, Value } from '../feature-table.js';
import type { Field } from '../fields.js';

export const metres = (name: string, title: string): Field => ({ name, title, type: 'number', unit: 'm' });
export const word = (name: string, title: string): Field => ({ name, title, type: 'text' });

/** A length to a tenth of a millimetre; no −0. */
export const rounded = (v: number): number => Math.round(v * 1e4) / 1e4 + 0;

/** Fields of contour lines. @param value  what is the same all along a line */
export const lineFields = (value: Field, more: readonly Field[]): readonly Field[] => [
  value,
  word('label', 'Label: the value as written beside the line'),
  { name: 'major', title: 'Every fifth line', type: 'boolean' },
  metres('interval_m', 'Interval between lines'),
  ...more,
];

/** Contour lines as a table, lowest first. */
export function linesTable(
  name: string,
  given: {
    readonly fields: readonly Field[];
    readonly contours: readonly Pick<Contour, 'level' | 'points'>[];
    readonly intervalM: number;
    /** values of the fields that a line does not have for itself */
    row(level: number): Readonly<Record<string, Value>>;
  },
): FeatureTable {
  const { intervalM } = given;
  const sorted = [...given.contours].sort((a, b) => a.level - b.level);
  const decimals = Math.min(6, stepDecimals(intervalM));
  return tableOf({
    name,
    fields: given.fields,
    rows: sorted.map(({ level }) => ({
      ...given.row(level),
      label: `${level < 0 ? '\u2212' : ''}${Math.abs(level).toFixed(decimals)}`,
      major: Math.round(level / intervalM) % 5 === 0,
      interval_m: intervalM,
    })),
    geometry: shapes(
      'line',
      sorted.map(({ points }) => [{ ring: points }]),
    ),
  });
}
