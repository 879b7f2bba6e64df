/** One row of a CSV as cut by the scanner; good only until the next row is cut. */
export interface ScannedRow {
  /** cells as UTF-8 bytes: cell k stands in bytes[starts[k] … ends[k] − 1] */
  bytes: Uint8Array;
  readonly starts: Uint32Array;
  readonly ends: Uint32Array;
  cells: number;
  /** line the row begins on, as an editor shows it */
  line: number;
  /** the row as received, in source[sourceStart … sourceEnd − 1] */
  source: Uint8Array;
  sourceStart: number;
  sourceEnd: number;
  /** some byte is no ASCII character */
  beyondAscii: boolean;
  /** why the row cannot be cut into cells; null when it can */
  fault: string | null;
}

const other = 0;
const delimiterByte = 1;
const lineFeed = 2;
const quotation = 3;
const carriageReturn = 4;
const control = 5;
const beyondAscii = 6;

/**
 * Cuts CSV bytes into rows and cells without making strings. Cells in quotation marks may hold delimiters, line ends
 * and doubled quotation marks; they take a slower path.
 */
export class RowScanner {
  readonly row: ScannedRow;
  /** the file cannot be read further: said once, after the last row that could */
  stopped: string | null = null;
  readonly #kinds = new Uint8Array(256);
  readonly #delimiter: number;
  readonly #onRow: (row: ScannedRow) => void;
  readonly #rowLimit: number;
  #buffer: Uint8Array = new Uint8Array(0);
  #filled = 0;
  #line = 1;
  #unquoted = new Uint8Array(0);

  constructor(given: {
    readonly delimiter: string;
    readonly rowBytes: number;
    readonly columns: number;
    readonly onRow: (row: ScannedRow) => void;
  }) {
    this.#delimiter = given.delimiter.charCodeAt(0);
    this.#onRow = given.onRow;
    this.#rowLimit = given.rowBytes;
    this.#kinds.fill(control, 0, 32);
    this.#kinds.fill(beyondAscii, 128);
    this.#kinds[127] = control;
    this.#kinds[9] = other;
    this.#kinds[10] = lineFeed;
    this.#kinds[13] = carriageReturn;
    this.#kinds[34] = quotation;
    this.#kinds[this.#delimiter] = delimiterByte;
    this.row = {
      bytes: this.#buffer,
      starts: new Uint32Array(given.columns),
      ends: new Uint32Array(given.columns),
      cells: 0,
      line: 0,
      source: this.#buffer,
      sourceStart: 0,
      sourceEnd: 0,
      beyondAscii: false,
      fault: null,
    };
  }

  /** Takes the next piece of the file, UTF-8; the piece may be reused at once. */
  push(piece: Uint8Array): void {
    if (this.stopped) return;
    this.#keep(piece);
    const used = this.#scan(this.#filled, false);
    this.#buffer.copyWithin(0, used, this.#filled);
    this.#filled -= used;
    if (this.#filled > this.#rowLimit) {
      this.stopped = `the row that begins on line ${this.#line} is longer than ${this.#rowLimit} bytes; is a quotation mark not closed?`;
    }
  }

  /** Cuts what is left, with or without a line end. */
  end(): void {
    if (!this.stopped) this.#scan(this.#filled, true);
  }

  #keep(piece: Uint8Array): void {
    const wanted = this.#filled + piece.length;
    if (wanted > this.#buffer.length) {
      const grown = new Uint8Array(Math.max(wanted, 2 * this.#buffer.length));
      grown.set(this.#buffer.subarray(0, this.#filled));
      this.#buffer = grown;
    }
    this.#buffer.set(piece, this.#filled);
    this.#filled = wanted;
  }

  /** Cuts whole rows from the buffer's first `length` bytes. → bytes used up */
  #scan(length: number, last: boolean): number {
    const bytes = this.#buffer;
    const kinds = this.#kinds;
    const row = this.row;
    const { starts, ends } = row;
    row.source = bytes;
    let start = 0;
    while (start < length) {
      row.bytes = bytes;
      row.beyondAscii = false;
      row.fault = null;
      row.line = this.#line;
      let cells = 0;
      let next = -1;
      let i = start;
      starts[0] = start;
      while (next < 0) {
        while (i < length && kinds[bytes[i]] === other) i += 1;
        if (i >= length) {
          if (!last) return start;
          ends[cells] = length;
          row.sourceEnd = length;
          next = length;
          break;
        }
        switch (kinds[bytes[i]]) {
          case delimiterByte:
            ends[cells] = i;
            if (cells + 1 < starts.length) cells += 1;
            else row.fault ??= `has more than ${starts.length} cells`;
            starts[cells] = i + 1;
            break;
          case lineFeed:
            ends[cells] = i;
            row.sourceEnd = i;
            next = i + 1;
            break;
          case carriageReturn:
            if (i + 1 >= length && !last) return start;
            if (i + 1 >= length || bytes[i + 1] === 10) {
              ends[cells] = i;
              row.sourceEnd = i;
              next = Math.min(i + 2, length);
            } else {
              row.fault ??= 'holds a carriage return without a line feed';
            }
            break;
          case quotation:
            if (i === starts[cells]) {
              next = this.#cutQuoted(start, length, last);
              if (next < 0) return start;
              cells = row.cells - 1;
            } else {
              row.fault ??= 'has a quotation mark inside a cell that does not begin with one';
            }
            break;
          case control:
            row.fault ??= `holds a control character (byte ${bytes[i]})`;
            break;
          default:
            row.beyondAscii = true;
        }
        i += 1;
      }
      row.cells = cells + 1;
      row.sourceStart = start;
      this.#line += 1;
      this.#onRow(row);
      start = next;
    }
    return start;
  }

  /** Cuts a row that has a quoted cell, from its beginning. → where the next row begins, −1 when more bytes are needed */
  #cutQuoted(start: number, length: number, last: boolean): number {
    const bytes = this.#buffer;
    const row = this.row;
    const { starts, ends } = row;
    if (this.#unquoted.length < length - start) this.#unquoted = new Uint8Array(2 * (length - start));
    const out = this.#unquoted;
    let filled = 0;
    let cells = 0;
    let lines = 0;
    let fault: string | null = null;
    starts[0] = 0;
    // what the next byte belongs to: a plain cell, a quoted one, or the place behind a closing quotation mark
    let where: 'begin' | 'plain' | 'quoted' | 'closed' = 'begin';
    for (let i = start; ; i++) {
      if (i >= length) {
        if (!last) return -1;
        if (where === 'quoted') fault ??= 'opens a quotation mark that is never closed';
        ends[cells] = filled;
        row.sourceEnd = length;
        this.#finishQuoted({ cells, lines, fault });
        return length;
      }
      const byte = bytes[i];
      const kind = this.#kinds[byte];
      if (where === 'quoted') {
        if (kind === quotation) {
          if (i + 1 >= length && !last) return -1;
          if (i + 1 < length && bytes[i + 1] === byte) out[filled++] = bytes[i++];
          else where = 'closed';
          continue;
        }
        if (kind === lineFeed) lines += 1;
        else if (kind === control) fault ??= `holds a control character (byte ${byte})`;
        else if (kind === beyondAscii) row.beyondAscii = true;
        out[filled++] = byte;
        continue;
      }
      if (kind === delimiterByte) {
        ends[cells] = filled;
        if (cells + 1 < starts.length) cells += 1;
        else fault ??= `has more than ${starts.length} cells`;
        starts[cells] = filled;
        where = 'begin';
        continue;
      }
      const beforeLineFeed = kind === carriageReturn && i + 1 < length && bytes[i + 1] === 10;
      if (kind === carriageReturn && i + 1 >= length && !last) return -1;
      if (kind === lineFeed || beforeLineFeed || (kind === carriageReturn && i + 1 >= length)) {
        ends[cells] = filled;
        row.sourceEnd = i;
        this.#finishQuoted({ cells, lines, fault });
        return Math.min(i + (beforeLineFeed ? 2 : 1), length);
      }
      if (kind === quotation && where === 'begin') {
        where = 'quoted';
        continue;
      }
      if (where === 'closed' && byte !== 32) fault ??= 'has text behind a closing quotation mark';
      else if (kind === quotation) fault ??= 'has a quotation mark inside a cell that does not begin with one';
      else if (kind === control) fault ??= `holds a control character (byte ${byte})`;
      else if (kind === carriageReturn) fault ??= 'holds a carriage return without a line feed';
      else if (kind === beyondAscii) row.beyondAscii = true;
      if (where === 'begin') where = 'plain';
      if (where === 'plain') out[filled++] = byte;
    }
  }

  #finishQuoted({ cells, lines, fault }: { cells: number; lines: number; fault: string | null }): void {
    this.row.bytes = this.#unquoted;
    this.row.cells = cells + 1;
    this.row.fault = fault;
    this.#line += lines;
  }
}
