import type { AnswerTable } from '../analyses/contract.js';

// a spreadsheet takes a text that starts so for a formula and may run it
const formulaStart = /^[=+\-@\t\r\0]/;

/** One cell of a CSV file; a text that a spreadsheet would run gets an apostrophe in front, a number never. */
export function csvCell(value: string | number | null): string {
  if (value === null) return '';
  if (typeof value === 'number') return String(value);
  const safe = formulaStart.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/**
 * A table as CSV (RFC 4180, UTF-8): first row names, units in brackets. Only texts that a spreadsheet would run are
 * guarded by an apostrophe; numbers stay numbers, negative levels too.
 */
export function tableCsv(table: AnswerTable): string {
  const head = table.columns.map(({ name, unit }) =>
    csvCell(unit === undefined || unit === '1' ? name : `${name} [${unit}]`),
  );
  const rows = table.rows.map((row) => row.map(csvCell).join(','));
  return `${[head.join(','), ...rows].join('\r\n')}\r\n`;
}
