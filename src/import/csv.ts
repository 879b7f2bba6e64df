import { isUtf8 } from 'node:buffer';
import type { ColumnBuilder } from './column-builders.js';
import { type Complaints, isFileFault } from './complaints.js';
import { defaultLimits, type ImportLimits } from './limits.js';
import type { Decimal } from './number-text.js';
import { RowScanner, type ScannedRow } from './row-scanner.js';
import type { RuleMaker, TableWriter } from './table-writer.js';
import { asUtf8, type Encoding } from './text-encoding.js';

/** How the CSV files of a site folder are written, as site.json declares. */
export interface CsvDialect {
  readonly delimiter: ',' | ';' | '\t' | '|';
  readonly decimal: Decimal;
  readonly encoding: Encoding;
}

/** The form of every CSV that declares nothing. */
export const plainDialect: CsvDialect = { delimiter: ',', decimal: '.', encoding: 'utf-8' };

/** One CSV file on its way into a table. */
export interface TableSource {
  readonly file: string;
  readonly bytes: AsyncIterable<Uint8Array> | Iterable<Uint8Array>;
  readonly dialect: CsvDialect;
  /** heading as it stands in the file → our column */
  readonly columns: ReadonlyMap<string, string>;
  readonly complaints: Complaints;
  /** what a row must obey beside the bounds of its fields; null: nothing */
  readonly rule: RuleMaker | null;
  readonly limits?: ImportLimits;
  /** rows are counted as records, not lines: a sheet has no line ends inside cells */
  readonly numbering?: 'lines' | 'records';
}

const decoder = new TextDecoder();

const delimiterWords: Readonly<Record<string, string>> = {
  ',': 'comma',
  ';': 'semicolon',
  '\t': 'tab',
  '|': 'vertical bar',
};

/**
 * Reads a CSV file into a table: every cell is checked as it is read, nothing is kept but the columns of one chunk.
 * What is wrong goes to the complaints (or is set aside, row by row, when the writer does so).
 * @returns rows taken from this file
 */
export async function importTable(source: TableSource, writer: TableWriter): Promise<number> {
  const limits = source.limits ?? defaultLimits;
  const before = writer.total;
  const complained = source.complaints.total;
  const reader = new CsvReader(source, writer);
  const scanner = new RowScanner({
    delimiter: source.dialect.delimiter,
    rowBytes: limits.csvRowBytes,
    columns: limits.csvColumns,
    onRow: (row) => reader.take(row),
  });
  try {
    for await (const piece of asUtf8(source.bytes, source.dialect.encoding)) {
      scanner.push(piece);
      if (scanner.stopped || reader.unusable) break;
    }
    scanner.end();
  } catch (error) {
    if (!isFileFault(error)) throw error;
    source.complaints.addFile(source.file, error.message);
  }
  if (scanner.stopped) source.complaints.addFile(source.file, scanner.stopped);
  else if (!reader.headed && source.complaints.total === complained)
    source.complaints.addFile(source.file, 'is empty; its first row must name the columns');
  return writer.total - before;
}

/** One column of the file on its way. */
interface ReadColumn {
  readonly name: string;
  readonly builder: ColumnBuilder;
  readonly required: boolean;
}

class CsvReader {
  readonly #source: TableSource;
  readonly #writer: TableWriter;
  #columns: ReadColumn[] = [];
  #records = 0;
  headed = false;
  /** the heading cannot be used: the rows below it are not looked at */
  unusable = false;

  constructor(source: TableSource, writer: TableWriter) {
    this.#source = source;
    this.#writer = writer;
  }

  take(row: ScannedRow): void {
    this.#records += 1;
    if (this.unusable) return;
    if (!this.headed) {
      this.headed = true;
      this.unusable = !this.#readHeading(row);
      return;
    }
    // an empty line, often the last one
    if (row.cells === 1 && row.starts[0] === row.ends[0] && row.fault === null) return;
    this.#readRow(row);
  }

  #readRow(row: ScannedRow): void {
    const writer = this.#writer;
    const columns = this.#columns;
    const at = writer.row;
    if (row.fault) writer.refuse({ column: null, value: null, reason: row.fault });
    else if (row.cells !== columns.length)
      writer.refuse({
        column: null,
        value: null,
        reason: `has ${row.cells} cells, but the heading names ${columns.length} columns`,
      });
    else {
      const { bytes, starts, ends } = row;
      for (let k = 0; k < columns.length; k++) {
        const { builder, name, required } = columns[k];
        let start = starts[k];
        let end = ends[k];
        // blanks round a value do not count
        while (start < end && bytes[start] === 32) start += 1;
        while (end > start && bytes[end - 1] === 32) end -= 1;
        if (start === end) {
          builder.clear(at);
          if (required) writer.refuse({ column: name, value: null, reason: 'is empty, but every row needs it' });
          continue;
        }
        const reason =
          row.beyondAscii && !isUtf8(bytes.subarray(start, end))
            ? 'is not UTF-8; declare the encoding in site.json (csv.encoding)'
            : builder.read(bytes, start, end, at);
        if (reason !== null) writer.refuse({ column: name, value: decoder.decode(bytes.subarray(start, end)), reason });
      }
    }
    const number = this.#source.numbering === 'records' ? this.#records : row.line;
    writer.finishRow(number, () => decoder.decode(row.source.subarray(row.sourceStart, row.sourceEnd)));
  }

  /** Matches the heading with the fields. → whether rows can be read by it */
  #readHeading(row: ScannedRow): boolean {
    const { complaints, file, columns: mapping } = this.#source;
    const before = complaints.total;
    const complain = (column: string | null, reason: string) =>
      complaints.add({ file, row: row.line, column, value: null, reason });
    if (row.fault) {
      complain(null, row.fault);
      return false;
    }
    const headings = Array.from({ length: row.cells }, (_, k) =>
      decoder.decode(row.bytes.subarray(row.starts[k], row.ends[k])).trim(),
    );
    const stranger = this.#otherDelimiter(headings);
    if (stranger) {
      complain(null, stranger);
      return false;
    }
    const fields = new Map(this.#writer.fields.map((field) => [field.name, field]));
    const seen = new Set<string>();
    const columns: ReadColumn[] = [];
    for (const heading of headings) {
      const name = mapping.get(heading) ?? heading;
      const field = fields.get(name);
      if (heading === '') complain(null, 'has a column without a name');
      else if (!field) complain(heading, `is no column of this file; its columns are ${[...fields.keys()].join(', ')}`);
      else if (seen.has(name)) complain(heading, 'stands twice in the heading');
      else columns.push({ name, builder: this.#writer.builder(name), required: field.required === true });
      seen.add(name);
    }
    for (const field of fields.values())
      if (field.required && !seen.has(field.name)) complain(field.name, 'is missing in the heading');
    this.#writer.beginFile({ file, fields: seen, rule: this.#source.rule, decimal: this.#source.dialect.decimal });
    this.#columns = columns;
    return complaints.total === before;
  }

  #otherDelimiter(headings: readonly string[]): string | null {
    const { delimiter } = this.#source.dialect;
    if (headings.length > 1) return null;
    for (const other of [',', ';', '\t', '|']) {
      const count = headings[0].split(other).length - 1;
      if (other === delimiter || count === 0) continue;
      return `the heading has no ${delimiterWords[delimiter]}, but ${count} ${delimiterWords[other]}s; declare the delimiter in site.json (csv.delimiter)`;
    }
    return null;
  }
}
