import { Problem } from '../problems.js';

/** One thing wrong with a site folder: where it stands, what stands there, and why it cannot be taken. */
export interface Complaint {
  readonly file: string;
  /** line of a CSV as an editor shows it, row of a sheet, or number of a feature; null when it concerns the whole file */
  readonly row: number | null;
  readonly column: string | null;
  readonly value: string | null;
  readonly reason: string;
}

const kept = 100;
const longestValue = 120;

/** Gathers complaints: the first hundred as they are, and how many there were. */
export class Complaints {
  readonly first: Complaint[] = [];
  #total = 0;
  #refusing = 0;

  get total(): number {
    return this.#total;
  }

  /** complaints that forbid an import even with --set-aside */
  get refusing(): number {
    return this.#refusing;
  }

  /** A complaint about a row that --set-aside may keep apart. */
  addRow(complaint: Complaint): void {
    this.#total += 1;
    if (this.first.length >= kept) return;
    const { value } = complaint;
    const shown = value !== null && value.length > longestValue ? `${value.slice(0, longestValue)}…` : value;
    this.first.push({ ...complaint, value: shown });
  }

  /** A complaint about a file or the site: nothing can be imported. */
  add(complaint: Complaint): void {
    this.#refusing += 1;
    this.addRow(complaint);
  }

  /** A complaint about a whole file. */
  addFile(file: string, reason: string): void {
    this.add({ file, row: null, column: null, value: null, reason });
  }
}

/** A complaint as a sentence: `finds.csv, row 41, column count: "2.5" …`. */
export function complaintSentence({ file, row, column, value, reason }: Complaint): string {
  const place = [file, row === null ? null : `row ${row}`, column === null ? null : `column ${column}`]
    .filter((part) => part !== null)
    .join(', ');
  return `${place}: ${value === null ? '' : `"${value}": `}${reason}`;
}

/** Whether an error is a fault of the file read; a store that fails while a file is read is not. */
export function isFileFault(error: unknown): error is Problem {
  return error instanceof Problem && ['bad-file', 'bad-geometry', 'bad-parameter', 'unknown-crs'].includes(error.code);
}
