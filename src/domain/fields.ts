/**
 * One declaration of a record's columns, read by the import check, the published schemas, the tables and the
 * documentation. A field's unit is a UCUM code.
 */
export interface Field {
  readonly name: string;
  readonly title: string;
  readonly description?: string;
  readonly type: 'text' | 'number' | 'integer' | 'boolean' | 'date' | 'date-time' | 'time';
  readonly unit?: string;
  /** the only words allowed, when the column has a list of them */
  readonly choices?: readonly string[];
  /** smallest and largest value accepted, both included */
  readonly min?: number;
  readonly max?: number;
  /** an empty cell is a complaint */
  readonly required?: boolean;
  /** the same value twice is a complaint */
  readonly unique?: boolean;
  /** text that mostly differs from row to row (numbers, notes): kept as bytes, not in a dictionary */
  readonly distinct?: boolean;
}
