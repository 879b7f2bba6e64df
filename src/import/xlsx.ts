import type { CellObject, WorkSheet } from '@e965/xlsx';
import { Problem } from '../problems.js';
import type { Complaints } from './complaints.js';
import { defaultLimits, type ImportLimits } from './limits.js';
import { unzip, zipStored } from './zip.js';

type Spreadsheet = typeof import('@e965/xlsx');

/** A workbook's sheets as CSV: comma, decimal point, UTF-8, one line for each row of the sheet. */
export type SheetTexts = ReadonlyMap<string, Uint8Array>;

/**
 * Reads the sheets of a workbook, each as the CSV it stands for, so that a sheet and a file go the same way. Dates and
 * times come out as ISO 8601, numbers with all their digits, formulas as the value saved with them.
 * @param wanted  names of the sheets to read; others are left
 * @returns sheets by name, and the names of those left
 * @throws Problem bad-file when it is no workbook, goes beyond a cap, or workbooks cannot be read on this machine
 */
export async function readWorkbook(
  bytes: Uint8Array,
  given: {
    readonly wanted: ReadonlySet<string>;
    readonly file: string;
    readonly complaints: Complaints;
    readonly limits?: ImportLimits;
  },
): Promise<{ sheets: SheetTexts; left: readonly string[] }> {
  const limits = given.limits ?? defaultLimits;
  const library = await spreadsheetLibrary();
  const book = openBook(library, safeParts(bytes, limits));
  const sheets = new Map<string, Uint8Array>();
  const left: string[] = [];
  const date1904 = book.Workbook?.WBProps?.date1904 === true;
  let cells = 0;
  for (const name of book.SheetNames) {
    const sheet = book.Sheets[name];
    if (!given.wanted.has(name) || sheet === undefined) {
      left.push(name);
      continue;
    }
    const rows = rowsOf(sheet);
    cells += rows.reduce((sum, row) => sum + row.cells.length, 0);
    if (cells > limits.workbookCells)
      throw new Problem('bad-file', `has more than ${limits.workbookCells} cells; save the sheets as CSV`);
    const label = `${given.file}, sheet ${name}`;
    complainOfMerged(sheet, { label, library, complaints: given.complaints });
    const textOf = (cell: CellObject) => cellText(cell, { library, date1904 });
    sheets.set(name, Buffer.from(sheetText(rows, { label, textOf, complaints: given.complaints })));
  }
  return { sheets, left };
}

async function spreadsheetLibrary(): Promise<Spreadsheet> {
  try {
    return await import('@e965/xlsx');
  } catch {
    throw new Problem(
      'bad-file',
      'is a workbook, and the optional package that reads workbooks is not installed; save each sheet as a CSV file',
    );
  }
}

/** The parts that sheets are made of, packed anew; pictures, macros and links stay behind. */
function safeParts(bytes: Uint8Array, limits: ImportLimits): Uint8Array {
  const parts = new Map<string, Uint8Array>();
  for (const [name, body] of unzip(bytes, limits)) {
    if (!/^(\[Content_Types\]\.xml|_rels\/\.rels|xl\/[\w./-]+\.(xml|rels))$/.test(name)) continue;
    if (/<!(DOCTYPE|ENTITY)/i.test(Buffer.from(body.buffer, body.byteOffset, body.length).toString('latin1')))
      throw new Problem('bad-file', `is no workbook that can be read: part ${name} declares entities`);
    parts.set(name, body);
  }
  if (!parts.has('xl/workbook.xml')) throw new Problem('bad-file', 'is no workbook: it has no part xl/workbook.xml');
  return zipStored(parts);
}

function openBook(library: Spreadsheet, bytes: Uint8Array) {
  try {
    return library.read(bytes, {
      type: 'buffer',
      cellDates: false,
      cellNF: true,
      cellText: false,
      cellHTML: false,
      cellFormula: false,
    });
  } catch (error) {
    throw new Problem(
      'bad-file',
      `is no workbook that can be read: ${error instanceof Error ? error.message : String(error)}`,
    );
  }
}

interface SheetRow {
  readonly row: number;
  readonly cells: { readonly column: number; readonly address: string; readonly cell: CellObject }[];
}

/** The cells there are, row by row; the range a sheet claims for itself is not believed. */
function rowsOf(sheet: WorkSheet): SheetRow[] {
  const rows = new Map<number, SheetRow>();
  for (const [address, cell] of Object.entries(sheet) as [string, CellObject][]) {
    const match = /^([A-Z]{1,3})(\d{1,7})$/.exec(address);
    if (!match || cell.v === undefined || cell.v === null || cell.v === '') continue;
    const row = Number.parseInt(match[2], 10);
    let column = 0;
    for (const letter of match[1]) column = column * 26 + letter.charCodeAt(0) - 64;
    const found = rows.get(row) ?? { row, cells: [] };
    rows.set(row, found);
    found.cells.push({ column, address, cell });
  }
  for (const { cells } of rows.values()) cells.sort((a, b) => a.column - b.column);
  return [...rows.values()].sort((a, b) => a.row - b.row);
}

function complainOfMerged(
  sheet: WorkSheet,
  { label, library, complaints }: { label: string; library: Spreadsheet; complaints: Complaints },
): void {
  for (const range of sheet['!merges'] ?? [])
    complaints.add({
      file: label,
      row: range.s.r + 1,
      column: null,
      value: library.utils.encode_range(range),
      reason: 'are merged cells; give every row a value of its own',
    });
}

function sheetText(
  rows: readonly SheetRow[],
  given: { label: string; textOf: (cell: CellObject) => string; complaints: Complaints },
): string {
  const lines: string[] = [];
  let line = 1;
  let width = 0;
  for (const { row, cells } of rows) {
    for (; line < row; line++) lines.push('');
    line += 1;
    width ||= cells[cells.length - 1].column;
    const texts = new Array<string>(Math.max(width, cells[cells.length - 1].column)).fill('');
    for (const { column, address, cell } of cells) {
      if (cell.t === 'e')
        given.complaints.add({
          file: given.label,
          row,
          column: address,
          value: errorWords.get(Number(cell.v)) ?? String(cell.v),
          reason: 'is an error of the spreadsheet, not a value',
        });
      else texts[column - 1] = quoted(given.textOf(cell));
    }
    lines.push(texts.join(','));
  }
  return `${lines.join('\n')}\n`;
}

/** Errors by the number a workbook keeps for them. */
const errorWords: ReadonlyMap<number, string> = new Map([
  [0, '#NULL!'],
  [7, '#DIV/0!'],
  [15, '#VALUE!'],
  [23, '#REF!'],
  [29, '#NAME?'],
  [36, '#NUM!'],
  [42, '#N/A'],
]);

const quoted = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

const two = (value: number): string => String(value).padStart(2, '0');

function cellText(cell: CellObject, { library, date1904 }: { library: Spreadsheet; date1904: boolean }): string {
  if (typeof cell.v === 'boolean') return cell.v ? 'true' : 'false';
  if (typeof cell.v !== 'number') return String(cell.v);
  if (cell.z === undefined || !library.SSF.is_date(String(cell.z))) return String(cell.v);
  const at = library.SSF.parse_date_code(cell.v, { date1904 });
  if (!at) return String(cell.v);
  const clock = `${two(at.H)}:${two(at.M)}${at.S === 0 ? '' : `:${two(Math.floor(at.S))}`}`;
  if (cell.v >= 0 && cell.v < 1) return clock;
  const day = `${String(at.y).padStart(4, '0')}-${two(at.m)}-${two(at.d)}`;
  return Number.isInteger(cell.v) ? day : `${day}T${clock}`;
}
